"""Visit verb: paint passwords over in the stored photographs, and delete the originals.

Order, so that a process killed anywhere loses nothing and leaves nothing: the copies are durable,
then the journal says which copy stands for which original, then the originals are deleted, then
the journal says that, too. Run again, it goes on where it stood.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from asfound.calc.secret_areas import GREY
from asfound.errors import PictureError
from asfound.jobs.fold_secrets import outstanding, pending_removals, unplaced_text
from asfound.jobs.hidden_pixels import without_secrets
from asfound.jobs.visit_journal import Book, Desk, load_visit, named
from asfound.model.visit import SecretPicture, VisitState
from asfound.ports.blobs import Blobs
from asfound.ports.pictures import Repainter
from asfound.ports.progress import Progress, silent
from asfound.ports.store import Store

BLANK = (48, 64, 3)
"""Height, width and channels of the picture that stands for a damaged photograph."""

READ_KINDS = ("as-found-read", "as-left-read")


@dataclass(frozen=True, slots=True)
class HideSecrets:
    """Paint over what shows secrets. ``whole``: photographs of which it could not be told where
    a secret stands are painted over from edge to edge, and of damaged ones, which cannot be
    opened for that, a grey picture takes the place; else they are left as they are."""

    visit: str
    by: str
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Hidden:
    """What was done: ``painted`` photographs and ``removed`` originals; ``left`` says, a line
    each, what still shows a secret, or may."""

    state: VisitState
    painted: int
    removed: int
    left: tuple[str, ...]


def hide_secrets(
    request: HideSecrets, *, desk: Desk, pictures: Repainter, progress: Progress = silent
) -> Hidden:
    """Hide the secrets of everything read so far.

    Raises UsageError (no name, the visit is closed), IntegrityError and NotFound (a photograph
    is missing or altered), StorageError.
    """
    book = Book(request.visit, desk)
    by = named(request.by)
    left: list[str] = []
    entries: list[dict[str, object]] = []
    todo = outstanding(book.state)
    for done, item in enumerate(todo):
        progress(done, len(todo), Path(item.file).name)
        if not item.placed and not request.whole:
            left.append(f"{_name(item)}: {unplaced_text(item)}")
            continue
        try:
            copy = _copy(item, request, desk.blobs, pictures)
        except PictureError as error:
            left.append(str(error))
            continue
        new = desk.blobs.put(copy)
        entries.append({"old": item.sha256, "new": new, "fields": _fields(item)})
    if entries:
        book.write(by, "secrets-hidden", {"pictures": entries})
    removed, kept = _remove_originals(book, by)
    progress(len(todo), len(todo), "")
    return Hidden(book.state, len(entries), removed, (*left, *kept))


def _copy(item: SecretPicture, request: HideSecrets, blobs: Blobs, pictures: Repainter) -> bytes:
    """What takes the photograph's place. Raises PictureError, IntegrityError, NotFound."""
    if item.damaged:
        # Nothing of it can be opened, so nothing of it is kept: a grey picture stands for it.
        return pictures.encode_jpeg(np.full(BLANK, GREY[0], np.uint8))
    data = blobs.get(item.sha256)
    picture = pictures.decode(data, _name(item))
    pixels = without_secrets(picture, item.spots, whole=request.whole)
    return pictures.encode_like(pixels, data, _name(item))


def _remove_originals(book: Book, by: str) -> tuple[int, list[str]]:
    """Deletes what is to go and no other visit needs; how many, and what stays and why."""
    waiting = pending_removals(book.state)
    if not waiting:
        return 0, []
    desk = book.desk
    for item in book.state.hidden:
        if item.old in waiting:
            desk.blobs.get(item.new)  # the copy is whole: only then may the original go
    needed = _needed_elsewhere(waiting, book.state.id, desk.store, desk.blobs)
    gone = [name for name in waiting if name not in needed]
    for name in gone:
        desk.blobs.remove(name)
    if gone:
        book.write(by, "originals-removed", {"pictures": gone})
    return len(gone), [
        f"picture {name[:12]}…: visit {other} rests on the original, too; hide its secrets there"
        for name, other in needed.items()
    ]


def _needed_elsewhere(
    names: Iterable[str], visit: str, store: Store, blobs: Blobs
) -> Mapping[str, str]:
    """Name of a picture -> another visit that reads it and has no copy of its own."""
    needed: dict[str, str] = {}
    wanted = {name: name.encode("ascii") for name in names}
    for other in store.visits():
        if other == visit:
            continue
        found: set[str] = set()
        for entry in store.entries(other):
            reading = str(entry.data.get("reading", "")) if entry.kind in READ_KINDS else ""
            if blobs.has(reading):
                data = blobs.get(reading)
                found |= {name for name, raw in wanted.items() if raw in data}
        if found:
            state = load_visit(other, store=store, blobs=blobs)
            found -= {item.old for item in state.hidden}
        needed |= dict.fromkeys(found, other)
    return needed


def _fields(item: SecretPicture) -> list[str]:
    """Ids of what was painted over; "*" for the whole photograph."""
    return [spot.field if spot.outline is not None else "*" for spot in item.spots]


def _name(item: SecretPicture) -> str:
    return Path(item.file).name
