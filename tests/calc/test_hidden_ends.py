"""Glare and covers beside a value, drawn here; and which values can be a part of another one."""

from __future__ import annotations

from decimal import Decimal

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from asfound.calc.hidden_ends import burnt, covered, lacks_unit, may_go_on, more_than, veiled
from asfound.model.kinds import (
    Choice,
    Date,
    FieldType,
    Host,
    IPv4,
    Level,
    Number,
    ReadOnly,
    Secret,
    Switch,
    Text,
    Time,
)

Picture = NDArray[np.uint8]


def ground(luma: int, width: int = 60) -> Picture:
    noise = np.random.default_rng(width).normal(0, 3, (36, width, 3))
    return np.asarray(np.clip(luma + noise, 0, 255), dtype=np.uint8)


def written(text: str, luma: int, ink: int) -> Picture:
    crop = ground(luma, 24 * len(text))
    cv2.putText(crop, text, (2, 28), cv2.FONT_HERSHEY_SIMPLEX, 1.0, (ink, ink, ink), 2)
    return crop


def spot(crop: Picture, middle: float, radius: float, light: float) -> Picture:
    """Light on top, as a lamp that the glass mirrors: it fades from its middle on."""
    x = np.arange(crop.shape[1])
    added = light * np.exp(-(((x - middle) / radius) ** 2))
    return np.asarray(np.clip(crop + added[None, :, None], 0, 255), dtype=np.uint8)


@pytest.mark.parametrize(("luma", "ink"), [(40, 210), (90, 230), (190, 40)])
def test_a_spot_of_glare_is_burnt_out(luma: int, ink: int) -> None:
    label = written("Mirror", luma, ink)
    assert burnt(spot(ground(luma), 40, 40, 400), label)
    assert not burnt(ground(luma), label)
    # Light that leaves signs to be seen hides nothing.
    assert not burnt(spot(ground(luma), 40, 40, 30), label)


def test_a_bright_row_is_not_burnt_out() -> None:
    """The ground under a cursor bar, or a light menu, is as bright along the whole row."""
    assert not burnt(ground(243), written("Mirror", 243, 30))
    assert burnt(np.full((36, 60, 3), 255, np.uint8), written("Mirror", 238, 30))


@pytest.mark.parametrize(("luma", "ink", "finger"), [(60, 150, 230), (190, 100, 20)])
def test_a_finger_beside_a_value_is_a_cover(luma: int, ink: int, finger: int) -> None:
    value = written("Saloon", luma, ink)
    assert covered(ground(finger), value)
    assert not covered(ground(luma), value)


def test_light_beside_a_faint_value_is_a_veil() -> None:
    """Brighter than the value's own signs for the width of a sign, though far from white."""
    value = written("25.4", 50, 100)
    assert veiled(spot(ground(50), 40, 30, 110), value)
    assert not veiled(spot(ground(50), 40, 30, 40), value), "signs would show through it"
    assert not veiled(spot(ground(50), 40, 4, 200), value), "narrower than a sign"


@pytest.mark.parametrize(("luma", "ink"), [(50, 100), (30, 220), (200, 40)])
def test_signs_beside_a_value_are_no_veil(luma: int, ink: int) -> None:
    value = written("25.4", luma, ink)
    assert not veiled(written("WM", luma, 250), value)
    assert not veiled(ground(luma), value)
    assert not veiled(ground(luma, 3), value)


def test_the_end_of_a_cursor_bar_is_no_cover() -> None:
    value = written("Saloon", 60, 150)
    edge = np.concatenate([ground(60, 24), ground(230, 36)], axis=1)
    assert not covered(edge, value)


VIEWS = Choice(("Saloon", "Saloon 2", "2", "Off"))
SPEED = Number(Decimal(0), Decimal(20000), unit="kbit/s")
DELAY = Number(Decimal(0), Decimal(60), unit="s", words=("Never",))


@pytest.mark.parametrize(
    ("kind", "text", "before", "after"),
    [
        (VIEWS, "2", True, False),
        (VIEWS, "Saloon", False, True),
        (VIEWS, "Saloon 2", False, False),
        (VIEWS, "< Off >", False, False),
        (Switch("Yes", "No"), "No", False, False),
        (Level(0, 10), "1", False, True),
        (Level(0, 10), "0", True, False),
        (Level(0, 10), "7", False, False),
        (SPEED, "168 kbit/s", True, False),
        (SPEED, "168", True, True),
        (DELAY, "5 s", True, False),
        (DELAY, "Never", False, False),
        (IPv4(), "68.1.2.3", True, True),
        (Text(), "CAM 1", True, True),
        (Host(), "a.example", True, True),
        (Time(), "10:15", False, False),
        (Date(), "2026-03-17", False, False),
        (Secret(), "******", False, False),
    ],
)
def test_what_may_be_a_part_of_another_value(
    kind: FieldType, text: str, before: bool, after: bool
) -> None:
    assert may_go_on(kind, "Label", text, True) == before
    assert may_go_on(kind, "Label", text, False) == after


@pytest.mark.parametrize(
    ("value", "texts", "other"),
    [
        ("Log", ("Log al", "Log"), "Log and keep"),
        ("Log", ("< Log >", "Log"), None),
        ("Ignore", ("Ignore it", "Ignore"), None),
        ("Log and keep", ("Log and keep", "Log and keep"), None),
    ],
)
def test_a_longer_value_is_named_where_more_was_read(
    value: str, texts: tuple[str, ...], other: str | None
) -> None:
    assert (
        more_than(Choice(("Ignore", "Log", "Log and keep")), "Wire 1 does", value, texts) == other
    )


@pytest.mark.parametrize(
    ("kind", "value", "lacks"),
    [
        (ReadOnly(), "27.9", True),
        (ReadOnly(), "-4,5", True),
        (ReadOnly(), "27.9 V", False),
        (ReadOnly(), "36602", False),  # a count has no unit
        (ReadOnly("version"), "1.12", False),
        (ReadOnly("serial"), "1.12", False),
        (Text(), "27.9", False),  # what a person wrote
    ],
)
def test_a_measured_figure_has_a_unit(kind: FieldType, value: str, lacks: bool) -> None:
    """ISO 80000-1: a quantity is a number and a unit."""
    assert lacks_unit(kind, value) is lacks
    assert not lacks_unit(kind, value, ("12.0",)), "the map knows it without one"
