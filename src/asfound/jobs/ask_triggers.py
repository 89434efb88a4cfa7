"""What was typed about motion triggers, as a request; shared by command and page."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, tzinfo
from fnmatch import fnmatchcase

from asfound.calc.log_values import SPEED_UNITS, TimeForm
from asfound.calc.plain_text import plain
from asfound.calc.trigger_grid import HOLD_OFF_S, Settings
from asfound.errors import UsageError
from asfound.jobs.acceleration_columns import TIME_UNITS
from asfound.jobs.ask_track import TrackAsk, ask_day
from asfound.jobs.asked import Fields, figure, one_of, quantity, text_of
from asfound.jobs.mount_log import Said, axis_of, scale_of
from asfound.jobs.read_acceleration import AccelerationForm, open_acceleration
from asfound.jobs.read_labels import LabelForm, Labels, read_labels
from asfound.jobs.read_track import ReadTrack, read_track
from asfound.jobs.read_track_csv import CsvForm
from asfound.jobs.tune_triggers import FilterAsked, LogAsked, TuneTriggers
from asfound.model.drive_log import Label, LogFault, Track
from asfound.ports.zones import packaged_zone

HOURS = "10"
"""Hours a day that a vehicle drives (own choice)."""
BUDGET = re.compile(r"(\d{1,6}(?:[.]\d{1,6})?)\s*(?:/|a|per)\s*(day|hour|h|week)", re.IGNORECASE)
PAIR = re.compile(r"\s*([a-z-]+)\s*=\s*(.+?)\s*")
FILTER = re.compile(r"(\d{1,5}(?:[.]\d{1,4})?)\s*Hz(?:\s*,?\s*order\s*(\d{1,2}))?", re.IGNORECASE)
CLASS = re.compile(r"CFC\s*(\d{1,4})", re.IGNORECASE)
SECONDS = {"s": 1.0, "ms": 1e-3, "min": 60.0}
MAP = ("time", "x", "y", "z", "unit", "time-unit", "zone", "decimal")
TRACK_MAP = (
    "time", "lat", "lon", "speed", "course", "speed-unit", "time-unit", "zone", "decimal", "day",
)  # fmt: skip
LABEL_MAP = ("start", "end", "kind", "log", "zone")

Source = tuple[str, Callable[[], Iterable[bytes]]]
"""A file's name and its bytes, from the beginning each time."""


@dataclass(frozen=True, slots=True)
class TriggersAsked:
    """All that was typed. ``harsh`` and ``not_harsh``: patterns of kinds of labels."""

    form: AccelerationForm
    track: TrackAsk
    label_form: LabelForm
    said: Said
    filter: FilterAsked
    settings: Settings
    budget_a_day: float | None
    hours_a_day: float
    harsh: tuple[str, ...]
    not_harsh: tuple[str, ...]
    labels_since: str


@dataclass(frozen=True, slots=True)
class Files:
    """Logs; a track for each, or one for all; labels for each, or one file for all."""

    logs: Sequence[Source]
    tracks: Sequence[Source] = ()
    labels: Sequence[Source] = ()


def ask_triggers(fields: Fields) -> TriggersAsked:
    """Fields: budget 3/day · hours · filter 5Hz, 5Hz order 2, CFC60 or none · hold_off 10s · up z ·
    forward -x · gravity included or removed · map, track_map, label_map (NAME=VALUE, …) · harsh and
    not_harsh (kinds, …) · labels_since start or clock. Raises UsageError."""
    hours = figure(text_of(fields, "hours", HOURS), "hours", 0.01, 24)
    since = text_of(fields, "labels_since")
    if since:
        one_of(since, "labels-since", ("start", "clock"))
    hold = text_of(fields, "hold_off", f"{HOLD_OFF_S:g}s")
    return TriggersAsked(
        form=_form(_pairs(fields, "map", MAP)),
        track=_track_form(_pairs(fields, "track_map", TRACK_MAP)),
        label_form=_label_form(_pairs(fields, "label_map", LABEL_MAP)),
        said=_said(fields),
        filter=_filter(text_of(fields, "filter")),
        settings=Settings(hold_off_s=quantity(hold, "hold-off", SECONDS, 3600.0)),
        budget_a_day=_budget(text_of(fields, "budget"), hours),
        hours_a_day=hours,
        harsh=_kinds(fields, "harsh"),
        not_harsh=_kinds(fields, "not_harsh"),
        labels_since=since,
    )


def gather(asked: TriggersAsked, files: Files) -> tuple[TuneTriggers, tuple[LogFault, ...]]:
    """The request, once every file is opened, and what was left out of tracks and labels.

    Raises UsageError (columns, numbers of files) and InputError (files that are none).
    """
    count = len(files.logs)
    if not count:
        raise UsageError("name a log of acceleration")
    for several, option in ((files.tracks, "track"), (files.labels, "labels")):
        if len(several) not in (0, 1, count):
            raise UsageError(
                f"{len(several)} files of {option} for {count} logs: give one for each log, or one "
                "for all"
            )
    left_out: list[LogFault] = []
    tracks = [_track(each, asked, left_out) for each in files.tracks]
    labels = [_labels(each, asked, left_out) for each in files.labels]
    logs = []
    for at, (name, chunks) in enumerate(files.logs):
        log = open_acceleration(name, chunks, asked.form)
        track = tracks[at if len(tracks) > 1 else 0] if tracks else None
        own = labels[at if len(labels) > 1 else 0].of(_base(name)) if labels else ()
        logs.append(LogAsked(log, track, _harsh(own, asked)))
    if labels and not any(log.labels for log in logs):
        kinds = sorted({one.kind for each in labels for of in each.by_log.values() for one in of})
        listed = plain(", ".join(kinds[:12]))
        raise UsageError(f"no label is for one of the logs and harsh; kinds there are: {listed}")
    return TuneTriggers(
        tuple(logs),
        asked.budget_a_day,
        asked.hours_a_day,
        asked.settings,
        asked.filter,
        asked.said,
        labels_since=asked.labels_since,
    ), tuple(left_out)


def _track(source: Source, asked: TriggersAsked, left_out: list[LogFault]) -> Track:
    read = read_track(ReadTrack(source[0], source[1](), asked.track.form, asked.track.day))
    left_out += read.faults
    left_out += [LogFault(plain(source[0]), note) for note in read.notes]
    return read.track


def _labels(source: Source, asked: TriggersAsked, left_out: list[LogFault]) -> Labels:
    read = read_labels(source[0], source[1](), asked.label_form)
    left_out += read.faults
    return read


def _base(name: str) -> str:
    return name.replace("\\", "/").rpartition("/")[2]


def _harsh(labels: Sequence[Label], asked: TriggersAsked) -> tuple[Label, ...]:
    def fits(kind: str, patterns: Sequence[str]) -> bool:
        return any(fnmatchcase(kind.casefold(), each.casefold()) for each in patterns)

    return tuple(
        label
        for label in labels
        if (not asked.harsh or fits(label.kind, asked.harsh))
        and not fits(label.kind, asked.not_harsh)
    )


def _kinds(fields: Fields, name: str) -> tuple[str, ...]:
    return tuple(each.strip() for each in text_of(fields, name).split(",") if each.strip())


def _pairs(fields: Fields, name: str, known: Sequence[str]) -> dict[str, str]:
    made: dict[str, str] = {}
    option = name.replace("_", "-")
    for text in text_of(fields, name).split(","):
        if not text.strip():
            continue
        found = PAIR.fullmatch(text)
        if found is None or found[1] not in known:
            raise UsageError(
                f"{option}: {text.strip()[:40]!r}; write NAME=VALUE with one of {', '.join(known)}"
            )
        made[found[1]] = found[2]
    return made


def _zone(pairs: dict[str, str]) -> tzinfo:
    name = pairs.pop("zone", "")
    return packaged_zone(name) if name else UTC


def _comma(pairs: dict[str, str]) -> bool:
    return one_of(pairs.pop("decimal", "point"), "decimal", ("point", "comma")) == "comma"


def _form(pairs: dict[str, str]) -> AccelerationForm:
    unit = pairs.pop("unit", "")
    if unit and scale_of(unit) is None:
        raise UsageError(f"map: unit={unit}: g, mg, m/s2, or counts a g such as 16384/g")
    times = pairs.pop("time-unit", "")
    if times:
        one_of(times, "map: time-unit", (*TIME_UNITS, "iso"))
    zone, comma = _zone(pairs), _comma(pairs)
    return AccelerationForm(pairs, times, unit, zone, comma)


def _track_form(pairs: dict[str, str]) -> TrackAsk:
    day = ask_day(pairs.pop("day", ""), "track-map: day")
    speed = one_of(pairs.pop("speed-unit", "km/h"), "track-map: speed-unit", SPEED_UNITS)
    times = pairs.pop("time-unit", "iso")
    form = TimeForm(one_of(times, "track-map: time-unit", [each.value for each in TimeForm]))
    zone, comma = _zone(pairs), _comma(pairs)
    return TrackAsk(CsvForm(pairs, speed, form, zone, comma), day)


def _label_form(pairs: dict[str, str]) -> LabelForm:
    zone = _zone(pairs)
    return LabelForm(pairs, zone)


def _said(fields: Fields) -> Said:
    made = Said(*(text_of(fields, name) for name in ("up", "forward", "gravity")))
    for name in ("up", "forward"):
        if getattr(made, name) and axis_of(getattr(made, name)) is None:
            raise UsageError(f"{name}: {getattr(made, name)[:20]!r}; write x, y or z, or -x …")
    if made.gravity:
        one_of(made.gravity, "gravity", ("included", "removed"))
    return made


def _filter(text: str) -> FilterAsked:
    if not text:
        return FilterAsked()
    found, channel = FILTER.fullmatch(text), CLASS.fullmatch(text)
    if channel:
        return FilterAsked(cfc=int(channel[1]))
    if found is None:
        raise UsageError(f"filter {text[:40]!r}: write 5Hz, 5Hz order 2, or CFC60")
    return replace(FilterAsked(float(found[1])), order=int(found[2] or FilterAsked().order))


def _budget(text: str, hours: float) -> float | None:
    if not text:
        return None
    found = BUDGET.fullmatch(text)
    if found is None or float(found[1]) <= 0:
        raise UsageError(f"budget {text[:40]!r}: write events a day that are accepted: 3/day")
    unit = found[2].casefold()
    days = {"day": 1.0, "week": 1 / 7}.get(unit, hours)
    return float(found[1]) * days
