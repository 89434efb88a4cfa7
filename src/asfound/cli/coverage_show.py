"""Coverage as a table and lines, as JSON (docs/coverage.md) and as rows of CSV."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from math import floor
from zoneinfo import ZoneInfo

from asfound.calc.safe_csv import Cell
from asfound.cli import output
from asfound.cli.times import local_text, utc_text
from asfound.model.coverage import ChannelCoverage, Coverage, CoverageVerdict, Found, Period

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
            f"{_hours(made.older_h)} h were driven before that: overwritten, or never recorded"
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
        f"{_hours(item.expected_h)} h",
        f"{_hours(item.held_h)} h",
        "-" if item.share is None else share_text(item.share),
        str(len(item.missing) or "-"),
        _when(item.oldest, zone),
        "-" if item.days_kept is None else f"{item.days_kept:.1f}",
        _when(item.whole_since, zone),
    )


def share_text(share: float) -> str:
    """Per cent to one decimal, cut off: what is not whole never reads as 100 %."""
    return f"{int(share * 1000 + 1e-6) / 10:.1f} %"


def _hours(hours: float) -> str:
    return f"{hours:.1f}" if hours >= 1 or hours == 0 else f"{hours:.2f}"


def _when(at: datetime | None, zone: ZoneInfo) -> str:
    return "-" if at is None else local_text(at, zone)


def _show_holes(item: ChannelCoverage, zone: ZoneInfo) -> None:
    for hole in item.missing[:SHOWN]:
        output.say(f"channel {item.channel}: missing {_span(hole, zone)}", style="red")
    _more(len(item.missing), f"holes of channel {item.channel}")
    if item.scraps_h > 0:
        output.say(f"channel {item.channel}: {_clock(item.scraps_h)} more in shorter holes")


def _more(number: int, what: str) -> None:
    if number > SHOWN:
        output.say(f"... and {number - SHOWN} more {what}; --json has all of them")


def _span(period: Period, zone: ZoneInfo) -> str:
    first, last = local_text(period.start, zone), local_text(period.end, zone)
    return f"{first} to {last}, {_clock(period.hours)}"


def _clock(hours: float) -> str:
    """A length in words: "2 h 05 min", "40 min", "1 min 20 s", "20 s"."""
    seconds = round(hours * 3600)
    if seconds < 3600:
        minutes, rest = divmod(seconds, 60)
        parts = [f"{minutes} min"] * bool(minutes) + [f"{rest} s"] * bool(rest or not minutes)
        return " ".join(parts)
    full, minutes = divmod(round(seconds / 60), 60)
    return f"{full} h {minutes:02d} min"


def _show_request(made: Coverage, asked: Period, zone: ZoneInfo) -> None:
    output.say(f"Request: {_span(asked, zone)}", style="bold")
    if not made.found:
        output.say("request: no channel is known", style="yellow")
    for item in made.found:
        held = sum(period.hours for period in item.held)
        output.say(
            f"channel {item.channel}: {_clock(held)} of {_clock(asked.hours)} on disk, in "
            f"{output.count(len(item.files), 'file')}"
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
