"""Rivals of a read clock, by chances made by hand: a line seen without doubt leaves none near."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import pytest

from asfound.calc.ctc import Chances
from asfound.calc.overlay_proof import Line, rivals
from asfound.calc.overlay_text import stamps

ALPHABET = "0123456789:-/ "


def seen(text: str, also: dict[int, tuple[str, float]] | None = None) -> Chances:
    """A place for each character with a blank after it; ``also``: at a place, another character
    with that chance."""
    chances = np.full((2 * len(text), 1 + len(ALPHABET)), 1e-6, np.float32)
    for at, letter in enumerate(text):
        chances[2 * at + 1, 0] = 1.0
        other, share = (also or {}).get(at, ("", 0.0))
        chances[2 * at, 1 + ALPHABET.index(letter)] = 1 - share
        if other:
            chances[2 * at, 1 + ALPHABET.index(other)] = share
    return chances


def lines(also: dict[int, tuple[str, float]] | None) -> list[Line]:
    first = datetime(2026, 3, 24, 15, 7, 2)
    moments = [first + timedelta(seconds=3 * n) for n in range(3)]
    return [Line(((seen(f"{m:%Y-%m-%d %H:%M:%S}", also), ALPHABET),), m) for m in moments]


def test_the_likeliest_other_digit() -> None:
    stamp = stamps("2026-03-24 15:07:02")
    assert stamp is not None
    [rival] = rivals(lines({6: ("8", 0.3)}), stamp, "ymd", 4.0)
    # 03 -> 08 is five months on; three pictures, each ln(0.7 / 0.3) for it.
    assert rival.shift == datetime(2026, 8, 24) - datetime(2026, 3, 24)
    assert rival.margin == pytest.approx(3 * np.log(0.7 / 0.3), abs=0.01)
    [turned] = rivals(lines({6: ("8", 0.7)}), stamp, "ymd", 4.0)
    assert turned.margin < 0
    assert rivals(lines(None), stamp, "ymd", 20.0) == ()
    assert rivals([], stamp, "ymd", 20.0) == ()


def test_the_likeliest_comes_first_and_days_may_be_added() -> None:
    stamp = stamps("2026-03-24 15:07:02")
    assert stamp is not None
    doubted = lines({6: ("8", 0.3), 9: ("1", 0.4)})
    both = rivals(doubted, stamp, "ymd", 4.0)
    assert [rival.shift.days for rival in both] == [-3, 153]
    assert both[0].margin == pytest.approx(3 * np.log(0.6 / 0.4), abs=0.01)
    # Two digits at once: only asked for, and then the product of both chances.
    far = datetime(2026, 8, 21) - datetime(2026, 3, 24)
    found = {rival.shift: rival.margin for rival in rivals(doubted, stamp, "ymd", 9.0, (far,))}
    assert found[far] == pytest.approx(both[0].margin + both[1].margin, abs=0.01)


def test_recognisers_of_one_picture_are_averaged() -> None:
    """One that is sure of the wrong digit does not outvote one that is as sure of the right one
    and another that leans to it."""
    stamp = stamps("2026-03-24 15:07:02")
    assert stamp is not None
    right, wrong, leans = lines(None), lines({6: ("8", 0.9)}), lines({6: ("8", 0.3)})
    together = [
        Line((*a.seen, *b.seen, *c.seen), a.moment)
        for a, b, c in zip(lines({6: ("8", 0.1)}), wrong, leans, strict=True)
    ]
    [rival] = rivals(together, stamp, "ymd", 4.0)
    assert rival.margin == pytest.approx(np.log(0.7 / 0.3), abs=0.01)
    alone = [Line(a.seen, a.moment) for a in right]
    assert rivals(alone, stamp, "ymd", 4.0) == ()


def test_a_century_that_is_not_written_has_no_rival() -> None:
    stamp = stamps("26-03-24 15:07:02")
    assert stamp is not None
    first = datetime(2026, 3, 24, 15, 7, 2)
    found = rivals([Line(((seen("26-03-24 15:07:02"), ALPHABET),), first)], stamp, "ymd", 1e9)
    assert found and min(rival.margin for rival in found) > 5
    assert all((first + rival.shift).year // 100 == 20 for rival in found)


def test_a_recogniser_that_cannot_read_the_line_is_not_heard() -> None:
    """It sees 8 for 0 in three places, and so prefers 2026-08 to 2026-03."""
    stamp = stamps("2026-03-24 15:07:02")
    assert stamp is not None
    blurred = lines({1: ("8", 0.999), 6: ("8", 0.999), 12: ("8", 0.999), 18: ("8", 0.999)})
    clear = lines({6: ("8", 0.01)})
    together = [Line((*a.seen, *b.seen), a.moment) for a, b in zip(clear, blurred, strict=True)]
    assert rivals(blurred, stamp, "ymd", 0.0)
    [rival] = rivals(together, stamp, "ymd", 15.0)
    assert rival.margin == pytest.approx(3 * np.log(0.99 / 0.01), abs=0.01)
