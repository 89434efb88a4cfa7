"""A visit as pages show it: steps as cards, and what each of them needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from asfound.errors import AsfoundError
from asfound.jobs.place_picture import place_picture
from asfound.jobs.visit_gates import NEVER_OVERRIDDEN, gate_states, unfinished
from asfound.jobs.visit_journal import load_visit
from asfound.model.caution import Caution
from asfound.model.drive_register import DriveState
from asfound.model.menu_map import MenuMap
from asfound.model.place_picture import PlacePicture
from asfound.model.procedure import Step
from asfound.model.visit import GateState, StepDone, VisitState
from asfound.web.services import Services
from asfound.web.view_drives import fitted_drives

CardState = Literal["done", "now", "ready", "locked"]


@dataclass(frozen=True, slots=True)
class Card:
    """A step: "done", "now" (the first that is not), "ready" (its gates hold) or "locked".

    ``missing`` is what keeps it from being ticked off although no gate is shut, "" for nothing;
    ``may_tick``: a person may tick it off now.
    """

    number: int
    step: Step
    state: CardState
    text: str
    gates: tuple[GateState, ...]
    shut: tuple[GateState, ...]
    cautions: tuple[Caution, ...]
    done: StepDone | None
    notes: tuple[StepDone, ...]
    missing: str
    may_tick: bool


@dataclass(frozen=True, slots=True)
class VisitView:
    """A visit, its cards, the versions that a firmware step may leave, the photograph of where
    the recorder sits, and ``fitted``: drives that are in the vehicle by the register."""

    state: VisitState
    cards: tuple[Card, ...]
    now: Card | None
    firmware: tuple[str, ...]
    done: int
    place: PlacePicture | None = None
    fitted: tuple[DriveState, ...] = ()


def load_view(visit: str, services: Services) -> VisitView:
    """The visit as it stands. Raises NotFound, IntegrityError."""
    desk = services.desk
    state = load_visit(visit, store=desk.store, blobs=desk.blobs, rules=desk.rules)
    view = visit_view(state, services.shelf.cautions(), visit_map(state, services))
    place = place_picture(state.vehicle, store=desk.store)
    asks = any(card.step.kind == "drive" and card.may_tick for card in view.cards)
    drives = fitted_drives(state.vehicle.number, services) if asks else ()
    return replace(view, place=place, fitted=drives)


def visit_map(state: VisitState, services: Services) -> MenuMap | None:
    """The menu map of the visit's recorder; None when it is gone or cannot be read."""
    try:
        return services.shelf.menu_map(state.vehicle.recorder.map_id)
    except AsfoundError:
        return None


def visit_view(
    state: VisitState, cautions: Mapping[str, Caution], menu_map: MenuMap | None
) -> VisitView:
    """The visit's cards, in the order of its procedure."""
    current = state.current() if not state.closed else None
    cards = tuple(
        _card(state, number, step, cautions, current is not None and step.id == current.id)
        for number, step in enumerate(state.procedure.steps, 1)
    )
    now = next((card for card in cards if card.state == "now"), None)
    versions = menu_map.firmware if menu_map is not None else ()
    return VisitView(state, cards, now, versions, sum(card.state == "done" for card in cards))


def may_override(gate: GateState) -> bool:
    """True when a person may pass this gate with name and reason."""
    return not gate.holds and not gate.overridden and gate.gate not in NEVER_OVERRIDDEN


def _card(
    state: VisitState, number: int, step: Step, cautions: Mapping[str, Caution], present: bool
) -> Card:
    done = next((item for item in state.done if item.step == step.id), None)
    gates = gate_states(state, step) if done is None else ()
    shut = tuple(gate for gate in gates if not gate.holds and not gate.overridden)
    missing = "" if done is not None or step.kind == "close" else unfinished(state, step) or ""
    return Card(
        number,
        step,
        _state(done, present, shut),
        " ".join(step.text.split()),
        gates,
        shut,
        tuple(cautions[name] for name in step.cautions if name in cautions),
        done,
        tuple(item for item in state.notes if item.step == step.id),
        missing,
        done is None and not shut and not missing and step.kind != "close" and not state.closed,
    )


def _state(done: StepDone | None, present: bool, shut: tuple[GateState, ...]) -> CardState:
    if done is not None:
        return "done"
    if present:
        return "now"
    return "locked" if shut else "ready"
