"""Look at many files: found one by one, looked at by workers, remembered, in any number."""

from __future__ import annotations

from collections.abc import Generator, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from asfound.jobs.prove_cache import Remembered
from asfound.jobs.prove_file import Eyes, FileLook, Seen, look_at, time_limits
from asfound.jobs.prove_references import References
from asfound.ports.blobs import Blobs
from asfound.ports.progress import Progress
from asfound.ports.results import Results
from asfound.ports.video import Finder
from asfound.ports.workers import TRIES, Beat, Done, InTurn, Piece, Workers


@dataclass(frozen=True, slots=True)
class Helpers:
    """Who looks at files, and where results are kept: None: nowhere. ``fresh``: every file is
    looked at, whatever is known."""

    workers: Workers = field(default_factory=InTurn)
    results: Results | None = None
    fresh: bool = False


@dataclass(frozen=True, slots=True)
class Item:
    """A file: how many come before it, where it is, its name counted from the folder given."""

    number: int
    path: Path
    name: Path


def items(paths: Sequence[Path], video: Finder) -> Iterator[Item]:
    """Every recording once, path by path and each folder in order. A file that is given itself
    and lies in a folder given as well counts to the one that is named first.

    Raises NotFound, RecordingError before the first comes.
    """
    first = {path: number for number, path in reversed(list(enumerate(paths)))}
    found = [(root, video.find(root)) for root in sorted(first)]
    number = 0
    for root, files in found:
        for file in files:
            owners = [first[above] for above in (file, *file.parents) if above in first]
            if first[root] != min(owners):
                continue
            # What lies above the folder that was given says nothing about a file.
            below = (file.name,) if file == root else file.relative_to(root).parts
            yield Item(number, file, Path(*below))
            number += 1


@dataclass(slots=True)
class _State:
    """Where a run stands. ``known``: looks that were remembered and not given out yet."""

    total: int
    memory: Remembered | None
    progress: Progress
    done: int = 0
    what: str = ""
    known: list[tuple[Item, FileLook]] = field(default_factory=list)

    def beat(self) -> None:
        self.progress(self.done, self.total, self.what)

    def finish(self, item: Item) -> None:
        self.done += 1
        self.what = item.name.name
        self.beat()


@dataclass(frozen=True, slots=True)
class _Task:
    item: Item
    key: str
    also: str


def look_at_files(
    paths: Sequence[Path],
    eyes: Eyes,
    *,
    blobs: Blobs | None,
    progress: Progress,
    helpers: Helpers,
) -> Generator[tuple[Item, FileLook], None, None]:
    """Each file with what it shows, in the order in which they are finished. Pictures are
    stored before a look is remembered, and that before the look is given out.

    Raises what ``items`` and ``Workers.run`` raise, StorageError, and what progress raises.
    """
    settings = {
        "max_gap_s": repr(eyes.max_gap_s),
        "pictures": str(eyes.keep),
        "clock": str(eyes.ocr is not None),
        "whole": str(eyes.whole),
    }
    if eyes.references is not None:
        settings["references"] = eyes.references.fingerprint()
    memory = None
    if helpers.results is not None:
        memory = Remembered(helpers.results, blobs, settings, helpers.fresh)
    state = _State(sum(1 for _ in items(paths, eyes.video)), memory, progress)
    pieces = _pieces(paths, eyes, state)
    with closing(helpers.workers.run(partial(_look, eyes=eyes), pieces, state.beat)) as ends:
        for end in ends:
            yield from _handed_out(state)
            task = end.piece.argument
            look = _kept(end, state, blobs)
            state.finish(task.item)
            yield task.item, look
    yield from _handed_out(state)


def _look(task: _Task, beat: Beat, *, eyes: Eyes) -> Seen:
    return look_at(task.item.path, beat, eyes=eyes, name=task.item.name)


def _also(item: Item, references: References | None) -> str:
    """Aim is held against the picture of a file's channel, which is in its name."""
    if references is None:
        return ""
    return f"channel {references.channel_named(item.path, item.name)}"


def _pieces(paths: Sequence[Path], eyes: Eyes, state: _State) -> Iterator[Piece[_Task]]:
    """A piece for each file that nothing is known of yet."""
    video = eyes.video
    for item in items(paths, video):
        state.what = item.name.name
        also = _also(item, eyes.references)
        key = state.memory.key(item.path, also) if state.memory else ""
        look = state.memory.recall(key, item.path) if state.memory else None
        if look is None:
            quiet_s, limit_s = time_limits(video.size(item.path), video.rate(item.path))
            yield Piece(_Task(item, key, also), quiet_s, limit_s)
        else:
            state.known.append((item, look))
            state.finish(item)


def _handed_out(state: _State) -> Iterator[tuple[Item, FileLook]]:
    known, state.known = state.known, []
    yield from known


def _kept(end: Done[_Task, Seen], state: _State, blobs: Blobs | None) -> FileLook:
    """The look, after all of it is stored. One that failed is not: it is tried anew next time."""
    if end.result is None:
        return FileLook(None, (), f"it could not be looked at, in {TRIES} tries: {end.lost}")
    if blobs is not None:
        for picture in end.result.pictures:
            blobs.put(picture)
    task = end.piece.argument
    if state.memory is not None:
        state.memory.keep(task.key, task.item.path, end.result.look, task.also)
    return end.result.look
