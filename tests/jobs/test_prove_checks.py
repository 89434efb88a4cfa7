"""Expectation, gaps and verdict on made-up recordings. Expected values are counted by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.jobs.prove_checks import (
    as_expected,
    codec_name,
    not_measured,
    verdict_of,
    with_seams,
)
from asfound.model.finding import (
    Expectation,
    ExpectedChannel,
    Finding,
    Kind,
    ProofVerdict,
    Recording,
)

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
GOOD = Recording("ch1.mp4", 1, "h264", 1280, 720, 12.0, 60.0, 1_500_000.0, START, ())
WANTED = ExpectedChannel(1, "ROAD", 1280, 720, 12.0, 1_500_000.0, "H.264", False)
LIMITS = Expectation((WANTED,), rate_tolerance=0.1, bitrate_tolerance=0.5)


def kinds(recording: Recording, wanted: ExpectedChannel = WANTED, audio: bool = False) -> set[str]:
    return {finding.kind for finding in as_expected(recording, wanted, LIMITS, audio)}


def test_as_promised_is_fine() -> None:
    assert kinds(GOOD) == set()


@pytest.mark.parametrize(
    ("change", "kind"),
    [
        ({"width": 704, "height": 576}, Kind.WRONG_SIZE),
        ({"rate_fps": 10.7}, Kind.WRONG_RATE),
        ({"rate_fps": 13.3}, Kind.WRONG_RATE),
        ({"bitrate_bps": 740_000.0}, Kind.WRONG_BITRATE),
        ({"bitrate_bps": 2_260_000.0}, Kind.WRONG_BITRATE),
        ({"codec": "hevc"}, Kind.WRONG_CODEC),
    ],
)
def test_each_departure_is_found(change: dict[str, Any], kind: Kind) -> None:
    [finding] = as_expected(replace(GOOD, **change), WANTED, LIMITS, False)
    assert finding.kind is kind
    assert (finding.start_s, finding.end_s) == (0.0, 60.0)
    assert finding.source == "expectation"


def test_limits_are_the_near_edge_of_the_tolerance() -> None:
    [low] = as_expected(replace(GOOD, rate_fps=5.0), WANTED, LIMITS, False)
    [high] = as_expected(replace(GOOD, rate_fps=25.0), WANTED, LIMITS, False)
    assert low.limit == pytest.approx(10.8)
    assert high.limit == pytest.approx(13.2)


def test_sound_missing_and_sound_unwanted() -> None:
    assert kinds(GOOD, replace(WANTED, audio=True)) == {Kind.NO_AUDIO}
    assert kinds(GOOD, WANTED, audio=True) == {Kind.UNWANTED_AUDIO}
    assert kinds(GOOD, replace(WANTED, audio=None), audio=True) == set()


def test_what_cannot_be_measured_is_said() -> None:
    blind = replace(GOOD, rate_fps=None, bitrate_bps=None)
    assert kinds(blind) == set()
    assert len(list(not_measured(blind, WANTED))) == 2
    assert list(not_measured(GOOD, WANTED)) == []


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("H.264 High", "h264"), ("h264", "h264"), ("AVC", "h264"), ("H.265", "hevc"),
        ("hevc", "hevc"), ("Motion JPEG", "mjpeg"), ("mpeg4", "mpeg4"), ("VP9", "vp9"),
    ],
)  # fmt: skip
def test_codecs_however_they_are_written(text: str, name: str) -> None:
    assert codec_name(text) == name


def later(seconds: float, file: str = "b.mp4", **change: Any) -> Recording:
    made = replace(GOOD, file=file, start=START + timedelta(seconds=seconds))
    return replace(made, **change)


def test_a_gap_stands_at_the_end_of_the_file_before_it() -> None:
    first, second = with_seams([later(90), GOOD], 2.0)
    assert first.findings == ()
    [gap] = second.findings
    assert (gap.kind, gap.start_s, gap.end_s, gap.measured) == (Kind.GAP, 60.0, 90.0, 30.0)


def test_files_that_follow_each_other_have_no_gap() -> None:
    assert all(not r.findings and not r.unclear for r in with_seams([GOOD, later(61.5)], 2.0))


def test_an_overlap_is_a_doubt_about_the_clock() -> None:
    _, second = with_seams([GOOD, later(30)], 2.0)
    assert "30 s before ch1.mp4 ends" in second.unclear[0]
    assert second.findings == ()


def test_other_channels_do_not_fill_a_gap() -> None:
    made = with_seams([GOOD, later(60, channel=2), later(120, "c.mp4")], 2.0)
    assert [finding.kind for finding in made[0].findings] == [Kind.GAP]


def test_without_a_start_gaps_cannot_be_judged() -> None:
    _, second = with_seams([GOOD, replace(GOOD, file="b.mp4", start=None)], 2.0)
    assert "gaps on channel 1 cannot be judged" in second.unclear[0]
    [alone] = with_seams([replace(GOOD, start=None)], 2.0)
    assert alone.unclear == ()


@given(st.lists(st.sampled_from(["fine", "fault", "doubt"]), max_size=6), st.booleans())
def test_what_cannot_be_told_never_counts_as_fine(states: list[str], missing: bool) -> None:
    fault = Finding(Kind.BLACK, 0, 9, 1.0, 0.98, "1", "test")
    made = {
        "fine": GOOD,
        "fault": replace(GOOD, findings=(fault,)),
        "doubt": replace(GOOD, unclear=("?",)),
    }
    verdict = verdict_of([made[state] for state in states], (3,) if missing else ())
    if missing or "fault" in states:
        assert verdict is ProofVerdict.FAULTS
    elif not states or "doubt" in states:
        assert verdict is ProofVerdict.UNCLEAR
    else:
        assert verdict is ProofVerdict.RECORDS


@pytest.mark.parametrize(("measured", "found"), [(2.4, False), (2.6, True), (1.4, True)])
def test_key_interval_is_held_to_a_quarter_either_way(measured: float, found: bool) -> None:
    wanted = replace(WANTED, key_interval_s=2.0)
    seen = kinds(replace(GOOD, key_interval_s=measured), wanted)
    assert seen == ({Kind.WRONG_KEY_INTERVAL} if found else set())


def test_a_key_interval_that_cannot_be_measured_is_unclear() -> None:
    [line] = not_measured(GOOD, replace(WANTED, key_interval_s=2.0))
    assert "key-picture interval" in line


@pytest.mark.parametrize(("level", "found"), [(-59.0, False), (-60.0, True), (-120.0, True)])
def test_sound_that_is_silent_is_no_sound(level: float, found: bool) -> None:
    # FFmpeg af_silencedetect.c: noise defaults to -60 dB.
    wanted = replace(WANTED, audio=True)
    seen = kinds(replace(GOOD, sound_db=level), wanted, audio=True)
    assert seen == ({Kind.SILENT_AUDIO} if found else set())
