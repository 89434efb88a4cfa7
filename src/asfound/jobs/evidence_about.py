"""What a bag's about.pdf says: the record, for somebody who is no technician."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from asfound.calc.plain_text import plain
from asfound.units import bytes_text

TEMPLATE = "evidence.typ"
NAME = "about.pdf"
MOST_ROWS = 200
MOST_LINES = 40
SUM_FIGURES = 16
KEY_FIGURES = 8


def about_data(record: Mapping[str, Any], public: str) -> dict[str, object]:
    """What the template is handed; ``record`` is evidence.json, ``public`` the key in figures."""
    files = record["files"]
    size = sum(int(one["bytes"]) for one in files)
    count = len(files)
    left_out = record["left_out"]
    amount = f"{count} {_files(count)}, {bytes_text(size)}"
    return {
        "vehicle": plain(record["vehicle"]),
        "why": plain(record["custody"][0]["why"]),
        "by": plain(record["custody"][0]["who"]),
        "copied": _shown(record["custody"][-1]["when"]),
        "span": f"{_shown(record['from'])} until {_shown(record['until'])}",
        "amount": amount,
        "about": _about(record),
        "clock": _clock(record["offset_s"], record["offset"]),
        "example": _example(record["from"], record["offset_s"]),
        "recordings": [_row(at, one) for at, one in enumerate(files[:MOST_ROWS], start=1)],
        "more": _more(count - MOST_ROWS, "recordings"),
        "left_out": [plain(one) for one in left_out[:MOST_LINES]],
        "left_more": _more(len(left_out) - MOST_LINES, "files"),
        "key": public,
        "key_start": public[:KEY_FIGURES],
        "derived_note": _derived(files),
    }


def _about(record: Mapping[str, Any]) -> str:
    which = (
        "every file that was handed to the copy, of whatever time"
        if record["everything"]
        else "the files that hold a part of the time asked for; each is whole, so it may begin "
        "before that and end after it"
    )
    return (
        "This folder holds recordings of a recorder fitted in the vehicle, in the folder data: "
        f"{which}. The originals were only read, and nothing in the copies was changed: each was "
        "read again after it was written, and was the same, bit for bit."
    )


def _clock(offset_s: float | None, text: str) -> str:
    if offset_s is None:
        return (
            "Nobody compared the recorder's clock with the true time when the recordings were "
            "copied. Times in the pictures and in this paper are as it showed them; they may be "
            "wrong."
        )
    if not offset_s:
        return "The recorder's clock was compared with the true time and was right."
    return f"{text[0].upper()}{text[1:]}. In this paper that is done already. For example:"


def _example(start: str, offset_s: float | None) -> dict[str, str] | None:
    """What the recorder showed at the moment that the time asked for begins."""
    if not offset_s:
        return None
    try:
        shown = _time(start) + timedelta(seconds=offset_s)
    except OverflowError:
        return None
    # Cut, as a clock's figures are: rounded up, 59.9999 would be another second.
    part = f".{shown.microsecond // 1000:03d}".rstrip("0").rstrip(".")
    return {"shown": f"{shown:%Y-%m-%d %H:%M:%S}{part}", "true": _shown(start)}


def _row(number: int, one: Mapping[str, Any]) -> dict[str, object]:
    held = one["channels"]
    numbers = sorted({part["channel"] for part in held if part["channel"] is not None})
    times = dict.fromkeys(_period(part["start"], part["end"]) for part in held)
    return {
        "number": number,
        "name": plain(str(one["path"]).removeprefix("data/")),
        "channels": ", ".join(str(part) for part in numbers),
        "times": "\n".join(times),
        "size": bytes_text(int(one["bytes"])),
        "sum": str(one["sha256"])[:SUM_FIGURES],
    }


def _period(start: str, end: str) -> str:
    begin, until = _time(start), _time(end)
    last = f"{until:%H:%M:%S}" if begin.date() == until.date() else f"{until:%Y-%m-%d %H:%M:%S}"
    return f"{begin:%Y-%m-%d %H:%M:%S} – {last}"


def _derived(files: Sequence[Mapping[str, Any]]) -> list[str]:
    if not any("derived" in one for one in files):
        return []
    return [
        "Files that end with .derived.mp4 were made from the recordings beside them, so that they "
        "play more easily. They are no evidence themselves: what counts is the recording."
    ]


def _more(count: int, what: str) -> str:
    return f"and {count} more {what}; all of them are in evidence.json" if count > 0 else ""


def _files(count: int) -> str:
    return "recording" if count == 1 else "recordings"


def _time(text: str) -> datetime:
    return datetime.fromisoformat(text)


def _shown(text: str) -> str:
    return f"{_time(text):%Y-%m-%d %H:%M:%S} UTC"
