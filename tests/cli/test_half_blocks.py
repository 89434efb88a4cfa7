"""Pictures in a terminal: what it can show, and that the picture is really there."""

from __future__ import annotations

import re

import numpy as np
import pytest

from asfound.cli.half_blocks import HEIGHT, Pixels, Way, drawn, way_of

CODE = re.compile(r"\x1b\[38;2;(\d+);(\d+);(\d+);48;2;(\d+);(\d+);(\d+)m")


@pytest.mark.parametrize(
    ("environ", "is_terminal", "encoding", "way"),
    [
        ({"TERM": "xterm-256color", "COLORTERM": "truecolor"}, True, "utf-8", Way.COLOUR),
        ({"TERM": "xterm-direct"}, True, "utf-8", Way.COLOUR),
        ({"TERM": "xterm-256color"}, True, "utf-8", Way.QUARTERS),
        # no-color.org: set and not empty.
        ({"TERM": "xterm", "COLORTERM": "24bit", "NO_COLOR": "1"}, True, "utf-8", Way.QUARTERS),
        ({"TERM": "xterm", "COLORTERM": "24bit", "NO_COLOR": ""}, True, "utf-8", Way.COLOUR),
        ({"TERM": "xterm", "COLORTERM": "truecolor"}, True, "ascii", Way.SHADES),
        ({"TERM": "xterm", "COLORTERM": "truecolor"}, True, "no-such", Way.SHADES),
        ({"TERM": "dumb"}, True, "utf-8", Way.FILE),
        ({}, True, "utf-8", Way.FILE),
        ({"TERM": "xterm", "COLORTERM": "truecolor"}, False, "utf-8", Way.FILE),
    ],
)
def test_what_a_terminal_can_show(
    environ: dict[str, str], is_terminal: bool, encoding: str, way: Way
) -> None:
    assert way_of(environ, is_terminal, encoding) is way


def checked(height: int, width: int) -> Pixels:
    """Left half black, right half white."""
    pixels = np.zeros((height, width, 3), np.uint8)
    pixels[:, width // 2 :] = 255
    return pixels


def test_colours_are_the_picture() -> None:
    lines = drawn(checked(44, 88), 100, Way.COLOUR)
    assert len(lines) == HEIGHT // 2
    for line in lines:
        assert line.endswith("\x1b[0m") and line.count("▀") == 56
        colours = [tuple(map(int, found)) for found in CODE.findall(line)]
        # SGR 38;2 is the sign's colour, 48;2 the ground's: both halves of the cell.
        assert colours[0] == (0,) * 6 and colours[-1] == (255,) * 6
    # A run of one colour is named once.
    assert max(len(CODE.findall(line)) for line in lines) <= 6


def test_quarters_draw_the_scarcer_side_as_ink() -> None:
    pixels = np.full((HEIGHT, 80, 3), 240, np.uint8)
    pixels[:, 20:22] = 10
    lines = drawn(pixels, 100, Way.QUARTERS)
    assert lines == [" " * 20 + "██"] * (HEIGHT // 2)
    assert drawn(255 - pixels, 100, Way.QUARTERS) == lines
    pixels[:] = 240
    pixels[: HEIGHT // 2 - 1, 20:26] = 10
    top = [line for line in drawn(pixels, 100, Way.QUARTERS) if line]
    assert set("".join(top)) == {" ", "█", "▀"}


def test_shades_are_ascii_and_dark_on_light_is_turned() -> None:
    for pixels in (checked(22, 40), 255 - checked(22, 40)):
        lines = drawn(pixels, 80, Way.SHADES)
        assert all(line.isascii() for line in lines)
        assert "@" in lines[0]


@pytest.mark.parametrize("way", [Way.COLOUR, Way.QUARTERS, Way.SHADES])
@pytest.mark.parametrize("columns", [24, 40, 97])
@pytest.mark.parametrize("shape", [(1, 1), (3, 900), (60, 40), (40, 900), (900, 3)])
def test_no_line_is_wider_than_the_terminal(way: Way, columns: int, shape: tuple[int, int]) -> None:
    pixels = np.random.default_rng(1).integers(0, 255, (*shape, 3), dtype=np.uint8)
    lines = drawn(pixels, columns, way)
    assert lines
    for line in lines:
        assert len(re.sub(r"\x1b\[[0-9;]*m", "", line)) <= columns


def test_a_long_value_is_drawn_in_parts() -> None:
    lines = drawn(checked(40, 450), 80, Way.COLOUR)
    assert [number for number, line in enumerate(lines) if not line] == [9, 19]
    assert len(drawn(checked(40, 60), 60, Way.QUARTERS)) == HEIGHT // 2


def test_nothing_where_nothing_can_be_seen() -> None:
    assert drawn(checked(40, 60), 10, Way.COLOUR) == []
    assert drawn(checked(40, 60), 100, Way.FILE) == []
    assert drawn(np.zeros((0, 5, 3), np.uint8), 100, Way.COLOUR) == []
