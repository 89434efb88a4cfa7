"""Fold a visit's journal to its state. Pure: the same entries and blobs give the same state.

Entry kinds and their data are documented in docs/journal.md. Rules that the fold keeps: what rests
on an earlier fact falls when that fact changes (a settled doubt drops the plan, a plan drops the
comparison, a change to the recorder drops the proof).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from asfound.errors import IntegrityError, NotFound
from asfound.jobs.fold_firmware import firmware_chosen, stick_checked
from asfound.jobs.fold_secrets import originals_removed, secrets_hidden, with_secrets_of
from asfound.model.coverage import Coverage
from asfound.model.difference import Difference
from asfound.model.fault_found import with_found
from asfound.model.finding import Proof
from asfound.model.firmware_choice import OpenedUnder
from asfound.model.fleet import Vehicle
from asfound.model.hold import Hold
from asfound.model.journal import Entry
from asfound.model.procedure import CHANGING, Procedure
from asfound.model.reading import Reading, State
from asfound.model.rekey import RekeySheet
from asfound.model.sums import SettingsChecked
from asfound.model.target import Target
from asfound.model.visit import (
    CoverageTaken,
    Override,
    Round,
    Settled,
    Signature,
    StepDone,
    VisitState,
)
from asfound.ports.documents import from_data, from_json

AFTER_CLOSING = frozenset({"signed"})
"""Kinds of entry that a closed visit takes: whoever takes it over signs what is finished."""

Fetch = Callable[[str], bytes]
"""Gives the bytes of a blob by its name."""


def fold(entries: Sequence[Entry], fetch: Fetch) -> VisitState:
    """The state that ``entries`` add up to; their chain has been checked before.

    Raises NotFound (no entries, or a blob is missing), IntegrityError (an entry that cannot
    stand here), InputError (an entry or blob that does not read as what it should be).
    """
    if not entries:
        raise NotFound("no such visit; `asfound visit list` shows them")
    state = _opened(entries[0])
    for entry in entries[1:]:
        state = advance(state, entry, fetch)
    return state


def advance(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    """The state after one more entry. Raises as ``fold`` does."""
    step = _STEPS.get(entry.kind)
    late = state.closed and entry.kind not in AFTER_CLOSING
    if step is None or late:
        why = "comes after the closing" if late else "is not known to this version"
        raise IntegrityError(
            f"visit {entry.visit}: entry {entry.seq} ({entry.kind}) {why}; "
            "bring asfound up to date, or the database back from a copy"
        )
    try:
        after = step(state, entry, fetch)
    except (KeyError, TypeError, ValueError, IndexError):
        raise IntegrityError(
            f"visit {entry.visit}: entry {entry.seq} ({entry.kind}) lacks what it needs; "
            "bring the database back from a copy"
        ) from None
    return replace(after, head=entry.hash, entries=entry.seq + 1)


def _opened(entry: Entry) -> VisitState:
    data = entry.data
    where = f"visit {entry.visit}, entry 0"
    if entry.kind != "opened":
        raise IntegrityError(f"{where} is {entry.kind!r}, not the opening; restore from a copy")
    vehicle = from_data(Vehicle, data.get("vehicle"), where)
    return VisitState(
        id=entry.visit,
        vehicle=vehicle,
        fleet=str(data.get("fleet", "")),
        procedure=from_data(Procedure, data.get("procedure"), where),
        opened_by=entry.by,
        opened_at=entry.at,
        firmware_found=str(data.get("firmware", "")),
        firmware_left=str(data.get("firmware", "")),
        holds=_holds(data.get("holds", ()), where),
        head=entry.hash,
        entries=1,
        map_blob=str(data.get("map", "")),
        # Visits of before the catalogue have none.
        under=from_data(OpenedUnder, data.get("under", {}), where),
    )


def _as_found_read(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    reading = from_json(Reading, fetch(entry.data["reading"]), _where(entry))
    state = with_secrets_of(state, reading, entry)
    same_firmware = state.firmware_left == state.firmware_found
    return _plan_dropped(
        replace(
            state,
            as_found=reading,
            settled=still_settled(state.as_found, reading, state.settled),
            firmware_found=reading.firmware,
            firmware_left=reading.firmware if same_firmware else state.firmware_left,
            as_found_entry=entry.seq,
        )
    )


def _settled(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    data = entry.data
    unlisted = bool(data.get("unlisted", False))
    item = Settled(data["field"], data["value"], entry.by, entry.at, unlisted)
    return _resettled(state, entry, lambda known: _with(known, item))


def _taken_back(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    field = entry.data["field"]
    return _resettled(state, entry, lambda known: tuple(item for item in known if item.id != field))


def _resettled(
    state: VisitState, entry: Entry, change: Callable[[tuple[Settled, ...]], tuple[Settled, ...]]
) -> VisitState:
    """With other settled values, of the reading that the entry names."""
    number = entry.data["round"]
    if number is None:
        return _plan_dropped(replace(state, settled=change(state.settled)))
    present = state.rounds[number - 1]
    changed = replace(present, settled=change(present.settled), difference=None, entry=entry.seq)
    return replace(state, rounds=(*state.rounds[: number - 1], changed, *state.rounds[number:]))


def _step_done(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    step = state.procedure.step(entry.data["step"])
    data = entry.data
    drives = (str(data.get("drive_out", "")), str(data.get("drive_in", "")))
    item = StepDone(step.id, entry.by, entry.at, data["note"], *drives)
    state = replace(state, done=(*state.done, item))
    # What was proved before the recorder was changed proves nothing about it now.
    return replace(state, proof=None) if step.kind in CHANGING else state


def _noted(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    item = StepDone(entry.data["step"], entry.by, entry.at, entry.data["note"])
    return replace(state, notes=(*state.notes, item))


def _firmware_left(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    return _plan_dropped(replace(state, firmware_left=entry.data["firmware"]))


def _planned(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    target = from_json(Target, fetch(entry.data["target"]), _where(entry))
    sheet = from_json(RekeySheet, fetch(entry.data["sheet"]), _where(entry))
    # Journals of before the sums, and plans without a fleet, have none.
    named = entry.data.get("sums")
    sums = from_json(SettingsChecked, fetch(named), _where(entry)) if named else None
    return replace(_plan_dropped(state), target=target, sheet=sheet, sums=sums)


def _as_left_read(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    reading = from_json(Reading, fetch(entry.data["reading"]), _where(entry))
    state = with_secrets_of(state, reading, entry)
    before: Reading | None = None
    settled: tuple[Settled, ...] = ()
    if state.rounds:
        before, settled = state.rounds[-1].reading, state.rounds[-1].settled
    elif entry.data["same_as_found"]:
        before, settled = state.as_found, state.settled
    made = Round(reading, still_settled(before, reading, settled), None, entry.at, entry.seq)
    mended = bool(state.rounds) and _values_differ(before, reading)
    # A setting mended after the proof: the recordings were made with another one.
    return replace(state, rounds=(*state.rounds, made), proof=None if mended else state.proof)


def _compared(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    difference = from_json(Difference, fetch(entry.data["difference"]), _where(entry))
    last = replace(state.rounds[-1], difference=difference, entry=entry.seq)
    return replace(state, rounds=(*state.rounds[:-1], last))


def _proved(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    proof = from_json(Proof, fetch(entry.data["proof"]), _where(entry))
    return replace(state, proof=proof, proof_entry=entry.seq)


def _coverage_taken(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    data = entry.data
    made = CoverageTaken(
        from_json(Coverage, fetch(data["coverage"]), _where(entry)),
        data["against"],
        data["file"],
        tuple(data["paths"]),
        entry.by,
        entry.at,
        changes_done(state),
    )
    # Counted again with the recorder as it was: the later count is the better one.
    kept = tuple(item for item in state.coverage if item.changes != made.changes)
    return replace(state, coverage=(*kept, made))


def _fault_found(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    return replace(state, faults=with_found(state.faults, entry))


def changes_done(state: VisitState) -> int:
    """How many steps that change the recorder were done so far."""
    kinds = {step.id: step.kind for step in state.procedure.steps}
    return sum(kinds.get(item.step) in CHANGING for item in state.done)


def _overridden(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    data = entry.data
    made = Override(
        data["step"], data["gate"], entry.by, data["reason"], entry.at, entry.seq,
        data.get("turn", ""),
    )  # fmt: skip
    return replace(state, overrides=(*state.overrides, made))


def _holds_changed(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    return replace(state, holds=_holds(entry.data["holds"], _where(entry)))


def _firmware_chosen(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    return firmware_chosen(state, entry)


def _stick_checked(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    return stick_checked(state, entry)


def _secrets_hidden(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    return secrets_hidden(state, entry)


def _originals_removed(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    return originals_removed(state, entry)


def _signed(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    data = entry.data
    made = Signature(
        entry.by, data["role"], entry.at, data["head"], entry.seq, data.get("picture", "")
    )
    return replace(state, signatures=(*state.signatures, made))


def _closed(state: VisitState, entry: Entry, fetch: Fetch) -> VisitState:
    step = state.procedure.step(entry.data["step"])
    item = StepDone(step.id, entry.by, entry.at, entry.data["note"])
    return replace(state, done=(*state.done, item), closed_by=entry.by, closed_at=entry.at)


_STEPS: Mapping[str, Callable[[VisitState, Entry, Fetch], VisitState]] = {
    "as-found-read": _as_found_read,
    "settled": _settled,
    "taken-back": _taken_back,
    "step-done": _step_done,
    "noted": _noted,
    "firmware-chosen": _firmware_chosen,
    "stick-checked": _stick_checked,
    "firmware-left": _firmware_left,
    "planned": _planned,
    "as-left-read": _as_left_read,
    "compared": _compared,
    "proved": _proved,
    "coverage-taken": _coverage_taken,
    "fault-found": _fault_found,
    "overridden": _overridden,
    "holds-changed": _holds_changed,
    "secrets-hidden": _secrets_hidden,
    "originals-removed": _originals_removed,
    "signed": _signed,
    "closed": _closed,
}

ENTRY_KINDS = ("opened", *_STEPS)
"""Every kind of entry there is; docs/journal.md says what each carries."""


def still_settled(
    before: Reading | None, now: Reading, settled: tuple[Settled, ...]
) -> tuple[Settled, ...]:
    """The settled doubts whose field reads exactly as it did when it was settled."""
    if before is None:
        return ()
    was = {field.id: field for field in before.fields}
    unchanged = {field.id for field in now.fields if was.get(field.id) == field}
    return tuple(item for item in settled if item.id in unchanged)


def values_of(reading: Reading, settled: Sequence[Settled]) -> dict[str, str]:
    """Canonical values that are certain: sure ones with settled ones laid over them."""
    return reading.sure_values() | {item.id: item.value for item in settled}


def unsettled(reading: Reading, settled: Sequence[Settled]) -> tuple[str, ...]:
    """Ids of fields without a certain value: in doubt, unread, or sure yet without value."""
    known = {item.id for item in settled}
    return tuple(
        field.id
        for field in reading.fields
        if field.id not in known and (field.state is not State.SURE or field.value is None)
    )


def _values_differ(before: Reading | None, now: Reading) -> bool:
    was = before.sure_values() if before else {}
    return any(was.get(name, value) != value for name, value in now.sure_values().items())


def _with(settled: tuple[Settled, ...], item: Settled) -> tuple[Settled, ...]:
    return (*(old for old in settled if old.id != item.id), item)


def _plan_dropped(state: VisitState) -> VisitState:
    """Without plan, and without the last round's comparison, which rests on the plan."""
    rounds = state.rounds
    if rounds:
        rounds = (*rounds[:-1], replace(rounds[-1], difference=None))
    return replace(state, target=None, sheet=None, sums=None, rounds=rounds)


def _holds(items: Iterable[object], where: str) -> tuple[Hold, ...]:
    return tuple(from_data(Hold, item, where) for item in items)


def _where(entry: Entry) -> str:
    return f"visit {entry.visit}, entry {entry.seq}"
