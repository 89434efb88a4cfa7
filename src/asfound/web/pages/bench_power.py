"""A recorder's supply: parked battery, starts of the engine, measured voltages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from math import inf

from fastapi import APIRouter
from starlette.responses import Response

from asfound.calc.crank_dip import CODES
from asfound.calc.parked_drain import USUAL_ASLEEP_A
from asfound.jobs import ask_parked, ask_start, ask_volts
from asfound.jobs.judge_volts import Diagnosis, JudgeVolts, judge_volts
from asfound.jobs.park_battery import ParkBattery, Parked, park_battery
from asfound.jobs.plot_parked import plot_parked
from asfound.jobs.plot_start import plot_start
from asfound.jobs.ride_start import RideStart, Started, ride_start
from asfound.model.caution import Caution
from asfound.model.plot import Plot
from asfound.model.voltage_rules import ReadingPlace, VoltageRules
from asfound.web.bench import reckon, tools_below
from asfound.web.context import Asked, Here

router = APIRouter()


@dataclass(frozen=True, slots=True)
class ParkedAnswer:
    """What was asked, what came out, and how it looks."""

    request: ParkBattery
    parked: Parked
    plot: Plot


@dataclass(frozen=True, slots=True)
class CrankAnswer:
    """What was asked, what came out, and how it looks."""

    request: RideStart
    started: Started
    plot: Plot


@dataclass(frozen=True, slots=True)
class VoltsAnswer:
    """What was asked and what came out."""

    request: JudgeVolts
    diagnosis: Diagnosis


@router.get("/bench/power")
def tools(here: Asked) -> Response:
    """The calculations about a recorder's supply."""
    return here.page("bench-tools.html.j2", tools=tools_below("power/"))


@router.get("/bench/power/parked")
def parked(here: Asked) -> Response:
    """The form, and the sums when it was sent."""
    return reckon(
        here,
        "bench-power-parked.html.j2",
        _parked,
        infinite=inf,
        usual_asleep_a=USUAL_ASLEEP_A,
        cautions=_cautions(here, ask_parked.CAUTIONS),
    )


@router.get("/bench/power/crank")
def crank(here: Asked) -> Response:
    """The form, and the sums when it was sent."""
    return reckon(
        here,
        "bench-power-crank.html.j2",
        _crank,
        cautions=_cautions(here, ask_start.CAUTIONS),
        codes=CODES,
    )


@router.get("/bench/power/volts")
def volts(here: Asked) -> Response:
    """The form, and the causes when it was sent."""
    rules = here.services.shelf.voltage_rules()

    def solve(fields: Mapping[str, str]) -> VoltsAnswer:
        request = ask_volts.ask_volts(fields, rules)
        return VoltsAnswer(request, judge_volts(request, rules))

    return reckon(
        here,
        "bench-power-volts.html.j2",
        solve,
        cautions=_cautions(here, ask_volts.CAUTIONS),
        codes=CODES,
        places=places_of(rules),
        rules=rules,
    )


def places_of(rules: VoltageRules) -> tuple[tuple[str, tuple[ReadingPlace, ...]], ...]:
    """What can be measured, by place: the title of each, and its readings."""
    measured = [place for place in rules.readings.values() if not place.given]
    return tuple(
        (title, tuple(several)) for title, several in groupby(measured, lambda one: one.title)
    )


def _cautions(here: Here, ids: Sequence[str]) -> list[Caution]:
    known = here.services.shelf.cautions()
    return [known[name] for name in ids if name in known]


def _parked(fields: Mapping[str, str]) -> ParkedAnswer:
    request = ask_parked.ask_parked(fields)
    result = park_battery(request)
    return ParkedAnswer(request, result, plot_parked(request, result))


def _crank(fields: Mapping[str, str]) -> CrankAnswer:
    request = ask_start.ask_start(fields)
    result = ride_start(request)
    return CrankAnswer(request, result, plot_start(request, result))
