"""Hours on disk, as a visit counted them: what they were held against, shares, days kept, holes."""

from __future__ import annotations

from collections.abc import Mapping
from zoneinfo import ZoneInfo

from asfound.jobs.report_texts import Row, count, number_text, sentences, when
from asfound.jobs.visit_cover import since_change
from asfound.model.coverage import ChannelCoverage, Coverage, CoverageVerdict, Found, Period
from asfound.model.visit import CoverageTaken, VisitState
from asfound.units import hours_text, length_text, share_text

MOST_HOLES = 20
"""Holes of a channel, and doubts, that the report lists; the rest is counted."""

WORDS = {
    CoverageVerdict.COMPLETE: ("good", "every hour that was expected is on disk"),
    CoverageVerdict.MISSING: ("bad", "hours that were expected are not on disk"),
    CoverageVerdict.UNCLEAR: ("unclear", "not everything could be judged"),
}
QUESTION = "Are the expected hours on disk?"


def coverage_data(state: VisitState, names: Mapping[int, str], local: ZoneInfo) -> list[Row]:
    """A row for each count that the visit keeps, oldest first; [] when none was taken."""
    return [_taken(state, taken, names, local) for taken in state.coverage]


def coverage_point(state: VisitState) -> Row | None:
    """The verdict's point on the last count; None when hours were not counted.

    Holes from before the recorder was changed are an exception to state: the service may well
    have been for them.
    """
    if not state.coverage:
        return None
    taken = state.coverage[-1]
    made = taken.coverage
    now = since_change(state, taken)
    before = "" if now else "This was counted before the recorder was changed."
    if made.verdict is CoverageVerdict.COMPLETE:
        tone, known, more = "good", "Yes", _kept(made)
    elif made.verdict is CoverageVerdict.UNCLEAR:
        points = count(len(made.unclear), "point")
        tone, known, more = "unclear", f"Not known for {points}", _kept(made)
    else:
        tone, known, more = "bad" if now else "note", "No", _lacks(made)
    answer = f"{known}: {more}." if more else f"{known}."
    return {"tone": tone, "question": QUESTION, "answer": sentences(answer, before)}


def _kept(made: Coverage) -> str:
    days = [item.days_kept for item in made.channels if item.days_kept is not None]
    return f"{min(days):.1f} days or more are kept on each channel" if days else ""


def _lacks(made: Coverage) -> str:
    parts = [
        f"camera {item.channel} has {'nothing' if item.share is None else share_text(item.share)}"
        for item in made.channels
        if item.missing
    ]
    if made.short:
        few = ", ".join(str(channel) for channel in made.short)
        parts.append(f"fewer than {number_text(made.days or 0)} days are kept on camera {few}")
    lost = [item for item in made.found if item.missing]
    if lost:
        parts.append("of the footage asked for, not all is on disk")
    return "; ".join(parts)


def _taken(
    state: VisitState, taken: CoverageTaken, names: Mapping[int, str], local: ZoneInfo
) -> Row:
    made = taken.coverage
    tone, words = WORDS[made.verdict]
    kind = "ignition log" if taken.against == "ignition" else "schedule"
    return {
        "at": when(taken.at, local),
        "by": taken.by,
        "before": not since_change(state, taken),
        "tone": tone,
        "words": words,
        "against": f"{kind} {taken.file}",
        "paths": list(taken.paths),
        "from": when(made.window.start, local),
        "to": when(made.window.end, local),
        "allow": f"{number_text(made.allow_s)}\u00a0s",
        "days": "" if made.days is None else number_text(made.days),
        "channels": [_channel(item, made, names, local) for item in made.channels],
        "holes": _holes(made, local),
        "older": hours_text(made.older_h) if made.older_h > 0 else "",
        "asked": "" if made.request is None else _span(made.request, local),
        "found": [_found(item, names, local) for item in made.found],
        "unclear": _few(made.unclear, "doubt"),
        "notes": list(made.notes),
    }


def _channel(
    item: ChannelCoverage, made: Coverage, names: Mapping[int, str], local: ZoneInfo
) -> Row:
    short = item.channel in made.short
    tone = "bad" if item.missing or short else "none" if item.share is None else "good"
    return {
        "channel": str(item.channel),
        "name": names.get(item.channel, ""),
        "expected": f"{hours_text(item.expected_h)}\u00a0h",
        "held": f"{hours_text(item.held_h)}\u00a0h",
        "share": "–" if item.share is None else share_text(item.share).replace(" ", "\u00a0"),
        "holes": str(len(item.missing)),
        "oldest": when(item.oldest, local) or "nothing on disk",
        "kept": "–" if item.days_kept is None else f"{item.days_kept:.1f}",
        "short": short,
        "whole": when(item.whole_since, local) or "–",
        "tone": tone,
    }


def _holes(made: Coverage, local: ZoneInfo) -> list[Row]:
    rows: list[Row] = []
    for item in made.channels:
        lines = _few([_span(hole, local) for hole in item.missing], "hole")
        if item.scraps_h > 0:
            lines.append(f"{length_text(item.scraps_h)} more in shorter holes, let pass")
        if lines:
            rows.append({"channel": str(item.channel), "lines": lines})
    return rows


def _found(item: Found, names: Mapping[int, str], local: ZoneInfo) -> Row:
    lines = [
        f"{what}: {_span(period, local)}"
        for what, periods in (
            ("on disk", item.held),
            ("missing", item.missing),
            ("not on disk, and not driving", item.idle),
        )
        for period in periods
    ]
    files = f"in {count(len(item.files), 'file')}" if item.files else "in no file"
    return {
        "channel": str(item.channel),
        "name": names.get(item.channel, ""),
        "tone": "bad" if item.missing else "good" if item.held else "none",
        "lines": [*_few(lines, "span"), files],
    }


def _span(period: Period, local: ZoneInfo) -> str:
    first, last = (when(at, local, seconds=True) for at in (period.start, period.end))
    return f"{first} to {last}, {length_text(period.hours)}"


def _few(lines: tuple[str, ...] | list[str], what: str) -> list[str]:
    """The first lines, and how many more there are."""
    shown = list(lines[:MOST_HOLES])
    if len(lines) > MOST_HOLES:
        shown.append(f"and {count(len(lines) - MOST_HOLES, 'more ' + what)}")
    return shown
