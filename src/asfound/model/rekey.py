"""The re-key sheet: which keys bring a recorder from factory defaults to its target."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class KeyRun:
    """One key pressed ``times`` times in a row; ``key`` is what is printed on it."""

    key: str
    times: int


@dataclass(frozen=True, slots=True)
class RekeyField:
    """One field to set. ``move`` reaches its row, ``change`` sets the value.

    ``by_hand`` is true when the tool does not know the keys (secrets, unknown default, a
    character without a cap): the person sets the value, ``change`` is empty and ``note`` says
    why in one line. ``cap_text`` is the text typed on an on-screen keyboard, for the person
    who would rather type than count.
    """

    id: str
    label: str
    from_value: str | None
    to_value: str
    move: tuple[KeyRun, ...]
    change: tuple[KeyRun, ...]
    by_hand: bool = False
    cap_text: str = ""
    note: str = ""

    @property
    def presses(self) -> int:
        """Key presses for this field, moving there included."""
        return sum(run.times for run in self.move + self.change)


@dataclass(frozen=True, slots=True)
class RekeyPage:
    """One page to visit: ``reach`` opens it, ``save`` stores it."""

    id: str
    title: str
    number: int
    reach: tuple[KeyRun, ...]
    fields: tuple[RekeyField, ...]
    save: tuple[KeyRun, ...]

    @property
    def presses(self) -> int:
        """Key presses on this page, reaching and saving included."""
        edges = sum(run.times for run in self.reach + self.save)
        return edges + sum(field.presses for field in self.fields)


@dataclass(frozen=True, slots=True)
class RekeySheet:
    """The whole sheet.

    ``seconds`` is an estimate for a practised person; what only that person knows (``by_hand``)
    is not counted. ``added``/``removed`` are field ids against the as-found firmware,
    ``renamed`` pairs (old id, new id); ``volatile`` are clock fields to set at the vehicle.
    """

    map_id: str
    firmware: str
    pages: tuple[RekeyPage, ...]
    presses: int
    seconds: float
    added: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    renamed: tuple[tuple[str, str], ...] = ()
    volatile: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
