"""Counting which hours are on disk, in a folder that was named when the server was started, held
against an ignition log or schedule that was sent, or hours that were typed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from asfound.calc.plain_text import plain
from asfound.errors import UsageError
from asfound.jobs.coverage import Cover
from asfound.jobs.find_pieces import FindPieces, find_pieces
from asfound.jobs.visit_cover import VisitCover, visit_cover
from asfound.jobs.visit_journal import load_visit, named
from asfound.model.coverage import Hours, IgnitionLog, Piece, Schedule
from asfound.model.visit import VisitState
from asfound.ports.progress import Progress
from asfound.web.heads import desk_at
from asfound.web.local_times import local_time
from asfound.web.problems import Problem
from asfound.web.proving import COUNT, Asking
from asfound.web.services import HoursFile, Services
from asfound.web.tasks import Task, Tasks

TITLE = "Counting the hours on disk"

WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
"""Days as forms and schedule files name them, Monday first (ISO 8601)."""

LONGEST_DAYS = 3660.0
MINUTES = 60


@dataclass(frozen=True, slots=True)
class CoverAct:
    """A folder by its key, and what its recordings are held against, for a visit whose journal
    ended with ``head`` when somebody asked. ``file`` names the log or schedule. ``days``: those
    promised; ``since``, ``until``: the time that counts (jobs/coverage.py)."""

    visit: str
    head: str
    by: str
    folder: str
    expected: IgnitionLog | Schedule
    file: str
    days: float | None = None
    since: datetime | None = None
    until: datetime | None = None


def start_covering(act: CoverAct, asking: Asking, tasks: Tasks) -> Task:
    """Begin to count, in the background.

    Raises Problem for anybody but this machine, HeadMoved, NotFound (visit, folder), UsageError
    (closed, no name, under way already).
    """
    services = asking.services
    if not asking.visitor.local:
        raise Problem(403, "recordings are looked at from the laptop that they are plugged into")
    if not act.head:
        raise UsageError("the journal's head is missing; load the visit and send its head along")
    by, folder = named(act.by), services.folders.path(act.folder)
    desk = desk_at(services.desk, act.visit, act.head)
    state = load_visit(act.visit, store=desk.store, blobs=desk.blobs)
    if state.closed:
        raise UsageError(f"visit {state.id} is closed and takes no more entries")
    fitted = tuple(sorted(camera.channel for camera in state.vehicle.cameras))

    def work(progress: Progress) -> str:
        now = services.desk.clock.now()
        pieces = _pieces(FindPieces((folder,), now), services, progress)
        asked = Cover(pieces, act.expected, now, act.since, act.until, act.days, channels=fitted)
        keep = VisitCover(act.visit, asked, act.file, (str(folder),), by)
        made = visit_cover(keep, desk=services.desk)
        return made.coverage[-1].coverage.verdict.value

    return tasks.start(COUNT, act.visit, TITLE, work)


def hours_of(
    form: Mapping[str, str], file: tuple[str, bytes], state: VisitState, services: Services
) -> tuple[IgnitionLog | Schedule, str]:
    """(what is expected, the name it goes by): the file that was sent, else the hours typed.

    Raises UsageError (neither, or hours that are none), InputError, NotFound.
    """
    name, data = file
    if form.get("against", "file") == "file":
        if not data:
            raise UsageError("no ignition log or schedule was chosen; choose a file or type hours")
        own = (state.vehicle.number, state.vehicle.plate)
        sent = HoursFile(name, data, form.get("log_vehicle", "").strip(), own)
        return services.tools.hours(sent), plain(name)
    days = tuple(at for at, day in enumerate(WEEK) if form.get(day))
    if not days:
        raise UsageError("no day of the week was chosen; choose those on which it should record")
    start, end = form.get("from", ""), form.get("to", "")
    # 24:00 ends a day and begins none.
    hours = Hours(days, _minute(start) % (24 * MINUTES), _minute(end))
    zone = services.shelf.fleet().time_zone
    told = " ".join(WEEK[at] for at in days)
    return Schedule(zone, (hours,)), f"{told} {start}–{end}"


def span_of(form: Mapping[str, str], zone: ZoneInfo) -> tuple[float | None, datetime | None]:
    """(days promised, end of what counts), None where nothing was typed. Raises UsageError."""
    until = form.get("until", "").strip()
    days = form.get("days", "").strip().replace(",", ".")
    try:
        number = float(days) if days else None
    except ValueError:
        number = -1.0
    if number is not None and not 0.0 < number <= LONGEST_DAYS:
        raise UsageError(f"{days!r} is no number of days; write more than 0, at most 3660")
    return number, local_time(until, zone, 1) if until else None


def _pieces(request: FindPieces, services: Services, progress: Progress) -> Iterator[Piece | str]:
    return find_pieces(request, video=services.tools.containers(), progress=progress)


def _minute(text: str) -> int:
    hour, colon, minute = text.strip()[:5].partition(":")
    if not (colon and hour.isdecimal() and minute.isdecimal() and len(minute) == 2):
        raise UsageError(f"{text!r} is no clock time; write hours and minutes, 05:30")
    made = int(hour) * MINUTES + int(minute)
    if int(minute) >= MINUTES or made > 24 * MINUTES:
        raise UsageError(f"{text!r} is no clock time; write hours and minutes, 05:30")
    return made
