"""Channel and start from names: common ways, patterns, and never a guess."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import PurePath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.errors import UsageError
from asfound.jobs.prove_names import parse_pattern, read_name


@pytest.mark.parametrize(
    ("path", "channel"),
    [
        ("ch3.mp4", 3),
        ("CH03_20260301.mp4", 3),
        ("cam_12-0800.mkv", 12),
        ("Camera 4.avi", 4),
        ("channel-7.ts", 7),
        ("20260301_080000_ch2_front.mp4", 2),
        ("ch1/20260301T080000.mp4", 1),
        ("cam2/ch2.mp4", 2),
        ("0001.mp4", None),
        ("march3.mp4", None),
        ("ch123.mp4", None),
        ("ch1_ch2.mp4", None),
    ],
)
def test_common_ways_to_name_files(path: str, channel: int | None) -> None:
    named = read_name(PurePath(path))
    assert named.channel == channel
    assert bool(named.unclear) == (channel is None)


def test_what_is_not_one_channel_says_which() -> None:
    assert "channels 1 and 2" in read_name(PurePath("ch1_ch2.mp4")).unclear


@pytest.mark.parametrize(
    ("pattern", "path", "channel", "start"),
    [
        (
            "{channel}_{start:%Y%m%dT%H%M%SZ}", "03_20260301T080005Z.mp4",
            3, datetime(2026, 3, 1, 8, 0, 5, tzinfo=UTC),
        ),
        (
            "{any}-{channel}-{start:%d%m%y%H%M%S%z}", "bus-2-010326090005+0100.mp4",
            2, datetime(2026, 3, 1, 8, 0, 5, tzinfo=UTC),
        ),
        ("{channel}/{any}", "drive/4/clip (1).mp4", 4, None),
        ("{start:%Y-%m-%d %H.%M.%S}Z", "2026-03-01 08.00.05Z.ts", None,
         datetime(2026, 3, 1, 8, 0, 5, tzinfo=UTC)),
    ],
)  # fmt: skip
def test_patterns(pattern: str, path: str, channel: int | None, start: datetime | None) -> None:
    named = parse_pattern(pattern).read(PurePath(path))
    assert (named.channel, named.start, named.unclear) == (channel, start, "")


@pytest.mark.parametrize("path", ["front.mp4", "3_20260301.mp4", "3_20261399T080005Z.mp4"])
def test_a_name_that_does_not_fit_is_unclear(path: str) -> None:
    named = parse_pattern("{channel}_{start:%Y%m%dT%H%M%SZ}").read(PurePath(path))
    assert named.start is None
    assert named.unclear


@pytest.mark.parametrize(
    ("pattern", "says"),
    [
        ("{channel}_{time}", "only {channel}"),
        ("{channel", "only {channel}"),
        ("{channel}{channel}", "once"),
        ("clip", "once"),
        ("{start:%Y%m%dT%H%M%S}", "no zone"),
        ("{start:%Q}Z", "%Q is not known"),
        ("{start:%Y}Z{start:%Y}Z", "may stand once"),
    ],
)
def test_a_pattern_that_cannot_work_is_refused_with_the_reason(pattern: str, says: str) -> None:
    with pytest.raises(UsageError) as caught:
        parse_pattern(pattern)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


@given(
    st.integers(1, 99),
    st.datetimes(datetime(2000, 1, 1), datetime(2099, 1, 1), timezones=st.just(UTC)),
)
def test_what_is_written_is_read_back(channel: int, at: datetime) -> None:
    at -= timedelta(microseconds=at.microsecond)
    pattern = parse_pattern("cam{channel}_{start:%Y%m%dT%H%M%SZ}")
    named = pattern.read(PurePath(f"cam{channel}_{at:%Y%m%dT%H%M%SZ}.mp4"))
    assert (named.channel, named.start) == (channel, at)


@given(st.text(max_size=30))
def test_any_text_as_a_pattern_works_or_is_refused(text: str) -> None:
    try:
        parse_pattern(text).read(PurePath("ch1_20260301T080000Z.mp4"))
    except UsageError as error:
        assert str(error)
