"""Add up what several photographs say: every field of the firmware exactly once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from asfound.model.menu_map import Field, MenuMap
from asfound.model.reading import FieldReading, PhotoReading, Reading, State


def merge_photos(menu_map: MenuMap, firmware: str, photos: Sequence[PhotoReading]) -> Reading:
    """One reading of all photographs, in menu order; pages missing and repeated are named.

    Raises NotFound when the map does not know ``firmware``.
    """
    seen = [photo.page for photo in photos if photo.page is not None]
    looks: dict[str, list[FieldReading]] = {}
    for photo in photos:
        for field in photo.fields:
            looks.setdefault(field.id, []).append(field)
    shown = [page for page in menu_map.pages if menu_map.page_fields(page, firmware)]
    return Reading(
        menu_map.id,
        firmware,
        tuple(photos),
        tuple(
            merge_field(field, looks.get(field.id, [])) for field in menu_map.fields_in(firmware)
        ),
        tuple(page.id for page in shown if page.id not in seen),
        tuple(page.id for page in shown if seen.count(page.id) > 1),
    )


def merge_field(field: Field, looks: Sequence[FieldReading]) -> FieldReading:
    """One field over all its photographs.

    Sure values that differ are a doubt (a running clock excepted: there the last one counts);
    one sure value stands over doubts, unless a doubt's best guess contradicts free of it.
    """
    if not looks:
        reason = "its page was not photographed"
        return FieldReading(field.id, field.label, "", None, State.UNREAD, reason=reason)
    sure = [look for look in looks if look.state is State.SURE]
    values = {look.value for look in sure}
    if len(values) == 1 or (sure and field.volatile):
        return sure[-1]
    if sure:
        candidates = tuple(dict.fromkeys(look.value for look in sure if look.value is not None))
        reason = "two photographs say different things"
        return replace(sure[0], state=State.DOUBT, candidates=candidates, reason=reason)
    doubts = [look for look in looks if look.state is State.DOUBT]
    if not doubts:
        return looks[0]
    candidates = tuple(dict.fromkeys(value for look in doubts for value in look.candidates))
    return replace(doubts[0], candidates=candidates)
