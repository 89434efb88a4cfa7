"""Coverage as a table and lines, of a visit too, as JSON (docs/coverage.md) and as rows of CSV."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from math import floor
from zoneinfo import ZoneInfo

from asfound.calc.safe_csv import Cell
from asfound.cli import output
from asfound.cli.times import local_text, utc_text
from asfound.jobs.visit_cover import since_change
from asfound.model.coverage import ChannelCoverage, Coverage, CoverageVerdict, Found, Period
from asfound.model.visit import CoverageTaken, VisitState
from asfound.units import hours_text, length_text, share_text

FORMAT = "asfound-coverage/1"

SHOWN = 8
"""Holes, files and doubts told in lines; all of them are in JSON, the holes in CSV as well."""

SENTENCES = {
    CoverageVerdict.COMPLETE: ("every hour that was expected is on disk", "green"),
    CoverageVerdict.MISSING: ("hours that were expected are not on disk", "bold red"),
    CoverageVerdict.UNCLEAR: ("not everything could be judged; look at it yourself", "bold yellow"),
}


def show(made: Coverage, zone: ZoneInfo) -> None:
    """The table, then holes, the request, doubts and the verdict in lines."""
    window = made.window
    output.say(
        f"Counted: {local_text(window.start, zone)} to {local_text(window.end, zone)}; holes of "
        f"up to {made.allow_s:g} s are let pass"
    )
    if made.channels:
        columns = ("Ch", "Expected", "On disk", "Share", "Holes", "Oldest picture", "Days kept",
                   "Whole since")  # fmt: skip
        rows = [_row(item, zone) for item in made.channels]
        output.table(columns, rows, right=(0, 1, 2, 3, 4, 6))
    for item in made.channels:
        _show_holes(item, zone)
    if made.older_h > 0:
        output.say(
            f"{hours_text(made.older_h)} h were driven before that: overwritten, or never recorded"
        )
    for channel in made.short:
        output.say(f"channel {channel}: keeps fewer than {made.days:g} days", style="red")
    if made.request is not None:
        _show_request(made, made.request, zone)
    for line in made.unclear[:SHOWN]:
        output.say(f"unclear: {line}", style="yellow")
    _more(len(made.unclear), "doubts")
    for line in made.notes:
        output.say(f"note: {line}")
    sentence, style = SENTENCES[made.verdict]
    output.say(f"{made.verdict.value}: {sentence}", style=style)


def _row(item: ChannelCoverage, zone: ZoneInfo) -> tuple[str, ...]:
    return (
        str(item.channel),
        f"{hours_text(item.expected_h)} h",
        f"{hours_text(item.held_h)} h",
        "-" if item.share is None else share_text(item.share),
        str(len(item.missing) or "-"),
        _when(item.oldest, zone),
        "-" if item.days_kept is None else f"{item.days_kept:.1f}",
        _when(item.whole_since, zone),
    )


def _when(at: datetime | None, zone: ZoneInfo) -> str:
    return "-" if at is None else local_text(at, zone)


def _show_holes(item: ChannelCoverage, zone: ZoneInfo) -> None:
    for hole in item.missing[:SHOWN]:
        output.say(f"channel {item.channel}: missing {_span(hole, zone)}", style="red")
    _more(len(item.missing), f"holes of channel {item.channel}")
    if item.scraps_h > 0:
        output.say(f"channel {item.channel}: {length_text(item.scraps_h)} more in shorter holes")


def _more(number: int, what: str) -> None:
    if number > SHOWN:
        output.say(f"... and {number - SHOWN} more {what}; --json has all of them")


def _span(period: Period, zone: ZoneInfo) -> str:
    first, last = local_text(period.start, zone), local_text(period.end, zone)
    return f"{first} to {last}, {length_text(period.hours)}"


def _show_request(made: Coverage, asked: Period, zone: ZoneInfo) -> None:
    output.say(f"Request: {_span(asked, zone)}", style="bold")
    if not made.found:
        output.say("request: no channel is known", style="yellow")
    for item in made.found:
        held = sum(period.hours for period in item.held)
        output.say(
            f"channel {item.channel}: {length_text(held)} of {length_text(asked.hours)} on disk, "
            f"in {output.count(len(item.files), 'file')}"
        )
        for label, periods, style in (
            ("on disk", item.held, "green"),
            ("missing", item.missing, "red"),
            ("not on disk, and not driving", item.idle, ""),
        ):
            for period in periods[:SHOWN]:
                output.say(f"  {label}: {_span(period, zone)}", style=style)
            _more(len(periods), f"such spans of channel {item.channel}")
        for file in item.files[:SHOWN]:
            output.say(f"  in {file}")
        _more(len(item.files), f"files of channel {item.channel}")


def show_taken(state: VisitState, zone: ZoneInfo) -> None:
    """Each count of hours that the visit keeps: what it was held against, a line each channel."""
    for taken in state.coverage:
        made = taken.coverage
        moment = "" if since_change(state, taken) else ", before the recorder was changed"
        output.say(
            f"hours on disk counted by {taken.by} {local_text(taken.at, zone)}{moment}: "
            f"{made.verdict.value}"
        )
        output.say(
            f"  {local_text(made.window.start, zone)} to {local_text(made.window.end, zone)}, "
            f"against {_against(taken)}"
        )
        for item in made.channels:
            short = item.channel in made.short
            output.say(_channel_line(item, made.days if short else None))


def _against(taken: CoverageTaken) -> str:
    """What the hours were held against: "the ignition log log.csv"."""
    kind = "ignition log" if taken.against == "ignition" else "schedule"
    return f"the {kind} {taken.file}"


def _channel_line(item: ChannelCoverage, promised: float | None) -> str:
    if item.oldest is None:
        return f"  channel {item.channel}: nothing on disk"
    share = "nothing was expected" if item.share is None else share_text(item.share)
    kept = "" if item.days_kept is None else f", {item.days_kept:.1f} days kept"
    few = "" if promised is None else f" of {promised:g} promised"
    holes = f", {output.count(len(item.missing), 'hole')}" if item.missing else ""
    return f"  channel {item.channel}: {share}{kept}{few}{holes}"


def coverage_data(made: Coverage) -> dict[str, object]:
    """The documented form (docs/coverage.md)."""
    return {
        "format": FORMAT,
        "verdict": made.verdict.value,
        "window": _period(made.window),
        "older_h": round(made.older_h, 4),
        "allow_s": made.allow_s,
        "days": made.days,
        "short": list(made.short),
        "channels": [_channel_data(item) for item in made.channels],
        "request": None if made.request is None else _period(made.request),
        "found": [_found_data(item) for item in made.found],
        "unclear": list(made.unclear),
        "notes": list(made.notes),
    }


def _channel_data(item: ChannelCoverage) -> dict[str, object]:
    return {
        "channel": item.channel,
        "expected_h": round(item.expected_h, 4),
        "held_h": round(item.held_h, 4),
        "share": None if item.share is None else floor(item.share * 1e6) / 1e6,
        "missing": _periods(item.missing),
        "scraps_h": round(item.scraps_h, 4),
        "oldest": _stamp(item.oldest),
        "newest": _stamp(item.newest),
        "days_kept": None if item.days_kept is None else round(item.days_kept, 3),
        "whole_since": _stamp(item.whole_since),
    }


def _found_data(item: Found) -> dict[str, object]:
    return {
        "channel": item.channel,
        "held": _periods(item.held),
        "missing": _periods(item.missing),
        "idle": _periods(item.idle),
        "files": list(item.files),
    }


def _period(period: Period) -> dict[str, str]:
    return {"from": utc_text(period.start), "to": utc_text(period.end)}


def _periods(periods: Sequence[Period]) -> list[dict[str, str]]:
    return [_period(period) for period in periods]


def _stamp(at: datetime | None) -> str | None:
    return None if at is None else utc_text(at)


def coverage_rows(made: Coverage) -> Iterator[tuple[Cell, ...]]:
    """Rows of what, channel, from, to, hours: holes, then what the request finds."""
    for item in made.channels:
        for hole in item.missing:
            yield _csv_row("missing", item.channel, hole)
    for found in made.found:
        for what, periods in (
            ("request-held", found.held),
            ("request-missing", found.missing),
            ("request-idle", found.idle),
        ):
            for period in periods:
                yield _csv_row(what, found.channel, period)


def _csv_row(what: str, channel: int, period: Period) -> tuple[Cell, ...]:
    return what, channel, utc_text(period.start), utc_text(period.end), period.hours
