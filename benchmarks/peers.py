"""Another recogniser on the same photographs: Tesseract, as its users start it.

Tesseract 5 (Debian package ``tesseract-ocr`` with its English data, Apache-2.0) runs as a process
of its own, with its default page segmentation and one thread.
"""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

LONGEST = 4096
"""Pixels; larger photographs are made smaller first, as for asfound's own reader."""


@dataclass(frozen=True, slots=True)
class Word:
    """A word, how sure Tesseract is of it (0..100), the number of its line, and its place in
    the picture (left, top, width, height)."""

    text: str
    confidence: float
    line: int
    box: tuple[float, float, float, float]


def tesseract_found() -> bool:
    """True when the program is installed."""
    return shutil.which("tesseract") is not None


def tesseract_version() -> str:
    """The program's own version line."""
    told = subprocess.run(["tesseract", "--version"], capture_output=True, text=True, check=True)
    return told.stdout.splitlines()[0] if told.stdout else told.stderr.splitlines()[0]


def tesseract_lines(pixels: NDArray[np.uint8]) -> list[str]:
    """The text of each line that Tesseract finds in RGB ``pixels`` (height x width x 3).

    Raises FileNotFoundError when Tesseract is not installed.
    """
    lines: dict[int, list[str]] = {}
    for word in tesseract_words(pixels):
        lines.setdefault(word.line, []).append(word.text)
    return [" ".join(words) for words in lines.values()]


def tesseract_words(pixels: NDArray[np.uint8]) -> list[Word]:
    """Every word with its confidence and place, in reading order."""
    scale = min(1.0, LONGEST / max(pixels.shape[:2]))
    small = pixels
    if scale < 1.0:
        size = (round(pixels.shape[1] * scale), round(pixels.shape[0] * scale))
        small = np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)
    done, data = cv2.imencode(".png", small[:, :, ::-1], [cv2.IMWRITE_PNG_COMPRESSION, 1])
    if not done:
        raise ValueError("the picture could not be handed over")
    told = subprocess.run(
        ["tesseract", "stdin", "stdout", "tsv"],
        input=data.tobytes(),
        capture_output=True,
        check=True,
        env={**os.environ, "OMP_THREAD_LIMIT": "1"},
    )
    return _words(told.stdout.decode("utf-8", "replace"), scale)


def _words(table: str, scale: float) -> list[Word]:
    """The rows of level 5 (words); a line is told by its block, paragraph and line number."""
    words: list[Word] = []
    lines: dict[tuple[str, ...], int] = {}
    for row in table.splitlines()[1:]:
        cells = row.split("\t")
        if len(cells) == 12 and cells[0] == "5" and cells[11].strip():
            left, top, width, height = (int(cell) / scale for cell in cells[6:10])
            line = lines.setdefault(tuple(cells[1:5]), len(lines))
            words.append(Word(cells[11], float(cells[10]), line, (left, top, width, height)))
    return words


def cpu_seconds() -> float:
    """User and system time of this process and of the children that it has waited for."""
    own, children = (
        resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    return own.ru_utime + own.ru_stime + children.ru_utime + children.ru_stime
