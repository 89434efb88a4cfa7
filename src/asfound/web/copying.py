"""Copying the footage of a request for evidence, from and into folders named at the start."""

from __future__ import annotations

import re
import threading
from collections import OrderedDict
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from asfound.calc.plain_text import plain
from asfound.errors import NotFound
from asfound.jobs.evidence_copy import CopyEvidence, EvidenceCopied, copy_evidence
from asfound.jobs.footage_requests import AskedWrong, one_request
from asfound.jobs.visit_journal import named
from asfound.model.footage_request import FootageRequest
from asfound.ports.progress import Progress
from asfound.web.problems import Problem
from asfound.web.request_form import seconds_of
from asfound.web.security import Visitor
from asfound.web.services import Services
from asfound.web.step_pages import N_
from asfound.web.tasks import Task, Tasks

KIND = "copy"
TITLE = N_("Copying for evidence")
KEPT = 50
"""Requests whose last copy is remembered, until the server ends."""

NAME = re.compile(r"[^\W_][^/\\:*?\"<>|\x00-\x1f]{0,99}")
"""A folder's name that every system takes; it begins with a letter or figure, so that it leads
nowhere else and is not hidden."""


@dataclass(frozen=True, slots=True)
class CopyAct:
    """Copy what ``request`` asks for from the ``folder`` of recordings into a new folder ``name``
    of the ``place`` for bags, both by key. ``offset``: what the recorder showed minus the true
    time [s], "": nobody compared."""

    request: str
    by: str
    folder: str
    place: str
    name: str
    offset: str = ""


@dataclass(frozen=True, slots=True)
class Made:
    """A bag that was made at ``at``."""

    name: str
    place: str
    at: datetime
    copied: EvidenceCopied


class Copies:
    """The last copy of each request."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, Made] = OrderedDict()
        self._lock = threading.Lock()

    def keep(self, request: str, made: Made) -> None:
        """Remember it."""
        with self._lock:
            self._kept.pop(request, None)
            self._kept[request] = made
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)

    def get(self, request: str) -> Made | None:
        """The last copy; None: none was made since the server was started."""
        with self._lock:
            return self._kept.get(request)


@dataclass(frozen=True, slots=True)
class CopyDesk:
    """What the work needs of the server."""

    services: Services
    tasks: Tasks
    copies: Copies


def start_copying(act: CopyAct, visitor: Visitor, desk: CopyDesk) -> Task:
    """Begin, in the background; a bag that is there already is never written over. Raises Problem
    for anybody but this machine, NotFound (request, folders), AskedWrong (name, offset),
    UsageError (no name of a person, under way already)."""
    services = desk.services
    if not visitor.local:
        raise Problem(403, "footage is copied on the laptop that the drive is plugged into")
    by = named(act.by)
    asked = one_request(services.requests, act.request)
    offset = seconds_of(act.offset, "offset") if act.offset.strip() else None
    source = services.folders.path(act.folder)
    place, target = new_folder(act.place, act.name, services)

    def work(progress: Progress) -> str:
        wanted = _wanted(asked, source, by, offset)
        tools = services.tools
        with tools.packing(target) as packing:
            copied = copy_evidence(
                wanted, packing.key, bag=packing.bag, desk=packing.desk, progress=progress
            )
        now = services.desk.clock.now()
        desk.copies.keep(asked.id, Made(target.name, place, now, copied))
        return "copied"

    return desk.tasks.start(KIND, asked.id, TITLE, work)


def last_copying(request: str, tasks: Tasks) -> Task | None:
    """The last copy of a request's footage: under way, or how it ended."""
    found = [item for item in tasks.of(request) if item.kind == KIND]
    return found[-1] if found else None


def stop_copying(request: str, visitor: Visitor, tasks: Tasks) -> None:
    """Ask for its end; what was begun is removed. Raises NotFound, Problem."""
    if not visitor.local:
        raise Problem(403, "footage is copied on the laptop that the drive is plugged into")
    running = last_copying(request, tasks)
    if running is None:
        raise NotFound("nothing is being copied for this request; load the page again")
    tasks.stop(running.id)


def new_folder(key: str, wanted: str, services: Services) -> tuple[str, Path]:
    """(the place's name, the new folder ``wanted`` in it). A key of a folder inside a place is no
    place. Raises AskedWrong (name), NotFound."""
    for place in services.bags.places():
        if place.there and place.folders[0].key == key:
            name = " ".join(wanted.split())
            if not NAME.fullmatch(name) or name.endswith(".") or plain(name) != name:
                raise AskedWrong(
                    "name", "that is no name for a folder; letters, figures and blanks will do"
                )
            return place.name, services.bags.path(key) / name
    raise NotFound("that place is not there any more; load the page again and choose anew")


def _wanted(asked: FootageRequest, source: Path, by: str, offset: float | None) -> CopyEvidence:
    why = f"{asked.id}: {asked.why}; {asked.authority}"
    return CopyEvidence((source,), asked.vehicle, asked.start, asked.end, by, why, offset)
