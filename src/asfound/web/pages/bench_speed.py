"""Speed triggers from logs that are sent."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request
from starlette.responses import Response

from asfound.calc.speed_tolerances import RECEIVER_KMH, TACHOGRAPH_KMH, speedometer_most
from asfound.errors import UsageError
from asfound.jobs.ask_speed import ask_speed
from asfound.jobs.ask_track import ask_track
from asfound.jobs.clock_drift import moment
from asfound.jobs.plot_speed import plot_watch
from asfound.jobs.watch_speed import Watched, WatchSpeed, watch_speed
from asfound.model.plot import Plot
from asfound.web.bench_logs import Sent, from_files, track_of
from asfound.web.context import Asked

router = APIRouter(prefix="/bench/speed")
TEMPLATE = "bench-speed.html.j2"
SHOWN = 20


@dataclass(frozen=True, slots=True)
class SpeedAnswer:
    """What was asked, what came out, the plot, and the first events as texts: from (UTC), seconds,
    top speed [km/h]; ``tolerances`` [km/h]: speedometer's most, tachograph, receiver."""

    request: WatchSpeed
    watched: Watched
    plot: Plot | None
    events: tuple[tuple[str, str, str], ...]
    tolerances: tuple[float, float, float]


@router.get("")
def show(here: Asked) -> Response:
    """The form."""
    return here.page(TEMPLATE, typed={}, answer=None, error=None)


@router.post("")
async def judge(here: Asked, request: Request) -> Response:
    """The counts."""

    def solve(sent: Sent) -> SpeedAnswer:
        ask = ask_track(sent.fields)
        ask_speed(sent.fields, ())
        files = sent.files.get("logs", ())
        if not files:
            raise UsageError("choose a log first: GPX, NMEA 0183 or CSV")
        asked = ask_speed(sent.fields, tuple(track_of(here, file, ask) for file in files))
        watched = watch_speed(asked)
        events = tuple(
            (
                f"{moment(one.start_s):%Y-%m-%d %H:%M:%S}",
                f"{one.end_s - one.start_s:.0f}",
                f"{one.top_ms * 3.6:.1f}",
            )
            for one in watched.events[:SHOWN]
        )
        near = (speedometer_most(asked.limit_kmh), TACHOGRAPH_KMH.value, RECEIVER_KMH.value)
        return SpeedAnswer(asked, watched, plot_watch(asked, watched), events, near)

    return await from_files(here, request, TEMPLATE, solve)
