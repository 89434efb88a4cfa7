"""The way from version to version, beside every way there is on small catalogues."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.firmware_path import Known, barred, shortest_way
from asfound.calc.version_order import Key, version_key
from asfound.model.firmware import Image, OrderKind, VersionScheme

DOTTED = VersionScheme("dotted", OrderKind.DOTTED)
VERSIONS = ("1.1", "1.2", "1.9", "1.10", "2.0", "2.1")


def rank(version: str) -> Key:
    return version_key(DOTTED, version)


def image(version: str, **rules: object) -> Image:
    """Names of files fall as versions rise: whoever goes by them goes wrong."""
    name = f"{99 - VERSIONS.index(version)}.bin"
    return Image("m", ("A",), version, name, 1, "0" * 64, **rules)  # type: ignore[arg-type] # rules by name


@st.composite
def catalogues(draw: st.DrawFn) -> tuple[Image, ...]:
    one = st.sampled_from(VERSIONS)
    few = st.lists(one, max_size=2, unique=True).map(tuple)
    return tuple(
        image(
            version,
            needs=draw(st.sampled_from(["", *VERSIONS])),
            stones=draw(few),
            not_over=draw(few),
            floor=draw(st.sampled_from(["", "", *VERSIONS])),
        )
        for version in draw(st.lists(one, min_size=1, max_size=5, unique=True))
    )


def allowed(start: str, way: Sequence[Image], images: Sequence[Image]) -> bool:
    """The rules in the guide's words, written anew on numbers from 0."""
    place = {version: at for at, version in enumerate(VERSIONS)}
    now = place[start]
    up = place[way[-1].version] > now
    for step in way:
        there = place[step.version]
        if (there > now) != up or there == now:
            return False
        if step.needs and now < place[step.needs]:
            return False
        if step.stones and VERSIONS[now] not in step.stones:
            return False
        if VERSIONS[now] in step.not_over:
            return False
        for old in images:
            if old.floor and place[old.version] <= now and there < place[old.floor]:
                return False
        now = there
    return True


@given(catalogues(), st.sampled_from(VERSIONS), st.data())
def test_no_shorter_way_exists_and_none_breaks_a_rule(
    images: tuple[Image, ...], start: str, data: st.DataObject
) -> None:
    goal = data.draw(st.sampled_from(images))
    found = shortest_way(start, goal, Known(rank, images, images))
    every = [
        way
        for length in range(1, len(images) + 1)
        for way in permutations(images, length)
        if way[-1] == goal and allowed(start, way, images)
    ]
    if found is None:
        assert every == []
    else:
        assert allowed(start, found, images)
        assert len(found) == len(every[0])


@given(catalogues(), st.sampled_from(VERSIONS), st.permutations(range(len(VERSIONS))))
def test_names_of_files_and_the_order_of_the_list_change_nothing(
    images: tuple[Image, ...], start: str, order: list[int]
) -> None:
    from_list = [at for at in order if at < len(images)]
    renamed = tuple(
        Image(
            one.map_id, one.hardware, one.version, f"{order[VERSIONS.index(one.version)]}.bin",
            one.size, one.sha256, "", one.needs, one.stones, one.not_over, one.floor,
        )
        for one in images
    )  # fmt: skip
    others = tuple(renamed[at] for at in from_list)
    for goal, same in zip(images, renamed, strict=True):
        one = shortest_way(start, goal, Known(rank, images, images))
        other = shortest_way(start, same, Known(rank, others, others))
        assert [step.version for step in one or ()] == [step.version for step in other or ()]


@pytest.mark.parametrize(
    ("rules", "over", "says"),
    [
        ({"needs": "1.10"}, "1.9", "needs at least 1.10"),
        ({"stones": ("1.10",)}, "1.9", "goes only over 1.10"),
        ({"not_over": ("1.9",)}, "1.9", "must not be put over 1.9"),
    ],
)
def test_why_not(rules: dict[str, object], over: str, says: str) -> None:
    made = image("2.0", **rules)
    [line] = barred(made, over, Known(rank, (made,), (made,)))
    assert says in line
    assert barred(made, "1.10", Known(rank, (made,), (made,))) == ()


def test_a_floor_holds_in_later_versions_too() -> None:
    """2.1 is not in the catalogue; what 2.0 brought stays in it."""
    old, new = image("1.9"), image("2.0", floor="1.10")
    known = Known(rank, (old, new), (old, new))
    assert barred(old, "2.1", known) == ("since 2.0 nothing older than 1.10 may follow",)
    assert shortest_way("2.1", old, known) is None
