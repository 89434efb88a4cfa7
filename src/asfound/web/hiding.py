"""Painting passwords over from a page: what still shows some, and the work behind it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from asfound.errors import NotFound, UsageError
from asfound.jobs.fold_secrets import outstanding, pending_removals, unplaced_text
from asfound.jobs.hide_secrets import HideSecrets, hide_secrets
from asfound.jobs.visit_gates import secrets_shown
from asfound.jobs.visit_journal import load_visit, named
from asfound.model.visit import VisitState
from asfound.ports.progress import Progress
from asfound.web.heads import desk_at
from asfound.web.services import Services
from asfound.web.tasks import Task, Tasks
from asfound.web.view_read import title_of
from asfound.web.view_visit import visit_map

KIND = "hide"
TITLE = "Painting passwords over"


@dataclass(frozen=True, slots=True)
class HideAct:
    """Somebody wants the passwords painted over of a visit whose journal ended with ``head`` when
    they saw it; ``whole``: also whole photographs where the place could not be told."""

    visit: str
    head: str
    by: str
    whole: bool


@dataclass(frozen=True, slots=True)
class ShownSecret:
    """A photograph that shows, or may show, a password; ``why`` is "" when it is known where."""

    file: str
    page: str
    why: str


@dataclass(frozen=True, slots=True)
class HidingView:
    """A visit's photographs with passwords: ``shown`` still show some, ``waiting`` pictures are to
    be deleted, ``hidden`` were painted over. ``why`` is the gate's line, "" when it holds."""

    state: VisitState
    shown: tuple[ShownSecret, ...]
    waiting: int
    hidden: int
    why: str

    @property
    def unplaced(self) -> int:
        """Photographs of which it could not be told where a password stands."""
        return sum(bool(item.why) for item in self.shown)


def hiding_view(visit: str, services: Services) -> HidingView:
    """What there is to hide. Raises NotFound, IntegrityError, StorageError."""
    state = load_visit(visit, store=services.desk.store, blobs=services.desk.blobs)
    menu_map = visit_map(state, services)

    def title(page: str | None) -> str:
        return title_of(page, menu_map) if page and menu_map is not None else page or ""

    shown = tuple(
        ShownSecret(
            Path(item.file).name, title(item.page), "" if item.placed else unplaced_text(item)
        )
        for item in outstanding(state)
    )
    waiting = len(pending_removals(state))
    return HidingView(state, shown, waiting, len(state.hidden), secrets_shown(state) or "")


def start_hiding(act: HideAct, services: Services, tasks: Tasks) -> Task:
    """Begin to paint over, in the background.

    Raises HeadMoved, NotFound, UsageError (closed, no name, under way already), StorageError.
    """
    if not act.head:
        raise UsageError("the journal's head is missing; load the visit and send its head along")
    by = named(act.by)
    desk = desk_at(services.desk, act.visit, act.head)
    state = load_visit(act.visit, store=desk.store, blobs=desk.blobs)
    if state.closed:
        raise UsageError(f"visit {state.id} is closed and takes no more entries")
    request = HideSecrets(act.visit, by, act.whole)
    return tasks.start(KIND, act.visit, TITLE, lambda told: _work(request, services, told))


def stop_hiding(visit: str, task_id: str, tasks: Tasks) -> None:
    """Ask for the end of it; nothing was written by then. Raises NotFound unless it is this
    visit's."""
    task = tasks.get(task_id)
    if (task.subject, task.kind) != (visit, KIND):
        raise NotFound(f"visit {visit} has no such work under way")
    tasks.stop(task_id)


def _work(request: HideSecrets, services: Services, progress: Progress) -> str:
    painter = services.tools.painter()
    done = hide_secrets(request, desk=services.desk, pictures=painter, progress=progress)
    return str(done.painted)
