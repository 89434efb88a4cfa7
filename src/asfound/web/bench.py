"""The bench: the calculations of the trade as pages, each a form whose address can be shared."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.web.context import Here
from asfound.web.problems import Problem, kind_of
from asfound.web.step_pages import N_

Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True)
class Tool:
    """A calculation: the last part of its address, its name, and what it answers."""

    path: str
    name: str
    answers: str


TOOLS = (
    Tool("check", N_("Check settings"), N_("A vehicle's agreed settings against every sum")),
    Tool("days", N_("Days kept"), N_("How many days a drive keeps, and what it takes for more")),
    Tool("drive", N_("Drive life"), N_("How many years its rated writes last")),
    Tool("drive/health", N_("Drive health"), N_("Whether a drive may go in")),
    Tool("leads", N_("Supply leads"), N_("What is lost on the way to the recorder, and the fuse")),
    Tool(
        "power/parked", N_("Parked battery"),
        N_("What a recorder leaves in the battery, and when it has to let go"),
    ),
    Tool(
        "power/crank", N_("Starting the engine"),
        N_("Whether the recorder gets over the dip, and for how long it is gone"),
    ),
    Tool(
        "power/volts", N_("Measured voltages"),
        N_("From a few readings to a likely cause, and what to measure next"),
    ),
    Tool("lens", N_("Lens and view"), N_("What a camera shows, and the ground it does not see")),
    Tool("clock", N_("Clock drift"), N_("How fast a clock drifts, and when it is off by too much")),
    Tool("clock/zone", N_("Time zone"), N_("When clocks change, and what a wrong setting shows")),
    Tool("clock/match", N_("Clock by two logs"), N_("How far a recorder's clock is off, by speed")),
    Tool("triggers", N_("Motion triggers"), N_("Thresholds from real drives, and what they catch")),
    Tool("speed", N_("Speed triggers"), N_("How often a limit is passed, and which one to set")),
    Tool("speed/pulses", N_("Wheel pulses"), N_("Pulses a kilometre by satellite distance")),
    Tool("fault", N_("Find the fault"), N_("What is likely, and what to check next")),
)  # fmt: skip
"""Every calculation with a page, in the order of the job."""


def tools_below(path: str) -> tuple[Tool, ...]:
    """The calculations whose address begins with ``path``."""
    return tuple(tool for tool in TOOLS if tool.path.startswith(path))


def asked_of(here: Here) -> Mapping[str, str]:
    """What stands in the address; {} when the form was not sent yet."""
    return dict(here.request.query_params)


def reckon(
    here: Here, template: str, solve: Callable[[Mapping[str, str]], Answer], **values: object
) -> Response:
    """The page of a calculation: the form with what was typed, and what ``solve`` says of it
    (``answer``; None before anything was typed, and when it raises ``error``)."""
    fields = asked_of(here)
    answer: Answer | None = None
    error: AsfoundError | Problem | None = None
    if fields:
        try:
            answer = solve(fields)
        except (AsfoundError, Problem) as fault:
            error = fault
    return here.page(
        template,
        kind_of(error).status if error is not None else 200,
        typed=fields,
        answer=answer,
        error=error,
        **values,
    )
