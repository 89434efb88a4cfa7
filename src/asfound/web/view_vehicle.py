"""A vehicle as pages show it: its list of visits, and what the newest of them know."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from asfound.errors import AsfoundError, NotFound
from asfound.jobs.footage_requests import list_requests
from asfound.jobs.place_picture import place_picture
from asfound.jobs.vehicle_firmware import WayAsked
from asfound.jobs.visit_journal import load_visit
from asfound.model.drive_register import DriveState
from asfound.model.finding import Proof
from asfound.model.fleet import Vehicle
from asfound.model.footage_request import FootageRequest, RequestState
from asfound.model.hold import Hold
from asfound.model.menu_map import MenuMap
from asfound.model.place_picture import PlacePicture
from asfound.model.reading import Reading
from asfound.model.values import shown
from asfound.model.visit import Settled, VisitState
from asfound.model.visit_line import LineQuery, VisitLine
from asfound.web.services import Services
from asfound.web.view_drives import fitted_drives
from asfound.web.view_firmware import WayView, way_view
from asfound.web.view_rollout import Turn, turns_of

VISITS_SHOWN = 20
FOLDED = 3
"""How many of the newest visits are folded to find settings and a proof."""


@dataclass(frozen=True, slots=True)
class SettingRow:
    """One setting: ``value`` as the recorder's screen writes it, "" when it is not known;
    ``state`` is "sure", "doubt", "unread" or "settled"."""

    page: str
    label: str
    value: str
    state: str


@dataclass(frozen=True, slots=True)
class Settings:
    """Settings as one reading has them; ``left`` True when it was read as left."""

    visit: str
    left: bool
    rows: tuple[SettingRow, ...]
    unsure: int


@dataclass(frozen=True, slots=True)
class VehicleView:
    """A vehicle and all that is known of it."""

    vehicle: Vehicle
    map_name: str
    visits: Sequence[VisitLine]
    open_visits: Sequence[VisitLine]
    holds: Sequence[Hold]
    firmware: str
    settings: Settings | None
    proof: Proof | None
    proof_visit: str
    way: WayView
    turns: tuple[Turn, ...]
    place: PlacePicture | None = None
    requests: Sequence[FootageRequest] = ()
    fitted: Sequence[DriveState] = ()


def vehicle_view(number: str, services: Services) -> VehicleView:
    """The vehicle with this number. Raises NotFound, IntegrityError, StorageError."""
    vehicle = services.shelf.fleet().vehicle(number)
    store = services.desk.store
    lines = store.lines(LineQuery(vehicles=(vehicle.number,), limit=VISITS_SHOWN))
    menu_map = _map(vehicle, services)
    settings, proof, proof_visit, firmware = None, None, "", ""
    for line in lines[:FOLDED]:
        state = load_visit(line.id, store=store, blobs=services.desk.blobs)
        firmware = firmware or state.firmware_left
        if settings is None:
            settings = _settings(state, menu_map)
        if proof is None and state.proof is not None:
            proof, proof_visit = state.proof, state.id
    holds = [hold for hold in store.holds(vehicle.number) if hold.active]
    return VehicleView(
        vehicle,
        f"{menu_map.maker} {menu_map.model}" if menu_map else vehicle.recorder.map_id,
        lines,
        [line for line in lines if not line.closed],
        holds,
        firmware or vehicle.recorder.firmware,
        settings,
        proof,
        proof_visit,
        way_view(vehicle.number, WayAsked(), services),
        turns_of(vehicle, services),
        place_picture(vehicle, store=store),
        [
            one
            for one in list_requests(services.requests, vehicle.number)
            if one.state is RequestState.OPEN
        ],
        fitted_drives(vehicle.number, services),
    )


def _map(vehicle: Vehicle, services: Services) -> MenuMap | None:
    try:
        return services.shelf.menu_map(vehicle.recorder.map_id)
    except AsfoundError:
        return None


def _settings(state: VisitState, menu_map: MenuMap | None) -> Settings | None:
    """The newest settings that a visit knows; None when it read none."""
    left = bool(state.rounds)
    reading = state.rounds[-1].reading if left else state.as_found
    settled = state.rounds[-1].settled if left else state.settled
    if reading is None or menu_map is None:
        return None
    rows = _rows(reading, settled, menu_map)
    unsure = sum(row.state in ("doubt", "unread") for row in rows)
    return Settings(state.id, left, rows, unsure)


def _rows(
    reading: Reading, settled: Sequence[Settled], menu_map: MenuMap
) -> tuple[SettingRow, ...]:
    by_hand = {item.id: item.value for item in settled}
    rows = []
    for field in reading.fields:
        try:
            page, kind = menu_map.page_of(field.id).title, menu_map.field(field.id).type
        except NotFound:
            # The map was changed since: the value is still what was read.
            page, kind = "", None
        value = by_hand.get(field.id, field.value)
        text = "" if value is None else shown(kind, value) if kind is not None else value
        state = "settled" if field.id in by_hand else field.state.value
        rows.append(SettingRow(page, field.label, text, state))
    return tuple(rows)
