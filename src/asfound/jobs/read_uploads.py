"""Verb: read what came from phones and waits, a few files at a time, each lot one journal entry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from asfound.calc.media_kind import ENOUGH, clip_suffix
from asfound.errors import AsfoundError, IntegrityError, Interrupted, MissingPart, StorageError
from asfound.jobs.read_clock import NO_FACTS, ClockFacts
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_read import ReadTools, VisitRead, visit_read
from asfound.model.menu_map import MenuMap
from asfound.model.reading import Reading
from asfound.model.upload import Upload
from asfound.model.visit import VisitState
from asfound.ports.progress import Progress, silent
from asfound.ports.uploads import Uploads

LOT = 3
"""Files of one lot as found: what they show is seen after as many times two or three seconds."""

LOT_LEFT = 40
"""As left each lot is a round of its own, so it takes all that are here."""


@dataclass(frozen=True, slots=True)
class ReadWaiting:
    """Read one lot of a visit's waiting uploads."""

    visit: str
    menu_map: MenuMap
    clock: ClockFacts = NO_FACTS


TRIES = 3
"""How often a lot is read while others write to the journal in the moment between."""


def waiting(visit: str, uploads: Uploads) -> Sequence[Upload]:
    """What waits to be read, oldest first."""
    return [item for item in uploads.of(visit) if item.state == "waiting"]


def read_waiting(
    request: ReadWaiting,
    *,
    desk: Desk,
    tools: ReadTools,
    uploads: Uploads,
    progress: Progress = silent,
) -> int:
    """Read the next lot; returns how many files it had, 0 when nothing waits.

    What cannot be read now (another firmware, a locked step) is marked with the reason, and is
    no error here. Raises StorageError, MissingPart, and Interrupted through ``progress``: the lot
    still waits then.
    """
    state = load_visit(request.visit, store=desk.store, blobs=desk.blobs)
    lot = _next_lot(request, state, uploads)
    fresh = [item for item in lot if item.sha256 not in _known(state, item.as_left)]
    note = _outcome(request, fresh, desk, tools, uploads, progress) if fresh else ""
    for item in lot:
        failed = bool(note) and item in fresh
        said = note if failed else ""
        uploads.save(replace(item, state="failed" if failed else "read", note=said))
        if not failed:
            uploads.clear(item)
    return len(lot)


def _next_lot(request: ReadWaiting, state: VisitState, uploads: Uploads) -> list[Upload]:
    """The oldest, and those behind it of the same person and moment."""
    here = waiting(request.visit, uploads)
    if not here:
        return []
    first = here[0]
    alike = [item for item in here if (item.as_left, item.by) == (first.as_left, first.by)]
    return alike[: LOT_LEFT if first.as_left else LOT]


def _outcome(
    request: ReadWaiting,
    lot: Sequence[Upload],
    desk: Desk,
    tools: ReadTools,
    uploads: Uploads,
    progress: Progress,
) -> str:
    """Why the lot could not be read; "" when it was."""
    said = ""
    for _ in range(TRIES):
        try:
            _read(request, lot, desk, tools, uploads, progress)
        except (StorageError, Interrupted, MissingPart):
            raise
        except IntegrityError as error:
            # Somebody wrote at the very moment: nothing was recorded, and it is read again.
            said = str(error)
        except AsfoundError as error:
            return str(error)
        else:
            return ""
    return said


def _read(
    request: ReadWaiting,
    lot: Sequence[Upload],
    desk: Desk,
    tools: ReadTools,
    uploads: Uploads,
    progress: Progress,
) -> None:
    paths = {_path(item, desk, uploads): item.name for item in lot}

    def named(done: int, total: int, what: str) -> None:
        known = next((name for path, name in paths.items() if path.name == what), what)
        progress(done, total, known)

    read = VisitRead(
        request.visit, request.menu_map, tuple(paths), lot[0].by, lot[0].as_left, request.clock,
        paths,
    )  # fmt: skip
    visit_read(read, desk=desk, tools=tools, progress=named)


def _path(upload: Upload, desk: Desk, uploads: Uploads) -> Path:
    if upload.kind == "photograph":
        return desk.blobs.path(upload.sha256)
    with uploads.path(upload).open("rb") as stream:
        return uploads.path(upload, clip_suffix(stream.read(ENOUGH)))


def _known(state: VisitState, as_left: bool) -> frozenset[str]:
    """Hashes of what the present reading rests on: a killed server may have read a lot and not
    come to mark it."""
    reading: Reading | None = state.as_found
    if as_left:
        reading = state.rounds[-1].reading if state.rounds else None
    photos = reading.photos if reading is not None else ()
    return frozenset(
        name for one in photos for name in (one.sha256, one.clip, one.original) if name
    )
