"""Days kept, against the arithmetic of IEC 80000-13's prefixes and a ring that overwrites."""

from __future__ import annotations

from collections import deque

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.days_kept import (
    Band,
    Load,
    Room,
    around,
    bytes_a_day,
    days_kept,
    drive_for,
    rate_share_for,
)
from asfound.units import GB, GIB, TB

MBIT = 1e6


def steady(mbit: float, hours: float = 24, channels: int = 1) -> Load:
    return Load(Band(mbit * MBIT, mbit * MBIT, mbit * MBIT), hours, channels)


@pytest.mark.parametrize(
    ("mbit", "gigabytes"), [(1, 10.8), (2, 21.6), (4, 43.2), (8, 86.4), (16, 172.8)]
)
def test_a_rate_all_day_in_decimal_gigabytes(mbit: float, gigabytes: float) -> None:
    # bit/s * 86400 / 8 with the decimal prefixes of IEC 80000-13 (identity, computed by hand).
    assert bytes_a_day([steady(mbit)]).likely == pytest.approx(gigabytes * GB)


def test_worked_examples() -> None:
    # Computed by hand from the same identity: 4 x 2 Mbit/s on 1 TB, 8 x 1.5 Mbit/s 12 h on 2 TB.
    assert days_kept([steady(2, channels=4)], Room(TB)).likely == pytest.approx(11.574, abs=5e-4)
    two = days_kept([steady(1.5, 12, 8)], Room(2 * TB))
    assert two.likely == pytest.approx(30.864, abs=5e-4)


def test_a_drive_in_binary_units() -> None:
    # IEC 80000-13: 1 TB = 931.3226 GiB; a reserve of half of it halves the days.
    assert pytest.approx(931.3226, abs=5e-5) == TB / GIB
    half = Room(TB, reserve_bytes=465.6613 * GIB)
    assert days_kept([steady(8)], half).likely == pytest.approx(
        days_kept([steady(8)], Room(TB)).likely / 2, rel=1e-6
    )


LOADS = st.lists(
    st.builds(
        lambda rate, spread, hours, channels, audio: Load(
            around(rate, spread), hours, channels, audio
        ),
        st.floats(5e4, 2e7), st.floats(0, 0.9), st.floats(0.1, 24), st.integers(1, 16),
        st.floats(0, 2e5),
    ),
    min_size=1, max_size=5,
)  # fmt: skip
ROOMS = st.builds(Room, st.floats(1e10, 2e13), st.floats(0, 0.2), st.floats(0, 5e9))


@given(LOADS, ROOMS, st.floats(1, 3))
def test_more_drive_is_never_fewer_days_and_more_rate_never_more(
    loads: list[Load], room: Room, factor: float
) -> None:
    days = days_kept(loads, room)
    larger = Room(room.drive_bytes * factor, room.file_system, room.reserve_bytes)
    faster = [
        Load(load.rate.times(factor), load.hours_a_day, load.channels, load.audio_bps)
        for load in loads
    ]
    assert days_kept(loads, larger).low >= days.low * (1 - 1e-12)
    assert days_kept(faster, room).high <= days.high * (1 + 1e-12)


@given(LOADS, ROOMS, st.floats(1, 400))
def test_the_inverse_comes_back(loads: list[Load], room: Room, days: float) -> None:
    drive = drive_for(loads, days, room)
    for size, which in ((drive.high, "low"), (drive.likely, "likely"), (drive.low, "high")):
        kept = days_kept(loads, Room(size, room.file_system, room.reserve_bytes))
        assert getattr(kept, which) == pytest.approx(days, rel=1e-9)
    share = rate_share_for(loads, days, room).likely
    slower = [
        Load(
            Band(*(load.rate.likely * share,) * 3), load.hours_a_day, load.channels, load.audio_bps
        )
        for load in loads
    ]
    if share:
        assert days_kept(slower, room).likely == pytest.approx(days, rel=1e-6)


@pytest.mark.parametrize("seed", range(6))
def test_a_ring_that_really_overwrites_keeps_as_long(seed: int) -> None:
    # Outside check: files written one after the other, each of its own size; when the drive is
    # full the oldest go. What is on it at the end is counted.
    random = np.random.default_rng(seed)
    channels = [
        (float(random.uniform(0.5, 4)) * MBIT, float(random.uniform(0, 64e3)))
        for _ in range(int(random.integers(2, 9)))
    ]
    hours = float(random.uniform(4, 16))
    room = Room(float(random.uniform(0.2, 0.8)) * TB, 0.02, float(random.uniform(0, 60)) * GB)
    minutes, kept, used = 5.0, deque[tuple[float, float]](), 0.0
    day, oldest = 0, 0.0
    while day < 200:
        clock = 0.0
        while clock < hours * 60 - 1e-9:
            length = min(minutes, hours * 60 - clock)
            for rate, audio in channels:
                wanted = (rate * float(random.normal(1, 0.2)) + audio) / 8 * 60 * length
                wanted = max(wanted, 1.0)
                while used + wanted > room.usable_bytes:
                    oldest, gone = kept.popleft()
                    used -= gone
                kept.append((day + clock / (hours * 60), wanted))
                used += wanted
            clock += length
        day += 1
    loads = [Load(Band(rate, rate, rate), hours, 1, audio) for rate, audio in channels]
    assert day - kept[0][0] == pytest.approx(days_kept(loads, room).likely, rel=0.02)
    assert oldest > 0, "nothing was overwritten"


def test_nothing_written_and_what_is_no_band() -> None:
    with pytest.raises(ValueError, match="nothing is written"):
        days_kept([steady(2, hours=0)], Room(TB))
    with pytest.raises(ValueError, match="not a band"):
        Band(2, 1, 3)
    assert days_kept([steady(2)], Room(GB, reserve_bytes=2 * GB)).high == 0
