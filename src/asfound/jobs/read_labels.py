"""Labelled events from CSV: beginning, end, kind; times absolute or since a log began."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, tzinfo

from asfound.calc.log_values import TimeForm, log_time
from asfound.calc.plain_text import plain
from asfound.errors import InputError, UsageError
from asfound.jobs.csv_rows import column_numbers, csv_rows, split_lines
from asfound.model.drive_log import Label, LogFault

PURPOSES = ("start", "end", "kind", "log")
USUAL = {
    "start": ("start", "begin", "from", "start_s"),
    "end": ("end", "stop", "to", "end_s"),
    "kind": ("kind", "label", "event", "type"),
    "log": ("log", "file"),
}
"""Names that need no map (common practice)."""
MOST = 100_000
ABSOLUTE_S = 1e8
"""Seconds above this are since 1970 (1973 and later); below, since the log began."""


@dataclass(frozen=True, slots=True)
class LabelForm:
    """``columns``: start, end, kind, log -> name or number from 1; ``zone``: of dates and times
    without offset."""

    columns: Mapping[str, str] = field(default_factory=dict)
    zone: tzinfo = UTC


@dataclass(frozen=True, slots=True)
class Labels:
    """Labels by the log that their line names ("" where there is no such column), in the order of
    their beginnings; ``faults``: lines left out."""

    by_log: Mapping[str, tuple[Label, ...]]
    faults: tuple[LogFault, ...]

    def of(self, log: str) -> tuple[Label, ...]:
        """Those of one log, and those of any."""
        own = self.by_log.get(log, ()) if log else ()
        return tuple(sorted((*own, *self.by_log.get("", ())), key=_begin))


def read_labels(name: str, chunks: Iterable[bytes], form: LabelForm) -> Labels:
    """Raises InputError (nothing in it can be used) and UsageError (columns have to be said)."""
    rows = csv_rows(split_lines(chunks), name)
    first = next(rows, None)
    if first is None:
        raise InputError(f"{plain(name)}: is empty; give a CSV with start, end and kind of events")
    places, headed = _places(name, first[1], form)
    by_log: dict[str, list[Label]] = {}
    faults = []
    every = rows if headed else _chained(first, rows)
    for number, cells in every:
        try:
            log, label = _label(cells, places, form)
        except ValueError as error:
            faults.append(LogFault(f"{plain(name)}:{number}", plain(str(error))))
            continue
        by_log.setdefault(log, []).append(label)
        if len(by_log[log]) > MOST:
            raise InputError(f"{plain(name)}: more than {MOST} labels; cut it")
    if not by_log:
        why = f": {faults[0].where}: {faults[0].what}" if faults else ""
        raise InputError(f"{plain(name)}: no label in it can be used{why}")
    return Labels(
        {log: tuple(sorted(several, key=_begin)) for log, several in by_log.items()},
        tuple(faults),
    )


def placed(
    labels: Sequence[Label], span_s: tuple[float, float], name: str, since: str = ""
) -> tuple[Label, ...]:
    """``labels`` on the clock of a log that goes over ``span_s``; those beside it left out.

    ``since``: what small times count from, the log's "start" or zero of its "clock"; "": whichever
    fits. Where both do and differ, nobody can know: UsageError.
    """
    if not labels:
        return ()
    start_s, end_s = span_s
    if since == "clock" or max(label.end_s for label in labels) >= ABSOLUTE_S:
        moved = tuple(labels)
    else:
        length = end_s - start_s
        own = sum(start_s <= label.start_s <= end_s for label in labels)
        from_start = sum(0 <= label.start_s <= length for label in labels)
        if not since and own and from_start and start_s > 1.0:
            raise UsageError(
                f"{plain(name)}: labels fit seconds since its start and its own clock, which began "
                f"{start_s:.0f} s before: say labels-since start or clock"
            )
        shift = 0.0 if not since and own > from_start else start_s
        moved = tuple(
            Label(label.start_s + shift, label.end_s + shift, label.kind) for label in labels
        )
    return tuple(label for label in moved if start_s <= label.end_s and label.start_s <= end_s)


def _begin(label: Label) -> tuple[float, float]:
    return label.start_s, label.end_s


def _chained(
    first: tuple[int, list[str]], rows: Iterable[tuple[int, list[str]]]
) -> Iterable[tuple[int, list[str]]]:
    yield first
    yield from rows


def _places(name: str, head: Sequence[str], form: LabelForm) -> tuple[Mapping[str, int], bool]:
    names = {cell.strip().casefold() for cell in head}
    usual = {
        purpose: next((each for each in USUAL[purpose] if each in names), "")
        for purpose in PURPOSES
    }
    wanted = {key: text for key, text in (usual | dict(form.columns)).items() if text}
    if not form.columns and "start" not in wanted and len(head) in (2, 3):
        # Two or three columns without names are what they are called for.
        wanted = {purpose: str(n) for n, purpose in enumerate(PURPOSES[: len(head)], 1)}
        places, headed = column_numbers(wanted, head, name)
        return places, headed
    places, headed = column_numbers(wanted, head, name)
    missing = [purpose for purpose in ("start", "end") if purpose not in places]
    if missing:
        raise UsageError(
            f"{plain(name)}: which column is {' and '.join(missing)}? Say label-map "
            "start=NAME,end=NAME,kind=NAME"
        )
    return places, headed


def _label(cells: Sequence[str], places: Mapping[str, int], form: LabelForm) -> tuple[str, Label]:
    text = {
        purpose: cells[place].strip() if place < len(cells) else ""
        for purpose, place in places.items()
    }
    start, end = (_time(text[purpose], form) for purpose in ("start", "end"))
    if end < start:
        raise ValueError(f"ends at {text['end']}, before it begins")
    return text.get("log", ""), Label(start, end, text.get("kind", "") or "event")


def _time(text: str, form: LabelForm) -> float:
    try:
        made = float(text)
    except ValueError:
        return log_time(text, TimeForm.ISO, form.zone)
    if not -1e8 < made < 4.2e9:
        raise ValueError(f"{text[:40]!r} is no time in seconds")
    return made
