"""The comparison as pages and programs show it: what is open with what to do, and the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from asfound.jobs.report_texts import field_of, value_text
from asfound.jobs.visit_journal import load_visit
from asfound.model.difference import Difference, FieldDifference, Verdict
from asfound.model.menu_map import MenuMap
from asfound.model.reading import FieldReading, State
from asfound.model.visit import Round, VisitState
from asfound.web.services import Services
from asfound.web.view_visit import visit_map

Kind = Literal["wrong", "doubt", "unread", "missing", "same", "no-target", "clock"]
OPEN_KINDS: tuple[Kind, ...] = ("wrong", "doubt", "unread", "missing")
"""What has to be mended, settled or photographed, in the order in which it is shown."""

FINE_KINDS: tuple[Kind, ...] = ("same", "no-target", "clock")


@dataclass(frozen=True, slots=True)
class CompareRow:
    """One setting; values as the recorder's screen writes them, "" when not known. ``maybe``
    are the candidates of a doubt."""

    page: str
    field: FieldDifference
    should: str
    left: str
    maybe: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CompareGroup:
    """Settings that fared alike."""

    kind: Kind
    rows: tuple[CompareRow, ...]

    @property
    def count(self) -> int:
        """How many they are."""
        return len(self.rows)

    @property
    def pages(self) -> tuple[str, ...]:
        """Titles of the pages that the settings stand on, each once."""
        return tuple(dict.fromkeys(row.page for row in self.rows))


@dataclass(frozen=True, slots=True)
class CompareView:
    """The last round's comparison; ``difference`` is None until it was made. ``may_compare``:
    there is something that can be compared now."""

    state: VisitState
    rounds: Sequence[Round]
    difference: Difference | None
    open: tuple[CompareGroup, ...]
    fine: tuple[CompareGroup, ...]
    may_compare: bool

    @property
    def total(self) -> int:
        """How many settings the installed firmware has; each is in one group."""
        return len(self.difference.fields) if self.difference else 0


def load_compare(visit: str, services: Services) -> CompareView:
    """The comparison as it stands. Raises NotFound, IntegrityError, StorageError."""
    desk = services.desk
    state = load_visit(visit, store=desk.store, blobs=desk.blobs)
    menu_map = visit_map(state, services)
    last = state.rounds[-1] if state.rounds else None
    same_stands = state.as_found is not None and not state.procedure.changes
    may = not state.closed and (last is not None or same_stands)
    if last is None or last.difference is None or menu_map is None:
        return CompareView(state, state.rounds, None, (), (), may)
    groups = _grouped(last.difference, last, menu_map)
    return CompareView(
        state,
        state.rounds,
        last.difference,
        tuple(CompareGroup(kind, groups[kind]) for kind in OPEN_KINDS if kind in groups),
        tuple(CompareGroup(kind, groups[kind]) for kind in FINE_KINDS if kind in groups),
        may,
    )


def _grouped(
    difference: Difference, last: Round, menu_map: MenuMap
) -> dict[Kind, tuple[CompareRow, ...]]:
    read = {field.id: field for field in last.reading.fields}
    missing = frozenset(last.reading.missing_pages)
    groups: dict[Kind, tuple[CompareRow, ...]] = {}
    for item in difference.fields:
        field = field_of(menu_map, item.id)
        page = menu_map.page_of(item.id) if field else None
        seen = read.get(item.id)
        kind = _kind(item, seen, page is not None and page.id in missing)
        maybe = tuple(value_text(field, text) for text in (seen.candidates if seen else ()))
        row = CompareRow(
            page.title if page else "",
            item,
            value_text(field, item.target),
            value_text(field, item.as_left),
            maybe if kind == "doubt" else (),
        )
        groups[kind] = (*groups.get(kind, ()), row)
    return groups


def _kind(item: FieldDifference, seen: FieldReading | None, page_missing: bool) -> Kind:
    if item.verdict in (Verdict.WRONG, Verdict.MISSED, Verdict.EXTRA):
        return "wrong"
    if item.verdict is Verdict.DOUBT:
        if page_missing:
            return "missing"
        return "doubt" if seen is not None and seen.state is State.DOUBT else "unread"
    if item.verdict is Verdict.SAME:
        return "same"
    return "clock" if item.verdict is Verdict.CLOCK else "no-target"
