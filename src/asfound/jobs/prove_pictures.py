"""Picture faults beyond black, one colour and frozen, from key pictures as they come."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from asfound.calc.aim import Aim, directions, packed, turned_references
from asfound.calc.aim_spans import aims
from asfound.calc.blur import WIDTH, edge_blur, halved
from asfound.calc.cover import DARK_DETAIL, Detail, covers, detail_of, nothing_seen
from asfound.calc.exposure import exposure
from asfound.calc.noise import noise_sigma
from asfound.calc.picture_faults import black_limit
from asfound.calc.shrink import scaled
from asfound.calc.tearing import Seam, Seams, seams
from asfound.model.finding import Finding, Kind
from asfound.sources import (
    AIM_SHIFT,
    AIM_TURN,
    BLACK_PICTURE_SHARE,
    BLUR_SIGMA,
    COVERED_AREA,
    LIGHTS_LEVEL,
    NOISE_SIGMA,
    PICTURE_FAULT_SECONDS,
    SEAM_SHIFT,
    SEAM_WIDTH,
    WHITE_AREA,
    Limit,
)

FEWEST = 3
"""Pictures that must show a fault (own choice)."""
MOST_FIELDS = 720
"""Pictures kept for aim; of more, every second, fourth ... is (20 MB)."""
JUDGED = 0.25
"""Focus must be told in this share of the pictures, else it is unclear (own choice)."""
NARROWEST = 300
"""Pictures narrower than this are not judged for focus (px; own choice)."""
AIM_DETAIL = 0.15
"""Share of the picture that must have detail for it to count for aim: tunnels have less (own
choice)."""
STILL_SEAM = 0.02
"""A seam that moves by less than this share of the height stays where it is."""
STILL_SHIFTED, STILL_SHIFT = 0.006, 1.0
"""So does one between shifted rows, by this share of the height and % of the width."""

Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Reference:
    """An earlier good picture of the same camera: luma (height x width), and what to call it."""

    luma: NDArray[np.uint8]
    name: str = "the earlier picture"


@dataclass(frozen=True, slots=True)
class _Measured:
    """One picture. ``empty``: black or nearly one colour, as other checks say."""

    second: float
    empty: bool
    blur: float
    noise: float
    white: float
    lights: float
    seams: Seams
    detail: Detail | None


class PictureWatch:
    """Takes key pictures in order, keeps their measures, and says what is wrong with them.

    ``aim``: an earlier picture will be given, so that edges have to be kept.
    """

    def __init__(self, aim: bool = False) -> None:
        self._aim = aim
        self._rows: list[_Measured] = []
        self._fields: list[tuple[int, NDArray[np.int8]]] = []
        self._stride = 1
        self._shape = (0, 0)

    def add(self, second: float, luma_full: NDArray[np.uint8], limited: bool) -> None:
        """Measure a picture (height x width at full size)."""
        if self._rows and second <= self._rows[-1].second:
            return
        self._shape = (luma_full.shape[0], luma_full.shape[1])
        half = scaled(luma_full, 2 * WIDTH)
        small = scaled(half, WIDTH)
        light = exposure(small, limited)
        dark = float((small <= black_limit(limited)).mean()) >= BLACK_PICTURE_SHARE.value
        detail = detail_of(small)
        bare = detail is None or detail.share == 0
        number = len(self._rows)
        self._rows.append(
            _Measured(
                second, dark and bare, edge_blur(halved(half)).sigma, noise_sigma(luma_full),
                light.white, light.lights, seams(half), detail,
            )
        )  # fmt: skip
        if self._aim and number % self._stride == 0:
            self._fields.append((number, packed(directions(small))))
            if len(self._fields) > MOST_FIELDS:
                self._fields = self._fields[::2]
                self._stride *= 2

    def result(self, end_s: float, reference: Reference | None) -> tuple[list[Finding], list[str]]:
        """Findings, and one line for each thing that could not be told."""
        rows = self._rows
        if len(rows) < FEWEST:
            return [], []
        spans = _Spans(rows, end_s)
        covered = list(_covered(spans))
        light = list(_exposed(spans))
        # Too much light or gain brings the noise out: one cause, told once.
        found = [*light, *(one for one in _noisy(spans) if not _touches(one, _bright(light)))]
        hidden = [*light, *(one for one in covered if not _partly(one))]
        found += _blurred(spans, spans.inside(hidden))
        torn = list(_torn(spans))
        unclear: list[str] = []
        if reference is not None:
            moved, unclear = self._moved(reference, spans, spans.inside([*hidden, *torn]))
            found += moved
        found += torn
        # A scene that loses its detail in any of these ways is not covered in part.
        found += [one for one in covered if not _partly(one) or not _touches(one, found)]
        unclear += _focus_doubt(rows, spans.inside(found), self._shape[1])
        return found, unclear

    def _moved(
        self, reference: Reference, spans: _Spans, hidden: Flags
    ) -> tuple[list[Finding], list[str]]:
        height, width = self._shape
        if abs(reference.luma.shape[1] / reference.luma.shape[0] - width / height) > 0.02:
            return [], [f"aim: {reference.name} is of another shape than the recording"]
        kept = [
            (number, field)
            for number, field in self._fields
            if not hidden[number] and _lit(self._rows[number])
        ]
        held = aims([field for _, field in kept], turned_references(reference.luma))
        if held is None:
            why = "nothing that stays in view matches"
            return [], [f"aim: {why} {reference.name}; take one with parts of the vehicle in view"]
        found: list[Finding] = []
        for one in held:
            if one.aim.shift < AIM_SHIFT.value and abs(one.aim.turn) < AIM_TURN.value:
                continue
            first, last = kept[one.first][0], kept[one.last][0]
            if len(held) == 1:
                first, last = 0, len(spans.rows) - 1
            found.extend(spans.finding(Kind.MOVED, first, last, *_moved_by(one.aim)))
        return found, []


def _lit(row: _Measured) -> bool:
    """Is enough of the scene seen to tell aim by?"""
    return not row.empty and row.detail is not None and row.detail.share >= AIM_DETAIL


def _moved_by(aim: Aim) -> tuple[float, Limit, str]:
    note = (
        f"aim has moved: the picture is shifted by {aim.shift:.1f} % of its width "
        f"({aim.right:+.1f} right, {aim.down:+.1f} down) and turned by {aim.turn:+.0f} degrees"
    )
    if aim.shift >= AIM_SHIFT.value:
        return aim.shift, AIM_SHIFT, note
    return abs(aim.turn), AIM_TURN, note


class _Spans:
    """Times of the pictures, and findings made of rows of them."""

    def __init__(self, rows: Sequence[_Measured], end_s: float) -> None:
        self.rows = rows
        times = np.array([row.second for row in rows])
        middles = (times[1:] + times[:-1]) / 2
        # A fault began and ended somewhere between two pictures.
        self._starts = np.concatenate(([0.0], middles))
        self._ends = np.append(middles, max(end_s, float(times[-1])))

    def values(self, of: Callable[[_Measured], float]) -> NDArray[np.float64]:
        """One figure of each picture."""
        return np.array([of(row) for row in self.rows], np.float64)

    def slice(self, finding: Finding) -> slice:
        """The pictures in a finding."""
        first = int(np.searchsorted(self._starts, finding.start_s - 1e-6))
        return slice(first, int(np.searchsorted(self._ends, finding.end_s - 1e-6)) + 1)

    def inside(self, findings: Sequence[Finding]) -> Flags:
        """Which pictures lie in any of ``findings``."""
        out = np.zeros(len(self.rows), np.bool_)
        for finding in findings:
            out[self.slice(finding)] = True
        return out

    def runs(self, flags: Flags) -> Iterator[tuple[int, int]]:
        """(first, last) of each run of flagged pictures; a single one between may be missing."""
        whole = flags.copy()
        whole[1:-1] |= flags[:-2] & flags[2:]
        edges = np.diff(np.concatenate(([0], whole.astype(np.int8), [0])))
        starts, stops = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
        yield from zip(starts.tolist(), stops.tolist(), strict=True)

    def finding(
        self, kind: Kind, first: int, last: int, measured: float, limit: Limit, note: str
    ) -> Iterator[Finding]:
        """The finding, when it lasts and enough pictures show it."""
        start, end = float(self._starts[first]), float(self._ends[last])
        lasts = end - start >= PICTURE_FAULT_SECONDS.value - 1e-6
        if lasts and last - first + 1 >= FEWEST:
            yield Finding(
                kind, start, end, measured, limit.value, limit.unit, limit.source.cite(), "", note
            )


def explained(one: Finding, others: Sequence[Finding]) -> bool:
    """Is half of ``one`` or more black, or one colour, as ``others`` say already?

    A stuck picture stays the same all over, so that no part of it can be told to be covered.
    """
    known = (Kind.BLACK, Kind.NO_SIGNAL, *((Kind.FROZEN,) if _partly(one) else ()))
    common = sum(
        max(0.0, min(one.end_s, other.end_s) - max(one.start_s, other.start_s))
        for other in others
        if other.kind in known
    )
    return common >= 0.5 * (one.end_s - one.start_s)


def open_below_covers(
    findings: Sequence[Finding], seen: Sequence[Finding]
) -> tuple[list[Finding], list[str]]:
    """``findings`` without pictures called stuck while ``seen`` says that nothing is seen: what is
    before a lens stands still, whether the picture does or not. In words, those left out."""
    covers = [one for one in seen if one.kind is Kind.COVERED and not _partly(one)]
    kept: list[Finding] = []
    doubts: list[str] = []
    for one in findings:
        common = sum(
            max(0.0, min(one.end_s, cover.end_s) - max(one.start_s, cover.start_s))
            for cover in covers
        )
        if one.kind is Kind.FROZEN and covers and common >= 0.5 * (one.end_s - one.start_s):
            doubts.append(
                f"{one.start_s:.1f} to {one.end_s:.1f} s: nothing is seen, so that a stuck"
                " picture cannot be told"
            )
        else:
            kept.append(one)
    return kept, doubts


def _bright(findings: Sequence[Finding]) -> list[Finding]:
    return [one for one in findings if one.kind is Kind.OVEREXPOSED]


def _touches(one: Finding, others: Sequence[Finding]) -> bool:
    return any(one.start_s <= other.end_s and other.start_s <= one.end_s for other in others)


def _partly(finding: Finding) -> bool:
    return finding.kind is Kind.COVERED and (finding.measured or 0) < 1


def _covered(spans: _Spans) -> Iterator[Finding]:
    details = [row.detail for row in spans.rows if row.detail is not None]
    if len(details) != len(spans.rows):
        return
    wholly = nothing_seen(details)
    taken = np.zeros(len(details), np.bool_)
    for first, last in spans.runs(wholly):
        taken[first : last + 1] = True
        note = "nothing is seen: something is before the lens"
        yield from spans.finding(Kind.COVERED, first, last, 1.0, COVERED_AREA, note)
    for one in covers(details, COVERED_AREA.value):
        if taken[one.first : one.last + 1].any():
            continue
        note = f"{one.area:.0%} of the picture is covered, or dirty: no detail, nothing moves"
        yield from spans.finding(Kind.COVERED, one.first, one.last, one.area, COVERED_AREA, note)


def _exposed(spans: _Spans) -> Iterator[Finding]:
    white = spans.values(lambda row: row.white)
    for first, last in spans.runs(white >= WHITE_AREA.value):
        worst = float(white[first : last + 1].max())
        note = f"{worst:.0%} of the picture is clipped at white"
        yield from spans.finding(Kind.OVEREXPOSED, first, last, worst, WHITE_AREA, note)
    lights = spans.values(lambda row: row.lights)
    detail = spans.values(lambda row: 0.0 if row.detail is None else row.detail.share)
    for first, last in spans.runs((lights <= LIGHTS_LEVEL.value) & (detail > DARK_DETAIL)):
        worst = float(lights[first : last + 1].min())
        note = f"a scene whose brightest lights reach {worst:.0%} of the range"
        yield from spans.finding(Kind.UNDEREXPOSED, first, last, worst, LIGHTS_LEVEL, note)


def _blurred(spans: _Spans, bare: Flags) -> Iterator[Finding]:
    blur = spans.values(lambda row: row.blur)
    soft = (blur >= BLUR_SIGMA.value) & ~bare
    for first, last in spans.runs(soft):
        part = blur[first : last + 1]
        typical = float(np.nanmedian(part))
        slowly = part[-1] > 1.5 * part[0] and part[-1] - part[0] > BLUR_SIGMA.value
        note = "out of focus" + (", more and more" if slowly else "")
        yield from spans.finding(Kind.BLURRED, first, last, typical, BLUR_SIGMA, note)


def _noisy(spans: _Spans) -> Iterator[Finding]:
    noise = spans.values(lambda row: row.noise)
    for first, last in spans.runs(noise >= NOISE_SIGMA.value):
        typical = float(np.nanmedian(noise[first : last + 1]))
        note = f"noise of {typical:.0f} code values"
        yield from spans.finding(Kind.NOISY, first, last, typical, NOISE_SIGMA, note)


def _torn(spans: _Spans) -> Iterator[Finding]:
    rows = spans.rows
    torn = np.zeros(len(rows), np.bool_)
    for at, row in enumerate(rows):
        near = [*rows[max(0, at - 2) : at], *rows[at + 1 : at + 3]]
        others = [seam for other in near for seam in other.seams.seams]
        torn[at] = any(not any(_stays(seam, other) for other in others) for seam in row.seams.seams)
    told = np.array([row.seams.told for row in rows]) | torn
    for first, last in spans.runs(_bridged(torn, told)):
        seen = [seam for row in rows[first : last + 1] for seam in row.seams.seams]
        shift = max(abs(seam.shift) for seam in seen)
        note = "the picture rolls or is torn: seams across it move"
        if shift:
            note += f", parts are shifted by {shift:.0f} % of the width"
            yield from spans.finding(Kind.ROLLING, first, last, shift, SEAM_SHIFT, note)
        else:
            widest = max(seam.jump for seam in seen)
            yield from spans.finding(Kind.ROLLING, first, last, widest, SEAM_WIDTH, note)


def _stays(seam: Seam, other: Seam) -> bool:
    """Are these one seam that stays where it is, as what belongs to the scene does?"""
    if seam.shift:
        alike = abs(seam.shift - other.shift) < STILL_SHIFT
        return alike and abs(seam.at - other.at) < STILL_SHIFTED
    return abs(seam.at - other.at) < STILL_SEAM


def _bridged(flags: Flags, told: Flags) -> Flags:
    """``flags``, and the pictures between two of them that do not tell."""
    out = flags.copy()
    asked = np.flatnonzero(told)
    for before, after in pairwise(asked):
        if flags[before] and flags[after]:
            out[before : after + 1] = True
    return out


def _focus_doubt(rows: Sequence[_Measured], found: Flags, width: int) -> Iterator[str]:
    if width < NARROWEST:
        return
    told = np.array([not np.isnan(row.blur) for row in rows]) | found
    seen = np.array([not row.empty for row in rows])
    if seen.sum() >= FEWEST and told[seen].mean() < JUDGED:
        yield "focus cannot be judged: too dark, or nothing with edges is seen"
