"""Visit verb: count which hours are on disk, and keep what came out in the visit's journal."""

from __future__ import annotations

from dataclasses import dataclass

from asfound.calc.plain_text import plain
from asfound.errors import UsageError
from asfound.jobs.coverage import Cover, cover
from asfound.jobs.visit_fold import changes_done
from asfound.jobs.visit_journal import Book, Desk, load_visit, named
from asfound.model.coverage import IgnitionLog
from asfound.model.visit import CoverageTaken, VisitState


@dataclass(frozen=True, slots=True)
class VisitCover:
    """Hold what is on disk against what should be, for a visit.

    ``file`` is the name of the log or schedule that ``cover.expected`` was read from; ``paths``
    are the places that were searched.
    """

    visit: str
    cover: Cover
    file: str
    paths: tuple[str, ...]
    by: str


def visit_cover(request: VisitCover, *, desk: Desk) -> VisitState:
    """Count the hours and record them, with the log or schedule they were held against.

    Any open visit takes a count at any moment: before a drive goes, nothing else tells how many
    days were kept. Raises UsageError (closed, no name) before anything is opened, what ``cover``
    and the pieces raise, StorageError.
    """
    by = named(request.by)
    state = load_visit(request.visit, store=desk.store, blobs=desk.blobs)
    if state.closed:
        raise UsageError(
            f"visit {state.id} is closed and takes no more entries; "
            f"open a new one: asfound visit open {state.vehicle.number}"
        )
    made = cover(request.cover)
    expected = request.cover.expected
    book = Book(request.visit, desk)
    data = {
        "coverage": book.keep(made),
        "expected": book.keep(expected),
        "against": "ignition" if isinstance(expected, IgnitionLog) else "schedule",
        "file": plain(request.file),
        "paths": [plain(path) for path in request.paths],
    }
    return book.write(by, "coverage-taken", data)


def since_change(state: VisitState, taken: CoverageTaken) -> bool:
    """True when the recorder was not changed after ``taken``."""
    return taken.changes == changes_done(state)
