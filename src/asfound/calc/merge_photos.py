"""Add up what several photographs say: every field of the firmware exactly once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from asfound.calc.look_alikes import folded
from asfound.model.kinds import Host, ReadOnly, Secret, Text
from asfound.model.menu_map import Field, MenuMap
from asfound.model.reading import FieldReading, PhotoReading, Reading, State

CERTAIN, FAINT = 0.985, 0.8
"""Confidence from which a sure value stands, and below which another value's doubt falls, when
they are of different photographs."""

NO_CLIPS: Mapping[str, str] = {}

LIKELY = 0.95
"""Confidence that a value in doubt needs in each of two photographs to be borne out."""


def merge_photos(menu_map: MenuMap, firmware: str, photos: Sequence[PhotoReading]) -> Reading:
    """One reading of all photographs, in menu order; pages missing and repeated are named.

    Raises NotFound when the map does not know ``firmware``.
    """
    seen = [photo.page for photo in photos if photo.page is not None]
    clips = {photo.sha256: photo.clip for photo in photos if photo.clip}
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
            merge_field(field, looks.get(field.id, []), clips)
            for field in menu_map.fields_in(firmware)
        ),
        tuple(page.id for page in shown if page.id not in seen),
        tuple(page.id for page in shown if seen.count(page.id) > 1),
    )


def merge_field(
    field: Field, looks: Sequence[FieldReading], clips: Mapping[str, str] = NO_CLIPS
) -> FieldReading:
    """One field over all its photographs. ``clips``: of frames of a clip, the clip.

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
    if (borne_out := _borne_out(field, read, clips)) is not None:
        return borne_out
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


def _borne_out(
    field: Field, read: Sequence[FieldReading], clips: Mapping[str, str]
) -> FieldReading | None:
    """What another photograph bears out: a certain value against faint other ones, or the same
    value in two that were likely each and are no look-alikes of anything. None without that.

    Two views of one photograph share its faults, and so do frames of one clip: they count as one.
    """
    photos = {clips.get(look.photo, look.photo) for look in read}
    if len(photos) < 2 or field.volatile or isinstance(field.type, Secret):
        return None
    best = max(read, key=lambda look: look.confidence or 0.0)
    others = [look for look in read if look.value != best.value]
    if best.state is State.SURE:
        certain = (best.confidence or 0.0) >= CERTAIN
        faint = all(
            look.state is State.DOUBT and look.confidence is not None and look.confidence < FAINT
            for look in others
        )
        return best if certain and others and faint else None
    if others or not best.value or any((look.confidence or 0.0) < LIKELY for look in read):
        return None
    # Another photograph may show the same look-alike, and hide the same sign at the text's end.
    free = isinstance(field.type, Text | Host | ReadOnly)
    rivals = [
        one
        for look in read
        for one in look.candidates
        if one != best.value
        and (folded(one) == folded(best.value) or (free and folded(best.value) in folded(one)))
    ]
    return None if rivals else replace(best, state=State.SURE, reason="")


def _allows(look: FieldReading, sure: FieldReading) -> bool:
    if look.state is State.SURE:
        return look.value == sure.value
    return not look.candidates or sure.value in look.candidates
