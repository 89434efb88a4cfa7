"""Photographs of an unknown menu sorted into its pages, in menu order."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from asfound.calc.draft_heading import CLOCK
from asfound.calc.draft_spelling import best_spelling, folded
from asfound.calc.draft_titles import alike, camera_of, overlap, same_title, split_groups, title_key
from asfound.calc.draft_words import CAMERA
from asfound.model.draft import DraftPage, Shot, ShownRow

SURE_TITLE = 0.7
"""Score from which a heading may tell pages apart."""


@dataclass
class PageGroup:
    """The photographs of one page, or of one page repeated for each camera.

    ``shots`` come with the camera's number, None on a page of its own. ``place`` sorts pages.
    ``known``: the page of the map that is drafted on; ``titles``: how photographs spell it.
    """

    title: str
    group: str | None
    shots: list[tuple[Shot, int | None]]
    place: float = 0.0
    repeated: bool = False
    known: DraftPage | None = None
    titles: list[str] = field(default_factory=list)
    labels: list[str] = field(default_factory=list)

    @property
    def cameras(self) -> list[int]:
        """The cameras that were photographed."""
        return sorted({camera for _, camera in self.shots if camera is not None})


def without_chrome(shots: Sequence[Shot], names: Sequence[str]) -> list[Shot]:
    """The photographs without the rows that belong to no page: a status line with the
    recorder's name and clock, a line that stands at the end of pages of every kind."""
    pages: dict[str, set[str]] = {}
    for shot in shots:
        for row in _ends(shot):
            if CLOCK.search(row.sample.text) or not row.sample.text:
                pages.setdefault(folded(row.label), set()).add(title_key(shot.heading))
    titles = {title_key(shot.heading) for shot in shots}
    often = {key for key, seen in pages.items() if len(seen) >= max(2, 0.3 * len(titles))}
    kept = []
    for shot in shots:
        ends = _ends(shot)
        out = [
            row
            for row in ends
            if alike(row.label, names[0]) > 0.8
            or (
                (folded(row.label) in often or any(alike(row.label, name) > 0.8 for name in names))
                and (CLOCK.search(row.sample.text) or not row.sample.text)
            )
        ]
        kept.append(replace(shot, rows=tuple(row for row in shot.rows if row not in out)))
    return kept


def _ends(shot: Shot) -> tuple[ShownRow, ...]:
    return (*shot.rows[:1], *shot.rows[-2:]) if len(shot.rows) > 3 else shot.rows


def sort_pages(shots: Sequence[Shot], known: Sequence[DraftPage] = ()) -> list[PageGroup]:
    """The photographs by page, pages in menu order. A photograph without rows has no page."""
    split = split_groups(shot.heading for shot in shots)
    groups = [_known_group(page, index) for index, page in enumerate(known)]
    rest: list[Shot] = []
    for shot in shots:
        if not shot.rows:
            continue
        if not _join_known(groups, shot, split[shot.heading]):
            rest.append(shot)
    fresh = _by_title(rest, split)
    fresh = _repeated(fresh) if not any(group.repeated for group in groups) else fresh
    _place(fresh, shots, groups)
    return sorted([*groups, *fresh], key=lambda group: group.place)


def _known_group(page: DraftPage, index: int) -> PageGroup:
    labels = [item.label for item in page.fields]
    group = PageGroup(page.title, page.group, [], 1000.0 * (index + 1), page.for_each_camera)
    group.known, group.labels = page, labels
    return group


def _join_known(groups: list[PageGroup], shot: Shot, heading: tuple[str | None, str]) -> bool:
    labels = [row.label for row in shot.rows]
    for group in groups:
        for title in {heading[1], shot.heading, _behind(shot.heading, group.group)}:
            camera, told = None, None
            if group.repeated:
                told = camera_of(title)
                if told is None or folded(told[0]) != folded(group.title):
                    continue
                camera = told[1]
            elif not same_title(title, group.title):
                continue
            own = [label.replace("{n}", str(camera)) for label in group.labels]
            if overlap(labels, own) >= 0.3:
                group.shots.append((shot, camera))
                group.titles.append(told[0] if told is not None else title)
                return True
    return False


def _behind(heading: str, group: str | None) -> str:
    if group and folded(heading).startswith(folded(group)):
        return heading[len(group) :].lstrip(" >:»›→|/-–")
    return heading


def _by_title(shots: Sequence[Shot], split: dict[str, tuple[str | None, str]]) -> list[PageGroup]:
    """Photographs under one heading; a heading that is not legible is told by its labels."""
    groups: list[PageGroup] = []
    for shot in sorted(shots, key=lambda one: -one.heading_score):
        group, title = split[shot.heading]
        best = _fitting(groups, shot, title)
        if best is None:
            groups.append(PageGroup(title, group, [(shot, None)], labels=_labels(shot)))
        else:
            best.shots.append((shot, None))
            if len(shot.rows) > len(best.labels):
                best.labels = _labels(shot)
    for one in groups:
        titles = [split[shot.heading] for shot, _ in one.shots if shot.heading_score > SURE_TITLE]
        if titles:
            key = Counter(title_key(title) for _, title in titles).most_common(1)[0][0]
            one.title = best_spelling(title for _, title in titles if title_key(title) == key)
            named = [group for group, _ in titles if group]
            one.group = best_spelling(named) if named else None
    return groups


def _labels(shot: Shot) -> list[str]:
    return [row.label for row in shot.rows]


def _fitting(groups: Sequence[PageGroup], shot: Shot, title: str) -> PageGroup | None:
    labels = _labels(shot)
    for group in groups:
        if same_title(title, group.title) and overlap(labels, group.labels) >= 0.3:
            return group
    for group in groups:
        numbers = {one.number for one, _ in group.shots if one.number is not None}
        near = title_key(title)[:3] == title_key(group.title)[:3]
        weak = shot.heading_score < SURE_TITLE or not title
        likely = overlap(labels, group.labels) >= 0.8
        if likely and shot.number in numbers and (near or weak):
            return group
    return None


def _repeated(groups: list[PageGroup]) -> list[PageGroup]:
    """Pages that differ by a number only, with the same rows, become one for each camera.

    Only one set of pages can be the cameras: the one whose title says so, else the largest.
    """
    families: dict[str, list[tuple[PageGroup, int, str]]] = {}
    for group in groups:
        if (told := camera_of(group.title)) is not None:
            families.setdefault(folded(told[0]), []).append((group, told[1], told[0]))
    fitting = {
        key: members
        for key, members in families.items()
        if len({number for _, number, _ in members}) >= 2
        and all(overlap(one.labels, members[0][0].labels) >= 0.6 for one, _, _ in members)
        and min(number for _, number, _ in members) >= 1
    }
    if not fitting:
        return groups
    key = max(fitting, key=lambda k: (CAMERA.search(fitting[k][0][2]) is not None, len(fitting[k])))
    members = fitting[key]
    title = best_spelling(pattern for _, _, pattern in members)
    named = [group.group for group, _, _ in members if group.group]
    one = PageGroup(title, best_spelling(named) if named else None, [], repeated=True)
    for group, number, _ in members:
        one.shots += [(shot, number) for shot, _ in group.shots]
    one.labels = max((group.labels for group, _, _ in members), key=len)
    inside = {id(group) for group, _, _ in members}
    for group in groups:
        if id(group) in inside or overlap(group.labels, one.labels) < 0.7:
            continue
        camera = _told_camera(group, one)
        if camera is not None:
            one.shots += [(shot, camera) for shot, _ in group.shots]
            inside.add(id(group))
    return [*(group for group in groups if id(group) not in inside), one]


def _told_camera(group: PageGroup, family: PageGroup) -> int | None:
    """The camera of a page with the family's rows whose heading lost its number: by what
    stands where the number should, else by the page's number on the screen."""
    before, title = family.title.partition("{n}")[0].strip(), group.title.strip()
    if title and not folded(title).startswith(folded(before)[:3]):
        return None
    told = re.match(rf"{re.escape(before)}\s*(\d{{1,2}})(?!\d)", title, re.IGNORECASE)
    if told is not None:
        return int(told[1])
    ahead = Counter(
        shot.number - camera
        for shot, camera in family.shots
        if shot.number is not None and camera is not None
    )
    numbers = {shot.number for shot, _ in group.shots if shot.number is not None}
    if not ahead or len(numbers) != 1:
        return None
    offset, votes = ahead.most_common(1)[0]
    camera = numbers.pop() - offset
    return camera if votes >= 2 and camera >= 1 and camera not in family.cameras else None


def _place(fresh: list[PageGroup], shots: Sequence[Shot], known: list[PageGroup]) -> None:
    """Sort by the page numbers on the screens; a page without one comes after the page that
    was photographed before it."""
    owner = {id(shot): group for group in [*known, *fresh] for shot, _ in group.shots}
    numbered = [group for group in fresh if _number(group) is not None]
    if not known and numbered:
        for group in numbered:
            group.place = 1000.0 * float(_number(group) or 0)
    before: dict[str, PageGroup | None] = {}
    for order, shot in enumerate(shots):
        mine = owner.get(id(shot))
        if mine is None:
            continue
        last = before.get(shot.batch)
        if mine.place == 0.0:
            after = last.place if last is not None else 0.0
            mine.place = after + 1.0 + 0.001 * order
        before[shot.batch] = mine


def _number(group: PageGroup) -> int | None:
    """The page number that most photographs show; of repeated pages the first one's."""
    first = min(group.cameras, default=None)
    votes = Counter(
        shot.number for shot, camera in group.shots if shot.number is not None and camera == first
    )
    return votes.most_common(1)[0][0] if votes else None
