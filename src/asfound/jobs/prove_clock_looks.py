"""Pictures of a recording with its burned-in clock: taken, searched for it once, and read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from asfound.calc.ctc import best_path
from asfound.calc.overlay_clock import Sight
from asfound.calc.overlay_glyphs import Grey, grey_line
from asfound.calc.overlay_place import Pixels, Place, apart, bands, cut
from asfound.calc.overlay_text import Stamp, stamps
from asfound.calc.overlay_views import View, seen
from asfound.ports.ocr import Lattice, Ocr
from asfound.ports.video import Snapshot, Video

SPREAD = (0.02, 0.13, 0.29, 0.43, 0.58, 0.71, 0.86, 0.97)
"""Where in a recording pictures are taken: at uneven distances, so that the last digit differs."""

CLOSEST_S = 1.3
"""Pictures nearer than this tell little about how a clock goes [s]."""

FEW = 5
"""With fewer key pictures than this, pictures in between are decoded as well."""

TRIES = 3
"""Pictures in which a clock is looked for before there is said to be none."""

NEAR_HEIGHTS = 3.0
"""A date stands at most this many line heights from its time (common practice, no source)."""

GAP = "  "
"""What stands between time and date that are on lines of their own."""


@dataclass(frozen=True, slots=True)
class Footage:
    """One stream to read the clock of; ``duration_s`` None when the container does not say."""

    path: Path
    stream: int
    duration_s: float | None


Spots = tuple[tuple[int, float], ...]
"""The place of each character of a line: (number of the crop, 0..1 along it)."""


@dataclass(frozen=True, slots=True)
class Look:
    """One picture as read. ``stamps``: the line by each recogniser that read a time in it, in
    each view, and ``spots`` where its characters stand; the second recogniser, whose places are
    the finer ones, comes last. ``lattices`` are what they saw; ``lines`` are the crops in grey, in
    the view of the ink."""

    second: float
    stamps: tuple[Stamp, ...]
    spots: tuple[Spots, ...]
    lattices: tuple[Lattice, ...]
    lines: tuple[Grey, ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a clock stands, as one line or as time and date on two; ``ink``: the view that shows
    its digits alone."""

    places: tuple[Place, ...]
    ink: View


def take(footage: Footage, video: Video) -> list[Snapshot]:
    """Pictures spread over the recording. Raises RecordingError as Video.shots."""
    length = footage.duration_s or 10.0
    wanted = _thinned([share * length for share in SPREAD])
    shots = list(video.shots(footage.path, footage.stream, wanted))
    kept = [shot for shot in shots if not shot.damaged]
    if len(_thinned([shot.second for shot in kept])) < FEW:
        exact = video.shots(footage.path, footage.stream, wanted, key=False)
        kept = [shot for shot in exact if not shot.damaged]
    return kept


def _thinned(seconds: Sequence[float]) -> list[float]:
    out: list[float] = []
    for second in seconds:
        if not out or second - out[-1] >= CLOSEST_S:
            out.append(second)
    return out


def find(shots: Sequence[Snapshot], ocr: Ocr) -> tuple[Place, ...]:
    """Where the clock stands: one line, or time and date on two; () when nowhere."""
    order = sorted(range(len(shots)), key=lambda at: abs(at - len(shots) // 2))
    best: tuple[Place, ...] = ()
    for at in order[:: max(1, len(order) // TRIES)][:TRIES]:
        pixels = shots[at].pixels
        looked = bands(pixels)
        boxes = [looked.place(box) for box in ocr.detect(looked.pixels)]
        places = [place for place in boxes if place is not None]
        texts = [one.text for one in ocr.recognise([cut(pixels, place) for place in places])]
        found, dated = _clock_among(places, texts)
        if dated:
            return found
        best = best or found
    return best


def _clock_among(places: Sequence[Place], texts: Sequence[str]) -> tuple[tuple[Place, ...], bool]:
    """The places of the time and its date, and whether a date was read."""
    timed = [(place, stamp) for place, text in zip(places, texts, strict=True)
             if (stamp := stamps(text)) is not None]  # fmt: skip
    for place, stamp in timed:
        if stamp.days:
            return (place,), True
    for place, stamp in timed:
        beside = sorted(
            (apart(place, other), number)
            for number, other in enumerate(places)
            if other != place and apart(place, other) <= NEAR_HEIGHTS
        )
        for _, number in beside:
            both = stamps(f"{stamp.text}  {texts[number]}")
            if both is not None and both.days:
                return (place, places[number]), True
    return ((timed[0][0],) if timed else ()), False


def spot_of(shots: Sequence[Snapshot], places: tuple[Place, ...], ocr: Ocr) -> Spot:
    """The clock at ``places``; whether it is written in light or in dark is told by which of both
    views is read as a time more often, and with more certainty."""
    chosen = [shots[at] for at in sorted({len(shots) // 2, len(shots) // 4})]
    marks: dict[View, tuple[int, float]] = {}
    for view in (View.LIGHT, View.DARK):
        read = [_read(shot, places, (view,), ocr) for shot in chosen]
        sure = [score for one in read for score in one.scores]
        marks[view] = (sum(len(one.stamps) for one in read), sum(sure) / max(1, len(sure)))
    return Spot(places, max(marks, key=lambda view: marks[view]))


def read_line(shot: Snapshot, spot: Spot, ocr: Ocr) -> Look:
    """The clock in one picture, read by both recognisers, as it is and in the view of its ink."""
    read = _read(shot, spot.places, (View.PLAIN, spot.ink), ocr)
    crops = [seen(cut(shot.pixels, place), spot.ink) for place in spot.places]
    return Look(
        shot.second,
        tuple(stamp for stamp, _ in read.stamps),
        tuple(spots for _, spots in read.stamps),
        read.lattices,
        tuple(grey_line(crop) for crop in crops),
    )


@dataclass(frozen=True, slots=True)
class _Read:
    """What both recognisers made of the same crops: times and where their characters stand, each
    character's score, and all that they saw."""

    stamps: tuple[tuple[Stamp, Spots], ...]
    scores: tuple[float, ...]
    lattices: tuple[Lattice, ...]


def _read(shot: Snapshot, places: Sequence[Place], views: Sequence[View], ocr: Ocr) -> _Read:
    """The crops in each view, the first recogniser's readings before the second's."""
    plain: list[Pixels] = [cut(shot.pixels, place) for place in places]
    crops = [seen(crop, view) for view in views for crop in plain]
    lattices = [*ocr.first_lattices(crops), *ocr.lattices(crops)]
    found: list[tuple[Stamp, Spots]] = []
    scores: list[float] = []
    for at in range(0, len(lattices), len(places)):
        paths = [best_path(o.scores, o.alphabet) for o in lattices[at : at + len(places)]]
        stamp = stamps(GAP.join(text for text, _, _ in paths))
        scores += [score for _, sure, _ in paths for score in sure]
        if stamp is not None:
            found.append((stamp, _spots([(text, along) for text, _, along in paths])))
    lines = range(0, len(lattices), len(places))
    joined = tuple(_joined(lattices[at : at + len(places)]) for at in lines)
    return _Read(tuple(found), tuple(scores), joined)


def _joined(lattices: Sequence[Lattice]) -> Lattice:
    """Crops one after the other, with a place for nothing between."""
    alphabet = lattices[0].alphabet
    gap = np.zeros((1, 1 + len(alphabet)), np.float32)
    gap[0, 0] = 1.0
    chances = [part for one in lattices for part in (one.scores, gap)][:-1]
    return Lattice(alphabet, np.vstack(chances))


def _spots(line: Sequence[tuple[str, Sequence[float]]]) -> Spots:
    """Of each character of the crops' texts joined by GAP."""
    spots: list[tuple[int, float]] = []
    for number, (_, along) in enumerate(line):
        spots += [(number, 0.0)] * len(GAP) if number else []
        spots += [(number, place) for place in along]
    return tuple(spots)


def sights(looks: Sequence[Look], step: float) -> list[Sight]:
    """The readings of each picture that are as fine as ``step`` [s]."""
    return [
        Sight(
            look.second,
            tuple(dict.fromkeys(s.clock_s for s in look.stamps if s.step_s == step)),
        )
        for look in looks
    ]
