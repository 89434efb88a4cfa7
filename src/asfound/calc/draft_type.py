"""Which type a row's values speak for, and what of it a person should confirm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

from asfound.calc.draft_amounts import amounts_guess
from asfound.calc.draft_evidence import (
    HOST_LENGTH,
    OPEN_LENGTH,
    Evidence,
    Guess,
    Habits,
    Seen,
    counted,
)
from asfound.calc.draft_heading import CLOCK
from asfound.calc.draft_shapes import (
    SERIAL,
    VERSION,
    amount,
    date_layouts,
    has_seconds,
    is_address,
    is_host,
    is_padded,
    is_time,
    switch_word,
)
from asfound.calc.draft_worded import words_guess
from asfound.calc.draft_words import HOST, PASSWORD, SECRET, SERIAL_LABEL, SHOWN, VERSION_LABEL
from asfound.model.kinds import (
    Date,
    DateLayout,
    Host,
    IPv4,
    Level,
    ReadOnly,
    Secret,
    Text,
    Time,
)


def guess_type(evidence: Evidence, habits: Habits) -> Guess:
    """The likeliest type of a row. What one look cannot tell is marked, never silently chosen."""
    samples = evidence.samples
    masked = sum(sample.masked for sample in samples)
    told = sum(bool(sample.text) for sample in samples)
    if masked and masked >= 0.3 * (masked + told):
        check = "" if masked > 1 or SECRET.search(evidence.label) else "masked once: a secret?"
        return Guess(Secret(32), ("length",), check)
    seen = counted(evidence, habits)
    if not seen.values:
        return _unseen(seen)
    if PASSWORD.search(seen.label) and not any(switch_word(text) for text in seen.texts):
        # Shown openly, it is a secret all the same: what was read of it is not kept.
        return Guess(Secret(32), ("type", "length"), "shown openly: a secret?")
    steps: tuple[Callable[[Seen], Guess | None], ...] = (
        _clock, _dates, _times, _addresses, _shown_only, amounts_guess,
    )  # fmt: skip
    for step in steps:
        if (found := step(seen)) is not None:
            return found
    return words_guess(seen)


def _unseen(seen: Seen) -> Guess:
    """Nothing was ever written there."""
    if seen.bar > 0.3:
        return Guess(Level(0, 100), ("type", "range"), "a bar, its figure never legible")
    if SECRET.search(seen.label):
        return Guess(Secret(32), ("type", "length"), "always blank: a secret?")
    if HOST.search(seen.label):
        return Guess(Host(HOST_LENGTH), ("type", "length"), "always blank: a host name?")
    return Guess(
        Text(OPEN_LENGTH), ("type", "length"), "always blank or never legible: which type?"
    )


def _clock(seen: Seen) -> Guess | None:
    if seen.share(lambda text: CLOCK.fullmatch(text) is not None) < 0.7:
        return None
    return Guess(ReadOnly("clock"), (), "", volatile=True)


def _dates(seen: Seen) -> Guess | None:
    if seen.share(lambda text: bool(date_layouts(text))) < 0.7:
        return None
    votes: Counter[DateLayout] = Counter()
    for value in seen.values:
        votes.update(dict.fromkeys(date_layouts(value.text), value.count))
    most = max(votes.values())
    best = [layout for layout, count in votes.items() if count == most]
    known = seen.habits.layout
    layout = known if known in best else best[0]
    running = any(text and text in clock for clock in seen.clocks for text in seen.texts)
    unsure = len(best) > 1 and known not in best
    check = "day or month first?" if unsure else ""
    return Guess(Date(layout or best[0]), ("layout",) if unsure else (), check, volatile=running)


def _times(seen: Seen) -> Guess | None:
    if seen.share(is_time) < 0.7:
        return None
    seconds = seen.share(has_seconds) > 0.5
    running = any(text[:5] in clock for clock in seen.clocks for text in seen.texts if text)
    # A setting may be the same minute as the clock once; a clock is so every time.
    hits = sum(any(text[:5] in clock for clock in seen.clocks) for text in seen.texts)
    running = running and hits == len(seen.texts)
    return Guess(Time(seconds), (), "", volatile=running)


def _addresses(seen: Seen) -> Guess | None:
    if seen.share(is_address) < 0.7:
        if seen.share(lambda text: is_address(text) or is_host(text)) > 0.7:
            return Guess(Host(HOST_LENGTH), ("length",), "")
        return None
    padded = seen.habits.padded
    shown = any(is_padded(text) for text in seen.texts)
    if padded and not shown and not all(len(text) == 15 for text in seen.texts):
        return Guess(Host(HOST_LENGTH), ("type", "length"), "addresses only: a host name as well?")
    if not padded and HOST.search(seen.label) and not seen.label[-1:].isdigit():
        return Guess(Host(HOST_LENGTH), ("type", "length"), "addresses only: a host name as well?")
    return Guess(IPv4(padded))


def _shown_only(seen: Seen) -> Guess | None:
    """Rows that only show something: written faintly, or named and shaped like it."""
    faint = seen.faded >= 0.6
    named = SHOWN.search(seen.label) is not None
    version = seen.share(lambda text: VERSION.fullmatch(text) is not None) > 0.6
    serial = seen.share(lambda text: SERIAL.fullmatch(text) is not None) > 0.6
    stepped = seen.stepped > 0.3 or seen.blanks > 0 or (seen.habits.lamps and seen.lamp > 0.5)
    if stepped or not (faint or named):
        return None
    sure = faint and (named or seen.count > 2)
    unsure = () if sure else ("type",)
    check = "" if sure else "can it be set, or is it only shown?"
    if version and (VERSION_LABEL.search(seen.label) or all(amount(t) is None for t in seen.texts)):
        return Guess(ReadOnly("version"), unsure, check)
    if serial and (SERIAL_LABEL.search(seen.label) or faint):
        return Guess(ReadOnly("serial"), unsure, check)
    if not faint and all(switch_word(text) for text in seen.texts):
        return None
    return Guess(ReadOnly("text"), unsure, check)
