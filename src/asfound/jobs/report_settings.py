"""Settings: as found, agreed and as left, row by row; doubts settled; rounds of as-left."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from asfound.jobs.report_pictures import Album
from asfound.jobs.report_texts import (
    ORIGIN_WORDS,
    VERDICT_TONE,
    VERDICT_WORDS,
    Row,
    field_of,
    value_text,
    when,
)
from asfound.model.difference import OPEN, FieldDifference, Verdict
from asfound.model.kinds import Secret
from asfound.model.menu_map import Field, MenuMap
from asfound.model.reading import FieldReading, Reading, State
from asfound.model.visit import Round, Settled, VisitState

ELSEWHERE = "Not in this menu map"
COUNTED = tuple(verdict for verdict in Verdict if verdict is not Verdict.CLOCK)


@dataclass(frozen=True, slots=True)
class Ledger:
    """One row per setting, before it becomes text for the page."""

    id: str
    label: str
    page: str
    found: str
    found_known: bool
    agreed: str
    origin: str
    left: str
    left_known: bool
    verdict: Verdict | None

    @property
    def changed(self) -> bool:
        """True when both moments are known and differ."""
        return self.found_known and self.left_known and self.found != self.left

    def row(self) -> Row:
        """The row for the template."""
        state = VERDICT_WORDS[self.verdict] if self.verdict else "not compared"
        tone = VERDICT_TONE[self.verdict] if self.verdict else "unclear"
        return {
            "id": self.id,
            "label": self.label,
            "page": self.page,
            "found": self.found,
            "found_known": self.found_known,
            "agreed": self.agreed,
            "origin": self.origin,
            "left": self.left,
            "left_known": self.left_known,
            "state": state,
            "tone": tone,
            "changed": self.changed,
        }


def ledgers(state: VisitState, menu_map: MenuMap) -> tuple[Ledger, ...]:
    """Every setting of the installed firmware in menu order, then ids the map does not know."""
    last = state.rounds[-1] if state.rounds else None
    by_id = {item.id: item for item in last.difference.fields} if last and last.difference else {}
    ids = [field.id for field in _fields(menu_map, state.firmware_left)]
    known = set(ids)
    targets = state.target.as_dict() if state.target else {}
    found_ids = _found_ids(state, menu_map)
    others = [*by_id, *targets, *found_ids]
    ids += [field_id for field_id in dict.fromkeys(others) if field_id not in known]
    if not state.target and not by_id and not state.as_found:
        return ()
    return tuple(_ledger(field_id, state, menu_map, by_id.get(field_id)) for field_id in ids)


def pages_of(rows: Iterable[Ledger]) -> list[Row]:
    """Rows grouped by page, in their order: [{"page", "rows"}]."""
    groups: dict[str, list[Row]] = {}
    for item in rows:
        groups.setdefault(item.page, []).append(item.row())
    return [{"page": page, "rows": made} for page, made in groups.items()]


def page_title(menu_map: MenuMap, field_id: str) -> str:
    """The title of the page a field stands on, with its group in a two-level menu."""
    field = field_of(menu_map, field_id)
    if field is None:
        return ELSEWHERE
    page = menu_map.page_of(field.id)
    return f"{page.group}: {page.title}" if page.group else page.title


def settled_rows(state: VisitState, menu_map: MenuMap, album: Album, local: ZoneInfo) -> list[Row]:
    """Doubts that a person settled, as found and in every round, with what was on the screen."""
    sets: list[tuple[str, Reading, tuple[Settled, ...]]] = []
    if state.as_found:
        sets.append(("as found", state.as_found, state.settled))
    sets += [
        (f"as left, round {number}", item.reading, item.settled)
        for number, item in enumerate(state.rounds, 1)
    ]
    rows: list[Row] = []
    for moment, reading, settled in sets:
        fields = {item.id: item for item in reading.fields}
        # Only the last answer about a field counts; the earlier ones stay in the journal.
        final = {item.id: item for item in settled}
        for item in final.values():
            rows.append(_settled(item, fields.get(item.id), moment, menu_map, album, local))
    return rows


def open_doubts(reading: Reading, settled: Iterable[Settled], menu_map: MenuMap) -> list[Row]:
    """Fields of a reading that nobody settled, with what they might be."""
    done = {item.id for item in settled}
    return [
        {
            "label": item.label,
            "page": page_title(menu_map, item.id),
            "might": might_be(item, field_of(menu_map, item.id)),
        }
        for item in reading.doubts()
        if item.id not in done
    ]


def might_be(item: FieldReading, field: Field | None) -> str:
    """A field in words: its value, its candidates while in doubt, or that it was not read."""
    if field is not None and isinstance(field.type, Secret):
        return "not read"
    words = [value_text(field, value) for value in item.candidates]
    if not words and item.value is not None:
        words = [value_text(field, item.value)]
    if item.state is State.UNREAD or not words:
        return "not read"
    return " or ".join(dict.fromkeys(words)) + ("" if item.state is State.SURE else "?")


def rounds_rows(state: VisitState, menu_map: MenuMap, local: ZoneInfo) -> list[Row]:
    """Each as-left round: its counts, its open settings and what became of them."""
    rows: list[Row] = []
    for index, item in enumerate(state.rounds):
        open_items = item.difference.open_items() if item.difference else ()
        counts = item.difference.counts() if item.difference else {}
        rows.append(
            {
                "n": index + 1,
                "at": when(item.at, local),
                "photos": len(item.reading.photos),
                "compared": item.difference is not None,
                "counts": [
                    {
                        "n": counts[verdict],
                        "word": VERDICT_WORDS[verdict],
                        "tone": VERDICT_TONE[verdict],
                    }
                    for verdict in COUNTED
                    if counts.get(verdict)
                ],
                "open": [_open_row(diff, state.rounds, index, menu_map) for diff in open_items],
            }
        )
    return rows


def firmware_changes(state: VisitState, menu_map: MenuMap) -> Row:
    """Settings that the new firmware added, removed or renamed, by label."""
    sheet = state.sheet
    if sheet is None:
        return {"added": [], "removed": [], "renamed": []}
    found = state.as_found_values()

    def label(field_id: str) -> str:
        field = field_of(menu_map, field_id)
        return f"{page_title(menu_map, field_id)} · {field.label}" if field else field_id

    return {
        "added": [label(field_id) for field_id in sheet.added],
        "removed": [
            {
                "label": label(field_id),
                "found": value_text(field_of(menu_map, field_id), found.get(field_id))
                or "not read",
            }
            for field_id in sheet.removed
        ],
        "renamed": [[label(old), label(new)] for old, new in sheet.renamed],
    }


def _fields(menu_map: MenuMap, firmware: str) -> tuple[Field, ...]:
    return menu_map.fields_in(firmware) if menu_map.has_firmware(firmware) else ()


def _found_ids(state: VisitState, menu_map: MenuMap) -> list[str]:
    """As-found ids that the map knows under no firmware: nothing read may go unmentioned."""
    if state.as_found is None:
        return []
    return [item.id for item in state.as_found.fields if field_of(menu_map, item.id) is None]


def _ledger(
    field_id: str, state: VisitState, menu_map: MenuMap, diff: FieldDifference | None
) -> Ledger:
    field = field_of(menu_map, field_id)
    found_value, found_words = _found(field_id, field, state)
    target = {item.id: item for item in state.target.values} if state.target else {}
    wanted = target.get(field_id)
    left_value, left_words = _left(field_id, field, state, diff)
    label = field.label if field else (diff.label if diff else field_id)
    return Ledger(
        id=field_id,
        label=label,
        page=page_title(menu_map, field_id),
        found=found_words,
        found_known=found_value is not None,
        agreed=value_text(field, wanted.value) if wanted else "",
        origin=ORIGIN_WORDS[wanted.origin] if wanted else "",
        left=left_words,
        left_known=left_value is not None,
        verdict=diff.verdict if diff else None,
    )


def _found(field_id: str, field: Field | None, state: VisitState) -> tuple[str | None, str]:
    if state.as_found is None:
        return None, "not photographed"
    readings = {item.id: item for item in state.as_found.fields}
    values = state.as_found_values()
    names = [field_id] + ([field.was] if field is not None and field.was else [])
    for name in names:
        if name in values:
            return values[name], value_text(field, values[name])
    for name in names:
        if name in readings:
            return None, might_be(readings[name], field)
    return None, "new" if state.firmware_left != state.firmware_found else "not read"


def _left(
    field_id: str, field: Field | None, state: VisitState, diff: FieldDifference | None
) -> tuple[str | None, str]:
    if not state.rounds:
        return None, "not photographed"
    last = state.rounds[-1]
    if diff is not None and diff.as_left is not None:
        words = value_text(field, diff.as_left)
        if diff.verdict is not Verdict.DOUBT:
            return diff.as_left, words
    values = last.reading.sure_values() | {item.id: item.value for item in last.settled}
    if field_id in values:
        return values[field_id], value_text(field, values[field_id])
    for item in last.reading.fields:
        if item.id == field_id:
            return None, might_be(item, field)
    return None, "not read"


def _settled(
    item: Settled,
    read: FieldReading | None,
    moment: str,
    menu_map: MenuMap,
    album: Album,
    local: ZoneInfo,
) -> Row:
    field = field_of(menu_map, item.id)
    secret = field is not None and isinstance(field.type, Secret)
    before = "not read" if read is None else might_be(read, field)
    return {
        "moment": moment,
        "label": field.label if field else (read.label if read else item.id),
        "page": page_title(menu_map, item.id),
        "before": before,
        "reason": read.reason if read and not secret else "",
        "after": value_text(field, item.value)
        + (" (not in the drafted map)" if item.unlisted else ""),
        "by": item.by,
        "at": when(item.at, local),
        "shot": None if secret or read is None else album.crop(read.photo, read.box),
    }


def _open_row(
    diff: FieldDifference, rounds: tuple[Round, ...], index: int, menu_map: MenuMap
) -> Row:
    field = field_of(menu_map, diff.id)
    left = value_text(field, diff.as_left)
    if diff.verdict is Verdict.DOUBT or not left:
        read = {item.id: item for item in rounds[index].reading.fields}.get(diff.id)
        left = might_be(read, field) if read else "not read"
    outcome, tone = _outcome(diff.id, rounds[index + 1 :], index + 2)
    return {
        "label": field.label if field else diff.label,
        "page": page_title(menu_map, diff.id),
        "state": VERDICT_WORDS[diff.verdict],
        "tone": VERDICT_TONE[diff.verdict],
        "agreed": value_text(field, diff.target),
        "left": left,
        "outcome": outcome,
        "outcome_tone": tone,
    }


def _outcome(field_id: str, later: tuple[Round, ...], first: int) -> tuple[str, str]:
    """What became of an open setting: the round since which it is as agreed, and stayed so."""
    last: Verdict | None = None
    since = 0
    for number, item in enumerate(later, first):
        for diff in item.difference.fields if item.difference else ():
            if diff.id == field_id:
                since = (
                    number if diff.verdict is Verdict.SAME and last is not diff.verdict else since
                )
                last = diff.verdict
    if last is Verdict.SAME:
        return f"mended in round {since}", "good"
    if last is None or last in OPEN:
        return "still open", "bad"
    return VERDICT_WORDS[last], VERDICT_TONE[last]
