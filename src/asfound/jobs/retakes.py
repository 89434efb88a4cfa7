"""Which pages are worth photographing again, before anybody types a value."""

from __future__ import annotations

from collections.abc import Collection

from asfound.model.menu_map import MenuMap
from asfound.model.reading import PhotoReading, Reading, State
from asfound.model.retake import Cause, Fault, Retake

WORTH = 2
"""Uncertain values of one page that another photograph would settle. A single one is settled
faster by a key than by going back to its page (common practice, no source)."""


def retakes(
    reading: Reading, menu_map: MenuMap, settled: Collection[str] = ()
) -> tuple[Retake, ...]:
    """Pages to photograph again, those that settle most values first; then photographs that
    show no page, while a page is missing. Only what a better photograph would settle counts:
    a look-alike stays a doubt however sharp it is. Fields in ``settled`` are known already.
    """
    pages = [page.id for page in menu_map.pages if menu_map.page_fields(page, reading.firmware)]
    uncertain = {field.id for field in reading.fields if field.state is not State.SURE}
    uncertain -= set(settled)
    made = []
    for number, page_id in enumerate(pages, 1):
        photos = [photo for photo in reading.photos if photo.page == page_id]
        faults = {
            name: (photo, fault)
            for photo in photos
            for fault in photo.faults
            for name in fault.fields
            if name in uncertain
        }
        if len(faults) >= WORTH:
            made.append(_retake(reading, menu_map, page_id, (number, len(pages)), faults))
    made.sort(key=lambda one: len(one.rows), reverse=True)
    if reading.missing_pages:
        for photo in reading.photos:
            if photo.page is None and photo.faults:
                hints = tuple(dict.fromkeys(fault.hint for fault in photo.faults))
                made.append(Retake(None, "", 0, len(pages), photo.file, (), hints, _causes(photo)))
    return tuple(made)


def _retake(
    reading: Reading,
    menu_map: MenuMap,
    page_id: str,
    place: tuple[int, int],
    faults: dict[str, tuple[PhotoReading, Fault]],
) -> Retake:
    page = menu_map.page(page_id)
    rows = tuple(
        (field.id, row, field.label, faults[field.id][1].cause)
        for row, field in enumerate(menu_map.page_fields(page, reading.firmware), 1)
        if field.id in faults
    )
    by_hint: dict[str, int] = {}
    for _, fault in faults.values():
        by_hint[fault.hint] = by_hint.get(fault.hint, 0) + 1
    hints = tuple(sorted(by_hint, key=lambda hint: -by_hint[hint]))
    title = f"{page.group}: {page.title}" if page.group else page.title
    file = next(iter(faults.values()))[0].file
    causes = tuple(dict.fromkeys(cause for *_, cause in rows))
    return Retake(page_id, title, *place, file, rows, hints, causes)


def _causes(photo: PhotoReading) -> tuple[Cause, ...]:
    return tuple(dict.fromkeys(fault.cause for fault in photo.faults))
