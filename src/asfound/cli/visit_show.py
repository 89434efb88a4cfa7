"""How a visit looks on the command line: steps, what locks them, cautions where the danger is."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from asfound.cli import output
from asfound.cli.clock_show import show_clock
from asfound.cli.coverage_show import show_taken
from asfound.cli.visit_firmware import show_firmware
from asfound.cli.visit_secrets import show_notice
from asfound.jobs.identity import other_than_listed
from asfound.jobs.read_clock import clock_moments
from asfound.jobs.visit_fold import unsettled
from asfound.jobs.visit_gates import gate_states, shut_gates, way_out
from asfound.model.caution import Caution
from asfound.model.difference import Difference, Verdict
from asfound.model.menu_map import Meaning, MenuMap
from asfound.model.procedure import Step, StepKind
from asfound.model.reading import FieldReading, Reading
from asfound.model.values import shown
from asfound.model.visit import Settled, VisitState
from asfound.model.visit_line import VisitLine

DONE, NOW, LATER = "✓", "→", "·"
"""Marks before a step; the words beside them say the same."""

DONE_BY: Mapping[StepKind, tuple[str, ...]] = {
    "check": ("done {visit} {step}",),
    "reset": ("done {visit} {step}",),
    "read-as-found": ("read {visit} PHOTO...",),
    "settle": ("settle {visit}",),
    "firmware": ("done {visit} {step} --firmware VERSION",),
    "rekey": ("rekey {visit}", "done {visit} {step}"),
    "read-as-left": ("read {visit} PHOTO... --as-left", "compare {visit}"),
    "drive": ("coverage {visit} PATH... --ignition LOG.csv", "done {visit} {step}"),
    "prove": ("prove {visit} PATH...",),
    "close": ("close {visit}",),
}
"""What is typed for a kind of step, one after the other; its text says what is done by hand."""

WIDTH = 96
"""Columns of running text: what a person reads with ease, and a phone's terminal can hold."""


def show_visit(state: VisitState, cautions: Mapping[str, Caution], zone: ZoneInfo) -> None:
    """The whole visit: heading, every step, and the present step large with its cautions."""
    _heading(state, zone)
    present = state.current()
    for number, step in enumerate(state.procedure.steps, 1):
        if present is not None and step.id == present.id:
            _present_step(state, number, step, cautions)
        else:
            _step_line(state, number, step, zone)
    _tail(state, zone)


def show_visits(lines: Iterable[VisitLine], zone: ZoneInfo) -> None:
    """All visits as a table."""
    output.table(
        ("visit", "vehicle", "procedure", "opened", "by", "steps", "state"),
        [
            (
                line.id,
                line.vehicle,
                line.procedure,
                time_text(line.opened_at, zone),
                line.opened_by,
                f"{line.done}/{line.steps}",
                "closed" if line.closed else "open",
            )
            for line in lines
        ],
        right=(5,),
    )


def show_doubts(reading: Reading, settled: Sequence[Settled], menu_map: MenuMap) -> int:
    """What is still to be settled, page by page; returns how many."""
    left = set(unsettled(reading, settled))
    # A page that is missing is said once, and photographed; its fields are no doubts to look up.
    away = {item for item in left if menu_map.page_of(item).id in reading.missing_pages}
    rows = [
        (
            menu_map.page_of(field.id).title,
            field.id,
            field.label,
            field.state.value,
            _candidates(field, menu_map),
            field.reason,
        )
        for field in reading.fields
        if field.id in left - away
    ]
    columns = ("page", "field", "label", "state", "may be", "why")
    if rows:
        output.table(columns, rows, title=f"{len(rows)} to settle")
    if away:
        more = "more settings" if rows else "settings"
        pages = "a page that was" if len(reading.missing_pages) == 1 else "pages that were"
        output.say(f"{len(away)} {more} on {pages} not photographed")
    if not left:
        output.say("nothing is in doubt")
    return len(left)


def show_identity(state: VisitState, reading: Reading, menu_map: MenuMap) -> bool:
    """Says when the recorder shows another serial number or, as found, another firmware than the
    fleet file; True when it does. It may be another recorder, or the list may be out of date."""
    fitted = state.vehicle.recorder
    listed: dict[Meaning, str] = {"serial": fitted.serial}
    if reading.firmware != state.firmware_left or not state.rounds:
        listed["firmware"] = fitted.firmware
    others = other_than_listed(reading.sure_values(), listed, menu_map, reading.firmware)
    for means, value, known in others:
        output.say(
            f"the recorder shows {means} {value}, the fleet file says {known}; "
            "make sure it is the right recorder, then correct the fleet file",
            style="bold yellow",
        )
    return bool(others)


def next_step(state: VisitState) -> None:
    """One line: the step that is due, and how to see it."""
    step = state.current()
    if step is not None:
        output.say(f"next: {step.title} [{step.id}]; asfound visit show {state.id}")
    if step is not None and step.kind == "close":
        show_notice(state)


def settle_hint(state: VisitState) -> None:
    """One line: how a doubt becomes a value."""
    output.say(f"look at each on the recorder, then: asfound visit settle {state.id} --by NAME")


def show_difference(difference: Difference, menu_map: MenuMap, number: int) -> None:
    """The comparison: what is open, and how many fields got each verdict."""
    counts = difference.counts()
    told = ", ".join(f"{counts[verdict]} {verdict.value}" for verdict in Verdict if counts[verdict])
    rows = [
        (
            item.verdict.value,
            menu_map.page_of(item.id).title,
            item.label,
            value_text(menu_map, item.id, item.target),
            value_text(menu_map, item.id, item.as_left),
        )
        for item in difference.open_items()
    ]
    output.say(f"round {number}: {told}")
    if rows:
        output.table(("", "page", "setting", "should be", "is"), rows)


def value_text(menu_map: MenuMap, field_id: str, value: str | None) -> str:
    """A canonical value as the recorder's screen writes it; "?" when it is not known."""
    if value is None:
        return "?"
    return shown(menu_map.field(field_id).type, value) or "(empty)"


def time_text(at: datetime, zone: ZoneInfo) -> str:
    """RFC 3339 to the second, in the fleet's zone."""
    return at.astimezone(zone).isoformat(timespec="seconds")


def _heading(state: VisitState, zone: ZoneInfo) -> None:
    vehicle, fitted = state.vehicle, state.vehicle.recorder
    output.say(f"{state.id}  {state.procedure.title}", style="bold")
    output.say(
        f"vehicle {vehicle.number} ({vehicle.plate}), {vehicle.kind}, depot {vehicle.depot}, "
        f"{state.fleet}"
    )
    firmware = state.firmware_found
    if state.firmware_left != state.firmware_found:
        firmware = f"{state.firmware_found}, now {state.firmware_left}"
    output.say(
        f"recorder {fitted.map_id}, serial {fitted.serial}, firmware {firmware}, "
        f"{fitted.supply_volts} V, {fitted.place}"
    )
    output.say(f"opened {time_text(state.opened_at, zone)} by {state.opened_by}")
    for hold in state.holds:
        if hold.active:
            output.say(f"FOOTAGE HELD: {hold.id}, {hold.reason}", style="bold")
    output.say()


def _present_step(
    state: VisitState, number: int, step: Step, cautions: Mapping[str, Caution]
) -> None:
    output.say()
    output.say(f"{NOW} {number:2d}  {step.title.upper()}   [{step.id}]", style="bold")
    for name in step.cautions:
        caution = cautions.get(name)
        if caution is None:
            output.say(f"      caution {name!r}: its text is not in this version")
            continue
        output.say(f"      CAUTION  {caution.title}.", style="bold yellow")
        _paragraph(f"{caution.text} Defers to {caution.defers_to}.")
    # A fleet's own procedure may say VISIT: with its id a command can be copied as it stands.
    _paragraph(re.sub(r"\bVISIT\b", state.id, step.text))
    for command in DONE_BY[step.kind]:
        output.say(f"      asfound visit {command.format(visit=state.id, step=step.id)}")
    for gate in gate_states(state, step):
        if gate.overridden:
            output.say(f"      overridden: {gate.gate} ({gate.why})")
        elif not gate.holds:
            output.say(f"      LOCKED: {gate.why}", style="bold red")
            output.say(f"        {way_out(state, step, gate.gate)}")
        elif gate.note:
            output.say(f"      {gate.gate}: {gate.note}")
    output.say()


def _paragraph(text: str) -> None:
    for line in textwrap.wrap(text, WIDTH, initial_indent=" " * 6, subsequent_indent=" " * 6):
        output.say(line)


def _step_line(state: VisitState, number: int, step: Step, zone: ZoneInfo) -> None:
    done = next((item for item in state.done if item.step == step.id), None)
    if done is not None:
        told = "; ".join(filter(None, (done.note, done.drives)))
        note = f": {told}" if told else ""
        output.say(
            f"{DONE} {number:2d}  {step.title}   done by {done.by} {time_text(done.at, zone)}{note}"
        )
        return
    shut = shut_gates(state, step)
    # That an earlier step is missing is plain to see above; other reasons are worth a line.
    reasons = list(dict.fromkeys(gate.why for gate in shut if gate.gate != "steps-done"))
    if shut and not reasons:
        reasons = ["after the steps before it"]
    locked = f"   locked: {'; '.join(reasons)}" if reasons else ""
    output.say(f"{LATER} {number:2d}  {step.title}   [{step.id}]{locked}")


def _tail(state: VisitState, zone: ZoneInfo) -> None:
    for moment, reading in clock_moments(state):
        show_clock(reading, moment)
    show_taken(state, zone)
    show_firmware(state)
    for item in state.overrides:
        output.say(f"override of {item.gate} at {item.step} by {item.by}: {item.reason}")
    for fault in state.faults:
        more = f": {fault.note}" if fault.note else ""
        output.say(f"fault by {fault.by}: {fault.title} [{fault.cause}]{more}")
    for note in state.notes:
        at = f" at {note.step}" if note.step else ""
        output.say(f"note{at} by {note.by}: {note.note}")
    for signature in state.signatures:
        later = state.changes_since(signature)
        old = f", {output.count(later, 'entry', 'entries')} written since" if later else ""
        output.say(
            f"signed {time_text(signature.at, zone)} by {signature.name} ({signature.role}): "
            f"{output.count(signature.entry, 'entry', 'entries')}, head {signature.head}{old}"
        )
    if state.closed_at is not None:
        output.say(f"closed {time_text(state.closed_at, zone)} by {state.closed_by}")
    output.say(f"journal: {output.count(state.entries, 'entry', 'entries')}, head {state.head}")


def _candidates(field: FieldReading, menu_map: MenuMap) -> str:
    options = field.candidates or ((field.value,) if field.value is not None else ())
    return " or ".join(value_text(menu_map, field.id, option) for option in options)
