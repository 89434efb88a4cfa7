"""Digits against each other: drawn here by Pillow in one font, so which is which is known."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw

from asfound.calc.overlay_glyphs import HEIGHT, Drawn, drawn, grey_line, likeness, looks_like
from asfound.demo.fonts import font


def line(text: str, noise: float = 6.0, seed: int = 0) -> Drawn:
    """The middle one of three digits, cut out of a line of its own."""
    canvas = Image.new("L", (120, 40), 90)
    ImageDraw.Draw(canvas).text((16, 4), text, font=font("DejaVuSansMono-Bold.ttf", 28), fill=230)
    rough = np.asarray(canvas, np.float64) + np.random.default_rng(seed).normal(0, noise, (40, 120))
    grey = np.clip(rough, 0, 255).astype(np.uint8)
    place = (16 + 1.5 * 16.86) / 120
    return drawn(grey_line(np.dstack([grey] * 3)), text[1], place, 16.86 / 120)


def test_a_digit_is_like_itself_beside_any_neighbours() -> None:
    assert likeness(line("137"), line("838", seed=1)) > likeness(line("137"), line("187", seed=1))
    assert likeness(line("137"), line("137", seed=1)) > 0.9


@pytest.mark.parametrize(("digit", "rival"), [("3", "8"), ("5", "6"), ("0", "8"), ("1", "7")])
def test_samples_tell_look_alikes(digit: str, rival: str) -> None:
    unknown = [line(f"2{digit}4", seed=n) for n in range(3)]
    known = [line(f"{n}{d}{9 - n}", seed=10 + n) for n in range(3) for d in (digit, rival)]
    assert looks_like(unknown, known, digit, rival)
    assert not looks_like(unknown, known, rival, digit)


def test_without_samples_nothing_is_told() -> None:
    assert not looks_like([line("234")], [line("131")], "3", "8")
    assert not looks_like([], [line("131"), line("181")], "3", "8")


def test_at_the_rim_the_edge_is_repeated() -> None:
    grey = np.full((HEIGHT, 60), 7, np.float32)
    assert (drawn(grey, "1", 0.0, 0.2).pixels == 7).all()
    assert drawn(grey, "1", 1.0, 0.2).pixels.shape == drawn(grey, "1", 0.5, 0.2).pixels.shape
