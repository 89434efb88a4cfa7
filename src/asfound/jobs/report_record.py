"""The record: holds, overrides, steps, notes, cautions, photographs and the journal's head."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from zoneinfo import ZoneInfo

from asfound.calc.clock_offset import offset_text
from asfound.jobs.read_clock import clock_moments
from asfound.jobs.report_texts import Row, when
from asfound.model.caution import Caution
from asfound.model.menu_map import MenuMap
from asfound.model.procedure import Procedure
from asfound.model.reading import PhotoReading, Reading
from asfound.model.visit import VisitState

GATE_WORDS = {
    "pages-read": "every page photographed and read",
    "doubts-settled": "every doubt settled by a person",
    "no-hold": "no hold on the footage",
    "as-left-compared": "settings as left compared, nothing open",
    "recording-proved": "recordings proved",
    "secrets-hidden": "passwords painted over in the photographs",
    "firmware-chosen": "the firmware that the catalogue allows, on a checked stick",
    "rollout-allows": "this vehicle's turn in the rollout",
    "steps-done": "all earlier steps done",
}


def holds_rows(state: VisitState, local: ZoneInfo) -> list[Row]:
    """Each hold with who placed and who released it."""
    return [
        {
            "id": hold.id,
            "from": when(hold.start, local),
            "to": when(hold.end, local),
            "reason": hold.reason,
            "placed": f"{hold.placed_by}, {when(hold.placed_at, local)}",
            "released": ""
            if hold.active
            else f"{hold.released_by or 'not named'}, {when(hold.released_at, local)}",
            "release_reason": hold.release_reason or "",
            "active": hold.active,
        }
        for hold in state.holds
    ]


def overrides_rows(state: VisitState, local: ZoneInfo) -> list[Row]:
    """Each gate that was passed although it did not hold."""
    titles = {step.id: step.title for step in state.procedure.steps}
    return [
        {
            "step": titles.get(item.step, item.step),
            "gate": GATE_WORDS.get(item.gate, item.gate),
            "by": item.by,
            "reason": item.reason,
            "at": when(item.at, local),
        }
        for item in state.overrides
    ]


def steps_rows(state: VisitState, local: ZoneInfo) -> list[Row]:
    """Every step of the procedure with when and by whom it was done, in order."""
    rows: list[Row] = []
    for number, step in enumerate(state.procedure.steps, 1):
        done = [item for item in state.done if item.step == step.id]
        rows.append(
            {
                "n": number,
                "title": step.title,
                "done": bool(done),
                "by": done[-1].by if done else "",
                "at": when(done[-1].at, local) if done else "",
                "note": "; ".join(filter(None, (done[-1].note, done[-1].drives))) if done else "",
            }
        )
    known = {step.id for step in state.procedure.steps}
    rows += [
        {
            "n": "",
            "title": item.step,
            "done": True,
            "by": item.by,
            "at": when(item.at, local),
            "note": item.note,
        }
        for item in state.done
        if item.step not in known
    ]
    return rows


def notes_rows(state: VisitState, local: ZoneInfo) -> list[Row]:
    """Notes that the technician wrote."""
    titles = {step.id: step.title for step in state.procedure.steps}
    return [
        {
            "step": titles.get(item.step, item.step),
            "by": item.by,
            "at": when(item.at, local),
            "note": item.note,
        }
        for item in state.notes
    ]


def firmware_rows(state: VisitState, local: ZoneInfo) -> list[Row]:
    """What was chosen to be put on, image by image, and the stick as it was checked."""
    rows: list[Row] = []
    if (choice := state.choice) is not None:
        way = [f"{one.over} to {one.version}: {one.file}, {one.sha256}" for one in choice.path]
        checked = "" if choice.catalogue else "no catalogue: nothing was checked"
        known = f"by catalogue {choice.catalogue[:16]}…" if choice.catalogue else ""
        refused = f"refused: {choice.refused}" if choice.refused else ""
        lines = (*way, refused, checked, known, *choice.findings, *choice.warnings)
        rows.append(
            {
                "what": f"{choice.installed} to {choice.to}",
                "lines": [line for line in lines if line],
                "by": choice.by,
                "at": when(choice.at, local) if choice.at else "",
            }
        )
    if (stick := state.stick) is not None:
        prepared = f"prepared {stick.prepared} by {stick.prepared_by}" if stick.prepared else ""
        lines = (f"{stick.image} {stick.sha256}".strip(), prepared, *stick.notes)
        rows.append(
            {
                "what": f"stick {stick.verdict}",
                "lines": [line for line in lines if line],
                "by": stick.by,
                "at": when(stick.at, local) if stick.at else "",
            }
        )
    return rows


def faults_rows(state: VisitState, local: ZoneInfo) -> list[Row]:
    """Each fault whose cause was found; how many symptoms and checks led there."""
    return [
        {
            "cause": item.title,
            "note": item.note,
            "seen": len(item.symptoms),
            "checks": len(item.checks),
            "tried": len(item.tried),
            "by": item.by,
            "at": when(item.at, local),
        }
        for item in state.faults
    ]


def clock_rows(state: VisitState) -> list[Row]:
    """How far the recorder's clock was off, as found and as left; or why that is not known."""
    rows: list[Row] = []
    for moment, reading in clock_moments(state):
        clock = reading.clock
        if clock is None:
            if reading.clock_note:
                rows.append({"moment": moment, "text": "not known", "more": reading.clock_note})
            continue
        against = f"against {clock.zone}; the phone taken to be right to {clock.phone_error_s:g} s"
        more = "; ".join(line for line in (against, clock.hint, *clock.notes) if line)
        rows.append({"moment": moment, "text": offset_text(clock), "more": more})
    return rows


def cautions_rows(procedure: Procedure, texts: Mapping[str, Caution]) -> list[Row]:
    """Cautions of the procedure, each once, with the steps where they stand."""
    steps: dict[str, list[str]] = {}
    for step in procedure.steps:
        for caution_id in step.cautions:
            steps.setdefault(caution_id, []).append(step.title)
    rows: list[Row] = []
    for name, titles in steps.items():
        caution = texts.get(name)
        rows.append(
            {
                "title": caution.title if caution else name,
                "text": caution.text if caution else "The text of this caution is not at hand.",
                "defers_to": caution.defers_to if caution else "",
                "source": caution.source if caution else "",
                "steps": titles,
            }
        )
    return rows


def photos_rows(state: VisitState, menu_map: MenuMap) -> list[Row]:
    """Photographs by moment, with page and SHA-256."""
    moments: list[tuple[str, Reading]] = []
    if state.as_found:
        moments.append(("As found", state.as_found))
    moments += [(f"As left, round {n}", item.reading) for n, item in enumerate(state.rounds, 1)]
    titles = {page.id: page.title for page in menu_map.pages}
    hidden = {item.new: item.by for item in state.hidden}
    return [
        {
            "moment": moment,
            "photos": [
                {
                    "file": photo.file,
                    "page": titles.get(photo.page, photo.page) if photo.page else "not recognised",
                    "sha256": photo.sha256,
                    "note": "; ".join(filter(None, (photo.note, _painted(photo, hidden)))),
                }
                for photo in reading.photos
            ],
        }
        for moment, reading in moments
    ]


def _painted(photo: PhotoReading, hidden: Mapping[str, str]) -> str:
    if photo.sha256 not in hidden:
        return ""
    return f"passwords painted over by {hidden[photo.sha256]}; was {photo.original[:16]}…"


def document_time(state: VisitState) -> datetime:
    """The last moment the state knows of: the same state always gives the same date."""
    moments = [state.opened_at, *(item.at for item in state.settled)]
    moments += [item.at for item in (*state.done, *state.notes)]
    moments += [item.at for item in state.overrides]
    moments += [item.at for item in state.hidden]
    moments += [item.at for item in state.coverage]
    moments += [item.at for item in state.faults]
    moments += [one.at for one in (state.choice, state.stick) if one is not None and one.at]
    for round_ in state.rounds:
        moments += [item.at for item in round_.settled]
        if round_.at:
            moments.append(round_.at)
    signed = [item.at for item in state.signatures]
    if state.closed_at:
        return max((state.closed_at, *signed))
    return max((*moments, *signed))
