"""A menu map drafted from photographs, alone or onto one that exists."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace

from asfound.calc.draft_field import drafted_field, habits_of
from asfound.calc.draft_fields import Slot, siblings, slots
from asfound.calc.draft_pages import PageGroup, sort_pages, without_chrome
from asfound.calc.draft_shapes import VERSION
from asfound.calc.draft_spelling import best_spelling
from asfound.model.draft import Draft, DraftPage, Shot
from asfound.model.menu_map import Field, Keys

UNKNOWN = "as photographed"
"""Stands for the firmware version where no photograph shows one."""


@dataclass(frozen=True, slots=True)
class Named:
    """What only the person can say about a recorder that was never described."""

    maker: str
    model: str

    @property
    def id(self) -> str:
        """Both names as an id."""
        return slug(f"{self.maker} {self.model}") or "recorder"


def draft_map(shots: Sequence[Shot], named: Named, base: Draft | None = None) -> Draft:
    """The map that the photographs show; with ``base`` what they add to it.

    Of ``base`` only what it marks as drafted is changed. Pages that no photograph shows, and
    rows that none shows, stay.
    """
    names = (f"{named.maker} {named.model}", named.model, named.maker)
    shots = without_chrome(shots, names)
    groups = sort_pages(shots, base.pages if base else ())
    rows = [slots(group) for group in groups]
    kept = [(group, found) for group, found in zip(groups, rows, strict=True) if found]
    habits = habits_of([slot for _, found in kept for slot in found])
    ids: set[str] = {page.id for page in base.pages} if base else set()
    pages = []
    for group, found in kept:
        page_id = group.known.id if group.known else _unique(_page_slug(group), ids)
        pooled = siblings(found)
        taken: set[str] = {slot.known.id for slot in found if slot.known}
        fields = [
            drafted_field(slot, more, _field_id(page_id, slot, taken), habits)
            for slot, more in zip(found, pooled, strict=True)
        ]
        if group.known is not None and not group.known.drafted:
            fields = [_told_new(item, slot) for item, slot in zip(fields, found, strict=True)]
        pages.append(_page(group, page_id, tuple(fields)))
    pages = _grouped(pages)
    return _whole(pages, groups, named, base)


def _whole(
    pages: Sequence[DraftPage], groups: Sequence[PageGroup], named: Named, base: Draft | None
) -> Draft:
    cameras = max((camera for group in groups for camera in group.cameras), default=1)
    versions = _versions(pages)
    if base is not None:
        firmware = versions if base.firmware == (UNKNOWN,) else base.firmware
        return replace(
            base,
            pages=tuple(pages),
            cameras=max(base.cameras, cameras),
            firmware=firmware or base.firmware,
        )
    two_level = any(page.group for page in pages)
    keys = Keys("two-level" if two_level else "flat", "Up", "Down", "Left", "Right", "OK", "Back",
                "-", "+", "" if two_level else "Next", "" if two_level else "Previous",
                "Right", "Left", save="leave", drafted=True)  # fmt: skip
    return Draft(
        named.id, named.maker, named.model, cameras, versions or (UNKNOWN,), keys, tuple(pages)
    )


def _versions(pages: Sequence[DraftPage]) -> tuple[str, ...]:
    """The firmware versions that were seen, oldest first."""
    seen = {
        value
        for page in pages
        for item in page.fields
        if item.means == "firmware"
        for value, _ in item.seen
        if VERSION.fullmatch(value)
    }
    return tuple(sorted(seen, key=lambda text: [int(part) for part in re.findall(r"\d+", text)]))


def _page(group: PageGroup, page_id: str, fields: tuple[Field, ...]) -> DraftPage:
    known = group.known
    if known is not None:
        # What a person confirmed is not touched, not even to count photographs.
        title, seen = known.title, known.seen
        if "title" in known.drafted and group.shots:
            title = best_spelling([title] * max(seen, 1) + group.titles)
            seen += len(group.shots)
        return replace(known, title=title, fields=fields, seen=seen)
    cameras, check = group.cameras, ""
    if group.repeated:
        missing = [str(n) for n in range(1, max(cameras) + 1) if n not in cameras]
        if missing:
            check = f"not photographed: {', '.join(missing)}"
    elif not group.title or max(shot.heading_score for shot, _ in group.shots) < 0.8:
        check = "its title was hardly legible"
    return DraftPage(
        page_id, group.title or page_id, fields, group.group, group.repeated,
        ("title", "group") if group.group else ("title",), check, len(group.shots),
    )  # fmt: skip


def _grouped(pages: Sequence[DraftPage]) -> list[DraftPage]:
    """Where some pages name a group all have one, and the pages of one stand together."""
    if not any(page.group for page in pages):
        return list(pages)
    filled: list[DraftPage] = []
    last: str | None = next(page.group for page in pages if page.group)
    for page in pages:
        if page.group is None:
            page = replace(page, group=last, check=page.check or "which group is it in?")
        last = page.group
        filled.append(page)
    order = list(dict.fromkeys(page.group for page in filled))
    return sorted(filled, key=lambda page: order.index(page.group))


def _told_new(item: Field, slot: Slot) -> Field:
    """A row that a page confirmed by a person did not have."""
    if slot.known is not None:
        return item
    check = "; ".join(filter(None, ("new on a page that was confirmed without it", item.check)))
    return replace(item, check=check)


def slug(text: str) -> str:
    """``text`` as an id: a-z and 0-9, joined by hyphens; "" when nothing is left."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    return "-".join(re.findall(r"[a-z0-9]+", plain.encode("ascii", "ignore").decode()))[:40]


def _page_slug(group: PageGroup) -> str:
    name = slug(group.title.replace("{n}", " ")) or "page"
    return f"{name}-{{n}}" if group.repeated else name


def _unique(name: str, ids: set[str]) -> str:
    trial, number = name, 2
    while trial in ids:
        trial, number = f"{name}-{number}", number + 1
    ids.add(trial)
    return trial


def _field_id(page_id: str, slot: Slot, taken: set[str]) -> str:
    if slot.known is not None:
        return slot.known.id
    name = slug(slot.label.replace("{n}", " ")) or "row"
    return _unique(f"{page_id}.{name}", taken)
