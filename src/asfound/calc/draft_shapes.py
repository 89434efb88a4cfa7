"""What the text of one value looks like: a time, an address, an amount, a word, a mask."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from asfound.calc.draft_words import UNITS, opposite
from asfound.model.kinds import DateLayout

OPENING, CLOSING = frozenset("[<{(◄«‹←|"), frozenset("]>})►»›→|")
MARKS = "[]<>{}()|^~_=*#◄►«»‹›•·…●○□☐☑☒■→←"

_LAMP = re.compile(r"(?:[O0oQ@D©®°•●○□☐☑☒■√✓V]|[1Il]?[0Oo]|[0Oo][1Il])\s+(?=[^\W\d])")
_TAIL = re.compile(r"(.+) [O0oIl1|>]")
_LAMP_SIGNS = re.compile(r"[O0oQD1Il@©®]{1,2}")
_MASK = re.compile(r"[*•●∙·.○]{3,}")
_NUMBER = re.compile(r"([+\-−–]?)\s?(\d+(?:[.,]\d+)?)(\s*)([^\d\s.,:;+\-][^\d:;]{0,11})?")
_TIME = re.compile(r"([01]\d|2[0-3]):([0-5]\d)(?::([0-5]\d))?")
_ADDRESS = re.compile(r"\d{1,3}(?:\.\d{1,3}){3}")
_DATES: tuple[tuple[DateLayout, str], ...] = (
    ("YYYY-MM-DD", r"(?P<y>\d{4})-(?P<m>\d\d)-(?P<d>\d\d)"),
    ("DD.MM.YYYY", r"(?P<d>\d\d)\.(?P<m>\d\d)\.(?P<y>\d{4})"),
    ("DD/MM/YYYY", r"(?P<d>\d\d)/(?P<m>\d\d)/(?P<y>\d{4})"),
    ("MM/DD/YYYY", r"(?P<m>\d\d)/(?P<d>\d\d)/(?P<y>\d{4})"),
)
_HOST = re.compile(r"[A-Za-z0-9-]+(?:\.[A-Za-z0-9-]+)*\.[A-Za-z]{2,}")
VERSION = re.compile(r"[A-Za-z]?\d{1,3}(?:\.\d{1,4}){1,3}[a-z]?")
SERIAL = re.compile(
    r"[0-9A-F]{2}(?:[:-][0-9A-F]{2}){5}|(?=.*\d)[A-Z0-9]{2,6}-[A-Z0-9]{4,14}|(?=.*\d)[A-Z0-9]{8,20}"
)


@dataclass(frozen=True, slots=True)
class Amount:
    """A number as written: its value, decimals and unit ("" without)."""

    value: Decimal
    decimals: int
    unit: str
    signed: bool = False


def without_marks(whole: str, inner: str) -> tuple[str, bool]:
    """(the value without lamp, arrows and brackets, whether a lamp stood before it).

    ``inner`` is a second look that left out drawings at the ends: believed where it only
    lacks lone signs before the value, or signs that are no letters behind it.
    """
    text = whole.strip(MARKS + " ")
    lamp = _LAMP.match(text)
    if lamp and text[lamp.end() :].strip().casefold() in UNITS:
        lamp = None
    if lamp:
        text = text[lamp.end() :]
    core = inner.strip(MARKS + " :·…_")
    at = text.find(core) if len(core) > 1 else -1
    before, behind = text[: max(at, 0)].strip(), text[at + len(core) :]
    if before and not any(sign.isalnum() for sign in behind):
        lone = _LAMP_SIGNS.fullmatch(before) and core[0].isalpha()
        if (lone and core.casefold() not in UNITS) or not any(s.isalnum() for s in before):
            return core, True
    text = text.strip(" :·…_")
    if (tail := _TAIL.fullmatch(text)) and (found := amount(tail[1])) and found.unit:
        # "30 s O": an arrow behind an amount.
        text = tail[1]
    return text, bool(lamp)


def is_mask(text: str) -> bool:
    """True for a row of like marks that hides a secret."""
    signs = "".join(text.split())
    return bool(_MASK.fullmatch(signs)) and set(signs) != {"."}


def amount(text: str) -> Amount | None:
    """``text`` as one number with or without a unit; None when it is something else."""
    found = _NUMBER.fullmatch(text.strip())
    if found is None or switch_word(text):
        return None
    sign, figures = found[1], found[2].replace(",", ".")
    if len(figures.partition(".")[0]) > 9:
        return None
    written = (found[4] or "").strip().rstrip(".")
    unit = UNITS.get("".join(written.split()).casefold(), written)
    known = unit in UNITS.values() or not unit
    if not known and not (written.islower() and (found[3] or len(written) >= 3)):
        # A name such as 255I or 0048 EHA, not an amount.
        return None
    decimals = len(figures.partition(".")[2])
    value = Decimal(figures)
    return Amount(-value if sign in ("-", "−", "–") else value, decimals, unit, bool(sign))


def is_time(text: str) -> bool:
    """True for a time of day, two figures each."""
    return _TIME.fullmatch(text) is not None


def has_seconds(text: str) -> bool:
    """True for a time of day with seconds."""
    found = _TIME.fullmatch(text)
    return found is not None and found[3] is not None


def date_layouts(text: str) -> tuple[DateLayout, ...]:
    """The layouts under which ``text`` is a calendar date."""
    fits: list[DateLayout] = []
    for layout, pattern in _DATES:
        found = re.fullmatch(pattern, text)
        if found is None:
            continue
        try:
            date(int(found["y"]), int(found["m"]), int(found["d"]))
        except ValueError:
            continue
        fits.append(layout)
    return tuple(fits)


def is_address(text: str) -> bool:
    """True for four numbers up to 255 with dots between."""
    return bool(_ADDRESS.fullmatch(text)) and all(int(part) <= 255 for part in text.split("."))


def is_padded(text: str) -> bool:
    """True for an address whose numbers are filled up with zeros."""
    return any(len(part) == 3 and part[0] == "0" for part in text.split("."))


def is_host(text: str) -> bool:
    """True for a name such as ``rec.example.net``: dots without blanks, letters at the end."""
    return _HOST.fullmatch(text) is not None and amount(text) is None


def mended(text: str) -> str:
    """The text; "0n" and "0ff", which are nothing else, with their letters."""
    if switch_word(text) and any(sign.isdigit() for sign in text):
        return text.replace("0", "o" if text[:1] != "0" else "O", 1).replace("1", "l")
    return text


def switch_word(text: str) -> tuple[str, str] | None:
    """The pair of opposites (folded) that the word belongs to, look-alike figures mended."""
    folded = " ".join(text.split()).casefold()
    return opposite(folded) or opposite(folded.replace("0", "o").replace("1", "l"))
