"""Rows that show numbers: with a unit, with special words between, as a level, as a list."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal

from asfound.calc.draft_evidence import OPEN_LENGTH, Guess, Seen
from asfound.calc.draft_shapes import Amount, amount, switch_word
from asfound.calc.draft_spelling import Spelling
from asfound.calc.draft_words import GRADED, HEIGHTS, LEVEL, RATE, RATES, SUPPLIES, UNITS
from asfound.model.kinds import Choice, Level, Number, Text

MOST_DIGITS, MOST_STEPS = 5, 100_000
"""A draft allows one digit more than it saw, but not more steps than a map may have."""


def amounts_guess(seen: Seen) -> Guess | None:
    """Numbers, with or without special words; levels; short lists of amounts."""
    numbers = [(value, found) for value in seen.values if (found := amount(value.text))]
    share = sum(value.count for value, _ in numbers) / seen.count
    words = [value.text for value in seen.values if amount(value.text) is None]
    if not numbers or share < 0.12:
        # A lone figure among many words is a misread mark.
        return None
    units = Counter[str]()
    for value, found in numbers:
        units[found.unit] += value.count
    unit, most = max(units.items(), key=lambda one: (one[0] != "" or len(units) == 1, one[1]))
    # A unit is easily overlooked: a number without one goes with the others.
    if most + units[""] * (unit != "") < 0.7 * sum(units.values()):
        return None
    amounts = [(value, found) for value, found in numbers if found.unit in (unit, "")]
    figures = [found for _, found in amounts]
    small = all(abs(one.value) <= 100 and not one.decimals for one in figures)
    if not unit and (seen.bar > 0.3 or (small and not words and LEVEL.search(seen.label))):
        top = max(abs(int(found.value)) for _, found in amounts)
        return Guess(Level(0, max(100, top)), ("range",))
    if _mixed_decimals(amounts) or _is_list(seen, amounts, unit):
        options = tuple(value.text for value in seen.values)
        return Guess(Choice(options), ("type", "options"), "a list of options, or a number?")
    opposites = all(switch_word(word) for word in words) and not unit
    if words and opposites and len(numbers) == 1 and share <= 0.2:
        # A lone figure beside on and off is a misread mark.
        return None
    if len(words) >= 2 and len(numbers) == 1 and share <= 0.34 and seen.pooled:
        return None
    if len(words) > 3 or (share < 0.34 and len(words) > 2):
        return None
    return _number(seen, amounts, unit, tuple(words))


def _mixed_decimals(amounts: Sequence[tuple[Spelling, Amount]]) -> bool:
    places = Counter[int]()
    for value, found in amounts:
        places[found.decimals] += value.count
    return len(places) > 1 and min(places.values()) >= 0.2 * sum(places.values())


def _is_list(seen: Seen, amounts: Sequence[tuple[Spelling, Amount]], unit: str) -> bool:
    """True where amounts come back again and again, or are the usual ones of a short list."""
    values = [found.value for _, found in amounts]
    if unit and unit not in UNITS.values() and all(value in HEIGHTS for value in values):
        return True
    if unit == "GHz" or (unit.endswith("Hz") and GRADED.search(seen.label)):
        return True
    if unit == "V" and GRADED.search(seen.label) and all(value in SUPPLIES for value in values):
        return True
    rates = sum(value in RATES and value % 5 == 0 for value in values)
    usual = rates >= 0.7 * len(values)
    if not unit and seen.count >= 3 and usual and RATE.search(seen.label):
        return True
    if GRADED.search(seen.label) and len(values) < seen.count:
        return True
    counts = sorted((value.count for value, _ in amounts), reverse=True)
    rest, distinct = sum(counts[1:]), len(counts) - 1
    even = all(value % 5 == 0 for value in values) and len(values) > 2
    return rest >= 5 and distinct <= 0.6 * rest and even


def _number(
    seen: Seen, amounts: Sequence[tuple[Spelling, Amount]], unit: str, words: tuple[str, ...]
) -> Guess:
    decimals = Counter[int]()
    for value, found in amounts:
        decimals[found.decimals] += value.count
    places = decimals.most_common(1)[0][0]
    biggest = max(abs(found.value) for _, found in amounts)
    step = Decimal(1).scaleb(-places)
    digits = min(max(len(str(int(biggest))), 2) + 1, MOST_DIGITS - places)
    high = max(Decimal(10) ** digits - step, biggest)
    below = any(found.value < 0 for _, found in amounts) or unit in ("°C", "°F")
    low = -min(high, Decimal(99)) if below else Decimal(0)
    if (high - low) / step > MOST_STEPS:
        check = "too long a number for a setting: a text?"
        return Guess(Text(OPEN_LENGTH), ("type", "length"), check)
    kind = Number(low.quantize(step), high.quantize(step), step, places, unit, words)
    check = ""
    unsure: tuple[str, ...] = ("range",)
    if words:
        unsure, check = ("range", "options"), "words beside numbers: which are there?"
    elif not unit and seen.count < 3:
        unsure, check = ("type", "range"), "a number, or an option of a list?"
    return Guess(kind, unsure, check)
