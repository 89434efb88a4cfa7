"""Work that takes longer than a request: in a thread, with progress, and the way to stop it.

What a task has finished is durable by the job's own rules (blobs first, then the entry); a task
itself is only the news about it, and is gone with the server. One registry holds them all.
"""

from __future__ import annotations

import logging
import secrets
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from asfound.errors import AsfoundError, Interrupted, NotFound, UsageError
from asfound.ports.progress import Progress

TaskState = Literal["running", "done", "failed", "stopped"]
KEPT = 200
"""Finished tasks that are remembered."""

Work = Callable[[Progress], str]
"""Does the work, tells its progress, and returns one line about what came out."""

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Task:
    """A task as it stands. ``kind`` is what it does ("read", "prove", …), ``subject`` what it is
    about (a visit's id); ``done`` of ``total`` pieces, ``what`` the piece at hand; ``message`` is
    the outcome or the error in one line. ``version`` grows with every change of any task.
    """

    id: str
    kind: str
    subject: str
    title: str
    state: TaskState = "running"
    done: int = 0
    total: int = 0
    what: str = ""
    message: str = ""
    stopping: bool = False
    version: int = 0


class Tasks:
    """Every task of this server. ``changed`` is called with the subject after each change."""

    def __init__(self, changed: Callable[[str], None]) -> None:
        self._changed = changed
        self._tasks: dict[str, Task] = {}
        self._threads: dict[str, threading.Thread] = {}
        self._version = 0
        self._lock = threading.Lock()

    def start(self, kind: str, subject: str, title: str, work: Work) -> Task:
        """Begin the work in a thread of its own. Raises UsageError while work of this kind on
        this subject is still under way."""
        with self._lock:
            running = [item for item in self._tasks.values() if item.state == "running"]
            if any((item.kind, item.subject) == (kind, subject) for item in running):
                raise UsageError(f"{title}: is under way already; wait for it, or stop it first")
            self._version += 1
            task = Task(secrets.token_hex(8), kind, subject, title, version=self._version)
            self._tasks[task.id] = task
            self._forget()
            thread = threading.Thread(target=self._run, args=(task.id, work), name=f"task-{kind}")
            # A daemon: a server that is told to end does not wait for it.
            thread.daemon = True
            self._threads[task.id] = thread
        thread.start()
        self._changed(subject)
        return task

    def of(self, subject: str, after: int = 0) -> Sequence[Task]:
        """Tasks about ``subject`` that changed after ``after``, in the order they changed."""
        with self._lock:
            found = [item for item in self._tasks.values() if item.subject == subject]
        return sorted(
            (item for item in found if item.version > after), key=lambda item: item.version
        )

    def get(self, task_id: str) -> Task:
        """A task by its id. Raises NotFound."""
        with self._lock:
            task = self._tasks.get(task_id)
        if task is None:
            raise NotFound(f"no task {task_id!r}; it ended before the server was last started")
        return task

    def stop(self, task_id: str) -> Task:
        """Ask a task to stop; it does after the piece at hand. Raises NotFound."""
        return self._change(self.get(task_id).id, _stopping)

    def stop_all(self) -> None:
        """Ask all running tasks to stop."""
        with self._lock:
            running = [item.id for item in self._tasks.values() if item.state == "running"]
        for task_id in running:
            self._change(task_id, _stopping)

    def wait(self, task_id: str, seconds: float) -> Task:
        """The task after it has ended, or after so many seconds. Raises NotFound."""
        thread = self._threads.get(self.get(task_id).id)
        if thread is not None:
            thread.join(seconds)
        return self.get(task_id)

    def _run(self, task_id: str, work: Work) -> None:
        def progress(done: int, total: int, what: str) -> None:
            now = self._change(
                task_id, lambda task: replace(task, done=done, total=total, what=what)
            )
            if now.stopping:
                raise Interrupted("stopped; what was finished is kept")

        try:
            message = work(progress)
        except Interrupted as error:
            self._end(task_id, "stopped", str(error))
        except AsfoundError as error:
            self._end(task_id, "failed", str(error))
        except Exception:
            # A thread's fault reaches nobody else: it is logged, and the person is told.
            _log.exception("task failed")
            self._end(task_id, "failed", "the program has a fault; its log says more")
        else:
            self._end(task_id, "done", message)

    def _change(self, task_id: str, change: Callable[[Task], Task]) -> Task:
        with self._lock:
            self._version += 1
            task = replace(change(self._tasks[task_id]), version=self._version)
            self._tasks[task_id] = task
        self._changed(task.subject)
        return task

    def _end(self, task_id: str, state: TaskState, message: str) -> None:
        self._change(task_id, lambda task: replace(task, state=state, message=message))

    def _forget(self) -> None:
        ended = [item for item in self._tasks.values() if item.state != "running"]
        for item in sorted(ended, key=lambda item: item.version)[: max(0, len(ended) - KEPT)]:
            del self._tasks[item.id]
            self._threads.pop(item.id, None)


def _stopping(task: Task) -> Task:
    return replace(task, stopping=True)
