"""Days kept against promise and law.

Expected figures: computed by hand from bit/s * 3600 * hours / 8 and the decimal prefixes of
IEC 80000-13.
"""

from __future__ import annotations

import pytest

from asfound.calc.days_kept import Band, Load, Room, around
from asfound.errors import UsageError
from asfound.jobs.size_storage import (
    DaysFault,
    Measured,
    SizeStorage,
    Storage,
    measured_loads,
    size_storage,
)


def sized(promised: float | None, lawful: float | None, spread: float = 0.2) -> Storage:
    """4 channels of 2 Mbit/s all day on 1 TB: 11.574 days on average."""
    load = Load(around(2e6, spread), 24, 4)
    return size_storage(SizeStorage((load,), Room(1e12), promised, lawful))


@pytest.mark.parametrize(
    ("promised", "lawful", "kinds"),
    [
        (None, None, []),
        (9, 20, []),
        (11, None, [DaysFault.MAY_BE_TOO_FEW]),
        (15, None, [DaysFault.TOO_FEW]),
        (None, 14, [DaysFault.TOO_MANY]),
        (9, 8, [DaysFault.TOO_MANY, DaysFault.CONTRADICTION]),
    ],
)
def test_findings(promised: float | None, lawful: float | None, kinds: list[DaysFault]) -> None:
    assert [one.kind for one in sized(promised, lawful).findings] == kinds


def test_days_that_miss_a_limit_are_not_written_as_the_limit() -> None:
    # 11.574 days a band of 20 %: 9.645 to 14.468 (by hand).
    assert "in bad weeks 9 days are kept, 10 were" in sized(10, None).findings[0].note
    assert "up to 15 days are kept" in sized(None, 14.45).findings[0].note
    assert sized(14.48, None).findings[0].note.startswith("10 to 14 days are kept, 14.48")


def test_what_keeps_the_promise() -> None:
    result = sized(23.148148, None)
    assert result.days.likely == pytest.approx(11.574074)
    assert result.drive_bytes is not None and result.rate_share is not None
    assert result.drive_bytes.likely == pytest.approx(2e12)
    assert result.rate_share.likely == pytest.approx(0.5)


def test_measured_rates_weigh_by_length_and_few_of_them_are_widened() -> None:
    few = [Measured(2, 60, 1e6), Measured(2, 180, 2e6), Measured(1, 60, 4e5)]
    one, two = measured_loads(few, 10, 0.2)
    assert one.rate == Band(3.2e5, 4e5, 4.8e5)
    assert (two.rate.low, two.rate.likely) == (1e6, 1.75e6)
    assert two.rate.high == pytest.approx(2.1e6)
    many = [Measured(1, 60, 1e6 + 1e4 * number) for number in range(10)]
    [band] = measured_loads(many, 10, 0.2)
    assert (band.rate.low, band.rate.high) == (1e6, 1.09e6)


def test_nothing_written_is_said() -> None:
    with pytest.raises(UsageError, match="nothing is written"):
        size_storage(SizeStorage((), Room(1e12)))
