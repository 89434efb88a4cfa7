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

    Photographs that agree make one value; a sure value stands over a doubt that allows it;
    what contradicts becomes a doubt with every value as a candidate. A running value (a clock)
    differs from photograph to photograph: the last that is sure stands.
    """
    if not looks:
        reason = "its page was not photographed"
        return FieldReading(field.id, field.label, "", None, State.UNREAD, reason=reason)
    sure = [look for look in looks if look.state is State.SURE]
    read = [look for look in looks if look.state is not State.UNREAD]
    if not read:
        return looks[0]
    if sure and (field.volatile or all(_allows(look, sure[0]) for look in read)):
        return sure[-1]
    if len(read) == 1:
        return read[0]
    values = [look.value for look in (*sure, *read) if look.value is not None]
    values += [value for look in read for value in look.candidates]
    differ = len({look.value for look in read}) > 1
    return replace(
        (sure or read)[0],
        state=State.DOUBT,
        candidates=tuple(dict.fromkeys(values)),
        reason="photographs say different things" if differ else read[0].reason,
    )


def _allows(look: FieldReading, sure: FieldReading) -> bool:
    if look.state is State.SURE:
        return look.value == sure.value
    return not look.candidates or sure.value in look.candidates
