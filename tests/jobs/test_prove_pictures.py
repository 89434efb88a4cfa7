"""Picture faults on real files: filmed worlds with one fault at a known time, and without any."""

from __future__ import annotations

from pathlib import Path

import cv2
import pytest

from asfound.demo.footage import Coding
from asfound.demo.footage_faults import Footage, PictureFault, earlier_picture, film_faults
from asfound.errors import NotFound, UsageError
from asfound.jobs.prove import Prove, prove
from asfound.jobs.prove_references import pictures_in
from asfound.model.finding import Recording
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.video_av import AvVideo

CODING = Coding(options=(("preset", "superfast"), ("crf", "27"), ("threads", "1")))


def footage_of(world: str, fault: PictureFault | None, seed: int = 2) -> Footage:
    faults = () if fault is None else (fault,)
    return Footage(seed, world, 13.0, faults, 480, 270, rate=4, vehicle=7, coding=CODING)


def filmed(folder: Path, world: str, fault: PictureFault | None) -> Footage:
    made = footage_of(world, fault)
    film_faults(made, folder / "ch1.mp4")
    return made


@pytest.fixture(scope="module")
def good_day(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Footage]:
    """A good drive by day, filmed once."""
    folder = tmp_path_factory.mktemp("day")
    return folder, filmed(folder, "day", None)


def look(folder: Path, *references: Path) -> Recording:
    request = Prove((folder / "ch1.mp4",), references=references)
    [recording] = prove(request, video=AvVideo(), pictures=PillowPictures()).recordings
    return recording


def reference(folder: Path, footage: Footage, name: str = "ch1.png") -> Path:
    path = folder / name
    cv2.imwrite(str(path), earlier_picture(footage, 99, "day"))
    return path


@pytest.mark.parametrize(
    ("kind", "amount", "finding"),
    [
        ("blurred", 6.0, "blurred"), ("covered", 80.0, "covered"), ("covered", 25.0, "covered"),
        ("partly-covered", 0.35, "covered"), ("overexposed", 4.5, "overexposed"),
        ("underexposed", 0.15, "underexposed"), ("noisy", 14.0, "noisy"), ("torn", 7.0, "rolling"),
    ],
)  # fmt: skip
def test_a_picture_fault_is_found_where_it_is(
    tmp_path: Path, kind: str, amount: float, finding: str
) -> None:
    filmed(tmp_path, "day", PictureFault(kind, 5.0, None, amount, seed=3))
    [found] = look(tmp_path).findings
    assert found.kind.value == finding
    assert abs(found.start_s - 5.0) <= 2.0
    assert abs(found.end_s - 13.0) <= 0.5
    assert found.measured is not None
    assert found.limit is not None
    assert found.source


@pytest.mark.parametrize("world", ["rain", "night", "tunnel", "parked", "parked-night"])
def test_worlds_without_a_fault_show_none(tmp_path: Path, world: str) -> None:
    filmed(tmp_path, world, None)
    recording = look(tmp_path)
    assert not recording.findings
    assert not recording.unclear or world.startswith("parked")


def test_a_moved_camera_is_told_by_an_earlier_picture(tmp_path: Path) -> None:
    footage = filmed(tmp_path, "rain", PictureFault("moved", 5.0, None, 9.0, turn=-3, way=20))
    [found] = look(tmp_path, reference(tmp_path, footage)).findings
    assert found.kind.value == "moved"
    assert abs(found.start_s - 5.0) <= 2.0
    assert found.measured == pytest.approx(9.0, abs=1.0)
    assert found.unit == "% of the width"


def test_a_camera_that_kept_its_aim_is_fine_and_another_channel_is_unclear(
    good_day: tuple[Path, Footage], tmp_path: Path
) -> None:
    folder, footage = good_day
    kept = look(folder, reference(tmp_path, footage))
    assert not kept.findings
    assert not kept.unclear
    other = look(folder, reference(tmp_path, footage, "ch2.png"))
    assert any("no earlier picture of this channel" in line for line in other.unclear)


def test_a_standing_vehicle_is_never_said_to_have_moved_its_aim(tmp_path: Path) -> None:
    footage = filmed(tmp_path, "parked", None)
    assert not look(tmp_path, reference(tmp_path, footage)).findings


def test_earlier_pictures_are_named_by_channel(
    good_day: tuple[Path, Footage], tmp_path: Path
) -> None:
    folder, footage = good_day
    with pytest.raises(UsageError, match="says no channel"):
        look(folder, reference(tmp_path, footage, "front.png"))
    with pytest.raises(NotFound, match="no such folder"):
        pictures_in(tmp_path / "nowhere")
    (tmp_path / "empty").mkdir()
    with pytest.raises(UsageError, match="no picture in this folder"):
        pictures_in(tmp_path / "empty")
    assert [path.name for path in pictures_in(tmp_path)] == ["front.png"]
