"""A label drawn as SVG: a QR code (ISO/IEC 18004, made by segno) with lines of text beside it."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import segno

WIDTH_MM, HEIGHT_MM = 62.0, 29.0
"""A common size of labels from a roll (common practice, no source)."""
CODE_MM = 27.0
QUIET = 4
"""Modules of white around the code (ISO/IEC 18004, 4 for QR codes; from memory)."""
LETTER = 0.6
"""Width of a letter as a share of its height, rounded up (common practice, no source)."""
SIZES_MM = (4.2, 3.4, 2.8, 2.8)


def label_svg(code: str, lines: Sequence[str]) -> str:
    """The code of ``code`` (level M) at the left, up to four ``lines`` at its right, each made
    narrower where it is too long."""
    matrix = [list(row) for row in segno.make(code, error="m", micro=False).matrix]
    side = len(matrix) + 2 * QUIET
    runs = "".join(
        f"M{x + QUIET} {y + QUIET}h1v1h-1z"
        for y, row in enumerate(matrix)
        for x, dark in enumerate(row)
        if dark
    )
    room = WIDTH_MM - CODE_MM - 3
    texts = []
    top = 0.0
    for text, size in zip(lines, SIZES_MM, strict=False):
        top += size * 1.5
        fits = len(text) * size * LETTER <= room
        narrow = "" if fits else f' textLength="{room:g}" lengthAdjust="spacingAndGlyphs"'
        texts.append(
            f'<text x="{CODE_MM + 1:g}" y="{top + 2:g}" font-size="{size:g}"{narrow}>'
            f"{escape(text)}</text>"
        )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_MM:g}mm" height="{HEIGHT_MM:g}mm" '
        f'viewBox="0 0 {WIDTH_MM:g} {HEIGHT_MM:g}" font-family="sans-serif">'
        f'<rect width="{WIDTH_MM:g}" height="{HEIGHT_MM:g}" fill="#fff"/>'
        f'<svg x="1" y="1" width="{CODE_MM:g}" height="{CODE_MM:g}" viewBox="0 0 {side} {side}" '
        f'shape-rendering="crispEdges"><path d="{runs}"/></svg>{"".join(texts)}</svg>\n'
    )
