"""News about a visit as server-sent events: its journal's head, and the progress of its tasks.

An event's id names the server's run, the journal's length and the newest task change, e.g.
``4f1c-12-7``. A browser that was away sends the last one it saw, and gets what is news since: the
head when it moved, every task that changed, the stamp of the ticks on the re-key sheet, and that
of the holds on the vehicle: the office may order footage to be kept while somebody stands at the
recorder. Another program may write to the same journal, so the head is looked at every second;
changes made by this server are told at once.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
import secrets
from collections.abc import AsyncIterator, Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from anyio.to_thread import run_sync

from asfound.errors import AsfoundError
from asfound.model.hold import Hold
from asfound.ports.store import Store
from asfound.web.tasks import Task, Tasks

LOOK_S = 1.0
"""How long a change that another program made may go unnoticed."""

QUIET_S = 15.0
"""After so long without news a comment is sent: a connection that is gone shows itself."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What a browser has seen: ``entries`` of the journal, tasks up to ``version``, and the stamps
    of the ticks on the re-key sheet and of the vehicle's holds."""

    entries: int = -1
    version: int = 0
    ticks: str = ""
    holds: str = ""


@dataclass(frozen=True, slots=True)
class Subject:
    """What somebody listens to: a visit, and the number of its vehicle."""

    visit: str
    vehicle: str


def holds_stamp(holds: Sequence[Hold]) -> str:
    """Changes whenever a hold is placed or released; "" while none is active."""
    active = sorted(hold.id for hold in holds if hold.active)
    return hashlib.sha256("\n".join(active).encode()).hexdigest()[:16] if active else ""


class Hub:
    """Tells everybody who listens to a subject. Made inside the server's event loop or before."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._run = secrets.token_hex(4)
        self._loop: asyncio.AbstractEventLoop | None = None
        self._waiting: set[tuple[str, asyncio.Event]] = set()
        self.closed = False

    def wake(self, subject: str) -> None:
        """There is news about ``subject``. May be called from any thread."""
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._wake, subject)

    def close(self) -> None:
        """End every stream. May be called from any thread, and from a signal's handler."""
        self.closed = True
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._wake, None)

    async def stream(
        self, subject: Subject, last_id: str, tasks: Tasks, allowed: Callable[[], bool]
    ) -> AsyncIterator[bytes]:
        """The events of a visit, as long as whoever listens is ``allowed`` to, beginning after
        ``last_id`` ("": with all there is)."""
        self._loop = asyncio.get_running_loop()
        seen = self._seen(last_id)
        woken = asyncio.Event()
        listener = (subject.visit, woken)
        self._waiting.add(listener)
        quiet = 0.0
        yield b"retry: 2000\n\n"
        try:
            # Asked each time: a device that is dropped hears nothing more.
            while not self.closed and await run_sync(allowed):
                woken.clear()
                seen, events = await self._news(subject, seen, tasks)
                for event in events:
                    yield event
                quiet = 0.0 if events else quiet + LOOK_S
                if quiet >= QUIET_S:
                    quiet = 0.0
                    yield b": still here\n\n"
                try:
                    await asyncio.wait_for(woken.wait(), LOOK_S)
                except TimeoutError:
                    continue
        finally:
            self._waiting.discard(listener)

    async def _news(self, subject: Subject, seen: Seen, tasks: Tasks) -> tuple[Seen, list[bytes]]:
        events: list[bytes] = []
        visit = subject.visit
        try:
            heads = await run_sync(self._store.heads, [visit])
            stamp = await run_sync(self._store.ticks_stamp, visit)
            held = holds_stamp(await run_sync(self._store.holds, subject.vehicle))
        except AsfoundError:
            # The database is busy or away for a moment: the next look tells.
            return seen, events
        entries, head = heads.get(visit, (0, ""))
        if entries != seen.entries:
            seen = replace(seen, entries=entries)
            events.append(self._event("journal", seen, {"entries": entries, "head": head}))
        if stamp != seen.ticks:
            seen = replace(seen, ticks=stamp)
            events.append(self._event("ticks", seen, {"stamp": stamp}))
        if held != seen.holds:
            seen = replace(seen, holds=held)
            events.append(self._event("holds", seen, {"stamp": held}))
        for task in tasks.of(visit, seen.version):
            seen = replace(seen, version=task.version)
            events.append(self._event("task", seen, task_data(task)))
        return seen, events

    def _event(self, name: str, seen: Seen, data: dict[str, Any]) -> bytes:
        body = json.dumps(data, ensure_ascii=False)
        mark = f"{self._run}-{seen.entries}-{seen.version}"
        return f"event: {name}\nid: {mark}\ndata: {body}\n\n".encode()

    def _seen(self, last_id: str) -> Seen:
        run, _, rest = last_id.partition("-")
        entries, _, version = rest.partition("-")
        if not entries.isdecimal():
            return Seen()
        # Task versions begin anew with the server; the journal does not.
        known = int(version) if run == self._run and version.isdecimal() else 0
        return Seen(int(entries), known)

    def _wake(self, subject: str | None) -> None:
        for wanted, woken in tuple(self._waiting):
            if subject is None or wanted == subject:
                woken.set()


def task_data(task: Task) -> dict[str, Any]:
    """A task as events and the HTTP interface show it."""
    return {
        "id": task.id,
        "kind": task.kind,
        "subject": task.subject,
        "title": task.title,
        "state": task.state,
        "done": task.done,
        "total": task.total,
        "what": task.what,
        "message": task.message,
        "stopping": task.stopping,
    }
