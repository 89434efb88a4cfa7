"""Which label goes with which value. The truth is the layout that the outlines were made from: a
homography of OpenCV's own, or photographs drawn by the camera simulator, whose rows are known."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from tests.calc.test_textlines import page, projected, seen

from asfound.calc.joined_rows import JoinedRows, joined_rows
from asfound.calc.textlines import Line, as_box, sizes

Outline = tuple[str, float, float, float, float, float]
"""Text, middle (x, y), width and height (pixels) and slope, as a text finder gives them."""

ANGLE: tuple[Outline, ...] = (
    ("9/22", 2666, 1535, 249, 122, 0.102), ("Camera 8", 751, 1426, 324, 88, 0.052),
    ("Coupling", 2481, 1663, 351, 114, 0.108), ("Name", 708, 1537, 205, 85, 0.124),
    ("Off", 2569, 1762, 143, 97, 0.0), ("Record", 721, 1623, 237, 89, 0.107),
    ("Quarter", 2485, 1854, 298, 101, 0.042), ("Picture size", 778, 1709, 351, 89, 0.108),
    ("21 fps", 2499, 1945, 264, 118, 0.096), ("Pictures per second", 886, 1806, 589, 101, 0.1),
    ("1536 kbit/s", 2416, 2031, 405, 114, 0.104), ("Bit rate", 711, 1867, 224, 89, 0.113),
    ("Sound", 699, 1951, 205, 89, 0.124), ("On", 2523, 2144, 143, 88, 0.0),
    ("Turn picture", 768, 2041, 360, 97, 0.129), ("As fitted", 2443, 2222, 300, 102, 0.113),
    ("Brightness", 749, 2123, 330, 102, 0.115), ("2", 2540, 2325, 59, 63, 0.0),
    ("Contrast", 722, 2201, 268, 89, 0.11), ("10", 2513, 2417, 97, 71, 0.0),
    ("Motion sensitivity", 824, 2295, 500, 102, 0.127), ("4", 2519, 2510, 76, 71, 0.0),
    ("Warn if signal lost", 826, 2375, 522, 102, 0.138), ("Yes", 2477, 2598, 144, 76, 0.147),
)  # fmt: skip
"""Seen from the side: the rows fan out from 0.05 to 0.14, and the outlines hardly show it."""

ANGLE_ROWS = (
    "Camera 8 9/22", "Name Coupling", "Record Off", "Picture size Quarter",
    "Pictures per second 21 fps", "Bit rate 1536 kbit/s", "Sound On", "Turn picture As fitted",
    "Brightness 2", "Contrast 10", "Motion sensitivity 4", "Warn if signal lost Yes",
)  # fmt: skip

SHORT: tuple[Outline, ...] = (
    ("Page 15/15", 1498, 957, 180, 46, -0.121), ("About", 582, 1041, 81, 30, 0.0),
    ("17/03/2026 21:42:39", 1479, 1000, 208, 38, -0.065), ("2.03", 1080, 1087, 68, 40, 0.0),
    ("Version", 608, 1123, 100, 41, -0.081), ("QR-31W57V6", 1146, 1129, 192, 46, -0.042),
    ("Serial", 596, 1170, 76, 40, 0.0), ("Disk", 590, 1215, 65, 43, 0.0),
    ("931.5 GB", 1122, 1179, 139, 49, -0.058), ("Free", 592, 1262, 62, 40, 0.0),
    ("3.64 TB", 1112, 1229, 121, 47, -0.079), ("Keeper", 606, 1310, 92, 38, 0.0),
    ("G2GZ", 1104, 1281, 93, 41, -0.058), ("Fitted on", 620, 1353, 119, 38, 0.0),
    ("01/01/2020", 1136, 1326, 160, 46, -0.051), ("Menu PIN", 624, 1400, 135, 46, -0.04),
    ("Beep", 600, 1450, 73, 38, 0.0),
)  # fmt: skip
"""Short labels, most of whose outlines are level; under the title stands another line."""

SHORT_ROWS = (
    "Version 2.03", "Serial QR-31W57V6", "Disk 931.5 GB", "Free 3.64 TB", "Keeper G2GZ",
    "Fitted on 01/01/2020",
)  # fmt: skip

UNTITLED: tuple[Outline, ...] = (
    ("Video output", 322, 105, 348, 88, 0.04), ("21/22", 1783, 53, 183, 77, 0.027),
    ("Brightness", 294, 193, 294, 79, 0.024), ("PAL", 1726, 162, 119, 78, 0.05),
    ("Contrast", 267, 279, 244, 76, 0.016), ("6", 1753, 245, 50, 62, 0.0),
    ("Colour", 239, 364, 193, 75, 0.026), ("2", 1748, 329, 48, 64, 0.0),
    ("View at start", 308, 453, 334, 73, 0.021), ("5", 1740, 411, 48, 60, 0.0),
    ("Each camera for", 355, 539, 431, 74, 0.018), ("< Four >", 1698, 496, 217, 70, 0.046),
    ("13s", 1694, 576, 119, 68, 0.0), ("When reversing", 344, 628, 421, 79, 0.026),
    ("Camera 4", 1624, 657, 248, 68, 0.0), ("Menu closes after", 365, 715, 461, 72, 0.017),
    ("120s", 1669, 741, 151, 72, 0.039), ("Key tone", 251, 802, 241, 77, 0.021),
    ("Off", 1694, 821, 95, 70, 0.0), ("Show speed", 294, 884, 334, 82, 0.018),
    ("Off", 1689, 900, 93, 70, 0.0), ("[Store this page ]", 968, 978, 441, 80, 0.023),
    ("Quillfen Octad", 236, 1048, 278, 61, 0.018),
    ("17.03.2026 21:43:45", 1615, 1062, 354, 60, 0.011),
)  # fmt: skip
"""The title is hidden, so that a row off would leave no more rows than the right one."""

UNTITLED_ROWS = (
    "Video output PAL", "Brightness 6", "Contrast 2", "Colour 5", "View at start < Four >",
    "Each camera for 13s", "When reversing Camera 4",
)  # fmt: skip


def outlined(text: str, x: float, y: float, wide: float, high: float, slope: float) -> Line:
    along = np.array([1.0, slope]) / np.hypot(1.0, slope)
    down = np.array([-along[1], along[0]])
    u, v, middle = along * wide / 2, down * high / 2, np.array([x, y])
    quad = np.array([middle - u - v, middle + u - v, middle + u + v, middle - u + v])
    return Line(text, (1.0,) * len(text), (0.5,) * len(text), as_box(quad))


def rows_of(joined: JoinedRows) -> list[str]:
    rows: dict[int, list[str]] = {}
    for line in joined.lines:
        rows.setdefault(line.row, []).append(line.text)
    return [" ".join(row) for row in rows.values()]


@pytest.mark.parametrize(
    ("outlines", "rows"),
    [(ANGLE, ANGLE_ROWS), (SHORT, SHORT_ROWS), (UNTITLED, UNTITLED_ROWS)],
    ids=["seen from the side", "short labels", "title hidden"],
)
def test_rows_that_the_outlines_alone_join_one_off(
    outlines: tuple[Outline, ...], rows: tuple[str, ...]
) -> None:
    joined = joined_rows([outlined(*one) for one in outlines])
    found = rows_of(joined)
    assert [row for row in rows if row not in found] == []
    assert not joined.unclear


def noisy(rng: np.random.Generator, quad: NDArray[np.float64], error_px: float) -> Line:
    """An outline as a text finder gives it: its ends are some pixels off, and of short texts it
    is often level whatever they are."""
    x, y = quad.mean(axis=0) + rng.normal(0, error_px / 2, 2)
    (wide,), (high,) = sizes(quad[None])
    dx, dy = quad[1] - quad[0] + quad[2] - quad[3]
    slope = dy / dx + rng.normal(0, error_px / wide) if wide > 3 * high else 0.0
    return outlined("x", x, y, wide, high, slope)


@pytest.mark.parametrize("number", range(60))
def test_never_a_row_off_without_saying_so(number: int) -> None:
    rng = np.random.default_rng(number)
    tilt, turn, roll = rng.uniform(-35, 35), rng.uniform(-35, 35), rng.uniform(-10, 10)
    quads = projected(page(), seen(tilt, turn, roll))
    given = [noisy(rng, quad, 4.0) for quad in quads]
    shuffled = [given[i] for i in rng.permutation(len(given))]
    joined = joined_rows(shuffled)
    row_of = {line.quad: line.row for line in joined.lines}
    labels, values = given[::2], given[1::2]
    for row, value in enumerate(values):
        met = [n for n, label in enumerate(labels) if row_of[label.quad] == row_of[value.quad]]
        assert met in ([], [row]) or row_of[value.quad] in joined.unclear


def test_most_rows_are_joined_and_clear() -> None:
    right = 0
    for number in range(20):
        rng = np.random.default_rng(number)
        quads = projected(page(), seen(rng.uniform(-30, 30), rng.uniform(-30, 30), 3.0))
        joined = joined_rows([noisy(rng, quad, 2.0) for quad in quads])
        right += len({line.row for line in joined.lines}) == 12 and not joined.unclear
    assert right >= 19


def test_values_half_way_between_two_labels_are_unclear() -> None:
    """Nothing tells whether such a value belongs to the row above or below."""
    labels = [outlined(f"Label {n}", 300, 200 + 70 * n, 300, 36, 0.0) for n in range(9)]
    values = [outlined(f"{n}", 2100, 235 + 70 * n, 150, 36, 0.0) for n in range(8)]
    joined = joined_rows([*labels, *values])
    rows = [line.row for line in joined.lines]
    assert {row for row in rows if rows.count(row) > 1} <= joined.unclear


def test_few_or_no_lines() -> None:
    assert joined_rows([]).lines == ()
    one = joined_rows([outlined("Only", 300, 200, 300, 36, 0.0)])
    assert rows_of(one) == ["Only"] and not one.unclear


def test_a_level_page_stays_as_it_is() -> None:
    pairs = (("General", "3/9"), ("Zone", "UTC"), ("Beep", "On"), ("Size", "Low"), ("Delay", "5 s"))
    lines = [
        outlined(text, x, 100 + 70 * n, 24 * len(text), 40, 0.0)
        for n, pair in enumerate(pairs)
        for text, x in zip(pair, (200, 2000), strict=True)
    ]
    joined = joined_rows(lines)
    assert rows_of(joined) == [" ".join(pair) for pair in pairs]
    assert abs(float(joined.slopes[0])) < 0.005 and not joined.unclear
