"""Draft a menu map from photographs of a recorder that was never described."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from asfound.calc.draft_map import Named, draft_map
from asfound.errors import NotFound, PictureError, UsageError
from asfound.jobs.draft_shot import draft_shot
from asfound.model.draft import Draft, Shot
from asfound.model.menu_map import Field
from asfound.ports.blobs import Blobs
from asfound.ports.ocr import Ocr
from asfound.ports.pictures import Pictures
from asfound.ports.progress import Progress, silent

LONGEST_SIDE = 4096
"""Pixels; larger photographs are scaled down."""


@dataclass(frozen=True, slots=True)
class DraftMap:
    """Photographs of one recorder model, of one vehicle or several. Photographs of one folder
    count as one vehicle's. ``base``: the map to add to; None drafts a new one."""

    photos: tuple[Path, ...]
    maker: str
    model: str
    base: Draft | None = None


@dataclass(frozen=True, slots=True)
class Drafted:
    """The map, what to tell about the photographs, and how many of them were used.

    ``checks``: (page title, row or None, what to look at), the most doubtful pages first.
    ``damaged``: notes on files that are no pictures.
    """

    draft: Draft
    photos: int
    notes: tuple[str, ...]
    checks: tuple[tuple[str, Field | None, str], ...]
    damaged: tuple[str, ...]


def draft_from_photos(
    request: DraftMap,
    *,
    pictures: Pictures,
    ocr: Ocr,
    blobs: Blobs,
    progress: Progress = silent,
) -> Drafted:
    """Look at every photograph once, then put the map together.

    The same content given twice counts once. Raises UsageError without photographs or when none
    shows a menu page, PictureError when none is a picture, NotFound for a missing file,
    StorageError, and Interrupted through ``progress``.
    """
    if not request.photos:
        raise UsageError("no photographs given; name picture files or a folder of them")
    for path in request.photos:
        if not path.exists():
            raise NotFound(f"{path}: no such file; check the path")
    shots: list[Shot] = []
    notes: list[str] = []
    damaged: list[str] = []
    known: set[str] = set()
    for number, path in enumerate(request.photos):
        name = blobs.put_file(path)
        if name not in known:
            known.add(name)
            try:
                picture = pictures.decode(blobs.get(name), path.name, LONGEST_SIDE)
                shots.append(draft_shot(picture.pixels, path.name, str(path.parent), ocr))
            except PictureError as error:
                damaged.append(str(error))
        progress(number + 1, len(request.photos), path.name)
    notes += [f"{shot.name}: no rows of a menu found on it" for shot in shots if not shot.rows]
    used = [shot for shot in shots if shot.rows]
    if not used and damaged:
        raise PictureError("\n".join(damaged))
    if not used:
        raise UsageError(
            "no photograph shows a menu page; photograph the whole monitor, near and in focus"
        )
    draft = draft_map(used, Named(request.maker, request.model), request.base)
    notes += missing_pages(used)
    return Drafted(draft, len(used), tuple(notes), checks(draft), tuple(damaged))


def missing_pages(shots: Sequence[Shot]) -> list[str]:
    """What the page numbers on the screens say about pages that nobody photographed."""
    totals = {shot.total for shot in shots if shot.total is not None}
    seen = {shot.number for shot in shots if shot.number is not None}
    if not seen:
        return []
    last = max(totals, default=max(seen))
    missing = [str(number) for number in range(1, last + 1) if number not in seen]
    if not missing:
        return []
    listed = ", ".join(missing[:12]) + (", ..." if len(missing) > 12 else "")
    return [f"page {listed} of {last} not photographed; add photographs with --onto"]


def checks(draft: Draft) -> tuple[tuple[str, Field | None, str], ...]:
    """All that is marked for the person: pages first, then rows whose type is doubtful, then
    the others, in menu order each."""
    first = [(page.title, None, page.check) for page in draft.pages if page.check]
    rows = [(page.title, item, item.check) for page in draft.pages for item in page.fields]
    marked = [one for one in rows if one[2]]
    doubtful = [one for one in marked if "type" in one[1].drafted and "?" in one[2]]
    rest = [one for one in marked if one not in doubtful]
    return (*first, *doubtful, *rest)
