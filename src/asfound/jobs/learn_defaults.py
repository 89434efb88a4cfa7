"""Factory defaults from a reading taken right after a factory reset."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from asfound.calc.draft_map import UNKNOWN
from asfound.errors import UsageError
from asfound.model.draft import Draft, DraftPage
from asfound.model.kinds import ReadOnly
from asfound.model.menu_map import Field
from asfound.model.reading import Reading, State


@dataclass(frozen=True, slots=True)
class LearnDefaults:
    """The map as its file has it, and a reading of a recorder just reset; ``overwrite``: a
    default that the map has otherwise is replaced."""

    draft: Draft
    reading: Reading
    firmware: str
    overwrite: bool = False


@dataclass(frozen=True, slots=True)
class Learned:
    """The map with what was learned, and what became of every setting.

    ``learned``: (field id, value). ``same``: ids whose default was known already. ``differ``:
    (id, value of the map, value read). ``unsure``: ids with no sure value. ``uneven``: ids of
    rows that differ between cameras, which a page repeated for each camera cannot say.
    """

    draft: Draft
    learned: tuple[tuple[str, str], ...]
    same: tuple[str, ...]
    differ: tuple[tuple[str, str, str], ...]
    unsure: tuple[str, ...]
    uneven: tuple[str, ...]


class _Notes:
    def __init__(self) -> None:
        self.learned: list[tuple[str, str]] = []
        self.same: list[str] = []
        self.differ: list[tuple[str, str, str]] = []
        self.unsure: list[str] = []
        self.uneven: list[str] = []


def learn_defaults(request: LearnDefaults) -> Learned:
    """Write sure values as factory defaults of ``firmware``; doubts are never written.

    Raises UsageError when the map does not describe the firmware.
    """
    draft, firmware = request.draft, request.firmware
    if draft.firmware == (UNKNOWN,):
        draft = replace(draft, firmware=(firmware,))
    if firmware not in draft.firmware:
        raise UsageError(
            f"menu map {draft.id} does not describe firmware {firmware!r}; it knows "
            f"{', '.join(draft.firmware)}; add it to firmware, oldest first"
        )
    sure = {
        one.id: one.value
        for one in request.reading.fields
        if one.state is State.SURE and one.value is not None
    }
    notes = _Notes()
    pages = tuple(_page(page, draft, sure, request, notes) for page in draft.pages)
    return Learned(
        replace(draft, pages=pages),
        tuple(notes.learned),
        tuple(notes.same),
        tuple(notes.differ),
        tuple(notes.unsure),
        tuple(notes.uneven),
    )


def _page(
    page: DraftPage, draft: Draft, sure: Mapping[str, str], request: LearnDefaults, notes: _Notes
) -> DraftPage:
    cameras = range(1, draft.cameras + 1) if page.for_each_camera else range(0)
    read = {one.id for one in request.reading.fields}
    fields = []
    for item in page.fields:
        ids = [item.id.replace("{n}", str(n)) for n in cameras] or [item.id]
        settable = not isinstance(item.type, ReadOnly) and not item.volatile
        present = any(name in read for name in ids)
        fields.append(
            _field(item, {name: sure.get(name) for name in ids}, draft, request, notes)
            if settable and present
            else item
        )
    return replace(page, fields=tuple(fields))


def _field(
    item: Field,
    values: Mapping[str, str | None],
    draft: Draft,
    request: LearnDefaults,
    notes: _Notes,
) -> Field:
    known = [value for value in values.values() if value is not None]
    if not known:
        notes.unsure.append(item.id)
        return item
    value = _common(list(values.values()))
    if value is None:
        notes.uneven.append(item.id)
        return item
    now = dict(item.defaults).get(request.firmware, item.default)
    if now == value:
        notes.same.append(item.id)
        return item
    if now is not None:
        notes.differ.append((item.id, now, value))
        if not request.overwrite:
            return item
    notes.learned.append((item.id, value))
    if item.default is None and not item.defaults and len(draft.firmware) == 1:
        return replace(item, default=value)
    others = tuple(pair for pair in item.defaults if pair[0] != request.firmware)
    if len(draft.firmware) == 1:
        return replace(item, default=value, defaults=others)
    return replace(item, defaults=(*others, (request.firmware, value)))


def _common(values: list[str | None]) -> str | None:
    """The one value of all cameras, with ``{n}`` where it holds the camera's number; what one
    photograph leaves in doubt, the others may say."""
    told = [(number, value) for number, value in enumerate(values, 1) if value is not None]
    plain = {value for _, value in told}
    if len(plain) == 1:
        return plain.pop()
    patterns = {value.replace(str(number), "{n}") for number, value in told}
    if len(values) > 1 and len(patterns) == 1 and "{n}" in (pattern := patterns.pop()):
        return pattern
    return None
