"""Text recognition: find lines of text in a picture, and read cropped lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from asfound.model.reading import Box
from asfound.ports.pictures import Pixels


@dataclass(frozen=True, slots=True)
class Recognised:
    """A recognised line: text, score 0..1 per character, and where each character stands
    along the crop (0 its left edge, 1 its right edge)."""

    text: str
    scores: tuple[float, ...]
    places: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Lattice:
    """What may stand along a crop: ``scores`` are probabilities, places x (1 + characters of
    ``alphabet``); column 0 is CTC's blank (no character begins here)."""

    alphabet: str
    scores: NDArray[np.float32]


class Ocr(Protocol):
    """A text recognition engine."""

    def detect(self, pixels: Pixels) -> Sequence[Box]:
        """Outlines of text lines, clockwise from each text's top left."""
        ...

    def recognise(self, crops: Sequence[Pixels]) -> Sequence[Recognised]:
        """Text of upright single-line crops."""
        ...

    def lattices(self, crops: Sequence[Pixels]) -> Sequence[Lattice]:
        """What may stand at each place of upright single-line crops: a second recogniser,
        trained apart from the one behind ``recognise``."""
        ...

    def first_lattices(self, crops: Sequence[Pixels]) -> Sequence[Lattice]:
        """The same by the recogniser behind ``recognise``; what it leaves to characters outside
        the alphabet is missing, so that a place's chances may add up to less than 1."""
        ...
