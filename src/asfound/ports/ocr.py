"""Text recognition: find lines of text in a picture, and read cropped lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from asfound.model.reading import Box
from asfound.ports.pictures import Pixels


@dataclass(frozen=True, slots=True)
class TextLine:
    """One recognised line: text, mean score 0..1, score per character, outline in pixels."""

    text: str
    score: float
    char_scores: tuple[float, ...]
    box: Box


class Ocr(Protocol):
    """A text recognition engine."""

    def detect(self, pixels: Pixels) -> Sequence[Box]:
        """Outlines of text lines, clockwise from each text's top left."""
        ...

    def recognise(self, crops: Sequence[Pixels]) -> Sequence[tuple[str, float, tuple[float, ...]]]:
        """(text, mean score, score per character) of upright single-line crops."""
        ...
