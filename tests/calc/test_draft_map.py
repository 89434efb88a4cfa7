"""Photographs of an unknown menu put together, and added to a map that a person has edited."""

from __future__ import annotations

from dataclasses import replace

from asfound.calc.draft_map import UNKNOWN, Named, draft_map
from asfound.model.draft import Draft, DraftPage, Sample, Shot, ShownRow
from asfound.model.kinds import Choice, Number, Switch, Text
from asfound.model.menu_map import Field

NAMED = Named("Tallowby", "Two")
STATUS = ShownRow("Tallowby Two", 0.99, Sample("01.03.2026 10:11:12"))


def shot(
    heading: str,
    rows: dict[str, str],
    number: int | None = None,
    batch: str = "a",
    total: int | None = None,
    score: float = 0.99,
) -> Shot:
    shown = tuple(ShownRow(label, 0.99, Sample(value)) for label, value in rows.items())
    clock = "01.03.2026 10:11:12"
    return Shot(f"{heading}.jpg", batch, heading, score, number, total, clock, (*shown, STATUS))


def camera(n: int, name: str, size: str, batch: str = "a") -> Shot:
    return shot(f"Camera {n}", {"Name": name, "Size": size, "Record": "On"}, n + 1, batch, 4)


GENERAL = shot("General", {"Zone": "UTC", "Delete after": "31 days", "Version": "1.2.3"}, 1)
CLOCK = shot("Clock", {"Set time": "10:11:12", "Summer time": "EU rule"}, 4)


def page(draft: Draft, title: str) -> DraftPage:
    return next(one for one in draft.pages if one.title == title)


def row(draft: Draft, title: str, label: str) -> Field:
    return next(item for item in page(draft, title).fields if item.label == label)


def test_pages_in_the_order_of_their_numbers_and_cameras_once() -> None:
    shots = [CLOCK, camera(2, "Rear", "Low"), GENERAL, camera(1, "Front", "High")]
    draft = draft_map(shots, NAMED)
    assert [one.title for one in draft.pages] == ["General", "Camera {n}", "Clock"]
    assert draft.cameras == 2
    assert [item.label for item in page(draft, "Camera {n}").fields] == ["Name", "Size", "Record"]
    assert row(draft, "Camera {n}", "Size").id == "camera-{n}.size"
    assert draft.firmware == ("1.2.3",)
    assert draft.keys.drafted and draft.keys.layout == "flat"
    assert row(draft, "Clock", "Set time").volatile


def test_without_numbers_pages_stand_as_they_were_photographed() -> None:
    shots = [replace(one, number=None) for one in (GENERAL, camera(1, "a1", "Low"), CLOCK)]
    draft = draft_map(shots, NAMED)
    assert [one.title for one in draft.pages] == ["General", "Camera 1", "Clock"]


def test_the_status_line_is_no_row_and_a_like_row_of_a_page_is() -> None:
    about = shot("About", {"Two": "yes", "Now": "01.03.2026 10:11:12"}, 5)
    draft = draft_map([GENERAL, CLOCK, about], NAMED)
    labels = [item.label for one in draft.pages for item in one.fields]
    assert "Tallowby Two" not in labels
    assert "Now" in labels


def test_a_camera_that_was_not_photographed_is_told() -> None:
    draft = draft_map([camera(1, "a", "Low"), camera(2, "b", "Low"), camera(4, "c", "Low")], NAMED)
    assert draft.cameras == 4
    assert "3" in page(draft, "Camera {n}").check


def test_a_camera_whose_number_was_overlooked_is_told_by_the_page_number() -> None:
    shots = [camera(1, "a", "Low"), camera(2, "b", "Low"), camera(3, "c", "Low")]
    lost = replace(camera(4, "d", "High"), heading="Camera")
    titleless = replace(camera(5, "e", "High"), heading="", heading_score=0.0)
    draft = draft_map([*shots, lost, titleless, GENERAL], NAMED)
    assert draft.cameras == 5
    assert [one.title for one in draft.pages] == ["General", "Camera {n}"]
    assert page(draft, "Camera {n}").seen == 5


def test_labels_and_titles_by_vote() -> None:
    wrong = shot("Clocl", {"Set tlme": "10:11:12", "Summer time": "None"}, 4, "b")
    other = shot("Clock", {"Set time": "10:11:12", "Summer time": "None"}, 4, "c")
    draft = draft_map([wrong, CLOCK, other], NAMED)
    assert [one.title for one in draft.pages] == ["Clock"]
    assert [item.label for item in draft.pages[0].fields] == ["Set time", "Summer time"]
    kind = row(draft, "Clock", "Summer time").type
    assert isinstance(kind, Choice) and set(kind.options) == {"EU rule", "None"}


def test_a_row_that_only_some_have_keeps_its_place() -> None:
    more = shot("General", {"Zone": "UTC", "Beep": "On", "Delete after": "7 days"}, 1, "b")
    draft = draft_map([GENERAL, more], NAMED)
    labels = [item.label for item in page(draft, "General").fields]
    assert labels == ["Zone", "Beep", "Delete after", "Version"]


def test_groups_make_two_levels() -> None:
    shots = [
        replace(GENERAL, heading="Device > General"),
        replace(CLOCK, heading="Device > Clock"),
        shot("Links > Radio", {"Network": "depot"}, 6),
    ]
    draft = draft_map(shots, NAMED)
    assert draft.keys.layout == "two-level"
    assert [(one.group, one.title) for one in draft.pages] == [
        ("Device", "General"), ("Device", "Clock"), ("Links", "Radio"),
    ]  # fmt: skip


def test_nothing_of_a_text_or_secret_is_kept_in_the_map() -> None:
    shots = [
        shot("General", {"Vehicle name": "TR-07B", "Password": "hunter2", "Serial": "QX-12345"}, 1)
    ]
    draft = draft_map(shots, NAMED)
    assert "TR-07B" not in repr(draft)
    assert "hunter2" not in repr(draft)
    assert "QX-12345" not in repr(draft)


def test_more_photographs_widen_a_drafted_map() -> None:
    first = draft_map([GENERAL, CLOCK, camera(1, "Front", "Low"), camera(2, "Rear", "Low")], NAMED)
    more = [
        shot("General", {"Zone": "UTC+1", "Delete after": "Never", "Version": "1.2.3"}, 1, "b"),
        camera(3, "Doors", "High", "b"),
        shot("Power", {"Start delay": "5 s"}, 9, "b"),
    ]
    draft = draft_map(more, NAMED, first)
    kind = row(draft, "Camera {n}", "Size").type
    assert isinstance(kind, Choice) and kind.options == ("Low", "High")
    keep = row(draft, "General", "Delete after").type
    assert isinstance(keep, Number) and keep.words == ("Never",) and keep.unit == "days"
    assert draft.cameras == 3
    assert page(draft, "Power").fields[0].label == "Start delay"
    assert dict(row(draft, "General", "Zone").seen) == {"UTC": 1, "UTC+1": 1}
    assert [one.id for one in first.pages] == [
        one.id for one in draft.pages if one.title != "Power"
    ]


def test_what_a_person_settled_stays() -> None:
    first = draft_map([GENERAL, CLOCK], NAMED)
    edited = Field("clock.summer", "Summertime", Switch("EU rule", "None"))
    zone = replace(row(first, "General", "Zone"), type=Text(9), drafted=(), check="", seen=())
    general = page(first, "General")
    pages = (
        replace(general, fields=(zone, *general.fields[1:])),
        replace(
            page(first, "Clock"), title="Clock", fields=(page(first, "Clock").fields[0], edited)
        ),
    )
    base = replace(first, pages=pages)
    more = [
        shot("General", {"Zone": "UTC+1", "Delete after": "7 days", "Version": "9.9"}, 1, "b"),
        shot("Clock", {"Set time": "10:11:12", "Summer time": "US rule"}, 4, "b"),
    ]
    draft = draft_map(more, NAMED, base)
    assert row(draft, "General", "Zone") == zone
    assert page(draft, "Clock").fields[1] == edited
    assert draft.firmware == base.firmware


def test_titles_and_labels_are_outvoted_only_while_drafted() -> None:
    wrong = shot("Clocl", {"Set tine": "10:11:12", "Summer time": "None"}, 4)
    first = draft_map([wrong], NAMED)
    more = [replace(CLOCK, batch="b"), replace(CLOCK, batch="c", name="c.jpg")]
    draft = draft_map(more, NAMED, first)
    assert [one.title for one in draft.pages] == ["Clock"]
    assert draft.pages[0].fields[0].label == "Set time"
    settled = replace(first.pages[0], drafted=(), fields=tuple(
        replace(item, drafted=()) for item in first.pages[0].fields
    ))  # fmt: skip
    assert draft_map(more, NAMED, replace(first, pages=(settled,))).pages == (settled,)
    longer = shot("Clock", {"Set time": "10:11:12", "Summer time": "None", "Beep": "On"}, 4)
    added = draft_map([longer], NAMED, replace(first, pages=(settled,))).pages[0]
    assert added.fields[:2] == settled.fields
    assert added.fields[2].check.startswith("new on a page that was confirmed without it")


def test_one_word_more_turns_a_guess_round() -> None:
    first = draft_map([shot("Radio", {"Wireless": "Off"}, 1)], NAMED)
    assert isinstance(row(first, "Radio", "Wireless").type, Switch)
    assert first.firmware == (UNKNOWN,)
    more = [shot("Radio", {"Wireless": "Depot only"}, 1, "b")]
    draft = draft_map(more, NAMED, first)
    kind = row(draft, "Radio", "Wireless").type
    assert isinstance(kind, Choice) and set(kind.options) == {"Off", "Depot only"}
