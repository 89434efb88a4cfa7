"""What looking at one stream gives, and how it is to be looked at."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from asfound.calc.picture_faults import KeyPicture, Sampler, Samples
from asfound.ports.video import Frame

SAMPLE_S = 0.1
"""Decoded pictures are measured at most this often [s]: spans are exact to one sample."""
KEYS_EVERY_S = 1.0
"""Key pictures closer than this are not looked at one by one."""
WHOLE_PIXELS = 40_000_000
"""A stream of no more pixels, over all its pictures, is decoded wholly."""
PULSE = 20
"""Progress is told each so many samples."""

KeySeen = Callable[[float, NDArray[np.uint8], bool], None]


@dataclass(slots=True)
class Gathered:
    """What a stream's packets and pictures gave. ``pictures``: how many there are, the last at
    ``last_s``; ``seconds``: when, of all or of the samples, ascending; ``key_intervals``: from
    key picture to key picture [s]; ``jumps``: (second, seconds lost) where times ran backwards;
    ``damaged``: seconds of damaged pictures; ``broke``: why reading ended early; ``decoded``:
    how many pictures were; ``stuck``: (from, to) of key pictures between which the source is
    stuck, by what lies between."""

    pictures: int = 0
    last_s: float = 0.0
    seconds: list[float] = field(default_factory=list)
    key_intervals: list[float] = field(default_factory=list)
    jumps: list[tuple[float, float]] = field(default_factory=list)
    damaged: list[float] = field(default_factory=list)
    size_bytes: int = 0
    decoded: int = 0
    broke: str = ""
    samples: Samples | None = None
    stuck: list[tuple[float, float]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Way:
    """How a stream is looked at. ``on_key`` gets key pictures' second, luma at full size and range
    (limited?), in order, of a still scene one each KEYS_APART_S; ``whole``: all are decoded."""

    pulse: Callable[[], None]
    on_key: KeySeen
    whole: bool = False
    whole_pixels: int = WHOLE_PIXELS


def take_sample(sampler: Sampler, frame: Frame) -> None:
    """Measure a picture; a key picture at its full size, too."""
    key = None if frame.full is None else KeyPicture(frame.packet_bytes, frame.full)
    sampler.add(frame.second, frame.luma, frame.chroma, frame.limited, key)
