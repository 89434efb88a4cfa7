"""Pieces of work for the tests of workers: a module, so that other processes can load it."""

from __future__ import annotations

import ctypes
import os
import signal
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from asfound.errors import StorageError
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.video import FileFacts
from asfound.ports.workers import Beat

MEGABYTE = 1 << 20


class Fragile(AvVideo):
    """A reader of video that takes its process along at each file of channel 2."""

    def facts(self, path: Path) -> FileFacts:
        if path.name.startswith("cam2"):
            os._exit(11)
        return super().facts(path)


class Doomed(AvVideo):
    """A reader of video that notes each file it opens, and the first time it opens ``name`` is
    killed, or the process that started its own is (``machine``)."""

    def __init__(self, notes: Path, name: str, machine: bool) -> None:
        self._notes, self._name, self._machine = notes, name, machine

    def facts(self, path: Path) -> FileFacts:
        note = self._notes / path.name
        with note.open("a") as file:
            file.write(f"{os.getpid()}\n")
        if path.name == self._name and len(note.read_text().split()) == 1:
            # By then what was finished before has been handed over.
            time.sleep(1)
            os.kill(os.getppid() if self._machine else os.getpid(), signal.SIGKILL)
            time.sleep(600)
        return super().facts(path)


@dataclass(frozen=True)
class Order:
    """What to do, with which number; each start is noted in ``notes``."""

    what: str
    number: int = 0
    notes: Path | None = None


def obey(order: Order, beat: Beat) -> int:
    """Does what it is told; the result is the number's square."""
    if order.notes is not None:
        with (order.notes / f"{order.what}-{order.number}").open("a") as file:
            file.write(f"{os.getpid()}\n")
    if order.what in ACTS:
        ACTS[order.what](order)
    elif order.what.startswith("tick"):
        ends = time.monotonic() + (2.4 if order.what == "tick" else 600)
        while time.monotonic() < ends:
            time.sleep(0.05)
            beat()
    elif order.what == "square":
        beat()
    return order.number**2


def _crash(order: Order) -> None:
    ctypes.string_at(0)


def _exit(order: Order) -> None:
    os._exit(3)


def _grow(order: Order) -> None:
    held = [b"x" * (64 * MEGABYTE) for _ in range(200)]
    raise AssertionError(f"{len(held)} pieces of memory were to be had")


def _divide(order: Order) -> None:
    raise ZeroDivisionError(f"{order.number} / 0")


def _refuse(order: Order) -> None:
    raise StorageError("the disk is full; free some space")


def _print(order: Order) -> None:
    os.write(1, b"a library prints\n")


def _kill_once(order: Order) -> None:
    if order.notes and len((order.notes / f"kill-once-{order.number}").read_text().split()) == 1:
        os.kill(os.getpid(), signal.SIGKILL)


ACTS: dict[str, Callable[[Order], None]] = {
    "sleep": lambda order: time.sleep(0.2),
    "hang": lambda order: time.sleep(600),
    "crash": _crash,
    "exit": _exit,
    "grow": _grow,
    "divide": _divide,
    "refuse": _refuse,
    "print": _print,
    "kill-once": _kill_once,
}
