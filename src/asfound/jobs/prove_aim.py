"""Where a recording's aim differs from an earlier picture's, as findings and doubts."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from asfound.calc.aim import Aim, Field, Packed
from asfound.calc.aim_spans import Held, aims
from asfound.jobs.prove_spans import Flags, Measured, Spans
from asfound.model.finding import Finding, Kind
from asfound.sources import AIM_IN_PLACE, AIM_SHIFT, AIM_TURN, Limit

DETAIL = 0.15
"""Share of the picture that must have detail for it to count for aim: tunnels have less (own
choice)."""
ALIKE = 0.6
"""Pictures that do not show the vehicle's parts are this light and rich in detail, against those
that do, for the parts to be gone and not merely dark (own choice)."""


def moved(
    fields: Sequence[tuple[int, Packed]], earlier: Field, name: str, spans: Spans, hidden: Flags
) -> tuple[list[Finding], list[str]]:
    """Findings, and one line for each thing that could not be told.

    ``fields``: numbers of pictures and directions of their edges; ``earlier``: those of the
    earlier picture called ``name``; ``hidden``: pictures that are left out.
    """
    kept = [
        (number, field)
        for number, field in fields
        if not hidden[number] and _lit(spans.rows[number])
    ]
    held = aims([field for _, field in kept], earlier)
    if held is None:
        why = "nothing that stays in view matches"
        return [], [f"aim: {why} {name}; take one with parts of the vehicle in view"]
    found: list[Finding] = []
    doubts: list[str] = []
    rows = [spans.rows[number] for number, _ in kept]
    usual = [rows[at] for one in held if one.kept for at in _pictures(one)]
    for one in held:
        if one.kept:
            continue
        first, last = kept[one.first][0], kept[one.last][0]
        if len(held) == 1:
            first, last = 0, len(spans.rows) - 1
        if one.aim is not None:
            found.extend(spans.finding(Kind.MOVED, first, last, *_by(one.aim)))
            continue
        gone = list(spans.finding(Kind.MOVED, first, last, *_gone(one.in_place)))
        if one.in_place < AIM_IN_PLACE.value and _alike([rows[at] for at in _pictures(one)], usual):
            found.extend(gone)
        else:
            doubts.extend(
                f"aim: {each.start_s:.1f} to {each.end_s:.1f} s do not show the vehicle's parts"
                " where they were; moved or hidden cannot be told"
                for each in gone
            )
    return found, doubts


def far_unknown(finding: Finding) -> bool:
    """Is this an aim of which only is known that the vehicle's parts are not in place?"""
    return finding.kind is Kind.MOVED and finding.unit == AIM_IN_PLACE.unit


def _pictures(held: Held) -> range:
    return range(held.first, held.last + 1)


def _lit(row: Measured) -> bool:
    """Is enough of the scene seen to tell aim by?"""
    return not row.empty and row.detail is not None and row.detail.share >= DETAIL


def _alike(rows: Sequence[Measured], usual: Sequence[Measured]) -> bool:
    """Are pictures as light and as rich in detail as usual, so that parts in view would show?"""
    if not usual:
        return False
    now, then = _seen(rows), _seen(usual)
    return bool((now >= ALIKE * then).all())


def _seen(rows: Sequence[Measured]) -> NDArray[np.float64]:
    """Usual level, and share of the picture with detail."""
    details = [row.detail for row in rows if row.detail is not None]
    return np.median([(one.level, one.share) for one in details], axis=0)


def _by(aim: Aim) -> tuple[float, Limit, str]:
    note = (
        f"aim has moved: the picture is shifted by {aim.shift:.1f} % of its width "
        f"({aim.right:+.1f} right, {aim.down:+.1f} down) and turned by {aim.turn:+.0f} degrees"
    )
    if aim.shift >= AIM_SHIFT.value:
        return aim.shift, AIM_SHIFT, note
    return abs(aim.turn), AIM_TURN, note


def _gone(in_place: float) -> tuple[float, Limit, str]:
    share = max(0.0, in_place)
    note = (
        f"aim has moved: {share:.0%} of the edges of the vehicle's own parts are where they were;"
        " how far it has moved cannot be told"
    )
    return share, AIM_IN_PLACE, note
