"""The strip's data and what was proved. Expected places: straight-line arithmetic by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from asfound.jobs.footage_strip import WIDTH_MM, StripLook, length_of, numbered, strips
from asfound.jobs.report_pictures import Album
from asfound.jobs.report_proof import proof_data, unclear_lines, unseen_channels
from asfound.jobs.report_texts import zone
from asfound.model.finding import Finding, Kind, Proof, ProofVerdict, Recording


@pytest.fixture
def look(scene: Any) -> StripLook:
    names = {camera.channel: camera.name for camera in scene.state.vehicle.cameras}
    return StripLook(zone("Europe/Lisbon"), names, Album(scene.blobs, scene.pictures))


def made(recordings: Any, look: StripLook) -> Any:
    return strips(tuple(recordings), look)


def test_known_starts_share_an_axis_and_unknown_ones_stand_apart(
    scene: Any, look: StripLook
) -> None:
    clock, own = made(scene.state.proof.recordings, look)
    assert clock["title"].replace("\u00a0", " ") == "24 Nov 2026, 19:02:05 to 19:04:05 (+00:00)"
    assert [row["channel"] for row in clock["rows"]] == ["1", "2", "3", "4", "5", "6", "7"]
    assert own["title"] == "" and [row["channel"] for row in own["rows"]] == ["8"]
    assert [tick["label"] for tick in clock["ticks"]][:2] == ["19:02:30", "19:03:00"]
    assert [tick["label"] for tick in own["ticks"]] == ["0:00", "0:30", "1:00", "1:30", "2:00"]


def test_marks_are_to_scale_and_keep_their_number(scene: Any, look: StripLook) -> None:
    axis = made(scene.state.proof.recordings, look)[0]
    marks = {mark["word"]: mark for mark in axis["rows"][5]["marks"]}
    black = marks["black picture"]
    # 41.0 s to 63.4 s of 120 s on 142 mm.
    assert black["x"] == pytest.approx(41.0 / 120 * WIDTH_MM)
    assert black["w"] == pytest.approx(22.4 / 120 * WIDTH_MM)
    numbers = {item.number: item.finding.kind for item in numbered(scene.state.proof.recordings)}
    assert numbers[black["n"]] is Kind.BLACK


def test_two_files_of_a_camera_share_a_row_with_the_gap_between_them(
    scene: Any, look: StripLook
) -> None:
    first = scene.state.proof.recordings[0]
    second = replace(first, start=first.start + timedelta(seconds=180))
    (axis,) = made([first, second], look)
    (row,) = axis["rows"]
    assert [clip["x"] for clip in row["clips"]] == [0.0, pytest.approx(180 / 300 * WIDTH_MM)]


def test_two_evenings_are_two_axes(scene: Any, look: StripLook) -> None:
    first = scene.state.proof.recordings[0]
    later = replace(first, start=first.start + timedelta(days=1))
    assert len(made([later, first], look)) == 2


def test_over_midnight_both_days_are_named(scene: Any, look: StripLook) -> None:
    first = scene.state.proof.recordings[0]
    late = replace(first, start=first.start.replace(hour=23, minute=59, second=30))
    title = made([late], look)[0]["title"].replace("\u00a0", " ")
    assert title == "24 Nov 2026, 23:59:30 to 25 Nov 2026, 00:01:30 (+00:00)"


def test_unknown_length_and_channel(scene: Any, look: StripLook) -> None:
    first = scene.state.proof.recordings[0]
    unknown = replace(first, duration_s=None, thumbnails=(), findings=())
    assert length_of(unknown) is None
    assert length_of(replace(unknown, thumbnails=((7.0, "x"),))) == 7.0
    assert made([unknown], look) == []
    lost = replace(first, channel=None)
    (axis,) = made([lost, replace(lost, file="other.mp4")], look)
    assert [row["name"] for row in axis["rows"]] == [first.file, "other.mp4"]


def test_crowded_rows_keep_numbers_and_then_give_way(scene: Any, look: StripLook) -> None:
    sixth = scene.state.proof.recordings[5]

    def crowd(count: int, over: float) -> Any:
        found = tuple(
            replace(sixth.findings[0], start_s=k * over / count, end_s=k * over / count + 0.1)
            for k in range(count)
        )
        return made([replace(sixth, findings=found)], look)[0]["rows"][0]

    assert all(mark["word"] for mark in crowd(20, 100)["marks"])
    assert not any(mark["word"] for mark in crowd(120, 100)["marks"])
    full = crowd(400, 60)
    assert full["lanes"] == 20
    assert len(full["marks"]) == 400 and not all(mark["labelled"] for mark in full["marks"])


def test_expected_beside_measured(scene: Any, look: StripLook) -> None:
    data: Any = proof_data(scene.state.proof, scene.request.expectation, range(1, 9), look)
    sixth = data["facts"][5]
    assert sixth["rate"] == ["12.5\u00a0fps", "25\u00a0fps"]
    assert sixth["size"] == ["1280 × 720", "1280 × 720"]
    assert sixth["off"] == ["rate"] and sixth["state"] == "3 findings"
    assert data["facts"][7]["tone"] == "unclear"
    assert "bit rate within 50 %" in data["limits"].replace("\u00a0", " ")
    nothing: Any = proof_data(scene.state.proof, None, range(1, 9), look)
    assert nothing["facts"][0]["rate"][1] == "not stated"
    assert nothing["limits"].startswith("No expected size")


def test_missing_and_unseen_cameras_have_rows_in_order(scene: Any, look: StripLook) -> None:
    proof = replace(
        scene.state.proof, recordings=scene.state.proof.recordings[4:6], missing_channels=(3,)
    )
    data: Any = proof_data(proof, None, range(1, 8), look)
    rows = [(row["channel"], row["state"]) for row in data["facts"]]
    assert rows == [
        ("1", "not looked at"), ("2", "not looked at"), ("3", "no recording found"),
        ("4", "not looked at"), ("5", "records"), ("6", "3 findings"), ("7", "not looked at"),
    ]  # fmt: skip
    assert unseen_channels(proof, range(1, 8)) == (1, 2, 4, 7)


def test_unmeasured_figures_are_not_known_rather_than_right(look: StripLook) -> None:
    bare = Recording("a.mp4", None, "", 0, 0, None, None, None, None, ())
    proof = Proof(ProofVerdict.UNCLEAR, (bare,))
    data: Any = proof_data(proof, None, (), look)
    row = data["facts"][0]
    assert row["codec"][0] == row["size"][0] == row["rate"][0] == "not known"
    assert row["length"] == "not known" and row["start"] == "start not known"
    assert row["tone"] == "unclear"
    assert data["undrawn"] == ["a.mp4"]
    assert unclear_lines(proof, ()) == ["a.mp4: which channel it belongs to could not be told"]
    told = replace(bare, unclear=("its name speaks of no channel",))
    assert len(unclear_lines(Proof(ProofVerdict.UNCLEAR, (told,)), ())) == 1
    silent = Proof(ProofVerdict.UNCLEAR, ())
    assert unclear_lines(silent, ()) != []


def test_findings_carry_clock_time_and_place_in_the_file(scene: Any, look: StripLook) -> None:
    data: Any = proof_data(scene.state.proof, None, range(1, 9), look)
    black = data["findings"][1]
    assert (black["n"], black["clock"], black["within"]) == (
        2, "19:02:46 to 19:03:08", "0:41.0 to 1:03.4",
    )  # fmt: skip
    assert black["shot"]["file"] in look.album.files
    assert "missing from the store" in data["findings"][2]["shot"]["problem"]
    assert data["findings"][0]["shot"] is None


def test_a_damaged_picture_is_said(scene: Any, look: StripLook) -> None:
    broken = scene.blobs.put(b"not a picture")
    found = Finding(Kind.BLACK, 0, 1, 1.0, 0.98, "1", "x", broken)
    rec = replace(scene.state.proof.recordings[0], findings=(found,))
    data: Any = proof_data(Proof(ProofVerdict.FAULTS, (rec,)), None, (), look)
    assert "cannot be opened" in data["findings"][0]["shot"]["problem"]
