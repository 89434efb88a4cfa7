"""The report's pages as pictures: made behind the page, once for each state of a visit, and kept
for a while. A small report is there at once; a large one shows how far it is and can be stopped."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

from asfound.errors import UsageError
from asfound.ports.progress import Progress
from asfound.web.tasks import Task, Tasks

Pages = tuple[bytes, ...]
Make = Callable[[Progress], Pages]

KIND = "preview"
TITLE = "Making the report's pages"
KEPT = 3
"""Reports whose pictures are kept: some megabytes each."""

AT_ONCE_S = 1.0
"""So long a page waits for its pictures before it shows how far they are."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Pictures of a report: ``key`` names the state of ``visit`` that they show, ``make`` makes
    them."""

    visit: str
    key: str
    make: Make


class Previews:
    """Pictures of reports by what they show."""

    def __init__(self) -> None:
        self._made: OrderedDict[str, Pages] = OrderedDict()
        self._stopped: set[str] = set()
        self._lock = threading.Lock()
        self._making = threading.Lock()

    def held(self, key: str) -> Pages | None:
        """The pictures named ``key``; None when they are not there."""
        with self._lock:
            pages = self._made.get(key)
            if pages is not None:
                self._made.move_to_end(key)
            return pages

    def pages(self, wanted: Wanted, progress: Progress) -> Pages:
        """The pictures, made when they are not there; one report at a time."""
        with self._making:
            pages = self.held(wanted.key)
            if pages is None:
                pages = wanted.make(progress)
            with self._lock:
                self._made[wanted.key] = pages
                while len(self._made) > KEPT:
                    self._made.popitem(last=False)
            return pages

    def begin(self, wanted: Wanted, tasks: Tasks, again: bool) -> Task | None:
        """The work behind the pictures as it stands after ``AT_ONCE_S`` at the latest; None when
        somebody stopped it, and nobody asked for them ``again``."""
        with self._lock:
            if again:
                self._stopped.discard(wanted.key)
            if wanted.key in self._stopped:
                return None
        found = _running(wanted.visit, tasks)
        task = self._wait(found, wanted, tasks)
        if found is None or task is None or not self._in_vain(task, wanted.key):
            return task
        return self._wait(_running(wanted.visit, tasks), wanted, tasks)

    def _wait(self, running: Task | None, wanted: Wanted, tasks: Tasks) -> Task | None:
        """What is running, or the work behind the pictures begun, after a moment's wait."""
        if running is None:
            try:
                running = tasks.start(
                    KIND, wanted.visit, TITLE, lambda told: str(len(self.pages(wanted, told)))
                )
            except UsageError:
                # Another page began at the same moment.
                running = _running(wanted.visit, tasks)
        return tasks.wait(running.id, AT_ONCE_S) if running is not None else None

    def _in_vain(self, task: Task, key: str) -> bool:
        """It ended without the pictures, and nobody has stopped them since: it was on its way to
        its end when somebody asked again, or made those of the visit as it was before."""
        with self._lock:
            return (
                task.state in ("stopped", "done") and key not in self._stopped | self._made.keys()
            )

    def stop(self, wanted: Wanted, tasks: Tasks) -> None:
        """Nobody waits for the pictures any more; what is being set is finished, and dropped."""
        with self._lock:
            self._stopped.add(wanted.key)
        running = _running(wanted.visit, tasks)
        if running is not None:
            tasks.stop(running.id)


def _running(visit: str, tasks: Tasks) -> Task | None:
    found = [item for item in tasks.of(visit) if (item.kind, item.state) == (KIND, "running")]
    return found[-1] if found else None
