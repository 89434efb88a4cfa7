"""A reading: what photographs of the monitor say, field by field, with its doubts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from asfound.model.clock import ClockOffset
from asfound.model.retake import Fault

Point = tuple[float, float]
Box = tuple[Point, Point, Point, Point]


class State(StrEnum):
    """How far a value can be trusted. Only a person turns a doubt into a value."""

    SURE = "sure"
    DOUBT = "doubt"
    UNREAD = "unread"


@dataclass(frozen=True, slots=True)
class FieldReading:
    """One field as one photograph (or several, merged) shows it.

    ``text`` is what was recognised, untouched ("" for secrets). ``value`` is canonical and
    None unless a value could be formed. ``candidates`` are canonical values, likeliest first.
    ``box`` is the value's outline in pixels of the upright photograph (after its EXIF
    orientation), clockwise from the text's top left; None when nothing was found there.
    ``photo`` is the SHA-256 of the photograph, hex. ``reason`` says why it is not sure.
    ``confidence`` is the probability that ``value`` is right, 0..1; None when not worked out.
    """

    id: str
    label: str
    text: str
    value: str | None
    state: State
    candidates: tuple[str, ...] = ()
    box: Box | None = None
    photo: str = ""
    reason: str = ""
    confidence: float | None = None


@dataclass(frozen=True, slots=True)
class SecretSpot:
    """Where a photograph may show a password or code: ``outline`` is drawn generously, in pixels
    of the upright photograph; None when it could not be told. ``field`` is the secret's id; ""
    when the photograph shows no page of the map, so that it may show any."""

    field: str
    outline: Box | None


@dataclass(frozen=True, slots=True)
class PhotoReading:
    """One photograph: which page it shows (None: could not tell) and its fields.

    ``note`` is one line for the person when something is off, e.g. "no screen found".
    ``seconds`` is the wall time the reading took. ``damaged``: the file is no picture that can
    be decoded. ``clip``: the SHA-256, hex, of the clip that this is a frame of ("" for a
    photograph); ``file`` then ends in the frame's second: "clip.mp4 @ 3.2 s". ``taken`` is the
    capture time, aware when the phone's offset from UTC is known; it is truncated to steps of
    ``taken_step_s`` and may be off by ``taken_slack_s`` either way beside that (seconds).
    ``secrets`` is where passwords may be seen. ``original``: this is a copy with them painted
    over, of the photograph with that SHA-256, which was removed. ``faults``: what spoils it for
    the fields that are not sure.
    """

    file: str
    sha256: str
    page: str | None
    seconds: float
    fields: tuple[FieldReading, ...]
    note: str = ""
    damaged: bool = False
    clip: str = ""
    taken: datetime | None = None
    taken_step_s: float = 1.0
    taken_slack_s: float = 0.0
    secrets: tuple[SecretSpot, ...] = ()
    original: str = ""
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True, slots=True)
class Reading:
    """All photographs of one moment, and the values they add up to.

    ``fields`` holds every field of the map's firmware exactly once, in menu order, merged
    over all photographs; a field nobody photographed is unread. ``missing_pages`` have no
    photograph; ``repeated_pages`` have several (which is welcome, not a fault). ``note`` says
    in one line where ``firmware`` comes from when it was not given. ``clock`` is how far the
    recorder's clock is off; None when no photograph tells, and ``clock_note`` then says why.
    ``spare``: SHA-256 of frames of clips that were stored but show no page.
    """

    map_id: str
    firmware: str
    photos: tuple[PhotoReading, ...]
    fields: tuple[FieldReading, ...]
    missing_pages: tuple[str, ...]
    repeated_pages: tuple[str, ...] = ()
    note: str = ""
    clock: ClockOffset | None = None
    clock_note: str = ""
    spare: tuple[str, ...] = ()

    def doubts(self) -> tuple[FieldReading, ...]:
        """Fields that a person still has to settle: doubt and unread."""
        return tuple(field for field in self.fields if field.state is not State.SURE)

    def sure_values(self) -> dict[str, str]:
        """Field id -> canonical value, of the sure fields only."""
        return {
            field.id: field.value
            for field in self.fields
            if field.state is State.SURE and field.value is not None
        }
