"""Rivals of a read clock, by chances made by hand: a line seen without doubt leaves none near."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import pytest

from asfound.calc.ctc import Chances
from asfound.calc.overlay_proof import Line, nearest_rival
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
    return [Line(seen(f"{m:%Y-%m-%d %H:%M:%S}", also), ALPHABET, m) for m in moments]


def test_the_likeliest_other_digit() -> None:
    stamp = stamps("2026-03-24 15:07:02")
    assert stamp is not None
    rival = nearest_rival(lines({6: ("8", 0.3)}), stamp, "ymd")
    assert rival is not None
    # 03 -> 08 is five months on; three pictures, each ln(0.7 / 0.3) for it.
    assert rival.shift == datetime(2026, 8, 24) - datetime(2026, 3, 24)
    assert rival.margin == pytest.approx(3 * np.log(0.7 / 0.3), abs=0.01)
    turned = nearest_rival(lines({6: ("8", 0.7)}), stamp, "ymd")
    assert turned is not None and turned.margin < 0
    clear = nearest_rival(lines(None), stamp, "ymd")
    assert clear is not None and clear.margin > 20


def test_a_century_that_is_not_written_has_no_rival() -> None:
    stamp = stamps("26-03-24 15:07:02")
    assert stamp is not None
    first = datetime(2026, 3, 24, 15, 7, 2)
    rival = nearest_rival([Line(seen("26-03-24 15:07:02"), ALPHABET, first)], stamp, "ymd")
    assert rival is not None and rival.margin > 5
