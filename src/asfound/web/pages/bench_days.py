"""Days kept: one drive and what is recorded on it, beside others that were tried before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import parse_qsl, urlencode

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError, NotFound
from asfound.jobs.ask_storage import FILE_SYSTEM, NAMES, SPREAD, ask_storage
from asfound.jobs.plot_storage import plot_storage
from asfound.jobs.size_storage import Measured, SizeStorage, Storage, size_storage
from asfound.model.plot import Plot
from asfound.units import GB
from asfound.web.bench import reckon
from asfound.web.context import Asked, Here
from asfound.web.services import Services
from asfound.web.vehicle_known import known_rates

router = APIRouter()
MOST = 4
"""Columns side by side."""
VEHICLE = "vehicle"
"""The field of a vehicle whose measured rates count."""
LONGEST = 1500
"""Letters of an earlier case in the address."""


@dataclass(frozen=True, slots=True)
class Case:
    """One column: its letter, what was typed, its address, and the sums. ``measured``: the visit
    whose recordings gave the rates ("" = they were typed)."""

    name: str
    typed: Mapping[str, str]
    query: str
    request: SizeStorage
    storage: Storage
    measured: str


@dataclass(frozen=True, slots=True)
class DaysAnswer:
    """The case that was typed last, those before it, and all of them as a plot."""

    now: Case
    before: tuple[Case, ...]
    plot: Plot

    @property
    def cases(self) -> tuple[Case, ...]:
        """All of them, in the order in which they were tried."""
        return (*self.before, self.now)


@router.get("/bench/days")
def show(here: Asked) -> Response:
    """The form, and the sums when it was sent."""

    def solve(fields: Mapping[str, str]) -> DaysAnswer:
        before = _before(here)
        now = _case(chr(ord("A") + len(before)), fields, here.services)
        cases = [(case.name, case.request) for case in (now, *before)]
        return DaysAnswer(now, before, plot_storage(cases))

    return reckon(here, "bench-days.html.j2", solve, spread=SPREAD, file_system=FILE_SYSTEM)


def _before(here: Here) -> tuple[Case, ...]:
    """Cases that were kept. One that somebody mangled is left out."""
    cases: list[Case] = []
    for query in here.request.query_params.getlist("was")[-(MOST - 1) :]:
        if len(query) > LONGEST:
            continue
        try:
            cases.append(_case(chr(ord("A") + len(cases)), dict(parse_qsl(query)), here.services))
        except AsfoundError:
            continue
    return tuple(cases)


def _case(name: str, fields: Mapping[str, str], services: Services) -> Case:
    names = (VEHICLE, *NAMES)
    typed = {key: fields[key].strip() for key in names if fields.get(key, "").strip()}
    visit, known = "", dict(typed)
    rates: tuple[Measured, ...] = ()
    if number := typed.get(VEHICLE):
        vehicle, visit, rates = known_rates(number, services)
        if not rates and "channels" not in typed:
            raise NotFound(
                f"no recordings of vehicle {vehicle.number} were looked at; type the channels"
            )
        if vehicle.drive is not None:
            known.setdefault("drive", f"{vehicle.drive.capacity_bytes / GB:.3f}GB")
    # Typed channels are what somebody wants to know about: they speak before measured ones.
    request = ask_storage(known, () if "channels" in typed else rates)
    return Case(
        name, known, urlencode(typed), request, size_storage(request),
        "" if "channels" in typed else visit,
    )  # fmt: skip
