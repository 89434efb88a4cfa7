"""Which recordings belong to a copy for evidence, and how they are called in the bag."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from asfound.calc.bag_names import name_fault, same_key
from asfound.calc.plain_text import plain
from asfound.errors import NotFound
from asfound.jobs.find_pieces import NO_CHANNEL, FindPieces, place_file
from asfound.jobs.prove_files import Item, items
from asfound.jobs.prove_names import parse_pattern
from asfound.model.coverage import Piece
from asfound.ports.containers import Containers

UNKNOWN = 0
"""Stands for the channel of a recording whose channel cannot be told."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Files and folders, the span (aware, true time), what the recorder showed minus the true
    time [s], how files are named, whether all of them are wanted, and ``now`` (aware)."""

    paths: tuple[Path, ...]
    start: datetime
    end: datetime
    offset_s: float
    pattern: str
    everything: bool
    now: datetime


@dataclass(frozen=True, slots=True)
class Chosen:
    """A file, the stretches of time it holds, and what could not be told of it."""

    item: Item
    pieces: tuple[Piece, ...]
    unclear: tuple[str, ...]

    @property
    def no_channel(self) -> bool:
        """Whether the channel of something in it cannot be told."""
        return not self.pieces or any(one.channel == UNKNOWN for one in self.pieces)


def choose(wanted: Wanted, video: Containers) -> tuple[list[Chosen], tuple[str, ...]]:
    """Files that overlap the span; in a line each those whose time cannot be told.

    Raises NotFound when there is none, RecordingError, StorageError, UsageError, Interrupted.
    """
    chosen: list[Chosen] = []
    left_out: list[str] = []
    pattern = parse_pattern(wanted.pattern) if wanted.pattern else None
    ask = FindPieces(wanted.paths, wanted.now, wanted.pattern, wanted.offset_s, UNKNOWN)
    for item in items(wanted.paths, video):
        found = list(place_file(item, pattern, ask, video))
        pieces = tuple(one for one in found if isinstance(one, Piece))
        unclear = tuple(one for one in found if isinstance(one, str))
        inside = any(one.start < wanted.end and one.end > wanted.start for one in pieces)
        if inside or wanted.everything:
            chosen.append(Chosen(item, pieces, unclear))
        elif not pieces or any(one.channel == UNKNOWN for one in pieces):
            # Outside by its time and only its channel unknown: nobody misses it. Where the name
            # says something that cannot be, the time is not to be relied on, either.
            left_out.extend(one for one in unclear if NO_CHANNEL not in one)
    if not chosen:
        more = f", and {len(left_out)} cannot be placed" if left_out else ""
        raise NotFound(f"no recording lies in that span{more}; widen it, or copy all with --all")
    return chosen, tuple(left_out)


def name_in_bag(item: Item, seen: set[str]) -> str:
    """A sound name that no file system takes for one of ``seen``, to which it is added.

    No % is left in it: RFC 8493 2.1.3 has it written as %25, which some readers take as it stands.
    """
    ending = item.path.suffix if item.path.suffix.isascii() else ""
    number = f"data/{item.number + 1:06d}"
    wanted = (
        f"data/{item.name.as_posix()}",
        f"{number}-{plain(item.path.name)}".replace("\\", "_").replace("%", "_"),
        number + plain(ending).replace("\\", "_").replace("%", "_"),
    )
    return _first_free(wanted, number, seen)


def derived_name(name: str, seen: set[str]) -> str:
    """How a file made from ``name`` is called; it is added to ``seen``."""
    wanted = [f"{name}.derived{more}.mp4" for more in ("", "-2", "-3")]
    return _first_free(wanted, f"data/derived-{len(seen)}.mp4", seen)


def _first_free(wanted: Iterable[str], last: str, seen: set[str]) -> str:
    free = (
        one
        for one in wanted
        if not name_fault(one) and "%" not in one and same_key(one) not in seen
    )
    name = next(free, last)
    seen.add(same_key(name))
    return name
