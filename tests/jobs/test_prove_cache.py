"""Looks are remembered by content, settings and, with earlier pictures, by what aim hangs on."""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import cv2
import numpy as np
import pytest
from tests.counting_video import Counting

from asfound.demo.footage import Camera, Drive, film
from asfound.jobs.prove import Prove, prove
from asfound.jobs.prove_files import Helpers
from asfound.model.finding import Recording
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.results_sqlite import SqliteResults


@pytest.fixture
def clip(tmp_path: Path) -> Path:
    camera = Camera(1, "ROAD", "road", 160, 96, 10)
    [made] = film(Drive(4, datetime(2026, 3, 1, 8, tzinfo=UTC), 3, (camera,)), tmp_path / "drive")
    os.utime(made, (1_700_000_000, 1_700_000_000))
    return made


@pytest.fixture
def results(tmp_path: Path) -> Iterator[SqliteResults]:
    made = SqliteResults(tmp_path / "home" / "proofs.db", pytest.fail)
    yield made
    made.close()


def earlier(folder: Path, name: str, grey: int) -> Path:
    path = folder / name
    cv2.imwrite(str(path), np.full((96, 160), grey, np.uint8))
    return path


def test_a_look_with_an_earlier_picture_is_known_until_picture_or_channel_changes(
    clip: Path, results: SqliteResults, tmp_path: Path
) -> None:
    one, two = earlier(tmp_path, "ch1.png", 90), earlier(tmp_path, "ch2.png", 90)
    video = Counting()

    def look(file: Path, *references: Path) -> Recording:
        request = Prove((file,), references=references)
        helpers = Helpers(results=results)
        proof = prove(request, video=video, pictures=PillowPictures(), helpers=helpers)
        [recording] = proof.recordings
        return recording

    first = look(clip, one)
    assert look(clip, one) == first
    assert len(video.opened) == 1
    look(clip)
    assert len(video.opened) == 2, "without a picture, aim is not looked at"
    look(clip, earlier(tmp_path, "ch1.png", 120))
    assert len(video.opened) == 3, "another picture of the same name"
    other = look(clip, two)
    assert len(video.opened) == 4
    assert any("no earlier picture of this channel" in line for line in other.unclear)
    renamed = clip.rename(clip.with_name(clip.name.replace("cam1", "cam2")))
    assert not any("no earlier picture" in line for line in look(renamed, two).unclear)
    assert len(video.opened) == 5, "the same content under the name of another channel"
