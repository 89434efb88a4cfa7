"""The report's words: times with their offset, quantities with units, names of verdicts."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from asfound.errors import InputError, NotFound
from asfound.model.difference import Verdict
from asfound.model.finding import Kind
from asfound.model.kinds import Secret
from asfound.model.menu_map import Field, MenuMap
from asfound.model.target import Origin
from asfound.model.values import problem, shown

Row = dict[str, object]
"""One JSON object for the template."""

NOT_KNOWN = "not known"
NOT_STATED = "not stated"

# Written out here: the month names of strftime change with the machine's locale.
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

VERDICT_WORDS = {
    Verdict.SAME: "as agreed",
    Verdict.MISSED: "missed: factory value",
    Verdict.WRONG: "wrong",
    Verdict.EXTRA: "changed, should be factory value",
    Verdict.DOUBT: "could not be told",
    Verdict.NO_TARGET: "nothing agreed",
    Verdict.CLOCK: "clock, set at the vehicle",
}

VERDICT_TONE = {
    Verdict.SAME: "good",
    Verdict.MISSED: "bad",
    Verdict.WRONG: "bad",
    Verdict.EXTRA: "bad",
    Verdict.DOUBT: "unclear",
    Verdict.NO_TARGET: "none",
    Verdict.CLOCK: "none",
}

ORIGIN_WORDS = {
    Origin.OVERRIDE: "this vehicle",
    Origin.CLASS: "vehicle class",
    Origin.BASELINE: "fleet",
    Origin.AS_FOUND: "as found",
}

KIND_WORDS = {
    Kind.BLACK: "black picture",
    Kind.NO_SIGNAL: "no camera signal",
    Kind.FROZEN: "picture stands still",
    Kind.BLURRED: "picture out of focus",
    Kind.COVERED: "lens covered",
    Kind.OVEREXPOSED: "picture too bright",
    Kind.UNDEREXPOSED: "picture too dark",
    Kind.NOISY: "noisy picture",
    Kind.ROLLING: "picture rolls",
    Kind.MOVED: "camera aimed elsewhere",
    Kind.GAP: "nothing recorded",
    Kind.CLOCK_OFFSET: "clock off",
    Kind.CLOCK_JUMP: "stamped years from the others",
    Kind.WRONG_SIZE: "wrong picture size",
    Kind.WRONG_RATE: "wrong picture rate",
    Kind.WRONG_BITRATE: "wrong bit rate",
    Kind.WRONG_CODEC: "wrong codec",
    Kind.NO_AUDIO: "no sound",
    Kind.UNWANTED_AUDIO: "sound that was not agreed",
    Kind.SILENT_AUDIO: "silent sound",
    Kind.TIME_JUMP: "clock jumps",
    Kind.WRONG_KEY_INTERVAL: "wrong key interval",
    Kind.WRONG_EXTENSION: "name says another kind of file",
    Kind.DAMAGED: "damaged recording",
    Kind.EMPTY: "empty recording",
}

KIND_SHAPE = {
    Kind.BLACK: "square",
    Kind.UNDEREXPOSED: "square",
    Kind.NO_SIGNAL: "cross",
    Kind.EMPTY: "cross",
    Kind.FROZEN: "bars",
    Kind.GAP: "hollow",
    Kind.TIME_JUMP: "hollow",
    Kind.DAMAGED: "triangle",
}
"""Shapes of marks on the footage strip; the picture's other faults are a diamond."""

CODEC_WORDS = {"h264": "H.264", "hevc": "H.265", "mpeg4": "MPEG-4", "mjpeg": "Motion JPEG"}
"""ITU-T H.264 and H.265, ISO/IEC 14496-2; keys are what decoders call them."""

FILE_SHAPE = "ring"
FILE_KINDS = frozenset(
    {
        Kind.CLOCK_OFFSET,
        Kind.CLOCK_JUMP,
        Kind.WRONG_SIZE,
        Kind.WRONG_RATE,
        Kind.WRONG_BITRATE,
        Kind.WRONG_CODEC,
        Kind.NO_AUDIO,
        Kind.UNWANTED_AUDIO,
        Kind.SILENT_AUDIO,
        Kind.WRONG_KEY_INTERVAL,
        Kind.WRONG_EXTENSION,
    }
)


def shape_of(kind: Kind) -> str:
    """The name of the shape that stands for ``kind`` on the strip."""
    return FILE_SHAPE if kind in FILE_KINDS else KIND_SHAPE.get(kind, "diamond")


def zone(name: str) -> ZoneInfo:
    """The time zone with this IANA name. Raises InputError."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise InputError(
            f"time zone {name!r} of the fleet is not known; use an IANA name such as Europe/Madrid"
        ) from None


def offset_text(at: datetime) -> str:
    """The offset from UTC of an aware time, e.g. "+01:00"."""
    seconds = int((at.utcoffset() or at.astimezone(UTC) - at).total_seconds())
    sign, rest = ("−" if seconds < 0 else "+"), abs(seconds)
    return f"{sign}{rest // 3600:02d}:{rest % 3600 // 60:02d}"


def day_text(at: datetime, months: Sequence[str] = MONTHS) -> str:
    """Day, month and year, e.g. "24 Nov 2026"."""
    return f"{at.day}\u00a0{months[at.month - 1]}\u00a0{at.year}"


def when(at: datetime | None, local: ZoneInfo, seconds: bool = False) -> str:
    """Local time with its offset, e.g. "24 Nov 2026, 21:14 +00:00"; "" for None.

    Spaces inside the date and inside the time do not break: a line may end after the comma.
    """
    if at is None:
        return ""
    here = at.astimezone(local)
    clock = here.strftime("%H:%M:%S" if seconds else "%H:%M")
    return f"{day_text(here)}, {clock}\u00a0{offset_text(here)}"


def utc_text(at: datetime) -> str:
    """UTC to the second as RFC 3339, e.g. "2026-11-24T21:14:05Z"."""
    return at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def sentences(*said: str) -> str:
    """Sentences one behind the other; those that are "" are left out."""
    return " ".join(filter(None, said))


def count(number: int, one: str, many: str = "") -> str:
    """A number with its noun: "1 setting", "3 settings"."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def number_text(value: float) -> str:
    """A measured figure with at most four digits that mean something."""
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def measured_text(value: float | None, unit: str) -> str:
    """A measured figure with its unit; the unit "1" is a bare ratio; "" for None."""
    if value is None:
        return ""
    return number_text(value) if unit in ("1", "") else f"{number_text(value)}\u00a0{unit}"


def codec_text(name: str) -> str:
    """A codec as people write it; an unknown name as it is."""
    return CODEC_WORDS.get(name, name)


def seconds_text(seconds: float) -> str:
    """Seconds as M:SS.s or H:MM:SS.s, to a tenth."""
    tenths = round(abs(seconds) * 10)
    minutes, rest = divmod(tenths, 600)
    hours, minutes = divmod(minutes, 60)
    sign = "−" if seconds < 0 and tenths else ""
    tail = f"{rest // 10:02d}.{rest % 10}"
    return f"{sign}{hours}:{minutes:02d}:{tail}" if hours else f"{sign}{minutes}:{tail}"


def field_of(menu_map: MenuMap, field_id: str) -> Field | None:
    """The map's field, or None when the map does not know it."""
    try:
        return menu_map.field(field_id)
    except NotFound:
        return None


def value_text(field: Field | None, value: str | None) -> str:
    """A canonical value as people know it from the screen; secrets only as set or blank.

    "" for None; an empty text is written "(empty)". A value that its field type does not
    allow is shown as it is.
    """
    if value is None:
        return ""
    if field is None:
        return value or "(empty)"
    if isinstance(field.type, Secret):
        return value if value in ("set", "blank") else "set"
    if problem(field.type, value) is None:
        return shown(field.type, value) or "(empty)"
    return value or "(empty)"
