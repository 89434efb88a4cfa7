"""Settings as found, agreed and as left, and what became of what was open."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from asfound.jobs.report_pictures import Album
from asfound.jobs.report_settings import (
    ELSEWHERE,
    firmware_changes,
    ledgers,
    open_doubts,
    rounds_rows,
    settled_rows,
)
from asfound.jobs.report_texts import zone
from asfound.model.difference import FieldDifference, Verdict
from asfound.model.reading import FieldReading, State
from asfound.model.visit import Settled

UTC = zone("UTC")


def by_id(scene: Any, **changes: Any) -> dict[str, Any]:
    state = replace(scene.state, **changes)
    return {item.id: item for item in ledgers(state, scene.request.menu_map)}


def test_every_setting_of_the_installed_firmware_is_there_once_in_menu_order(scene: Any) -> None:
    ids = [item.id for item in ledgers(scene.state, scene.request.menu_map)]
    assert ids == [item.id for item in scene.request.menu_map.fields_in("4.0.2")]


def test_found_agreed_and_left_side_by_side(scene: Any) -> None:
    row = by_id(scene)["trig.shock"]
    assert (row.found, row.agreed, row.origin, row.left) == (
        "2.5 g", "0.8 g", "vehicle class", "0.8 g",
    )  # fmt: skip
    assert row.changed and row.verdict is Verdict.SAME
    assert by_id(scene)["trig.speed"].found == "80 km/h"  # settled by a person
    assert by_id(scene)["net.apn"].row()["state"] == "nothing agreed"


def test_an_unsettled_doubt_shows_its_candidates_and_counts_as_unknown(scene: Any) -> None:
    row = by_id(scene, settled=())["trig.speed"]
    assert row.found == "80 km/h or 60 km/h?"
    assert not row.found_known and not row.changed


def test_a_setting_that_the_firmware_brought_is_new(scene: Any) -> None:
    assert by_id(scene)["net.roam"].found == "new"


def test_a_renamed_setting_keeps_its_value_as_found(scene: Any) -> None:
    old = FieldReading("gsm.roam", "Roaming", "On", "on", State.SURE)
    reading = replace(scene.state.as_found, fields=(*scene.state.as_found.fields, old))
    assert by_id(scene, as_found=reading)["net.roam"].found == "On"


def test_ids_that_the_map_does_not_know_are_not_lost(scene: Any) -> None:
    odd = FieldReading("odd.one", "Odd", "7", "7", State.SURE)
    reading = replace(scene.state.as_found, fields=(*scene.state.as_found.fields, odd))
    row = by_id(scene, as_found=reading)["odd.one"]
    assert (row.page, row.found) == (ELSEWHERE, "7")


def test_before_comparison_nothing_is_judged(scene: Any) -> None:
    rounds = (replace(scene.state.rounds[0], difference=None),)
    row = by_id(scene, rounds=rounds)["camera-7.mirror"].row()
    assert (row["left"], row["state"], row["tone"]) == ("not read", "not compared", "unclear")
    row = by_id(scene, rounds=())["camera-7.mirror"].row()
    assert row["left"] == "not photographed"


def test_settled_doubts_tell_before_after_who_and_show_the_screen(scene: Any) -> None:
    album = Album(scene.blobs, scene.pictures)
    rows: Any = settled_rows(scene.state, scene.request.menu_map, album, UTC)
    assert [row["label"] for row in rows] == ["Speed threshold", "Picture rate"]
    assert rows[0]["before"] == "80 km/h or 60 km/h?"
    assert rows[0]["after"] == "80 km/h"
    assert rows[0]["by"] == "Ada Penhallow"
    assert rows[0]["shot"]["file"] in album.files


def test_secrets_have_no_picture_and_no_text(scene: Any) -> None:
    secret = FieldReading(
        "net.code", "Access code", "", "set", State.DOUBT, ("set",), None, "ff" * 32, "hunter2"
    )
    fields = tuple(
        secret if item.id == "net.code" else item for item in scene.state.as_found.fields
    )
    state = replace(
        scene.state,
        as_found=replace(scene.state.as_found, fields=fields),
        settled=(Settled("net.code", "hunter2", "Ada", scene.state.opened_at),),
    )
    album = Album(scene.blobs, scene.pictures)
    row: Any = settled_rows(state, scene.request.menu_map, album, UTC)[0]
    assert row["shot"] is None and row["after"] == "set" and row["reason"] == ""
    assert album.files == {}


def test_open_doubts_leave_out_what_was_settled(scene: Any) -> None:
    reading, menu_map = scene.state.as_found, scene.request.menu_map
    assert open_doubts(reading, scene.state.settled, menu_map) == []
    left: Any = open_doubts(reading, scene.state.settled[:1], menu_map)
    assert [(row["label"], row["might"]) for row in left] == [("Picture rate", "18 fps or 13 fps?")]


def test_rounds_say_what_was_open_and_what_became_of_it(scene: Any) -> None:
    rows: Any = rounds_rows(scene.state, scene.request.menu_map, UTC)
    first = {row["label"]: row for row in rows[0]["open"]}
    assert set(first) == {"Bit rate", "Picture size", "Shock threshold", "Mirror picture"}
    assert {row["outcome"] for row in first.values()} == {"mended in round 2"}
    assert first["Shock threshold"]["left"] == "1.8 g"
    assert rows[1]["open"] == []
    only: Any = rounds_rows(
        replace(scene.state, rounds=scene.state.rounds[:1]), scene.request.menu_map, UTC
    )
    assert {row["outcome"] for row in only[0]["open"]} == {"still open"}


@pytest.mark.parametrize(
    ("later", "outcome"),
    [
        ((Verdict.SAME, Verdict.WRONG), "still open"),
        ((Verdict.WRONG, Verdict.SAME), "mended in round 3"),
        ((Verdict.SAME, Verdict.SAME), "mended in round 2"),
        ((Verdict.SAME, Verdict.NO_TARGET), "nothing agreed"),
    ],
)
def test_mended_means_and_stayed_so(scene: Any, later: tuple[Verdict, ...], outcome: str) -> None:
    first = scene.state.rounds[0]
    rounds = [first]
    for verdict in later:
        item = FieldDifference("trig.shock", "Shock threshold", verdict, "0.8", "0.8")
        rounds.append(replace(first, difference=replace(first.difference, fields=(item,))))
    rows: Any = rounds_rows(replace(scene.state, rounds=tuple(rounds)), scene.request.menu_map, UTC)
    row = next(row for row in rows[0]["open"] if row["label"] == "Shock threshold")
    assert row["outcome"] == outcome


def test_what_the_firmware_changed_in_the_menu(scene: Any) -> None:
    made: Any = firmware_changes(scene.state, scene.request.menu_map)
    assert made["added"] == ["Network · Roaming"]
    assert made["removed"] == [{"label": "Triggers · Panic button tone", "found": "On"}]
    assert made["renamed"] == [["gsm.roam", "Network · Roaming"]]
    none: Any = firmware_changes(replace(scene.state, sheet=None), scene.request.menu_map)
    assert none == {"added": [], "removed": [], "renamed": []}
