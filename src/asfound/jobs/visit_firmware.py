"""Record in a visit which firmware is to be put on, and what the stick for it holds."""

from __future__ import annotations

from dataclasses import dataclass

from asfound.errors import UsageError
from asfound.jobs.choose_firmware import ChooseFirmware, choose_firmware
from asfound.jobs.recorder_hardware import hardware_of
from asfound.jobs.visit_journal import Book, Desk, named
from asfound.model.firmware import Answer, Catalogue, FirmwareChosen
from asfound.model.firmware_choice import ChosenStep, FirmwareChoice, StickSeen
from asfound.model.stick import StickChecked
from asfound.model.visit import VisitState
from asfound.ports.documents import to_data


@dataclass(frozen=True, slots=True)
class ChooseForVisit:
    """``to``: this version and no other ("": the newest that the catalogue allows). ``hardware``:
    the revision as read off the label ("": as fleet file or catalogue say)."""

    visit: str
    by: str
    to: str = ""
    hardware: str = ""


@dataclass(frozen=True, slots=True)
class RecordStick:
    """Record what checking the stick said (jobs/stick_check.py)."""

    visit: str
    checked: StickChecked
    by: str


def choose_for_visit(
    request: ChooseForVisit, *, desk: Desk
) -> tuple[VisitState, FirmwareChosen | None]:
    """Ask the catalogue for the visit's recorder and record what it says, a refusal, too.

    Without a catalogue the version alone is recorded, and that nothing was checked (second value
    None). Raises UsageError, NotFound, InputError (a catalogue that cannot be read).
    """
    book = Book(request.visit, desk)
    state, by = book.state, named(request.by)
    step = state.procedure.of_kind("firmware")
    if step is None:
        raise UsageError(
            f"procedure {state.procedure.id} puts no firmware on; open a visit with another one"
        )
    if state.is_done(step.id):
        raise UsageError(f"step {step.id!r} is done already; asfound visit show {state.id}")
    kept = desk.rules.catalogue()
    if kept is None:
        if not request.to:
            raise UsageError("there is no firmware catalogue: say which version, --to VERSION")
        hardware = hardware_of(state.vehicle.recorder, None, request.hardware)
        bare = FirmwareChoice(state.firmware_left, request.to, hardware, asked=request.to)
        return _write(book, by, bare), None
    catalogue, digest = kept
    chosen = choose_firmware(_question(request, state, catalogue))
    hardware = hardware_of(state.vehicle.recorder, catalogue, request.hardware)
    return _write(book, by, _choice(request, state, chosen, (digest, hardware))), chosen


def record_stick(request: RecordStick, *, desk: Desk) -> VisitState:
    """Record the check of a stick, whatever it said. Raises UsageError."""
    book = Book(request.visit, desk)
    by, checked = named(request.by), request.checked
    slip = checked.slip
    seen = StickSeen(
        str(checked.verdict),
        slip.image if slip else "",
        checked.sha256,
        slip.when if slip else "",
        slip.by if slip else "",
        tuple(f"{one.path} {one.note}".strip() for one in checked.findings),
    )
    return book.write(by, "stick-checked", {"stick": _bare(seen)})


def _question(request: ChooseForVisit, state: VisitState, catalogue: Catalogue) -> ChooseFirmware:
    recorder = state.vehicle.recorder
    hardware = hardware_of(recorder, catalogue, request.hardware)
    return ChooseFirmware(
        catalogue, recorder.map_id, hardware, state.firmware_left, state.fleet, request.to
    )


def _choice(
    request: ChooseForVisit,
    state: VisitState,
    chosen: FirmwareChosen,
    known: tuple[str, str],
) -> FirmwareChoice:
    installed = state.firmware_left
    path = tuple(
        ChosenStep(
            step.image.version,
            step.over,
            step.image.file,
            step.image.size,
            step.image.sha256,
            step.reasons,
        )
        for step in chosen.steps
    )
    to = path[-1].version if path else request.to or installed
    return FirmwareChoice(
        installed,
        to,
        known[1],
        path,
        request.to,
        known[0],
        "" if chosen.answer in (Answer.GO, Answer.STAY) else _refused(chosen, request.to),
        chosen.findings,
        chosen.warnings,
    )


def _refused(chosen: FirmwareChosen, to: str) -> str:
    asked = [one.note for one in chosen.rejected if one.image.version == to]
    return (asked or list(chosen.findings) or ["no image may be put on"])[0]


def _write(book: Book, by: str, choice: FirmwareChoice) -> VisitState:
    return book.write(by, "firmware-chosen", {"choice": _bare(choice)})


def _bare(made: FirmwareChoice | StickSeen) -> dict[str, object]:
    """As it stands in the entry, which says itself by whom, when and at which number."""
    data: dict[str, object] = to_data(made)
    return {key: value for key, value in data.items() if key not in ("by", "at", "entry")}
