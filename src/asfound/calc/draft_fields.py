"""The rows of one page over all its photographs: labels by vote, values gathered."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from rapidfuzz.distance import Levenshtein

from asfound.calc.draft_pages import PageGroup
from asfound.calc.draft_spelling import folded
from asfound.calc.draft_titles import alike, numbered
from asfound.model.draft import Sample, Shot, ShownRow
from asfound.model.menu_map import Field

ALIKE = 0.7
"""Likeness of two labels from which they may be one row's."""

_SIBLING = re.compile(r"(?<![\w.])(?:\d{1,3}|[A-Z])(?![\w.])")


@dataclass
class Slot:
    """One row of a page: the spellings of its label with their weight, and its values."""

    labels: dict[str, float] = field(default_factory=dict)
    samples: list[Sample] = field(default_factory=list)
    clocks: list[str] = field(default_factory=list)
    known: Field | None = None
    certain: float = 0.0
    shots: set[str] = field(default_factory=set)
    """Names of the photographs that show the row."""

    @property
    def label(self) -> str:
        """The spelling with most weight; of equals the one with more spaces."""
        most = max(self.labels.values())
        best = [text for text, weight in self.labels.items() if weight > most - 1e-9]
        return max(best, key=lambda text: text.count(" "))


def slots(group: PageGroup) -> list[Slot]:
    """The rows of the page, top to bottom."""
    found: list[Slot] = []
    if group.known is not None:
        found = [_known_slot(item) for item in group.known.fields]
    patterns = _camera_labels(group) if group.repeated else {}
    ordered = sorted(group.shots, key=lambda one: -len(one[0].rows))
    for shot, camera in ordered:
        rows = [(patterns.get((camera, folded(row.label)), row.label), row) for row in shot.rows]
        _merge(found, rows, shot)
    kept = [slot for slot in found if slot.known is not None or _believed(slot)]
    return _without_torn(kept)


def _known_slot(item: Field) -> Slot:
    slot = Slot(known=item)
    # What a person wrote, or confirmed, cannot be outvoted.
    weight = float(sum(count for _, count in item.seen) or 1) if "label" in item.drafted else 1e6
    slot.labels[item.label] = weight
    return slot


def _without_torn(found: Sequence[Slot]) -> list[Slot]:
    """The rows without labels seen once that are a neighbour's, torn or misread: the neighbour
    was seen more often, and no photograph shows both. A misread one still has its vote."""
    kept = []
    for at, slot in enumerate(found):
        own, near = folded(slot.label), found[max(0, at - 1) : at + 2]
        owners = [
            other
            for other in near
            if other is not slot
            and (len(other.samples) > 1 or other.known is not None)
            and not other.shots & slot.shots
            and (folded(other.label).startswith(own) or _one_slip(own, folded(other.label)))
        ]
        if slot.known is not None or len(slot.samples) != 1 or not owners:
            kept.append(slot)
        elif _one_slip(own, folded(owners[0].label)):
            owners[0].labels |= slot.labels
            owners[0].samples += slot.samples
    return kept


def _one_slip(own: str, other: str) -> bool:
    return len(own) >= 5 and Levenshtein.distance(own, other) <= 1


def _believed(slot: Slot) -> bool:
    """A row seen once among many photographs, and hardly legible, is no row."""
    return slot.certain >= 0.8 or (len(slot.samples) > 1 and slot.certain >= 0.6)


def _camera_labels(group: PageGroup) -> dict[tuple[int | None, str], str]:
    """(camera, label) -> label with {n}, where the label changes with the camera."""
    patterns: dict[str, set[int]] = {}
    plain: dict[str, set[int]] = {}
    for shot, camera in group.shots:
        if camera is None:
            continue
        for row in shot.rows:
            plain.setdefault(folded(row.label), set()).add(camera)
            if (pattern := numbered(row.label, camera)) != row.label:
                patterns.setdefault(folded(pattern), set()).add(camera)
    told: dict[tuple[int | None, str], str] = {}
    for shot, camera in group.shots:
        if camera is None:
            continue
        for row in shot.rows:
            pattern = numbered(row.label, camera)
            seen = patterns.get(folded(pattern), set())
            if pattern != row.label and len(seen) > len(plain[folded(row.label)]):
                told[camera, folded(row.label)] = pattern
    return told


def _merge(found: list[Slot], rows: Sequence[tuple[str, ShownRow]], shot: Shot) -> None:
    """Add one photograph's rows to the page's, both kept in order."""
    pairs = _align([slot.label for slot in found], [label for label, _ in rows])
    for at, (label, row) in enumerate(rows):
        match = pairs.get(at)
        if match is None:
            slot = Slot()
            place = _place(found, pairs, at)
            found.insert(place, slot)
            pairs = {r: s + (s >= place) for r, s in pairs.items()}
            pairs[at] = place
        else:
            slot = found[match]
        slot.labels[label] = slot.labels.get(label, 0.0) + row.score**4
        slot.samples.append(row.sample)
        slot.certain = max(slot.certain, row.score)
        slot.shots.add(f"{shot.batch}/{shot.name}")
        if shot.clock:
            slot.clocks.append(shot.clock)


def _place(found: Sequence[Slot], pairs: dict[int, int], row: int) -> int:
    """Where a new row goes: behind the row that stands above it on the photograph."""
    above = [pairs[r] for r in range(row) if r in pairs]
    if above:
        return max(above) + 1
    below = [pairs[r] for r in pairs if r > row]
    return min(below) if below else len(found)


def _align(labels: Sequence[str], rows: Sequence[str]) -> dict[int, int]:
    """Row number -> slot number, in order, with the greatest likeness in all."""
    high, wide = len(rows), len(labels)
    near = [[alike(row, label) for label in labels] for row in rows]
    best = [[0.0] * (wide + 1) for _ in range(high + 1)]
    for r in range(1, high + 1):
        for s in range(1, wide + 1):
            taken = best[r - 1][s - 1] + near[r - 1][s - 1] if near[r - 1][s - 1] >= ALIKE else -1.0
            best[r][s] = max(best[r - 1][s], best[r][s - 1], taken)
    pairs: dict[int, int] = {}
    r, s = high, wide
    while r and s:
        score = near[r - 1][s - 1]
        if score >= ALIKE and best[r][s] == best[r - 1][s - 1] + score:
            pairs[r - 1] = s - 1
            r, s = r - 1, s - 1
        elif best[r][s] == best[r - 1][s]:
            r -= 1
        else:
            s -= 1
    return pairs


def siblings(found: Sequence[Slot]) -> list[list[Sample]]:
    """For each row the values of all rows whose labels differ from its own by one number or
    capital letter only ("Input 1 name", "Input 2 name"): they are of one type."""
    families: dict[str, list[Slot]] = {}
    for slot in found:
        for key in _family_keys(slot.label):
            families.setdefault(key, []).append(slot)
    pooled: list[list[Sample]] = []
    for slot in found:
        rows = [one for key in _family_keys(slot.label) for one in families[key] if one is not slot]
        pooled.append([*slot.samples, *(sample for one in rows for sample in one.samples)])
    return pooled


def _family_keys(label: str) -> list[str]:
    return [
        folded(f"{label[: found.start()]}#{label[found.end() :]}")
        for found in _SIBLING.finditer(label)
    ]
