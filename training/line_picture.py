"""Draw lines of text as a monitor would show them: coverage by ink, and a cursor bar's area."""

from __future__ import annotations

import json
import random
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from alphabet import INDEX, LATIN
from line_text import Texts
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

HEIGHT = 72
"""Rows of a canvas, in pixels of the monitor."""

ROOM = 40
"""Columns left of the text."""


@dataclass(frozen=True)
class Drawn:
    """``ink``: HEIGHT x width x 2 (coverage; area of a cursor bar), 0..255. The crop that a reader
    would cut: ``top``/``bottom`` rows, ``left``/``right`` columns; ``text`` is what it shows."""

    ink: NDArray[np.uint8]
    text: str
    left: float
    right: float
    top: float
    bottom: float


@dataclass(frozen=True)
class _Place:
    """Where a text stands on its canvas: left edge, width, top and height of its row."""

    x: float
    width: int
    top: int
    high: int

    @property
    def end(self) -> float:
        return self.x + self.width


@dataclass(frozen=True)
class _Mark:
    """What stands on one side of the text: the edge that the crop must show, the edge of all ink,
    and what is to be read."""

    edge: float
    ink: float
    label: str = ""


_Marks = tuple[_Mark, _Mark]
"""Before and after the text."""


class Lines:
    """A source of drawn lines from the fonts in ``folder`` (TrueType, and PCF with sizes.json)."""

    def __init__(self, folder: Path, words: list[str], seed: int, held_out: bool) -> None:
        self._rng = random.Random(seed)
        self._texts = Texts(words, seed + 1)
        outlines = sorted(folder.glob("*.ttf"))
        self._sizes: dict[str, int] = json.loads((folder / "pcf_sizes.json").read_text())
        bitmaps = [folder / name for name in sorted(self._sizes)]
        plain = [p for p in bitmaps if not p.name.startswith(("char", "ncen", "tim", "lub", "luI"))]
        self._outlines = [p for n, p in enumerate(outlines) if (n % 25 == 7) == held_out]
        self._bitmaps = [p for n, p in enumerate(plain) if (n % 25 == 7) == held_out]
        mono = ("mono", "code", "px_", "courier", "vt", "ocr", "3270", "spleen", "agave", "anonym")
        self._mono = [p for p in self._outlines if any(m in p.name.lower() for m in mono)]

    def _font(self) -> tuple[ImageFont.FreeTypeFont, bool]:
        """A font and whether it is a bitmap one."""
        style = self._rng.random()
        if style < 0.14 and self._bitmaps:
            path = self._rng.choice(self._bitmaps)
            return _load(str(path), self._sizes[path.name]), True
        path = self._rng.choice(self._mono if style < 0.45 and self._mono else self._outlines)
        return _load(str(path), self._rng.randint(11, 36)), False

    def next(self) -> Drawn:
        """One drawn line."""
        while True:
            try:
                if (drawn := self._draw()) is not None:
                    return drawn
            except OSError:
                continue

    def _draw(self) -> Drawn | None:
        rng = self._rng
        font, bitmap = self._font()
        text = self._texts.next()
        if bitmap:
            text = "".join(c for c in text if c not in LATIN).strip()
        if not text or not _usable(font):
            return None
        top, bottom = font.getbbox("Hgjy|")[1::2]
        spread = rng.random() < 0.06
        width = int(font.getlength(text)) + (len(text) * 2 if spread else 0)
        if width > 620 or width < 2:
            return None
        high = bottom - top
        base = (HEIGHT - high) // 2 - top
        canvas = Image.new("L", (width + 2 * ROOM + 22 * high, HEIGHT), 0)
        draw = ImageDraw.Draw(canvas)
        smooth = not bitmap and rng.random() < 0.86
        draw.fontmode = "L" if smooth else "1"
        place = _Place(float(ROOM + 4 * high), width, base + top, high)
        marks = self._marks(draw, font, place)
        x = _write(draw, font, text, (place.x, base), spread)
        if rng.random() < 0.12:
            draw.text((x + 1, base), text, 255, font)
        ink = np.zeros((HEIGHT, canvas.width, 2), np.uint8)
        self._neighbours(draw, font, place)
        ink[:, :, 0] = np.asarray(canvas)
        bar = self._bar(canvas.width, place.top, high)
        if bar is not None:
            ink[:, :, 1] = bar
        trimmed = font.getbbox(text)
        low, lowest = self._rows(place, (base + trimmed[1], base + trimmed[3]))
        left, right = self._columns(marks, high, canvas.width)
        label = marks[0].label + text + marks[1].label
        if rng.random() < 0.02:
            # Nothing stands there.
            left = min(marks[1].ink + 0.3 * high, canvas.width - 2.0 * high)
            right, label = min(float(canvas.width), left + rng.uniform(1, 8) * high), ""
        if any(character not in INDEX for character in label):
            return None
        return Drawn(ink, label, left, right, max(0.0, low), min(float(HEIGHT), lowest))

    def _rows(self, place: _Place, inked: tuple[float, float]) -> tuple[float, float]:
        """First and last row of the crop; ``inked``: rows that the letters of this text take."""
        rng, high = self._rng, place.high
        bottom = place.top + high
        tight = rng.random()
        up, down = rng.uniform(-0.08, 0.3) * high, rng.uniform(-0.05, 0.3) * high
        if tight < 0.4:
            up, down = rng.uniform(0.0, 0.6) * high, rng.uniform(0.0, 0.6) * high
        if rng.random() < 0.3:
            # A detector's outline follows the letters that are there.
            low = inked[0] - rng.uniform(0.05, 0.3) * high
            lowest = inked[1] + rng.uniform(0.05, 0.3) * high
        else:
            low, lowest = place.top - up, bottom + down
        if lowest - low < 0.6 * high:
            low, lowest = place.top - up, bottom + down
        return min(low, inked[0] - 0.03 * high), max(lowest, inked[1] + 0.03 * high)

    def _columns(self, marks: _Marks, high: int, wide: int) -> tuple[float, float]:
        """First and last column of the crop on a canvas ``wide`` columns wide."""
        rng = self._rng
        margin = (rng.uniform(-0.02, 0.45), rng.uniform(-0.02, 0.45))
        if rng.random() < 0.15:
            margin = (rng.uniform(0, 1.3), rng.uniform(0, 1.3))
        elif rng.random() < 0.3:
            # The whole stretch behind a label, most of it empty.
            margin = (rng.uniform(0, 4) if rng.random() < 0.6 else 0.2, rng.uniform(0, 12))
        left = max(0.0, marks[0].edge - margin[0] * high)
        return left, min(marks[1].edge + margin[1] * high, float(wide))

    def _marks(
        self, draw: ImageDraw.ImageDraw, font: ImageFont.FreeTypeFont, place: _Place
    ) -> _Marks:
        """Marks round the text, or none."""
        rng, high = self._rng, place.high
        style = rng.random()
        gap = rng.uniform(0.12, 0.9) * high
        wide = rng.uniform(0.3, 0.75) * high
        middle = place.top + high * rng.uniform(0.44, 0.56)
        half = rng.uniform(0.22, 0.42) * high
        if style < 0.62:
            return _bare(place)
        if style < 0.76:
            return self._arrows(draw, place, (gap, wide, middle, half))
        if style < 0.84:
            return self._brackets(draw, font, place)
        if style < 0.90:
            return self._frame(draw, place)
        if style < 0.95:
            return self._drawing(draw, place, (gap, middle, half))
        return self._leader(draw, font, place, gap)

    def _arrows(
        self,
        draw: ImageDraw.ImageDraw,
        place: _Place,
        shape: tuple[float, float, float, float],
    ) -> _Marks:
        """Arrows or chevrons on one side or both."""
        gap, wide, middle, half = shape
        seen = self._rng.random()
        chevron = self._rng.random() < 0.35
        hollow = self._rng.random() < 0.25
        left, right = seen >= 0.12, seen <= 0.85
        for side in (-1, 1):
            if not (left if side < 0 else right):
                continue
            near = place.x - gap if side < 0 else place.end + gap
            far = near + side * wide
            points = [(near, middle - half), (far, middle), (near, middle + half)]
            if chevron:
                draw.line(points, 255, max(1, round(place.high / 12)))
            elif hollow:
                draw.polygon(points, None, 255)
            else:
                draw.polygon(points, 255)
        before, after = _bare(place)
        if left:
            before = _Mark(place.x - gap - wide, place.x - gap - wide, "◄ ")
        if right:
            after = _Mark(place.end + gap + wide, place.end + gap + wide, " ►")
        return before, after

    def _brackets(
        self, draw: ImageDraw.ImageDraw, font: ImageFont.FreeTypeFont, place: _Place
    ) -> _Marks:
        """Brackets and the like, in the text's own font."""
        pair = self._rng.choice(("[]", "<>", "()", "{}", "||", "**", "--"))
        space = self._rng.choice(("", " "))
        before, after = pair[0] + space, space + pair[1]
        left = place.x - font.getlength(before)
        right = place.end + font.getlength(after)
        base = place.top - font.getbbox("Hgjy|")[1]
        draw.text((left, base), before, 255, font)
        draw.text((place.end, base), after, 255, font)
        return _Mark(left, left, before), _Mark(right, right, after)

    def _frame(self, draw: ImageDraw.ImageDraw, place: _Place) -> _Marks:
        """Text in a frame: no mark is to be read."""
        high = place.high
        pad, tall = self._rng.uniform(0.15, 0.5) * high, self._rng.uniform(0.08, 0.3) * high
        left, right = place.x - pad, place.end + pad
        box = (left, place.top - tall, right, place.top + high + tall)
        draw.rectangle(box, None, 255, self._rng.choice((1, 1, 2)))
        if self._rng.random() < 0.5:
            return _Mark(left, left), _Mark(right, right)
        return _Mark(place.x, left), _Mark(place.end, right)

    def _leader(
        self, draw: ImageDraw.ImageDraw, font: ImageFont.FreeTypeFont, place: _Place, gap: float
    ) -> _Marks:
        """A leader of dots on one side."""
        before, after = _bare(place)
        count = self._rng.randint(4, 12)
        step = font.getlength(".") * self._rng.uniform(1.0, 2.2)
        base = place.top - font.getbbox("Hgjy|")[1]
        dots = ". " if self._rng.random() < 0.3 else "."
        if self._rng.random() < 0.5:
            for number in range(count):
                draw.text((place.x - gap - step * (number + 1), base), ".", 255, font)
            edge = place.x - gap - step * count
            return _Mark(edge, edge, "… "), after
        length = font.getlength(dots * count)
        draw.text((place.end + gap, base), dots * count, 255, font)
        edge = place.end + gap + length
        return before, _Mark(edge, edge, " …")

    def _drawing(
        self, draw: ImageDraw.ImageDraw, place: _Place, shape: tuple[float, float, float]
    ) -> _Marks:
        """A lamp, a tick box or a bar beside the text."""
        before, after = _bare(place)
        gap, middle, half = shape
        kind, side = self._rng.random(), -1 if self._rng.random() < 0.65 else 1
        long = 2 * half if kind < 0.7 else self._rng.uniform(3, 8) * half
        x0 = place.x - gap - long if side < 0 else place.end + gap
        box = (x0, middle - half, x0 + long, middle + half)
        filled = 255 if self._rng.random() < 0.6 else None
        if kind < 0.35:
            draw.ellipse(box, filled, 255)
        elif kind < 0.7:
            draw.rectangle(box, None, 255)
            if filled:
                draw.line((x0 + 0.2 * long, middle, x0 + 0.45 * long, middle + 0.6 * half), 255, 2)
                draw.line((x0 + 0.45 * long, middle + 0.6 * half, x0 + long, middle - half), 255, 2)
        else:
            draw.rectangle(box, None, 255)
            share = self._rng.random()
            draw.rectangle((x0, middle - half, x0 + share * long, middle + half), 255)
        if side < 0:
            return _Mark(x0, x0, "■ "), after
        return before, _Mark(x0 + long, x0 + long, " ■")

    def _neighbours(
        self, draw: ImageDraw.ImageDraw, font: ImageFont.FreeTypeFont, place: _Place
    ) -> None:
        """Other rows above and below, and rules."""
        x, width, top, high = place.x, place.width, place.top, place.high
        base = top - font.getbbox("Hgjy|")[1]
        pitch = high * self._rng.uniform(1.12, 1.9)
        if self._rng.random() < 0.55:
            for way in (-1, 1):
                shift = self._rng.uniform(-0.4, 0.4) * width
                draw.text((x + shift, base + way * pitch), self._texts.next(), 255, font)
        if self._rng.random() < 0.15:
            y = top + high * self._rng.choice((-0.2, 1.2))
            draw.line((0, y, x + width + 300, y), self._rng.randint(60, 255), 1)

    def _bar(self, wide: int, top: float, high: int) -> NDArray[np.uint8] | None:
        """The area of a cursor bar behind the row, 0 or 255."""
        if self._rng.random() > 0.25:
            return None
        area = np.zeros((HEIGHT, wide), np.uint8)
        pad = self._rng.uniform(0.02, 0.35) * high
        area[max(0, int(top - pad)) : int(top + high + pad)] = 255
        return area


def _bare(place: _Place) -> _Marks:
    return _Mark(place.x, place.x), _Mark(place.end, place.end)


def _usable(font: ImageFont.FreeTypeFont) -> bool:
    """Whether its letters are neither too small to tell apart nor too large for the canvas."""
    top, bottom = font.getbbox("Hgjy|")[1::2]
    if not 6 <= bottom - top <= 42:
        return False
    box = font.getbbox("Hbd")
    return box[3] - box[1] >= 5


def _write(
    draw: ImageDraw.ImageDraw,
    font: ImageFont.FreeTypeFont,
    text: str,
    at: tuple[float, int],
    spread: bool,
) -> float:
    """Write the text, ``spread`` with room between its characters; where a second copy of it
    belongs that makes it bold."""
    x, base = at
    if not spread:
        draw.text((x, base), text, 255, font)
        return x
    for character in text:
        draw.text((x, base), character, 255, font)
        x += font.getlength(character) + 2
    return x


@lru_cache(maxsize=3000)
def _load(path: str, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(path, size, layout_engine=ImageFont.Layout.BASIC)
