"""What must be deleted, as pages show it: what is overdue first, a page at a time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from asfound.jobs.deletions import deletions_done, deletions_due
from asfound.jobs.footage_requests import deletion_log
from asfound.model.footage_request import Deleted, ToDelete
from asfound.web.requesting import Looks, log_head
from asfound.web.services import Services
from asfound.web.view_fleet import PAGE

DONE_SHOWN = 20


@dataclass(frozen=True, slots=True)
class Due:
    """One thing; ``overdue``: its time has come, whether a hold keeps it or not."""

    one: ToDelete
    overdue: bool


@dataclass(frozen=True, slots=True)
class DeletionsView:
    """``limit``: days that footage is lawful to keep, None: the fleet file names none, and nothing
    is due. ``overdue`` and ``kept`` of ``found`` in all; page ``number`` of ``pages``. ``done``:
    what was deleted last, newest first, of ``logged`` in all."""

    limit: int | None
    due: tuple[Due, ...]
    found: int
    overdue: int
    kept: int
    number: int
    pages: int
    done: tuple[Deleted, ...]
    logged: int
    head: str
    now: datetime


def deletions_view(looks: Looks, services: Services, number: int) -> DeletionsView:
    """The list. Raises NotFound, InputError (fleet file), IntegrityError, StorageError."""
    fleet, requests = services.shelf.fleet(), services.requests
    now = looks.now()
    due: list[Due] = []
    if fleet.maximum_days is not None:
        found = deletions_due(fleet, log=requests, store=services.desk.store)
        due = [Due(one, one.due <= now) for one in found]
        # What may not be deleted yet stands behind what has to be.
        due.sort(key=lambda each: (not each.overdue, bool(each.one.held)))
    done = deletions_done(requests)
    pages = max(1, -(-len(due) // PAGE))
    number = min(max(1, number), pages)
    return DeletionsView(
        fleet.maximum_days,
        tuple(due[(number - 1) * PAGE : number * PAGE]),
        len(due),
        sum(each.overdue and not each.one.held for each in due),
        sum(bool(each.one.held) for each in due),
        number,
        pages,
        tuple(reversed(done))[:DONE_SHOWN],
        len(done),
        log_head(requests, deletion_log(services.desk.writer)),
        now,
    )
