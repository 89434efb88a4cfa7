"""Two readings of one recorder made into one, when pages were photographed again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from asfound.errors import UsageError
from asfound.model.menu_map import MenuMap
from asfound.model.reading import FieldReading, Reading, State

Choose = Callable[[FieldReading, FieldReading], FieldReading]


def add_photos(menu_map: MenuMap, before: Reading, more: Reading) -> Reading:
    """``before`` with ``more`` photographs of the same, unchanged settings.

    A sure value stands over a doubt; two sure values that differ become a doubt with both as
    candidates. Raises UsageError when the readings are of another map or firmware.
    """
    return _joined(menu_map, before, more, _agree)


def replace_pages(menu_map: MenuMap, before: Reading, after: Reading) -> Reading:
    """``before`` with the pages of ``after`` in place of its own: they were mended meanwhile.

    Pages that were not photographed again keep their values. Raises UsageError as above.
    """
    return _joined(menu_map, before, after, lambda _, new: new)


def _joined(menu_map: MenuMap, before: Reading, now: Reading, choose: Choose) -> Reading:
    if (before.map_id, before.firmware) != (now.map_id, now.firmware):
        raise UsageError(
            f"these photographs are of {now.map_id} {now.firmware}, the earlier ones of "
            f"{before.map_id} {before.firmware}; read them as one set"
        )
    seen = {photo.page for photo in now.photos if photo.page is not None}
    old = {field.id: field for field in before.fields}
    fields = tuple(
        (choose(old[new.id], new) if menu_map.page_of(new.id).id in seen else old[new.id])
        if new.id in old
        else new
        for new in now.fields
    )
    photos = (*before.photos, *now.photos)
    pages = [photo.page for photo in photos]
    return replace(
        now,
        photos=photos,
        fields=fields,
        missing_pages=tuple(page for page in now.missing_pages if page in before.missing_pages),
        repeated_pages=tuple(page.id for page in menu_map.pages if pages.count(page.id) > 1),
    )


def _agree(old: FieldReading, new: FieldReading) -> FieldReading:
    if new.state is State.UNREAD:
        return old
    if old.state is State.SURE and new.state is State.SURE and old.value != new.value:
        both = tuple(value for value in (new.value, old.value) if value is not None)
        return replace(
            new, state=State.DOUBT, candidates=both, reason="two photographs say different things"
        )
    if old.state is State.SURE:
        return old
    if new.state is State.SURE or old.state is State.UNREAD:
        return new
    return replace(new, candidates=tuple(dict.fromkeys((*new.candidates, *old.candidates))))
