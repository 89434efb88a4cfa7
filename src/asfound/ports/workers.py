"""Workers: pieces of work done somewhere that may die without taking the job along.

A piece is lost when the program that works on it crashes, hangs, grows beyond its memory or
raises something that no one raises on purpose. It is then tried once more; what is lost again
comes back without a result, with the reason. All other pieces go on.
"""

from __future__ import annotations

import traceback
from collections.abc import Callable, Generator, Iterable
from dataclasses import dataclass
from pathlib import PurePath
from typing import Generic, Protocol, TypeVar

from asfound.errors import AsfoundError

A = TypeVar("A")
R = TypeVar("R")

TRIES = 2
"""A piece that is lost is tried once more: the first loss may have been the machine's."""


@dataclass(frozen=True, slots=True)
class Piece(Generic[A]):
    """One piece of work, and how long it may take [s]: ``quiet_s`` without a sign of life,
    ``limit_s`` in all."""

    argument: A
    quiet_s: float = 60.0
    limit_s: float = 600.0


@dataclass(frozen=True, slots=True)
class Done(Generic[A, R]):
    """A finished piece: its result, or None and in one line why it was ``lost``."""

    piece: Piece[A]
    result: R | None
    lost: str = ""


Beat = Callable[[], None]
"""To be called now and then: a sign of life, and the way to stop."""

Work = Callable[[A, Beat], R]
"""What is done with each argument. Back-ends outside this process pickle it and its results."""


class Workers(Protocol):
    """A place where pieces are worked on."""

    def run(
        self, work: Work[A, R], pieces: Iterable[Piece[A]], beat: Beat
    ) -> Generator[Done[A, R], None, None]:
        """Each piece's end, in the order in which they end. Pieces are taken as there is room
        for them, not all at once. ``beat`` is called at least every second, and what it raises
        stops the work; so does an AsfoundError of a piece, which is raised here. Closing the
        iterator stops what is under way. Raises NotFound when there is no such place (any
        more)."""
        ...


class InTurn:
    """One piece after the other in this process: for small jobs. Nothing can be taken from a
    piece that hangs, and a crash is this process's own."""

    def run(
        self, work: Work[A, R], pieces: Iterable[Piece[A]], beat: Beat
    ) -> Generator[Done[A, R], None, None]:
        """As ``Workers.run``."""
        for piece in pieces:
            beat()
            lost = ""
            for _ in range(TRIES):
                try:
                    yield Done(piece, work(piece.argument, beat))
                    break
                except AsfoundError:
                    raise
                except Exception as error:
                    lost = raised(error)
            else:
                yield Done(piece, None, lost)


def raised(error: Exception) -> str:
    """What an exception that nobody raises on purpose says, and where it came from."""
    if isinstance(error, MemoryError):
        return "it needs more memory than it may have"
    last = traceback.extract_tb(error.__traceback__)[-1:]
    where = "".join(f" ({PurePath(step.filename).name}:{step.lineno})" for step in last)
    return " ".join(f"{type(error).__name__}: {error}{where}".split())
