"""Tick settings of the re-key sheet off, and say how far it is.

Ticks are kept beside the journal: they prove nothing (the photographs as left do), there are many,
and two people who tick at once must both count. Each is a write of its own that names no head.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from asfound.errors import NotFound, UsageError
from asfound.jobs.visit_journal import Desk, load_visit, named
from asfound.model.key_tick import KeyTick, tick_mark
from asfound.model.rekey import RekeyField
from asfound.model.visit import VisitState
from asfound.ports.store import Store


@dataclass(frozen=True, slots=True)
class TickKeys:
    """Tick the setting with this mark off; ``done`` False takes the tick back."""

    visit: str
    mark: str
    by: str
    done: bool = True


@dataclass(frozen=True, slots=True)
class SheetProgress:
    """How far the sheet is. ``seconds_left`` shares the sheet's estimate out by key presses."""

    done: int
    fields: int
    presses_left: int
    seconds_left: float


def tick_keys(request: TickKeys, *, desk: Desk) -> VisitState:
    """Keep the tick, durably; the same one twice is the same. Raises NotFound (no such visit, or
    the plan asks for this no more), UsageError (closed, or nothing planned), StorageError."""
    by = named(request.by)
    state = _open(request.visit, desk)
    if request.mark not in marks(state):
        raise NotFound("the plan has changed and asks for this setting no more; load it again")
    desk.store.save_tick(KeyTick(state.id, request.mark, request.done, by, desk.clock.now()))
    return state


def clear_ticks(visit: str, by: str, *, desk: Desk) -> VisitState:
    """Take every tick back: the recorder was reset once more. Raises as ``tick_keys``."""
    name = named(by)
    state = _open(visit, desk)
    for mark in ticked(state, desk.store):
        desk.store.save_tick(KeyTick(state.id, mark, False, name, desk.clock.now()))
    return state


def marks(state: VisitState) -> Mapping[str, RekeyField]:
    """The sheet's settings by mark, in the order in which they are keyed; empty without one."""
    sheet = state.sheet
    if sheet is None:
        return {}
    return {
        tick_mark(sheet.firmware, field): field for page in sheet.pages for field in page.fields
    }


def ticked(state: VisitState, store: Store) -> dict[str, KeyTick]:
    """The ticks that the present sheet still asks for, by mark."""
    wanted = marks(state)
    return {item.mark: item for item in store.ticks(state.id) if item.done and item.mark in wanted}


def sheet_progress(state: VisitState, done: Mapping[str, KeyTick]) -> SheetProgress:
    """How far the sheet is with these ticks. What opens and stores a page goes with the first
    and the last of its settings that is left."""
    sheet = state.sheet
    if sheet is None:
        return SheetProgress(0, 0, 0, 0.0)
    left = 0
    for page in sheet.pages:
        open_fields = [item for item in page.fields if tick_mark(sheet.firmware, item) not in done]
        left += sum(item.presses for item in open_fields)
        if open_fields:
            left += sum(run.times for run in (*page.reach, *page.save))
    seconds = sheet.seconds * left / sheet.presses if sheet.presses else 0.0
    return SheetProgress(len(done), len(marks(state)), left, seconds)


def _open(visit: str, desk: Desk) -> VisitState:
    state = load_visit(visit, store=desk.store, blobs=desk.blobs)
    if state.closed:
        raise UsageError(f"visit {visit} is closed; its re-key sheet is only looked at")
    if state.sheet is None:
        raise UsageError(f"nothing was planned yet; asfound visit rekey {visit}")
    return state
