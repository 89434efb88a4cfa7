"""Bundles from pages: a closed visit leaves as one, and others' are taken in, in folders that were
named when the server was started."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from datetime import datetime

from asfound.errors import NotFound
from asfound.jobs.bundle_export import BundleExported, ExportBundle, ExportDesk, export_bundle
from asfound.jobs.bundle_import import BundleImported, ImportDesk, import_bundle
from asfound.jobs.bundle_known import Source
from asfound.jobs.footage_requests import AskedWrong
from asfound.ports.progress import Progress
from asfound.web.copying import new_folder
from asfound.web.events import Hub
from asfound.web.problems import Problem
from asfound.web.security import Visitor
from asfound.web.services import Services
from asfound.web.step_pages import N_
from asfound.web.tasks import Task, Tasks
from asfound.web.verifying import bag_name

OUT, IN = "bundle-out", "bundle-in"
PACKING = N_("Packing a bundle")
TAKING = N_("Taking a bundle in")
NOTES = "notes"
"""What a task is about that packs no visit."""

KEPT = 20
"""Pieces of work that are remembered, until the server ends."""


@dataclass(frozen=True, slots=True)
class Begun:
    """A bundle ``name`` that was begun to be packed or taken in; its task."""

    task: str
    name: str


@dataclass(frozen=True, slots=True)
class Ended:
    """What came of it at ``at``: packed, or taken in."""

    at: datetime
    packed: BundleExported | None = None
    taken: BundleImported | None = None


class Bundles:
    """What was begun last, the newest first, and what came of it by its task."""

    def __init__(self) -> None:
        self._begun: list[Begun] = []
        self._ended: dict[str, Ended] = {}
        self._lock = threading.Lock()

    def begin(self, begun: Begun) -> None:
        """Remember it."""
        with self._lock:
            self._begun = [begun, *self._begun][:KEPT]
            known = {one.task for one in self._begun}
            self._ended = {task: one for task, one in self._ended.items() if task in known}

    def end(self, task: str, ended: Ended) -> None:
        """Remember what came of it."""
        with self._lock:
            self._ended[task] = ended

    def all(self, tasks: Tasks) -> tuple[tuple[Begun, Task, Ended | None], ...]:
        """Each with its task and outcome."""
        with self._lock:
            begun, ended = list(self._begun), dict(self._ended)
        rows = []
        for one in begun:
            try:
                rows.append((one, tasks.get(one.task), ended.get(one.task)))
            except NotFound:
                continue
        return tuple(rows)


@dataclass(frozen=True, slots=True)
class BundleDesk:
    """What the work needs of the server."""

    services: Services
    tasks: Tasks
    bundles: Bundles
    hub: Hub


def start_export(
    wanted: ExportBundle, place: str, name: str, visitor: Visitor, desk: BundleDesk
) -> Task:
    """Begin to pack closed visits, or notes, into the new folder ``name`` of a place for bags (by
    key). Raises Problem for anybody but this machine, AskedWrong (no visit, name), NotFound,
    UsageError (under way already)."""
    _here(visitor)
    if not wanted.notes and not any(wanted.visits):
        raise AskedWrong("visit", "name the closed visit that is to leave")
    services = desk.services
    _, target = new_folder(place, name, services)
    kept = _Later()

    def work(progress: Progress) -> str:
        tools, at = services.tools.bundles(), services.desk
        source = Source(at.store, services.requests, tools.merging, services.drives)
        export = ExportDesk(source, at.blobs, at.clock, services.tools.signatures())
        made = export_bundle(
            wanted, services.keys.own(), bag=tools.new_bag(target), desk=export, progress=progress
        )
        desk.bundles.end(kept.task(), Ended(at.clock.now(), packed=made))
        return "packed"

    task = desk.tasks.start(OUT, " ".join(wanted.visits) or NOTES, PACKING, work)
    desk.bundles.begin(Begun(task.id, target.name))
    kept.tell(task.id)
    return task


def start_import(folder: str, visitor: Visitor, desk: BundleDesk) -> Task:
    """Begin to take a bundle in, by its folder's key; nothing of a bag that is refused is kept.
    Raises Problem for anybody but this machine, NotFound, UsageError (under way already)."""
    _here(visitor)
    services = desk.services
    path, name = services.bags.path(folder), bag_name(folder, services)
    kept = _Later()

    def work(progress: Progress) -> str:
        tools, at = services.tools.bundles(), services.desk
        own = ImportDesk(tools.merging, at.blobs, at.clock, services.tools.signatures())
        made = import_bundle(services.tools.bag(path), tools.believed, desk=own, progress=progress)
        desk.bundles.end(kept.task(), Ended(at.clock.now(), taken=made))
        for visit in made.merged.visits:
            desk.hub.wake(visit)
        return "taken in"

    task = desk.tasks.start(IN, folder, TAKING, work)
    desk.bundles.begin(Begun(task.id, name))
    kept.tell(task.id)
    return task


def stop_bundle(task: str, visitor: Visitor, tasks: Tasks) -> None:
    """Ask for its end. Raises NotFound, Problem for anybody but this machine."""
    _here(visitor)
    if tasks.get(task).kind not in (OUT, IN):
        raise NotFound("no bundle is under way under this number; load the page again")
    tasks.stop(task)


class _Later:
    """The task's number, which the work learns once it was begun."""

    def __init__(self) -> None:
        self._there = threading.Event()
        self._task = ""

    def tell(self, task: str) -> None:
        self._task = task
        self._there.set()

    def task(self) -> str:
        self._there.wait()
        return self._task


def _here(visitor: Visitor) -> None:
    if not visitor.local:
        raise Problem(403, "bundles are packed and taken in on the laptop that they lie on")
