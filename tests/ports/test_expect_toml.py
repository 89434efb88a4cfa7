"""Expectation files: what is read, and what is refused with file, line and field."""

from __future__ import annotations

from pathlib import Path

import pytest

from asfound.errors import InputError, NotFound
from asfound.model.finding import Expectation, ExpectedChannel
from asfound.ports.backends.expect_toml import load_expectation

FULL = """format = "asfound-expect/1"
rate_tolerance = 0.2
bitrate_tolerance = 0.4
max_gap_s = 5

[[channel]]
channel = 1
name = "Road"
size = "1280x720"
rate_fps = 12.5
bitrate_bps = 1500000
codec = "h264"
audio = false

[[channel]]
channel = 4
"""


def test_everything_that_can_be_said(tmp_path: Path) -> None:
    path = tmp_path / "expect.toml"
    path.write_text(FULL)
    first = ExpectedChannel(1, "Road", 1280, 720, 12.5, 1_500_000.0, "h264", False)
    assert load_expectation(path) == Expectation((first, ExpectedChannel(4)), 0.2, 0.4, 5.0)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("asfound-expect/1", "asfound-expect/9", r":1: format: "),
        ('"1280x720"', '"HD"', r":9: .*size.*width x height"),
        ("channel = 4", "channel = 1", r":16: .*twice"),
        ("channel = 4", "channel = 0", r":16: "),
        ("rate_fps = 12.5", "rate_fps = nan", r":10: "),
        ("max_gap_s = 5", "max_gap = 5", r":4: max_gap"),
        ("audio = false", "audio = ", r":13: "),
    ],
)
def test_faults_are_told_with_line_and_field(tmp_path: Path, old: str, new: str, says: str) -> None:
    path = tmp_path / "expect.toml"
    path.write_text(FULL.replace(old, new))
    with pytest.raises(InputError, match=r"expect\.toml" + says):
        load_expectation(path)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="nowhere"):
        load_expectation(tmp_path / "nowhere.toml")
