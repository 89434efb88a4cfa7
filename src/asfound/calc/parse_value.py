"""From recognised text to a canonical value, by field type. Never guesses: what does not fit
exactly comes back as candidates."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from rapidfuzz.distance import Levenshtein

from asfound.model.kinds import (
    Choice,
    Date,
    FieldType,
    Host,
    IPv4,
    Level,
    Number,
    ReadOnly,
    Secret,
    Switch,
    Time,
)
from asfound.model.values import canonical_number, problem

MARKS = "[]<>{}()|^~_=*#◄►«»‹›•·…■"
"""Characters that menus put round a value; stripped at its ends."""

_OF_PAIRS = frozenset("[]<>{}()«»‹›◄►")
"""Marks that come in pairs."""

_LOOKS_LIKE = str.maketrans("OoQDlI|!SBZ", "00001111582")

_NEARLY_HARDWARE_ADDRESS = r"[0-9A-FOIa-fol]{2}(?:[:-][0-9A-FOIa-fol]{2}){5}"
"""An EUI-48 as IEEE 802 writes it, perhaps with letters that no hexadecimal number has."""

_HEXADECIMAL = str.maketrans("OoIl", "0011")

_ALIKE = str.maketrans("oil|!szb", "01111528")
"""The same for the folded text of options."""


@dataclass(frozen=True, slots=True)
class Parsed:
    """``value`` is canonical and set only when the text fits the type exactly; otherwise
    ``candidates`` are allowed values that are near, nearest first. ``wrapped`` holds the marks
    that stood before and after the value."""

    value: str | None
    candidates: tuple[str, ...] = ()
    wrapped: tuple[str, str] = ("", "")


def parse_value(kind: FieldType, text: str, label: str = "") -> Parsed:
    """What ``text`` says for a field of this ``kind``; ``label`` may already name the unit."""
    match kind:
        case Choice():
            return _one_of({option: option for option in kind.options}, text)
        case Switch():
            return _one_of({kind.on: "on", kind.off: "off"}, text)
        case Number() | Level():
            return _number(kind, text, label)
        case Time() | Date() | IPv4():
            return _grouped(kind, text)
        case Secret():
            return _secret(kind, text)
        case _:
            return _free(kind, text)


def compact(text: str) -> str:
    """Lower case without spaces: how texts are compared."""
    return "".join(text.split()).casefold()


def bare(text: str) -> tuple[str, str, str]:
    """(marks before, text, marks after): the marks are stripped from both ends."""
    inner = text.strip()
    body = inner.strip(MARKS + " ")
    if not body:
        return inner, "", ""
    start = inner.index(body)
    return inner[:start].strip(), body, inner[start + len(body) :].strip()


def nearest_gap(kind: FieldType, value: str) -> int:
    """How many characters tell ``value`` from its nearest other option; 1 for open types."""
    match kind:
        case Choice(options=options):
            shown, others = value, [option for option in options if option != value]
        case Switch(on=on, off=off):
            shown, others = (on, [off]) if value == "on" else (off, [on])
        case Number(words=words) if value in words:
            return 3
        case _:
            return 1
    here = compact(shown)
    return min((Levenshtein.distance(here, compact(other)) for other in others), default=9)


def _one_of(options: dict[str, str], text: str) -> Parsed:
    before, body, after = bare(text)
    named = {compact(shown): value for shown, value in options.items()}
    for trial, wrapped in _trials(text.strip(), before, body, after):
        if (value := named.get(compact(trial))) is not None:
            return Parsed(value, (value,), wrapped)
    alike: dict[str, list[str]] = {}
    for shown, value in named.items():
        alike.setdefault(shown.translate(_ALIKE), []).append(value)
    for trial, wrapped in _trials(text.strip(), before, body, after):
        # "0ff" can only be "Off" where no other option looks like it.
        if len(same := alike.get(compact(trial).translate(_ALIKE), [])) == 1:
            return Parsed(same[0], (same[0],), wrapped)
    if (glued := _glued(named, body)) is not None:
        return Parsed(glued, (glued,), (before, after))
    here = compact(body)
    ranked = sorted(named, key=lambda shown: Levenshtein.normalized_distance(here, shown))
    near = [named[shown] for shown in ranked if Levenshtein.normalized_distance(here, shown) <= 0.5]
    return Parsed(None, tuple(near[:4]))


def _glued(options: dict[str, str], body: str) -> str | None:
    """The one option that ``body`` holds between marks taken for characters: at most two before
    it and one behind it ("10 Yes" for a lamp, an arrow and "Yes"; "NoT"). Only for options of
    letters: of a figure more or less another option may be made."""
    here = compact(body)
    found = {
        value
        for shown, value in options.items()
        if len(shown) >= 2
        and not any(character.isdigit() for character in shown)
        and (at := here.find(shown)) >= 0
        and (at <= 1 or (at == 2 and not here[:at].isalpha()))
        and len(here) - at - len(shown) <= 1
    }
    return found.pop() if len(found) == 1 else None


def _trials(
    whole: str, before: str, body: str, after: str
) -> Iterable[tuple[str, tuple[str, str]]]:
    """The text as it is, without marks, and without up to two lone characters at each end (a
    lamp, an arrow)."""
    yield whole, ("", "")
    yield body, (before, after)
    tokens = body.split()
    ends = [(a, b) for a in range(3) for b in range(3) if 0 < a + b < len(tokens)]
    for first, last in sorted(ends, key=sum):
        left, right = tokens[:first], tokens[len(tokens) - last :]
        if all(len(token) == 1 for token in left + right):
            kept = " ".join(tokens[first : len(tokens) - last])
            yield kept, (" ".join(left) or before, " ".join(right) or after)


def _number(kind: Number | Level, text: str, label: str) -> Parsed:
    words = kind.words if isinstance(kind, Number) else ()
    unit = kind.unit if isinstance(kind, Number) else ""
    worded = _one_of({word: word for word in words}, text)
    if worded.value is not None:
        return worded
    before, body, after = bare(text)
    body = body.replace("−", "-").replace("–", "-")
    rest, has_unit = _without_unit(body, unit)
    found = re.findall(r"[+-]?[0-9]+(?:[.,][0-9]+)?", rest)
    letters = re.sub(r"[^A-Za-z]", "", re.sub(r"[+-]?[0-9]+(?:[.,][0-9]+)?", "", rest))
    if len(found) == 1 and not letters:
        value = _canonical(kind, found[0])
        if value is not None and problem(kind, value) is None:
            named = has_unit or not unit or compact(unit) in compact(label)
            if named and not _lopsided(before, after):
                return Parsed(value, (value,), (before, after))
            shorter = _number_candidates(kind, rest, [found[0], found[0][1:], found[0][:-1]])
            return Parsed(None, tuple(dict.fromkeys((value, *shorter, *worded.candidates))))
    return Parsed(None, (*_number_candidates(kind, rest, found), *worded.candidates))


def _lopsided(before: str, after: str) -> bool:
    """A mark of a pair on one side only: its fellow may have been taken for a figure."""
    return bool(set(before) & _OF_PAIRS) != bool(set(after) & _OF_PAIRS)


def _without_unit(text: str, unit: str) -> tuple[str, bool]:
    if unit:
        # A degree sign is easily overlooked, and the unit is known anyway.
        signs = (re.escape(sign) + "?" * (sign == "°") for sign in compact(unit))
        pattern = r"\s*".join(signs)
        # One stray sign at the very end is a mark glued to the unit ("0.7 gr").
        match = re.search(
            rf"(?<=[0-9\s.]){pattern}(?:[A-Za-z]$|(?![A-Za-z0-9]))", text, re.IGNORECASE
        )
        if match:
            return text[: match.start()] + " " + text[match.end() :], True
    return text, False


def _canonical(kind: Number | Level, text: str) -> str | None:
    """Canonical only when written with the decimals that the recorder shows."""
    decimals = kind.decimals if isinstance(kind, Number) else 0
    plain = text.replace(",", ".").removeprefix("+")
    shown = len(plain.partition(".")[2])
    if shown != decimals:
        return None
    try:
        number = Decimal(plain)
    except InvalidOperation:
        return None
    return canonical_number(kind, number) if isinstance(kind, Number) else str(int(number))


def _number_candidates(kind: Number | Level, text: str, found: list[str]) -> tuple[str, ...]:
    """Allowed values near what was seen: look-alikes, a lost point, a unit taken for a digit."""
    decimals = kind.decimals if isinstance(kind, Number) else 0
    digits = "".join(re.findall(r"[0-9.,-]", text.translate(_LOOKS_LIKE))).replace(",", ".")
    trials = [*found, digits, digits[:-1]]
    bare_digits = digits.replace(".", "")
    if decimals:
        trials += [f"{bare_digits[:-decimals]}.{bare_digits[-decimals:]}"]
    good = []
    for trial in trials:
        value = _canonical(kind, trial) if trial else None
        if value is not None and problem(kind, value) is None and value not in good:
            good.append(value)
    return tuple(good[:4])


def _grouped(kind: Time | Date | IPv4, text: str) -> Parsed:
    before, body, after = bare(text)
    value = _group_value(kind, "".join(body.split()))
    if value is not None and problem(kind, value) is None:
        if isinstance(kind, IPv4) and not _in_use(value):
            return Parsed(None, (value,))
        return Parsed(value, (value,), (before, after))
    guess = _group_value(kind, "".join(body.split()).translate(_LOOKS_LIKE).replace(",", "."))
    good = guess is not None and problem(kind, guess) is None
    return Parsed(None, (guess,) if good and guess is not None else ())


def _in_use(address: str) -> bool:
    """Whether an IPv4 address can stand in a network's settings.

    From 240.0.0.0 on no address is given to anybody (RFC 1112, section 4): what is written there is
    a network mask, whose bits stand in a row (RFC 4632, section 5.1), or the broadcast address.
    Of those that begin with 0 only 0.0.0.0 stands for something, none (RFC 6890, table 1).
    """
    number = int.from_bytes(int(part) for part in address.split("."))
    clear = ~number & 0xFFFFFFFF
    own = 0x01000000 <= number < 0xF0000000
    return own or number == 0 or clear & (clear + 1) == 0


def _group_value(kind: Time | Date | IPv4, text: str) -> str | None:
    match kind:
        case Time(seconds=seconds):
            pattern = r"([0-9]{2}):([0-9]{2})" + (r":([0-9]{2})" if seconds else "")
            found = re.fullmatch(pattern, text)
            return ":".join(found.groups()) if found else None
        case Date(layout=layout):
            pattern = re.escape(layout)
            pattern = pattern.replace("YYYY", r"(?P<y>[0-9]{4})")
            pattern = pattern.replace("MM", r"(?P<m>[0-9]{2})").replace("DD", r"(?P<d>[0-9]{2})")
            found = re.fullmatch(pattern, text)
            return f"{found['y']}-{found['m']}-{found['d']}" if found else None
        case IPv4(padded=padded):
            digits = "[0-9]{3}" if padded else "[0-9]{1,3}"
            if not re.fullmatch(rf"{digits}(?:\.{digits}){{3}}", text):
                return None
            parts = text.split(".")
            if not padded and any(len(part) > 1 and part[0] == "0" for part in parts):
                return None
            return ".".join(str(int(part)) for part in parts)


def _secret(kind: Secret, text: str) -> Parsed:
    """Only whether anything is there; full stops may be a leader, so they decide nothing."""
    body = text.strip()
    if not body:
        return Parsed("blank", ("blank",))
    if set(body) <= set(". …·") and kind.mask not in body:
        return Parsed(None, ("set", "blank"))
    return Parsed("set", ("set",))


def _free(kind: FieldType, text: str) -> Parsed:
    body = " ".join(text.split())
    if isinstance(kind, ReadOnly) and kind.what == "clock":
        # Between a date and a time there is a space, seen or not.
        body = re.sub(r"(?<=[0-9]{2})\s*([0-9]{2}:[0-9]{2}(?::[0-9]{2})?)$", r" \1", body)
    if isinstance(kind, ReadOnly):
        # "20. 3 V": the recorder writes such a figure or time itself, and without a space.
        body = re.sub(r"(?<=[0-9]) ?([.:]) ?(?=[0-9])", r"\1", body)
        if re.fullmatch(_NEARLY_HARDWARE_ADDRESS, body):
            body = body.translate(_HEXADECIMAL)
    if isinstance(kind, Host) and " " in body:
        joined = body.replace(" ", "")
        return Parsed(None, (joined,) if problem(kind, joined) is None else ())
    if problem(kind, body) is None and (body or not isinstance(kind, ReadOnly)):
        return Parsed(body, (body,))
    return Parsed(None, ())
