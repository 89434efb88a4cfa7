"""Clocks: drift from readings, a year of a zone, the offset by two logs that are sent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter, Request
from starlette.responses import Response

from asfound.calc.clock_drift import OffsetRead
from asfound.jobs.ask_clock import ask_drift, ask_span, ask_zone
from asfound.jobs.ask_track import ask_track
from asfound.jobs.asked import text_of
from asfound.jobs.clock_drift import DriftFound, FindDrift, day_text, find_drift, moment
from asfound.jobs.drift_readings import vehicle_readings
from asfound.jobs.match_logs import LATENCY, Matched, MatchLogs, match_logs
from asfound.jobs.plot_clock import plot_drift, plot_match, plot_zone
from asfound.jobs.zone_table import (
    GPS_AHEAD_S,
    TableZone,
    ZoneTable,
    local_text,
    shift_text,
    zone_table,
)
from asfound.model.plot import Plot
from asfound.ports.zones import ZONES_VERSION
from asfound.web.bench import reckon
from asfound.web.bench_logs import Sent, from_files, track_of
from asfound.web.context import Asked, Here

router = APIRouter(prefix="/bench/clock")
MATCH = "bench-clock-match.html.j2"


@dataclass(frozen=True, slots=True)
class DriftAnswer:
    """What was asked, what came out, the plot; readings as texts: true time (UTC), ahead [s],
    whether it counts."""

    request: FindDrift
    found: DriftFound
    plot: Plot | None
    rows: tuple[tuple[str, str, bool], ...]


@dataclass(frozen=True, slots=True)
class ZoneAnswer:
    """What was asked, what came out, the plot."""

    request: TableZone
    table: ZoneTable
    plot: Plot


@dataclass(frozen=True, slots=True)
class MatchAnswer:
    """What was asked, what came out, the plot."""

    request: MatchLogs
    matched: Matched
    plot: Plot | None
    latency: str


@router.get("")
def drift(here: Asked) -> Response:
    """Drift: the form, and the line when it was sent."""

    def solve(fields: Mapping[str, str]) -> DriftAnswer:
        request = ask_drift(fields, _of_vehicle(here, text_of(fields, "vehicle")))
        found = find_drift(request)
        off = set(found.drift.off) if found.drift else set()
        rows = tuple(
            (f"{moment(one.at_s):%Y-%m-%d %H:%M:%S}", f"{one.offset_s:+.2f}", one not in off)
            for one in sorted(request.readings, key=lambda each: each.at_s)
        )
        return DriftAnswer(request, found, plot_drift(request, found), rows)

    return reckon(here, "bench-clock-drift.html.j2", solve, day=day_text)


@router.get("/zone")
def zone(here: Asked) -> Response:
    """A year of a zone: the form, and the table when it was sent."""

    def solve(fields: Mapping[str, str]) -> ZoneAnswer:
        request = ask_zone(fields, here.now().year)
        table = zone_table(request)
        return ZoneAnswer(request, table, plot_zone(table))

    return reckon(
        here, "bench-clock-zone.html.j2", solve, shift=shift_text, local=local_text,
        tz_version=ZONES_VERSION, ahead=GPS_AHEAD_S, fleet=here.zone().key, noon=moment(43_200),
    )  # fmt: skip


@router.get("/match")
def show(here: Asked) -> Response:
    """Two logs: the form."""
    return here.page(MATCH, typed={}, answer=None, error=None)


@router.post("/match")
async def match(here: Asked, request: Request) -> Response:
    """The offset between two logs."""

    def solve(sent: Sent) -> MatchAnswer:
        asks = ask_track(sent.fields), ask_track(sent.fields, "reference_")
        most = ask_span(text_of(sent.fields, "most", "1h"), "most")
        allowed = text_of(sent.fields, "allowed")
        within = ask_span(allowed, "allowed") if allowed else None
        logs = [
            track_of(here, sent.file(name, words), ask)
            for name, words, ask in (
                ("recorder", "the recorder's log", asks[0]),
                ("reference", "a log whose clock is right", asks[1]),
            )
        ]
        asked = MatchLogs(logs[0], logs[1], most, within)
        matched = match_logs(asked)
        return MatchAnswer(asked, matched, plot_match(asked, matched), LATENCY)

    return await from_files(here, request, MATCH, solve)


def _of_vehicle(here: Here, vehicle: str) -> tuple[OffsetRead, ...]:
    if not vehicle:
        return ()
    found = here.services.shelf.fleet().vehicle(vehicle)
    return vehicle_readings(found.number, desk=here.services.desk)
