"""Week roll-over. Source: GPS week 0 began on 1980-01-06, week 2048 on 2019-04-07 (IS-GPS-200)."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from asfound.calc.week_rollover import TURN_S, early_turns


def at(year: int, month: int, day: int) -> float:
    return datetime(year, month, day, tzinfo=UTC).timestamp()


def test_a_turn_is_1024_weeks() -> None:
    assert at(1980, 1, 6) + TURN_S == at(1999, 8, 22)
    assert at(1999, 8, 22) + TURN_S == at(2019, 4, 7)


@pytest.mark.parametrize(
    ("turns", "latest"), [(0, at(2026, 11, 1)), (1, at(2007, 3, 18)), (2, at(1987, 8, 2))]
)
def test_early_dates(turns: int, latest: float) -> None:
    assert early_turns(latest, at(2026, 11, 2)) == turns


def test_other_wrong_dates_are_not_explained_by_it() -> None:
    assert early_turns(at(2000, 1, 1), at(2026, 11, 2)) == 0
    assert early_turns(at(2030, 1, 1), at(2026, 11, 2)) == 0
