"""Values that are partly hidden, and secrets beside which there is only dirt, on screens drawn
here: what is read of them is marked as open."""

from __future__ import annotations

from decimal import Decimal

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from asfound.calc.match_page import match_page
from asfound.jobs.photo_text import PhotoText, photo_text
from asfound.jobs.value_looks import Seen, look_at_values
from asfound.model.kinds import Choice, FieldType, Number, Secret, Switch, Text
from asfound.model.menu_map import Field, Page
from asfound.ports.backends.ocr_rapid import RapidOcr

Screen = NDArray[np.uint8]
OCR = RapidOcr(threads=2)
LABEL_X, VALUE_X, TOP, PITCH = 90, 760, 120, 62
ROWS: tuple[tuple[str, FieldType, str, str], ...] = (
    ("Mirror", Choice(("Saloon", "Saloon 2", "2", "Door")), "Door", "Saloon 2"),
    ("Bit rate", Number(Decimal(64), Decimal(9999), unit="kbit/s"), "512", "7168 kbit/s"),
    ("Depot", Text(), "", "Brindle North"),
    ("Record", Switch("Yes", "No"), "on", "Yes"),
    ("Copy to", Choice(("Front slot", "Rear slot")), "Rear slot", "Front slot"),
    ("Menu code", Secret(), "blank", ""),
)
FIELDS = tuple(
    Field(f"f{number}", label, kind, default)
    for number, (label, kind, default, _) in enumerate(ROWS)
)
PAGE = Page("unit", "Unit", FIELDS)


def ink(screen: Screen, text: str, x: int, y: int) -> int:
    """Write ``text`` with its base line at ``y``; returns its right end."""
    face, light = cv2.FONT_HERSHEY_DUPLEX, (225, 225, 225)
    cv2.putText(screen, text, (x, y), face, 1.0, light, 2, cv2.LINE_AA)
    return x + cv2.getTextSize(text, face, 1.0, 2)[0][0]


def drawn() -> Screen:
    screen = np.full((640, 1280, 3), 45, np.uint8)
    ink(screen, "Unit", LABEL_X, 60)
    for number, (label, _, _, value) in enumerate(ROWS):
        ink(screen, label, LABEL_X, TOP + PITCH * number)
        ink(screen, value, VALUE_X, TOP + PITCH * number)
    return screen


def lit(screen: Screen, x: float, row: int, radius: tuple[float, float]) -> Screen:
    """A lamp that the glass mirrors: light on top, clipped as a sensor clips it."""
    ys, xs = np.indices(screen.shape[:2], dtype=np.float64)
    y = TOP + PITCH * row - 11
    far = ((xs - x) / radius[0]) ** 2 + ((ys - y) / radius[1]) ** 2
    lights = 900 * np.exp(-(far**2))
    return np.asarray(np.clip(screen + lights[..., None], 0, 255), dtype=np.uint8)


def looked(screen: Screen) -> tuple[PhotoText, list[Seen | None]]:
    text = photo_text(screen, OCR)
    return text, look_at_values(text, match_page(PAGE, FIELDS, text.lines), OCR)


def test_a_clear_screen_leaves_nothing_open() -> None:
    _, seen = looked(drawn())
    assert [one is not None and not one.unsure for one in seen] == [True] * len(ROWS)
    last = seen[-1]
    assert last is not None and last.blank


@pytest.mark.parametrize(
    ("row", "from_right", "part"),
    [(0, False, "2"), (1, False, "8 kbit/s"), (2, True, "Brindle"), (2, False, "North")],
)
def test_what_glare_leaves_of_a_value_is_open(row: int, from_right: bool, part: str) -> None:
    """Sign by sign: the lamp hides all of the value but ``part``."""
    screen, value = drawn(), ROWS[row][3]
    right = ink(screen.copy(), value, VALUE_X, TOP)
    wide = ink(screen.copy(), part, 0, TOP)
    left, right = (VALUE_X + wide, right) if from_right else (VALUE_X, right - wide)
    hidden = lit(screen, (left + right) / 2, row, ((right - left) / 2 + 4, 20.0))
    _, seen = looked(hidden)
    one = seen[row]
    assert one is not None
    assert value not in (one.first[0], one.second[0])
    assert one.unsure and "glare" in one.trouble
    others = [other for number, other in enumerate(seen) if abs(number - row) > 1]
    assert not any(other is not None and other.unsure for other in others)


def test_only_the_beginning_of_a_value_that_is_like_no_other_is_enough() -> None:
    """ "Front" is the beginning of one option only."""
    screen = drawn()
    right = ink(screen.copy(), "Front slot", VALUE_X, TOP)
    _, seen = looked(lit(screen, right - 30, 4, (45.0, 20.0)))
    one = seen[4]
    assert one is not None and not one.unsure


@pytest.mark.parametrize("spots", [1, 2])
def test_dirt_beside_a_secret_is_not_its_mask(spots: int) -> None:
    screen = drawn()
    for number in range(spots):
        at = (VALUE_X + 40 + 31 * number, TOP + PITCH * 5 - 10 - 4 * number)
        cv2.circle(screen, at, 6 - 2 * number, (215, 215, 215), -1, cv2.LINE_AA)
    _, seen = looked(screen)
    one = seen[-1]
    assert one is not None and not one.masked
    read = one.first[0].strip() or one.second[0].strip()
    assert one.unsure or (not read and not one.blank)


@pytest.mark.parametrize("mask", ["******", "xxxx"])
def test_a_mask_is_a_mask(mask: str) -> None:
    screen = drawn()
    ink(screen, mask, VALUE_X, TOP + PITCH * 5)
    _, seen = looked(screen)
    one = seen[-1]
    assert one is not None and not one.unsure and not one.blank
    assert one.masked or one.first[0].strip()


def test_rows_that_may_be_one_off_leave_every_value_open() -> None:
    text = photo_text(drawn(), OCR)
    rows = frozenset(line.row for line in text.lines)
    unclear = PhotoText(text.lines, text.pixels, text.turns, text.slopes, rows)
    seen = look_at_values(unclear, match_page(PAGE, FIELDS, text.lines), OCR)
    assert all(one is not None and one.unsure and "row above" in one.trouble for one in seen)
