"""One row of a drafted map: a fresh guess, or what new photographs add to an earlier one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from asfound.calc.draft_evidence import Evidence, Guess, Habits
from asfound.calc.draft_fields import Slot
from asfound.calc.draft_shapes import date_layouts, is_address, is_padded, switch_word
from asfound.calc.draft_spelling import folded, spellings
from asfound.calc.draft_type import guess_type
from asfound.calc.draft_words import VERSION_LABEL
from asfound.model.draft import Sample
from asfound.model.kinds import (
    Choice,
    Date,
    DateLayout,
    FieldType,
    Level,
    Number,
    ReadOnly,
    Switch,
    Time,
)
from asfound.model.menu_map import Field, Meaning

ANY = "*"
"""Key of ``Field.seen`` under which photographs are counted whose values are not kept."""

MOST_KEPT = 40
"""Different values kept of one row."""


def habits_of(found: Sequence[Slot]) -> Habits:
    """How the whole menu writes values."""
    samples = [sample for slot in found for sample in slot.samples]
    words = [sample for sample in samples if sample.text]
    switches = [sample.lamp for sample in words if switch_word(sample.text)]
    stepped = sum(sample.stepped for sample in words)
    addresses = [sample.text for sample in samples if is_address(sample.text)]
    padded = sum(is_padded(text) for text in addresses)
    layouts: Counter[DateLayout] = Counter()
    for slot in found:
        texts = [*(s.text for s in slot.samples), *(clock.split(" ")[0] for clock in slot.clocks)]
        for text in texts:
            layouts.update(date_layouts(text))
    best = layouts.most_common(2)
    clear = best and (len(best) == 1 or best[0][1] > best[1][1])
    return Habits(
        lamps=sum(switches) >= max(2, 0.4 * len(switches)),
        stepped=stepped >= 0.3 * len(words) and stepped >= 4,
        padded=padded * 3 >= len(addresses) and padded > 0,
        layout=best[0][0] if clear else None,
    )


def drafted_field(slot: Slot, pooled: Sequence[Sample], field_id: str, habits: Habits) -> Field:
    """The row as it should stand in the map. ``pooled``: its samples and its siblings'."""
    known = slot.known
    if known is None:
        more = len(pooled) > len(slot.samples)
        guess = guess_type(Evidence(slot.label, tuple(pooled), tuple(slot.clocks), more), habits)
        return _fresh(slot, guess, field_id)
    if not known.drafted or not slot.samples:
        return known
    earlier = [
        Sample(text, stepped=isinstance(known.type, Choice))
        for text, count in known.seen
        if text != ANY
        for _ in range(count)
    ]
    guess = guess_type(Evidence(slot.label, (*earlier, *pooled), tuple(slot.clocks)), habits)
    return _added(known, slot, guess)


def _fresh(slot: Slot, guess: Guess, field_id: str) -> Field:
    drafted = tuple(dict.fromkeys(("label", "type", *guess.unsure)))
    check = guess.check
    if len(slot.samples) > 1 and slot.labels[slot.label] < 0.6 * sum(slot.labels.values()):
        check = "; ".join(filter(None, ("photographs disagree about its label", check)))
    elif slot.certain < 0.8:
        check = "; ".join(filter(None, ("its label was hardly legible", check)))
    return Field(
        field_id,
        slot.label,
        guess.type,
        means=_means(slot.label, guess),
        volatile=guess.volatile,
        drafted=drafted,
        check=check,
        seen=_seen(guess.type, slot.samples, (), slot.label),
    )


def _means(label: str, guess: Guess) -> Meaning | None:
    match guess.type:
        case ReadOnly(what="version") if VERSION_LABEL.search(label):
            return "firmware"
        case ReadOnly(what="serial"):
            return "serial"
        case ReadOnly(what="clock"):
            return "clock"
        case Date() if guess.volatile:
            return "clock-date"
        case Time() if guess.volatile:
            return "clock-time"
        case _:
            return None


def _seen(
    kind: FieldType, samples: Sequence[Sample], before: Sequence[tuple[str, int]], label: str
) -> tuple[tuple[str, int], ...]:
    """The values seen and how often; of names, addresses and codes only how often."""
    counts = Counter(dict(before))
    version = isinstance(kind, ReadOnly) and kind.what == "version" and VERSION_LABEL.search(label)
    if isinstance(kind, Choice | Switch | Number | Level) or version:
        texts = [text for text, count in counts.items() if text != ANY for _ in range(count)]
        texts += [sample.text for sample in samples if sample.text]
        kept = [(one.text, one.count) for one in spellings(texts)[:MOST_KEPT]]
        rest = counts[ANY] + sum(not sample.text for sample in samples)
        return (*kept, *(((ANY, rest),) if rest else ()))
    return ((ANY, sum(counts.values()) + len(samples)),)


def _added(known: Field, slot: Slot, guess: Guess) -> Field:
    """The drafted row with what the new photographs show; confirmed parts stay as they are."""
    label = slot.label if "label" in known.drafted else known.label
    kind, drafted, check = known.type, known.drafted, known.check
    if type(guess.type) is type(kind):
        kind = _widened(kind, guess.type, drafted)
        if not known.check or "type" not in guess.unsure:
            check = guess.check
    elif "type" in drafted and (known.check or "type" not in guess.unsure):
        kind, check = guess.type, guess.check
        drafted = tuple(dict.fromkeys(("label", "type", *guess.unsure)))
        drafted = tuple(
            part for part in drafted if part in ("type", *guess.unsure) or part in known.drafted
        )
    elif "type" in drafted:
        check = f"new photographs look like a {guess.type.kind}"
    return replace(
        known,
        label=label,
        type=kind,
        drafted=drafted,
        check=check,
        means=known.means or _means(label, guess),
        volatile=known.volatile or guess.volatile,
        seen=_seen(kind, slot.samples, known.seen, label),
    )


def _widened(known: FieldType, new: FieldType, drafted: tuple[str, ...]) -> FieldType:
    """``known`` with what ``new`` has more; both of one class."""
    match known, new:
        case Choice(), Choice() if "options" in drafted:
            have = {folded(option) for option in known.options}
            more = tuple(option for option in new.options if folded(option) not in have)
            return replace(known, options=(*known.options, *more))
        case Switch(), Switch() if "options" in drafted:
            return new
        case Number(), Number() if "range" in drafted:
            return _wider_number(known, new, drafted)
        case Level(), Level() if "range" in drafted:
            low, high = min(known.minimum, new.minimum), max(known.maximum, new.maximum)
            return Level(low, high)
        case Date(), Date() if "layout" in drafted:
            return new
        case Time(), Time():
            return Time(known.seconds or new.seconds) if "type" in drafted else known
        case _:
            return known


def _wider_number(known: Number, new: Number, drafted: tuple[str, ...]) -> Number:
    have = {folded(word) for word in known.words}
    words = known.words
    if "options" in drafted or not have:
        words = (*known.words, *(word for word in new.words if folded(word) not in have))
    decimals = max(known.decimals, new.decimals)
    return Number(
        min(known.minimum, new.minimum),
        max(known.maximum, new.maximum),
        min(known.step, new.step),
        decimals,
        known.unit or new.unit,
        words,
    )
