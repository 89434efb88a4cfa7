"""Burned-in clocks of filmed clips: what is true is what the simulator was told to draw."""

from __future__ import annotations

import pickle
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from asfound.demo.footage import Camera
from asfound.demo.footage_overlay import Burned, Filmed, Ticking, film_clock, without
from asfound.errors import UsageError
from asfound.jobs.prove import Prove, prove
from asfound.jobs.prove_clock_judge import ClockAsk, parse_noted
from asfound.model.burned_clock import BurnedClock, ClockState
from asfound.model.finding import Finding, Kind, Recording
from asfound.ports.backends.ocr_rapid import RapidOcr
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.documents import from_json, to_json

START = datetime(2026, 3, 24, 15, 7, 0, tzinfo=UTC)
SHOWN = datetime(2026, 3, 24, 15, 7, 42)
TO_2020_S = (SHOWN - datetime(2020, 1, 1, 0, 0, 0)).total_seconds()
CAMERA = Camera(1, "ROAD", "road", 640, 360, 5)
CLIP = Filmed(CAMERA, START, 14.0, Burned(), Ticking(SHOWN), 11)
LINES = {
    "runs": CLIP,
    "stands": replace(CLIP, ticking=Ticking(SHOWN, "stands"), burned=Burned(place="bottom-right")),
    "jumps": replace(CLIP, ticking=Ticking(SHOWN, "jumps", 6.5, 3600.0)),
    "reset": replace(CLIP, ticking=Ticking(SHOWN, "jumps", 6.5, -TO_2020_S)),
    "dmy": replace(
        CLIP,
        start=datetime(2026, 4, 3, 15, 7, tzinfo=UTC),
        ticking=Ticking(datetime(2026, 4, 3, 15, 7, 42)),
        burned=Burned("{d:02}/{m:02}/{y:04}", "{I:02}:{M:02}:{S:02} {p}", stacked=True),
    ),
    "none": without(CLIP),
}


@pytest.fixture(scope="module")
def ocr() -> RapidOcr:
    return RapidOcr(1)


@pytest.fixture(scope="module")
def clips(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("clips")
    return {name: film_clock(clip, folder / f"{name}_cam1.mp4") for name, clip in LINES.items()}


def proved(path: Path, ocr: RapidOcr | None, ask: ClockAsk | None = None) -> Recording:
    request = Prove((path,), clock=ask or ClockAsk())
    [recording] = prove(request, video=AvVideo(), pictures=PillowPictures(), ocr=ocr).recordings
    return recording


def about_clock(recording: Recording) -> list[Finding]:
    return [finding for finding in recording.findings if finding.kind is Kind.CLOCK_OFFSET]


def test_a_running_clock_and_its_offset(clips: dict[str, Path], ocr: RapidOcr) -> None:
    recording = proved(clips["runs"], ocr, ClockAsk(zone="+00:00"))
    clock = recording.clock
    assert clock is not None and clock.state is ClockState.RUNS
    assert clock.days == (date(2026, 3, 24),) and clock.offset_s == pytest.approx(42, abs=1)
    [finding] = about_clock(recording)
    assert finding.measured == pytest.approx(42, abs=1) and finding.limit == 5
    assert "0:42 fast" in finding.note
    # A worker and a memory of looks must be able to hand it over.
    assert from_json(BurnedClock, to_json(clock)) == clock


def test_an_offset_that_may_be_the_zone(clips: dict[str, Path], ocr: RapidOcr) -> None:
    path = clips["runs"]
    here = proved(path, ocr, ClockAsk(zone="+01:00"))
    assert here.clock is not None and here.clock.offset_s == pytest.approx(42 - 3600, abs=1)
    assert "59:18 slow" in about_clock(here)[0].note
    unsaid = proved(path, ocr)
    [finding] = about_clock(unsaid)
    assert finding.measured == pytest.approx(42, abs=1)
    assert about_clock(proved(path, ocr, ClockAsk(limit_s=60))) == []


def test_a_standing_clock(clips: dict[str, Path], ocr: RapidOcr) -> None:
    recording = proved(clips["stands"], ocr)
    assert recording.clock is not None and recording.clock.state is ClockState.STANDS
    [finding] = about_clock(recording)
    assert "stands still" in finding.note


def test_a_jump_is_found_to_the_second(clips: dict[str, Path], ocr: RapidOcr) -> None:
    recording = proved(clips["jumps"], ocr)
    clock = recording.clock
    assert clock is not None and clock.state is ClockState.JUMPS
    assert clock.change_from_s is not None and clock.change_to_s is not None
    assert clock.change_from_s <= 6.5 <= clock.change_to_s <= clock.change_from_s + 1
    assert clock.change_s == pytest.approx(3600, abs=1)
    assert any("jumps 1:00:00 forward" in finding.note for finding in about_clock(recording))


def test_a_clock_that_falls_back_to_its_first_day(clips: dict[str, Path], ocr: RapidOcr) -> None:
    recording = proved(clips["reset"], ocr)
    clock = recording.clock
    assert clock is not None and clock.state is ClockState.JUMPS
    assert clock.change_s == pytest.approx(-TO_2020_S, abs=1)
    # From 1 January 2020 to 24 March 2026 there are 2274 days (proleptic Gregorian calendar).
    assert any("jumps 2274 d 15:07:4" in finding.note for finding in about_clock(recording))


def test_a_date_of_two_readings_is_settled_by_the_file_only(
    clips: dict[str, Path], ocr: RapidOcr, tmp_path: Path
) -> None:
    clock = proved(clips["dmy"], ocr).clock
    assert clock is not None and clock.days == (date(2026, 4, 3),)
    assert clock.offset_s == pytest.approx(42, abs=1)
    assert any("only so it fits" in note for note in clock.notes)
    far = replace(LINES["dmy"], start=START - timedelta(days=90))
    recording = proved(film_clock(far, tmp_path / "cam1.mp4"), ocr, ClockAsk(wanted=True))
    assert recording.clock is not None and recording.clock.offset_s is None
    assert set(recording.clock.days) == {date(2026, 4, 3), date(2026, 3, 4)}
    assert about_clock(recording) == []
    assert any("can be read as" in line for line in recording.unclear)


def test_without_a_clock(clips: dict[str, Path], ocr: RapidOcr) -> None:
    recording = proved(clips["none"], ocr)
    assert recording.clock is None and not any("clock" in line for line in recording.unclear)
    asked = proved(clips["none"], ocr, ClockAsk(wanted=True))
    assert any("no burned-in clock" in line for line in asked.unclear)
    assert proved(clips["runs"], None).clock is None


def test_noted_beside_a_trusted_clock(clips: dict[str, Path], ocr: RapidOcr) -> None:
    # The convention, by hand: recorder 14:07:30, true 14:03:12 is 4 min 18 s fast.
    noted = parse_noted("2026-03-24 14:07:30=2026-03-24 14:03:12")
    recording = proved(clips["runs"], ocr, ClockAsk(noted=noted, limit_s=60))
    [finding] = about_clock(recording)
    assert finding.measured == 258 and "4:18 fast" in finding.note
    assert recording.clock is not None and "15:03:2" in recording.clock.notes[-1]


@pytest.mark.parametrize(
    "text",
    ["", "12:00=12:01", "2026-03-24 14:07:30", "2026-03-24 14:07:30=2026-03-24 14:03:12+01:00"],
)
def test_what_is_no_noted_clock(text: str) -> None:
    with pytest.raises(UsageError):
        parse_noted(text)


def test_asks_that_cannot_work(clips: dict[str, Path]) -> None:
    for ask in (ClockAsk(zone="Nowhere/Land"), ClockAsk(limit_s=0)):
        with pytest.raises(UsageError):
            proved(clips["none"], None, ask)


def test_the_engine_can_be_handed_to_a_worker(ocr: RapidOcr) -> None:
    assert isinstance(pickle.loads(pickle.dumps(ocr)), RapidOcr)
