"""A bundle as lines of JSON, and back: format asfound-bundle/1 (docs/bundles.md).

Every line is canonical JSON, so that a line reads in one way alone: no key twice, no number that
is none, nothing that a hash would not cover.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any, TypeVar

from asfound.errors import AsfoundError, InputError, IntegrityError
from asfound.model.bundle import Bundle, plain_id
from asfound.model.hold import Hold
from asfound.model.journal import Entry, canonical_json, rfc3339, unaltered
from asfound.model.key_tick import KeyTick
from asfound.model.place_picture import PlacePicture
from asfound.ports.documents import from_data, to_data

T = TypeVar("T", Hold, KeyTick, PlacePicture)

NAME = "asfound-bundle"
RECORDS = "data/bundle.jsonl"
VERSION = 1
LINE_MOST = 1 << 22
"""Bytes; the opening of a visit, the longest line there is, takes a few thousand."""
DEEPEST = 64

HEXES = re.compile(r"[0-9a-f]{64}")
LOG = re.compile(r"[a-z0-9][a-z0-9-]{0,119}")
DRIVE_LOG = re.compile(r"[0-9a-f]{16}/[0-9a-z][0-9a-z._+:#-]{0,59}")
KIND = re.compile(r"[a-z][a-z-]{0,39}")
MARK = re.compile(r"[0-9a-f]{24}")
HEAD = ("format", "requests", "visits", "writer")
ENTRY = ("at", "by", "data", "hash", "kind", "previous", "seq", "visit")


@dataclass(frozen=True, slots=True)
class Head:
    """The first line: who wrote the bundle, and which visits and requests it is about."""

    writer: str
    visits: tuple[str, ...]
    requests: tuple[str, ...]


def write_lines(bundle: Bundle) -> bytes:
    """The whole file, each line with its end."""
    head = {
        "format": f"{NAME}/{VERSION}",
        "writer": bundle.writer,
        "visits": sorted({entry.visit for entry in bundle.visits}),
        "requests": sorted({entry.visit for entry in bundle.requests}),
    }
    lines: list[dict[str, Any]] = [head]
    lines += [{"visit": _entry_data(entry)} for entry in bundle.visits]
    lines += [{"request": _entry_data(entry)} for entry in bundle.requests]
    lines += [
        {"hold": to_data(replace(hold, id=plain_id(hold.id), **_hold_times(hold)))}
        for hold in bundle.holds
    ]
    lines += [{"tick": to_data(replace(tick, at=_utc(tick.at)))} for tick in bundle.ticks]
    lines += [{"place": to_data(replace(one, at=_utc(one.at)))} for one in bundle.places]
    lines += [{"drive": _entry_data(entry)} for entry in bundle.drives]
    return "".join(canonical_json(line) + "\n" for line in lines).encode("utf-8")


def read_head(raw: bytes) -> Head:
    """The first line. Raises InputError (another format, or a newer one), IntegrityError."""
    data = _json(raw, 1)
    said = data.get("format")
    found = re.fullmatch(rf"{NAME}/([1-9][0-9]{{0,5}})", said) if isinstance(said, str) else None
    if found is None:
        raise InputError("is no bundle of asfound; take one that `asfound bundle export` made")
    if int(found[1]) > VERSION:
        raise InputError(
            f"is {found[0]}, from a newer asfound; bring asfound up to date ({NAME}/{VERSION} is "
            "the newest that this one reads)"
        )
    lists = (data.get("visits"), data.get("requests"))
    writer = data.get("writer")
    if tuple(sorted(data)) != HEAD or not isinstance(writer, str) or not HEXES.fullmatch(writer):
        raise _wrong(1, "is no first line of a bundle")
    for names in lists:
        good = isinstance(names, list) and all(
            isinstance(name, str) and LOG.fullmatch(name) for name in names
        )
        if not good or len(set(names or ())) != len(names or ()):
            raise _wrong(1, "does not name visits and requests")
    return Head(writer, tuple(lists[0] or ()), tuple(lists[1] or ()))


def read_lines(lines: Iterable[bytes], now: datetime) -> tuple[Head, Bundle]:
    """The bundle of a whole file; chains and what entries rest on are checked elsewhere.

    ``now`` (aware): nothing was written more than a day later. Raises InputError, IntegrityError.
    """
    numbered = enumerate(lines, start=1)
    first = next(numbered, None)
    if first is None:
        raise _wrong(1, "is not there: the file is empty")
    head = read_head(first[1])
    parts: dict[str, list[Any]] = {name: [] for name in READERS}
    for number, raw in numbered:
        data = _json(raw, number)
        kind = next(iter(data), "")
        if len(data) != 1 or kind not in READERS:
            raise _wrong(number, "is of no kind that this asfound knows")
        made = READERS[kind](data[kind], number)
        for at in _times(made):
            if (at - now).total_seconds() > 86_400:
                raise _wrong(
                    number, f"was written {rfc3339(at)[:10]}, after today by this computer's clock"
                )
        parts[kind].append(made)
    for kind, names in (("visit", head.visits), ("request", head.requests)):
        strange = {entry.visit for entry in parts[kind]} ^ set(names)
        if strange:
            raise IntegrityError(
                f"{min(strange)}: entries of this {kind} and the first line do not agree"
            )
    return head, Bundle(head.writer, *(tuple(parts[kind]) for kind in READERS))


def _entry_data(entry: Entry) -> dict[str, Any]:
    return {**{name: getattr(entry, name) for name in ENTRY}, "at": rfc3339(entry.at)}


def _hold_times(hold: Hold) -> dict[str, Any]:
    names = ("start", "end", "placed_at", "released_at")
    found = {name: getattr(hold, name) for name in names}
    return {name: at and _utc(at) for name, at in found.items()}


def _utc(at: datetime) -> datetime:
    return at.astimezone(UTC)


def _json(raw: bytes, number: int) -> Mapping[str, Any]:
    if len(raw) >= LINE_MOST or not raw.endswith(b"\n"):
        raise _wrong(number, "does not end, or is too long")
    try:
        made = json.loads(raw, parse_constant=_no_number)
        _checked(made)
        same = canonical_json(made).encode("utf-8") == raw[:-1]
    except (ValueError, RecursionError):
        # Bytes that are no UTF-8, no JSON, too deep, numbers of thousands of figures, infinity.
        raise _wrong(number, "is no JSON that is taken") from None
    if not same or not isinstance(made, dict):
        raise _wrong(number, "is not written as asfound writes it")
    return made


def _no_number(text: str) -> float:
    raise ValueError(text)


def _checked(value: object) -> None:
    """Raises ValueError for what some database cannot keep, and for what nobody nests."""
    waiting: list[tuple[object, int]] = [(value, 0)]
    while waiting:
        item, depth = waiting.pop()
        if depth > DEEPEST:
            raise ValueError("too deep")
        if isinstance(item, dict):
            waiting += [(part, depth + 1) for pair in item.items() for part in pair]
        elif isinstance(item, list):
            waiting += [(part, depth + 1) for part in item]
        elif isinstance(item, str) and "\0" in item:
            raise ValueError("a zero in a text")


def _entry(data: object, number: int, names: re.Pattern[str] = LOG) -> Entry:
    if not isinstance(data, dict) or tuple(sorted(data)) != ENTRY:
        raise _wrong(number, "is no entry")
    texts = (data["visit"], data["by"], data["kind"], data["previous"], data["hash"], data["at"])
    seq = data["seq"]
    sound = all(isinstance(text, str) for text in texts) and isinstance(data["data"], dict)
    if not sound or type(seq) is not int or not 0 <= seq < 1 << 31 or not data["by"]:
        raise _wrong(number, "is no entry")
    patterns = (
        (names, data["visit"]), (KIND, data["kind"]),
        (HEXES, data["previous"]), (HEXES, data["hash"]),
    )  # fmt: skip
    if not all(pattern.fullmatch(text) for pattern, text in patterns):
        raise _wrong(number, "is no entry")
    at = _time(data["at"], number)
    made = Entry(
        data["visit"], seq, at, data["by"], data["kind"], data["data"],
        data["previous"], data["hash"],
    )  # fmt: skip
    if not unaltered(made):
        raise _wrong(
            number, f"entry {seq} of {made.visit} ({made.kind}) was changed after it was written"
        )
    return made


def _drive(data: object, number: int) -> Entry:
    return _entry(data, number, DRIVE_LOG)


def _time(text: str, number: int) -> datetime:
    try:
        made = datetime.fromisoformat(text)
        same = made.tzinfo is not None and rfc3339(made) == text
    except (ValueError, OverflowError):
        same = False
    if not same:
        raise _wrong(number, "has no time as asfound writes it")
    return made


def _hold(data: object, number: int) -> Hold:
    made = _document(Hold, data, number)
    whole = (
        (made.released_at is None) == (made.released_by is None) == (made.release_reason is None)
    )
    # Nobody orders, and nobody releases, without a name and a reason.
    nameless = "" in (made.placed_by, made.reason, made.released_by, made.release_reason)
    if not LOG.fullmatch(made.id) or not whole or nameless or made.end < made.start:
        raise _wrong(number, "is no hold")
    return made


def _tick(data: object, number: int) -> KeyTick:
    made = _document(KeyTick, data, number)
    if not LOG.fullmatch(made.visit) or not MARK.fullmatch(made.mark):
        raise _wrong(number, "is no tick")
    return made


def _place(data: object, number: int) -> PlacePicture:
    made = _document(PlacePicture, data, number)
    if made.picture and not HEXES.fullmatch(made.picture):
        raise _wrong(number, "is no photograph of a place")
    return made


def _document(cls: type[T], data: object, number: int) -> T:
    try:
        made = from_data(cls, data, f"{RECORDS}, line {number}")
    except AsfoundError as error:
        raise IntegrityError(str(error)) from None
    if any(at.tzinfo is None for at in _times(made, every=True)):
        raise _wrong(number, "has a time without zone")
    if to_data(made) != data:
        # A key more than this asfound knows, or a time in other words.
        raise _wrong(number, "is not written as this asfound writes it")
    return made


def _times(made: object, every: bool = False) -> Iterator[datetime]:
    """When it was written; ``every``: all times in it, which may lie ahead."""
    names = ("at", "placed_at", "released_at", *(("start", "end") if every else ()))
    for name in names:
        at = getattr(made, name, None)
        if isinstance(at, datetime):
            yield at


def _wrong(number: int, what: str) -> IntegrityError:
    return IntegrityError(f"{RECORDS}, line {number}: {what}")


READERS: Mapping[str, Callable[[object, int], Any]] = {
    "visit": _entry,
    "request": _entry,
    "hold": _hold,
    "tick": _tick,
    "place": _place,
    "drive": _drive,
}
"""Kinds of lines, in the order of the fields of Bundle."""
