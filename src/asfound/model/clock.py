"""How far a recorder's clock is from true time, as photographs of it show."""

from __future__ import annotations

from dataclasses import dataclass

PHONE_ERROR_S = 1.0
"""How far the phone's own clock is assumed to be off, either way, unless a person says
otherwise. Phones follow network time (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class ClockOffset:
    """Recorder minus true time: the true offset lies from ``low_s`` to ``high_s`` (seconds,
    positive: the recorder is fast), if the phone is right to within ``phone_error_s``.

    ``photos`` is how many photographs were used. ``zone`` says in words which local time the
    recorder was held against; ``zone_sure`` False: that is only what the phone showed, so that
    whole quarter hours may be off. ``contradictory``: no single offset explains all photographs;
    the bounds then span all of them. ``hint`` names a pattern in the offset, which is never
    corrected for; ``notes`` are lines for the person.
    """

    low_s: float
    high_s: float
    photos: int
    zone: str
    zone_sure: bool = True
    phone_error_s: float = PHONE_ERROR_S
    contradictory: bool = False
    hint: str = ""
    notes: tuple[str, ...] = ()

    @property
    def offset_s(self) -> float:
        """The middle of the bounds."""
        return (self.low_s + self.high_s) / 2

    @property
    def within_s(self) -> float:
        """How far the true offset may be from the middle."""
        return (self.high_s - self.low_s) / 2
