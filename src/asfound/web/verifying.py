"""Verifying bags from a page, in folders that were named when the server was started."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from asfound.errors import NotFound, UsageError
from asfound.jobs.bag_verify import verify_bag
from asfound.model.bag import BagVerified
from asfound.ports.progress import Progress
from asfound.ports.signatures import KEY_BYTES
from asfound.web.problems import Problem
from asfound.web.security import Visitor
from asfound.web.services import Services
from asfound.web.step_pages import N_
from asfound.web.tasks import Task, Tasks

KIND = "verify"
TITLE = N_("Verifying a bag")
KEPT = 20
"""Bags whose outcome is remembered, until the server ends."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the bag ``name`` was found to be at ``at``; ``asked``: a public key was given."""

    key: str
    name: str
    at: datetime
    asked: bool
    result: BagVerified


class Verified:
    """The last outcomes by the folder's key, the newest last."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, Outcome] = OrderedDict()
        self._lock = threading.Lock()

    def keep(self, outcome: Outcome) -> None:
        """Remember it, in place of an older one of the same bag."""
        with self._lock:
            self._kept.pop(outcome.key, None)
            self._kept[outcome.key] = outcome
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)

    def drop(self, key: str) -> None:
        """Forget what was found: it is looked at anew."""
        with self._lock:
            self._kept.pop(key, None)

    def get(self, key: str) -> Outcome | None:
        """The outcome for this bag; None when it was not looked at, or not to the end."""
        with self._lock:
            return self._kept.get(key)

    def all(self) -> tuple[Outcome, ...]:
        """All outcomes, the newest first."""
        with self._lock:
            return tuple(reversed(self._kept.values()))


@dataclass(frozen=True, slots=True)
class VerifyAct:
    """A bag by its folder's key, and the public key it must be signed with ("": any)."""

    folder: str
    public: str = ""


class WrongKey(UsageError):
    """What was typed is no public key."""

    part = "public"


@dataclass(frozen=True, slots=True)
class Behind:
    """What the work needs of the server."""

    services: Services
    tasks: Tasks
    verified: Verified


def start_verifying(act: VerifyAct, visitor: Visitor, behind: Behind) -> Task:
    """Begin, in the background. Raises Problem for anybody but this machine, NotFound (folder),
    WrongKey, UsageError (under way already)."""
    services = behind.services
    if not visitor.local:
        raise Problem(403, "bags are verified from the laptop that they lie on")
    public = public_key(act.public)
    folder = services.bags.path(act.folder)
    name = bag_name(act.folder, services)

    def work(progress: Progress) -> str:
        behind.verified.drop(act.folder)
        result = _verified(folder, public, services, progress)
        now = services.desk.clock.now()
        behind.verified.keep(Outcome(act.folder, name, now, public is not None, result))
        return "whole" if not result.faults else "faults"

    return behind.tasks.start(KIND, act.folder, TITLE, work)


def public_key(text: str) -> bytes | None:
    """Its bytes; None where none was given. Raises WrongKey."""
    bare = "".join(text.split())
    if not bare:
        return None
    try:
        made = bytes.fromhex(bare)
    except ValueError:
        made = b""
    if len(made) != KEY_BYTES:
        raise WrongKey("that is no public key: 64 figures and letters a to f; ask whoever signed")
    return made


def bag_name(key: str, services: Services) -> str:
    """The folder's name as the list has it. Raises NotFound."""
    for place in services.bags.places():
        for folder in place.folders:
            if folder.key == key:
                return folder.name or place.name
    raise NotFound("that folder is not there any more; load the page again and choose anew")


def last_task(key: str, tasks: Tasks) -> Task | None:
    """The last look at a bag: under way, or how it ended."""
    found = [item for item in tasks.of(key) if item.kind == KIND]
    return found[-1] if found else None


def stop_verifying(task_id: str, visitor: Visitor, tasks: Tasks) -> None:
    """Ask for its end. Raises NotFound, Problem for anybody but this machine."""
    if not visitor.local:
        raise Problem(403, "bags are verified from the laptop that they lie on")
    if tasks.get(task_id).kind != KIND:
        raise NotFound("no bag is being verified under this number; load the page again")
    tasks.stop(task_id)


def _verified(
    folder: Path, public: bytes | None, services: Services, progress: Progress
) -> BagVerified:
    tools = services.tools
    return verify_bag(
        tools.bag(folder), signatures=tools.signatures(), key=public, progress=progress
    )
