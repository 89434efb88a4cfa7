"""The drawn clock: its text is what Python's calendar says, and it is in the picture."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pytest

from asfound.demo.footage_overlay import PLACES, STYLES, Burned, Ticking, burn, random_clip

AT = datetime(2026, 3, 4, 15, 7, 9)


def test_lines_of_a_moment() -> None:
    assert Burned().lines(AT) == (f"{AT:%Y-%m-%d}  {AT:%H:%M:%S}",)
    twelve = Burned("{d:02}.{m:02}.{y:04}", "{I:02}:{M:02}:{S:02} {p}", True, True, "CAM 1")
    assert twelve.lines(AT) == (f"{AT:%I:%M:%S %p}", f"{AT:%d.%m.%Y}", "CAM 1")


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("style", STYLES)
def test_the_clock_stands_where_it_should(place: str, style: str) -> None:
    plain = np.full((360, 640), 120, np.uint8)
    made = burn(plain, Burned(place=place, style=style), AT)
    rows, columns = np.nonzero(made != 120)
    assert (rows.max() < 100) != place.startswith("bottom")
    assert (rows.min() > 260) == place.startswith("bottom")
    if place.endswith("left"):
        assert columns.min() < 40 and columns.max() < 400
    elif place.endswith("right"):
        assert columns.max() > 600 and columns.min() > 240
    else:
        assert abs((columns.min() + columns.max()) / 2 - 320) < 12


def test_how_a_clock_goes() -> None:
    assert Ticking(AT).shown(4.5) == datetime(2026, 3, 4, 15, 7, 13, 500_000)
    assert Ticking(AT, "stands", 2.0).shown(9.0) == datetime(2026, 3, 4, 15, 7, 11)
    assert Ticking(AT, "jumps", 2.0, 3600.0).shown(3.0) == datetime(2026, 3, 4, 16, 7, 12)


def test_a_seed_gives_the_same_clip() -> None:
    assert random_clip(5) == random_clip(5) != random_clip(6)
    assert random_clip(5, hard=True).burned != random_clip(5).burned
