"""A file whose name says another kind than it holds: told, whatever else is right about it."""

from __future__ import annotations

from pathlib import Path

import pytest

from asfound.jobs.prove_suffix import SAID, wrong_suffix
from asfound.model.finding import Kind, Recording
from asfound.ports.backends.video_files import SUFFIXES
from asfound.ports.video import FileFacts

RECORDING = Recording("x", 1, "h264", 320, 192, 12.0, 60.0, 1e6, None, (), ())


def kinds(name: str, container: str) -> list[Kind]:
    facts = FileFacts(Path(name), 1000, container, (), 0, None)
    return [finding.kind for finding in wrong_suffix(facts, RECORDING)]


@pytest.mark.parametrize(
    ("name", "container"),
    [
        # FFmpeg's names of containers (its documentation of formats, or `ffmpeg -formats`).
        ("a.MP4", "mov,mp4,m4a,3gp,3g2,mj2"),
        ("a.webm", "matroska,webm"),
        ("a.avi", "avi"),
        ("a.m2ts", "mpegts"),
        ("a.mpg", "mpeg"),
        ("a.mpg", "mpegvideo"),
        ("a.264", "h264"),
        ("a.hevc", "hevc"),
        ("a.dat", "mov,mp4,m4a,3gp,3g2,mj2"),
        ("a", "avi"),
    ],
)
def test_names_that_are_right_or_say_nothing(name: str, container: str) -> None:
    assert kinds(name, container) == []


@pytest.mark.parametrize(
    ("name", "container"),
    [("a.avi", "mov,mp4,m4a,3gp,3g2,mj2"), ("a.mp4", "mpegts"), ("a.h264", "hevc")],
)
def test_names_that_say_another_kind(name: str, container: str) -> None:
    assert kinds(name, container) == [Kind.WRONG_EXTENSION]


def test_every_ending_that_is_taken_for_a_recording_says_something() -> None:
    assert set(SAID) == SUFFIXES
