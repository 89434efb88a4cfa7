"""Photographs that wait are read behind the pages: one worker a visit, one reader in all.

What waits is on the disk, so a server that was killed goes on where it stood: ``resume`` at its
start, and every photograph that arrives, begin the work anew.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from asfound.errors import NotFound, UsageError
from asfound.jobs.read_clock import ClockFacts
from asfound.jobs.read_uploads import ReadWaiting, read_waiting, waiting
from asfound.jobs.visit_journal import load_visit
from asfound.model.upload import Upload
from asfound.ports.progress import Progress
from asfound.web.services import Services
from asfound.web.tasks import Tasks

KIND = "read"
TITLE = "Reading photographs"
SETTLE_S = 3.0
"""As left, a lot is begun when nothing arrived for so long: it becomes one round."""

PATIENCE_S = 30.0
"""The longest that a lot waits for what is still arriving."""

LOOK_S = 0.2
TRIES = 20


@dataclass
class Reader:
    """Begins and carries the reading of a server's visits."""

    services: Services
    tasks: Tasks
    changed: Callable[[str], None]
    _one: threading.Lock = field(default_factory=threading.Lock)
    _begin: threading.Lock = field(default_factory=threading.Lock)
    _busy: set[str] = field(default_factory=set)

    def resume(self) -> None:
        """Begin with all that was left waiting. Raises StorageError."""
        for visit in self.services.uploads.waiting():
            try:
                self.kick(visit)
            except NotFound:
                # The visit is not in this database: another one's uploads are left alone.
                continue

    def kick(self, visit: str) -> None:
        """Have what waits read, unless somebody does already. Raises NotFound, StorageError."""
        if not waiting(visit, self.services.uploads):
            return
        load_visit(visit, store=self.services.desk.store, blobs=self.services.desk.blobs)
        with self._begin:
            if visit in self._busy:
                return
            self._busy.add(visit)
        for _ in range(TRIES):
            try:
                self.tasks.start(KIND, visit, TITLE, lambda progress: self._work(visit, progress))
                return
            except UsageError:
                # The one before has found nothing left and is just ending.
                time.sleep(LOOK_S / TRIES)
        self._ended(visit)

    def _work(self, visit: str, progress: Progress) -> str:
        count = 0
        try:
            while self._more(visit):
                count += self._lot(visit, progress)
                self.changed(visit)
        finally:
            self._ended(visit)
        return str(count)

    def _more(self, visit: str) -> bool:
        """Whether there is work; whoever brings some after this look begins a new task."""
        with self._begin:
            if waiting(visit, self.services.uploads):
                return True
            self._busy.discard(visit)
            return False

    def _lot(self, visit: str, progress: Progress) -> int:
        services = self.services
        if waiting(visit, services.uploads)[0].as_left:
            self._wait_for_more(visit, progress)
        with self._one:
            state = load_visit(visit, store=services.desk.store, blobs=services.desk.blobs)
            zone = ClockFacts(services.shelf.fleet().time_zone)
            menu_map = services.shelf.menu_map(state.vehicle.recorder.map_id)
            return read_waiting(
                ReadWaiting(visit, menu_map, zone),
                desk=services.desk,
                tools=services.tools.reading(),
                uploads=services.uploads,
                progress=progress,
            )

    def _ended(self, visit: str) -> None:
        with self._begin:
            self._busy.discard(visit)

    def _wait_for_more(self, visit: str, progress: Progress) -> None:
        """Until nothing arrived for a while, or patience ends."""
        began = quiet = time.monotonic()
        before: list[Upload] = []
        while time.monotonic() - began < PATIENCE_S and time.monotonic() - quiet < SETTLE_S:
            now = list(self.services.uploads.of(visit))
            if now != before:
                before, quiet = now, time.monotonic()
            progress(0, len(waiting(visit, self.services.uploads)), "")
            time.sleep(LOOK_S)
