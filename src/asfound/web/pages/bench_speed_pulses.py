"""The wheel-pulse constant from a pulse log and a track that are sent."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request
from starlette.responses import Response

from asfound.jobs.ask_speed import ask_pulse_form, ask_pulses
from asfound.jobs.ask_track import ask_track
from asfound.jobs.calibrate_pulses import Calibrated, CalibratePulses, calibrate_pulses
from asfound.jobs.plot_speed import plot_pulses
from asfound.jobs.read_pulses import read_pulses
from asfound.model.plot import Plot
from asfound.web.bench_logs import Sent, chunks_of, from_files, track_of
from asfound.web.context import Asked

router = APIRouter(prefix="/bench/speed/pulses")
TEMPLATE = "bench-speed-pulses.html.j2"


@dataclass(frozen=True, slots=True)
class PulseAnswer:
    """What was asked, what came out, the plot."""

    request: CalibratePulses
    made: Calibrated
    plot: Plot | None


@router.get("")
def show(here: Asked) -> Response:
    """The form."""
    return here.page(TEMPLATE, typed={}, answer=None, error=None)


@router.post("")
async def judge(here: Asked, request: Request) -> Response:
    """The constant."""

    def solve(sent: Sent) -> PulseAnswer:
        form, ask = ask_pulse_form(sent.fields, "pulse_"), ask_track(sent.fields)
        file = sent.file("pulses", "a CSV with times and pulses")
        track = sent.file("track", "the track of the same drive")
        log = read_pulses((file.filename or "pulses")[-80:], chunks_of(file), form)
        asked = ask_pulses(sent.fields, log, track_of(here, track, ask))
        made = calibrate_pulses(asked)
        return PulseAnswer(asked, made, plot_pulses(asked, made))

    return await from_files(here, request, TEMPLATE, solve)
