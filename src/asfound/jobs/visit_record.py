"""Record what other jobs worked out: readings, plan, comparison, proof. Blob first, then entry."""

from __future__ import annotations

from dataclasses import dataclass, replace

from asfound.calc.merge_photos import merge_photos
from asfound.errors import UsageError
from asfound.jobs.read_clock import NO_FACTS, ClockFacts, with_clock
from asfound.jobs.visit_act import tick_if_ready
from asfound.jobs.visit_fold import unsettled
from asfound.jobs.visit_gates import require_open, step_for
from asfound.jobs.visit_journal import Book, Desk, named
from asfound.model.difference import Difference
from asfound.model.finding import Proof, ProofVerdict
from asfound.model.menu_map import MenuMap
from asfound.model.procedure import CHANGING
from asfound.model.reading import Reading
from asfound.model.rekey import RekeySheet
from asfound.model.sums import SettingsChecked
from asfound.model.target import Target
from asfound.model.visit import VisitState


@dataclass(frozen=True, slots=True)
class RecordReading:
    """Record a reading. Pages read before are kept: as found, photographs of a page add up; as
    left, a page photographed again replaces what it was."""

    visit: str
    menu_map: MenuMap
    reading: Reading
    by: str
    clock: ClockFacts = NO_FACTS


@dataclass(frozen=True, slots=True)
class RecordPlan:
    """Record target and re-key sheet, and what the sums say of the target (None: not asked)."""

    visit: str
    target: Target
    sheet: RekeySheet
    by: str
    sums: SettingsChecked | None = None


@dataclass(frozen=True, slots=True)
class RecordDifference:
    """Record the comparison of the latest as-left round."""

    visit: str
    difference: Difference
    by: str


@dataclass(frozen=True, slots=True)
class RecordProof:
    """Record what the recordings show."""

    visit: str
    proof: Proof
    by: str


def check_as_found(state: VisitState) -> None:
    """Raises GateShut or UsageError when as-found photographs cannot be taken up now."""
    require_open(state, step_for(state, "read-as-found"))
    changed = [
        step.title
        for step in state.procedure.steps
        if step.kind in CHANGING and state.is_done(step.id)
    ]
    if changed:
        raise UsageError(
            f"visit {state.id}: {changed[0]!r} is done, the recorder is no longer as found; "
            "read with --as-left"
        )


def check_as_left(state: VisitState) -> None:
    """Raises GateShut or UsageError when as-left photographs cannot be taken up now."""
    require_open(state, step_for(state, "read-as-left"))


def record_as_found(request: RecordReading, *, desk: Desk) -> VisitState:
    """Record an as-found reading; a complete one ticks its step off."""
    book = Book(request.visit, desk)
    by, reading = named(request.by), request.reading
    check_as_found(book.state)
    _check_map(book.state, reading.map_id)
    before = book.state.as_found
    # Read as another firmware, the earlier pages stay in the journal but do not fit together.
    if before is not None and before.firmware == reading.firmware:
        reading = _added(request.menu_map, before, reading)
        reading = with_clock(request.menu_map, reading, request.clock)
    state = book.write(by, "as-found-read", {"reading": book.keep(reading)})
    if not reading.missing_pages:
        state = tick_if_ready(book, "read-as-found", by, f"{len(reading.photos)} photographs")
        if not unsettled(reading, state.settled):
            state = tick_if_ready(book, "settle", by, "nothing left in doubt")
    return state


def record_as_left(request: RecordReading, *, desk: Desk) -> VisitState:
    """Record an as-left reading as a new round."""
    book = Book(request.visit, desk)
    by, reading = named(request.by), request.reading
    state = book.state
    check_as_left(state)
    _check_map(state, reading.map_id)
    if reading.firmware != state.firmware_left:
        raise UsageError(
            f"visit {state.id}: the photographs are of firmware {reading.firmware}, but "
            f"{state.firmware_left} was recorded as installed; check the version page"
        )
    if state.rounds and state.rounds[-1].reading.firmware == reading.firmware:
        reading = _mended(request.menu_map, state.rounds[-1].reading, reading)
        reading = with_clock(request.menu_map, reading, request.clock)
    return book.write(by, "as-left-read", {"reading": book.keep(reading), "same_as_found": False})


def record_same_as_found(visit: str, by: str, *, desk: Desk) -> VisitState:
    """Take the as-found reading for the as-left one: right where the procedure changes nothing.

    Raises UsageError when it changes something or nothing was read; GateShut.
    """
    book = Book(visit, desk)
    state = book.state
    check_as_left(state)
    if state.as_found is None or state.procedure.changes:
        raise UsageError(
            f"the settings as left were not read; asfound visit read {state.id} PHOTO... --as-left"
        )
    return book.write(
        named(by), "as-left-read", {"reading": book.keep(state.as_found), "same_as_found": True}
    )


def record_plan(request: RecordPlan, *, desk: Desk) -> VisitState:
    """Record target and sheet for the installed firmware. Raises UsageError for another one."""
    book = Book(request.visit, desk)
    by, state = named(request.by), book.state
    _check_map(state, request.target.map_id)
    firmwares = {request.target.firmware, request.sheet.firmware}
    if firmwares != {state.firmware_left}:
        raise UsageError(
            f"the plan is for firmware {', '.join(sorted(firmwares))}, but {state.firmware_left} "
            "is installed; plan again"
        )
    data = {"target": book.keep(request.target), "sheet": book.keep(request.sheet)}
    if request.sums is not None:
        data["sums"] = book.keep(request.sums)
    return book.write(by, "planned", data)


def record_difference(request: RecordDifference, *, desk: Desk) -> VisitState:
    """Record the comparison; with nothing open the step is ticked off."""
    book = Book(request.visit, desk)
    by, state = named(request.by), book.state
    check_as_left(state)
    _check_map(state, request.difference.map_id)
    if not state.rounds:
        raise UsageError(f"nothing to compare; asfound visit read {state.id} PHOTO... --as-left")
    state = book.write(by, "compared", {"difference": book.keep(request.difference)})
    if not request.difference.open_items():
        state = tick_if_ready(book, "read-as-left", by, f"nothing open, round {len(state.rounds)}")
    return state


def record_proof(request: RecordProof, *, desk: Desk) -> VisitState:
    """Record the proof; one that shows every camera recording ticks its step off."""
    book = Book(request.visit, desk)
    by = named(request.by)
    require_open(book.state, step_for(book.state, "prove"))
    state = book.write(by, "proved", {"proof": book.keep(request.proof)})
    if request.proof.verdict is ProofVerdict.RECORDS:
        state = tick_if_ready(book, "prove", by, f"{len(request.proof.recordings)} recordings")
    return state


def _added(menu_map: MenuMap, before: Reading, now: Reading) -> Reading:
    """All photographs of unchanged settings; the same bytes count once."""
    given = {photo.sha256 for photo in now.photos if photo.sha256}
    # An original that comes again stands for its copy: it is stored again, and to be hidden again.
    kept = [photo for photo in before.photos if photo.original not in given]
    known = {photo.sha256 for photo in kept if photo.sha256}
    photos = (*kept, *(photo for photo in now.photos if photo.sha256 not in known))
    return replace(merge_photos(menu_map, now.firmware, photos), spare=now.spare)


def _mended(menu_map: MenuMap, before: Reading, now: Reading) -> Reading:
    """Pages photographed again in place of the earlier ones; the other pages as they were."""
    again = {photo.page for photo in now.photos if photo.page is not None}
    kept = (photo for photo in before.photos if photo.page not in again)
    return replace(merge_photos(menu_map, now.firmware, (*kept, *now.photos)), spare=now.spare)


def _check_map(state: VisitState, map_id: str) -> None:
    if map_id != state.vehicle.recorder.map_id:
        raise UsageError(
            f"visit {state.id} is of a {state.vehicle.recorder.map_id}, not of a {map_id}; "
            "use the vehicle's own menu map"
        )
