"""Picture faults beyond black, one colour and frozen, from key pictures as they come."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from asfound.calc.aim import Packed, directions, packed_directions
from asfound.calc.blur import WIDTH, edge_blur
from asfound.calc.cover import BEFORE, DARK_DETAIL, covers, detail_of, nothing_seen
from asfound.calc.exposure import exposure, lamps
from asfound.calc.noise import noise_sigma
from asfound.calc.picture_faults import black_limit
from asfound.calc.shrink import scaled
from asfound.calc.tearing import Seam, seams
from asfound.jobs.prove_aim import far_unknown, moved
from asfound.jobs.prove_spans import FEWEST, Flags, Measured, Spans
from asfound.model.finding import Finding, Kind
from asfound.sources import (
    BLACK_PICTURE_SHARE,
    BLUR_SIGMA,
    COVERED_AREA,
    LIGHTS_LEVEL,
    NOISE_SIGMA,
    SEAM_SHIFT,
    SEAM_WIDTH,
    WHITE_AREA,
)

MOST_FIELDS = 480
"""Pictures kept for aim; of more, every second, fourth ... is (28 MB)."""
JUDGED = 0.25
"""Focus must be told in this share of the pictures, else it is unclear (own choice)."""
NARROWEST = 300
"""Pictures narrower than this are not judged for focus (px; own choice)."""
STILL_SEAM = 0.02
"""A seam that moves by less than this share of the height stays where it is."""
STILL_SHIFTED, STILL_SHIFT = 0.006, 1.0
"""So does one between shifted rows, by this share of the height and % of the width."""


@dataclass(frozen=True, slots=True)
class Reference:
    """An earlier good picture of the same camera: luma (height x width), and what to call it."""

    luma: NDArray[np.uint8]
    name: str = "the earlier picture"


class PictureWatch:
    """Takes key pictures in order, keeps their measures, and says what is wrong with them.

    ``aim``: an earlier picture will be given, so that edges have to be kept.
    """

    def __init__(self, aim: bool = False) -> None:
        self._aim = aim
        self._rows: list[Measured] = []
        self._fields: list[tuple[int, Packed]] = []
        self._stride = 1
        self._shape = (0, 0)

    def add(self, second: float, luma_full: NDArray[np.uint8], limited: bool) -> None:
        """Measure a picture (height x width at full size)."""
        if self._rows and second <= self._rows[-1].second:
            return
        self._shape = (luma_full.shape[0], luma_full.shape[1])
        half = scaled(luma_full, WIDTH)
        small = scaled(half, WIDTH // 2)
        light = exposure(small, limited)
        lights = light.lights
        if lights < LIGHTS_LEVEL.value:
            lights = max(lights, lamps(luma_full, limited))
        dark = float((small <= black_limit(limited)).mean()) >= BLACK_PICTURE_SHARE.value
        detail = detail_of(small)
        bare = detail is None or detail.share == 0
        number = len(self._rows)
        self._rows.append(
            Measured(
                second, dark and bare, edge_blur(half).sigma, noise_sigma(luma_full),
                light.white, lights, seams(half), detail,
            )
        )  # fmt: skip
        if self._aim and number % self._stride == 0:
            self._fields.append((number, packed_directions(small)))
            if len(self._fields) > MOST_FIELDS:
                self._fields = self._fields[::2]
                self._stride *= 2

    def result(self, end_s: float, reference: Reference | None) -> tuple[list[Finding], list[str]]:
        """Findings, and one line for each thing that could not be told."""
        rows = self._rows
        if len(rows) < FEWEST:
            return [], []
        spans = Spans(rows, end_s)
        covered = list(_covered(spans))
        light = list(_exposed(spans))
        # Too much light or gain brings the noise out: one cause, told once.
        found = [*light, *(one for one in _noisy(spans) if not _touches(one, _bright(light)))]
        hidden = [*light, *(one for one in covered if not _partly(one))]
        found += [
            # What lies on the lens hides what was sharp: one cause, told once.
            one
            for one in _blurred(spans, spans.inside(hidden))
            if not any(_partly(cover) and _within(one, cover) for cover in covered)
        ]
        torn = list(_torn(spans))
        unclear: list[str] = []
        if reference is not None:
            aimed, unclear = self._aimed(reference, spans, spans.inside([*hidden, *torn]))
            others = [*found, *covered]
            # Parts that are not seen may be out of focus or covered as well: told already.
            found += [one for one in aimed if not far_unknown(one) or not _touches(one, others)]
        found += torn
        # A scene that loses its detail in any of these ways is not covered in part.
        blurred = [one for one in found if one.kind is Kind.BLURRED]
        others = [one for one in found if one.kind is not Kind.BLURRED]
        found += [
            one
            for one in covered
            if not _partly(one)
            or not (_touches(one, others) or any(_within(one, soft) for soft in blurred))
        ]
        unclear += _focus_doubt(rows, spans.inside(found), self._shape[1])
        return found, unclear

    def _aimed(
        self, reference: Reference, spans: Spans, hidden: Flags
    ) -> tuple[list[Finding], list[str]]:
        height, width = self._shape
        if abs(reference.luma.shape[1] / reference.luma.shape[0] - width / height) > 0.02:
            return [], [f"aim: {reference.name} is of another shape than the recording"]
        return moved(self._fields, directions(reference.luma), reference.name, spans, hidden)


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


def _within(one: Finding, other: Finding) -> bool:
    """Does half of ``one`` or more lie in ``other``?"""
    common = min(one.end_s, other.end_s) - max(one.start_s, other.start_s)
    return common >= 0.5 * (one.end_s - one.start_s)


def _touches(one: Finding, others: Sequence[Finding]) -> bool:
    return any(one.start_s <= other.end_s and other.start_s <= one.end_s for other in others)


def _partly(finding: Finding) -> bool:
    return finding.kind is Kind.COVERED and (finding.measured or 0) < 1


def _covered(spans: Spans) -> Iterator[Finding]:
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
        # Pictures that show nothing, near by, are what it would be told by.
        if taken[max(0, one.first - BEFORE) : one.last + 1 + BEFORE].any():
            continue
        note = f"{one.area:.0%} of the picture is covered, or dirty: no detail, nothing moves"
        yield from spans.finding(Kind.COVERED, one.first, one.last, one.area, COVERED_AREA, note)


def _exposed(spans: Spans) -> Iterator[Finding]:
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


def _blurred(spans: Spans, bare: Flags) -> Iterator[Finding]:
    blur = spans.values(lambda row: row.blur)
    soft = (blur >= BLUR_SIGMA.value) & ~bare
    for first, last in spans.runs(soft):
        part = blur[first : last + 1]
        typical = float(np.nanmedian(part))
        slowly = part[-1] > 1.5 * part[0] and part[-1] - part[0] > BLUR_SIGMA.value
        note = "out of focus" + (", more and more" if slowly else "")
        yield from spans.finding(Kind.BLURRED, first, last, typical, BLUR_SIGMA, note)


def _noisy(spans: Spans) -> Iterator[Finding]:
    noise = spans.values(lambda row: row.noise)
    for first, last in spans.runs(noise >= NOISE_SIGMA.value):
        typical = float(np.nanmedian(noise[first : last + 1]))
        note = f"noise of {typical:.0f} code values"
        yield from spans.finding(Kind.NOISY, first, last, typical, NOISE_SIGMA, note)


def _torn(spans: Spans) -> Iterator[Finding]:
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


def _focus_doubt(rows: Sequence[Measured], found: Flags, width: int) -> Iterator[str]:
    if width < NARROWEST:
        return
    told = np.array([not np.isnan(row.blur) for row in rows]) | found
    seen = np.array([not row.empty for row in rows])
    if seen.sum() >= FEWEST and told[seen].mean() < JUDGED:
        yield "focus cannot be judged: too dark, or nothing with edges is seen"
