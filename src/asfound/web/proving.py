"""Looking at recordings from a page: what may be looked at, and the work behind it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from asfound.errors import AsfoundError, NotFound, UsageError
from asfound.jobs.prove_clock_judge import ClockAsk
from asfound.jobs.prove_references import pictures_in
from asfound.jobs.take_recordings import forget_recordings, lay_out
from asfound.jobs.visit_gates import require_open, step_for
from asfound.jobs.visit_journal import load_visit, named
from asfound.jobs.visit_work import NO_CLOCK, VisitPlan, VisitProve, visit_plan, visit_prove
from asfound.model.menu_map import MenuMap
from asfound.model.visit import VisitState
from asfound.ports.progress import Progress
from asfound.web.heads import desk_at
from asfound.web.problems import Problem
from asfound.web.security import Visitor
from asfound.web.services import Services
from asfound.web.tasks import Task, Tasks

KIND = "prove"
COUNT = "cover"
"""Counting the hours on disk (covering.py), which the same page shows and stops."""

TITLE = "Looking at recordings"
SENT = "sent"
"""The key of the recordings that devices sent; a folder's key is longer."""


@dataclass(frozen=True, slots=True)
class ProveAct:
    """A folder of recordings, by its key (``SENT``: those that devices sent), that somebody wants
    looked at for a visit whose journal ended with ``head`` when they saw it. ``clock``: burned-in
    clocks are read; ``reference``: key of the folder with earlier good pictures, one a channel,
    that the aim of cameras is held against."""

    visit: str
    head: str
    by: str
    folder: str
    clock: ClockAsk | None = None
    reference: str = ""


class Asking(Protocol):
    """Whoever asks: a page's Here."""

    @property
    def services(self) -> Services:
        """The machinery behind the pages."""
        ...

    @property
    def visitor(self) -> Visitor:
        """Who asks."""
        ...


def shut_because(state: VisitState) -> str:
    """Why the recordings of a visit cannot be looked at now, in one line; "" when they can."""
    try:
        _check(state)
    except AsfoundError as error:
        return str(error)
    return ""


def start_proving(act: ProveAct, asking: Asking, tasks: Tasks) -> Task:
    """Begin to look, in the background.

    Raises Problem for a folder of this machine and anybody but this machine, HeadMoved, NotFound
    (visit, folder), GateShut, UsageError (closed, no name, nothing sent, nothing to hold
    recordings against, under way already).
    """
    services = asking.services
    if not asking.visitor.local and (act.folder != SENT or act.reference):
        raise Problem(403, "recordings are looked at from the laptop that they are plugged into")
    if not act.head:
        raise UsageError("the journal's head is missing; load the visit and send its head along")
    by = named(act.by)
    folder = services.folders.path(act.folder) if act.folder != SENT else None
    earlier = pictures_in(services.folders.path(act.reference)) if act.reference else ()
    desk = desk_at(services.desk, act.visit, act.head)
    state = load_visit(act.visit, store=desk.store, blobs=desk.blobs)
    _check(state)
    menu_map = services.shelf.menu_map(state.vehicle.recorder.map_id)
    _idle(act.visit, tasks)
    if folder is None:
        folder = lay_out(act.visit, services.uploads)
    if state.target is None:
        visit_plan(_plan(state, menu_map, by, services), desk=desk)
    clock = act.clock or NO_CLOCK
    request = VisitProve(act.visit, menu_map, (folder,), by, clock=clock, references=earlier)
    return tasks.start(KIND, act.visit, TITLE, lambda told: _work(request, services, told))


def forget_sent(visit: str, services: Services, tasks: Tasks) -> int:
    """Delete the recordings that devices sent; how many. Raises UsageError while some are being
    looked at, StorageError."""
    _idle(visit, tasks)
    return forget_recordings(visit, services.uploads)


def stop_proving(visit: str, task_id: str, tasks: Tasks) -> None:
    """Ask for the end of looking, or of counting. Raises NotFound unless it is this visit's."""
    task = tasks.get(task_id)
    if task.subject != visit or task.kind not in (KIND, COUNT):
        raise NotFound(f"visit {visit} has no such work under way")
    tasks.stop(task_id)


def _idle(visit: str, tasks: Tasks) -> None:
    if any((item.kind, item.state) == (KIND, "running") for item in tasks.of(visit)):
        raise UsageError("recordings are being looked at already; wait, or stop that first")


def _check(state: VisitState) -> None:
    if state.closed:
        raise UsageError(
            f"visit {state.id} is closed and takes no more entries; "
            f"open a new one: asfound visit open {state.vehicle.number}"
        )
    require_open(state, step_for(state, "prove"))
    if state.target is None and state.as_found is None:
        raise UsageError(
            "nothing says what should be recorded: read the settings first, "
            f"asfound visit read {state.id} PHOTO..."
        )


def _plan(state: VisitState, menu_map: MenuMap, by: str, services: Services) -> VisitPlan:
    """Standard and vehicle as the fleet file has them now: it may have been mended."""
    fleet = services.shelf.fleet()
    vehicle = fleet.vehicle(state.vehicle.number)
    return VisitPlan(state.id, menu_map, fleet.standard(menu_map.id), vehicle, by, fleet)


def _work(request: VisitProve, services: Services, progress: Progress) -> str:
    clocks = request.clock is not NO_CLOCK
    with services.tools.proving(request.paths, clocks) as tools:
        state = visit_prove(request, desk=services.desk, tools=tools, progress=progress)
    return state.proof.verdict.value if state.proof is not None else ""
