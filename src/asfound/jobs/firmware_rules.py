"""What catalogue and rollouts say of a visit's firmware choice, at the moment that it is asked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time
from zoneinfo import ZoneInfo

from asfound.errors import AsfoundError
from asfound.jobs.choose_firmware import ChooseFirmware, choose_firmware
from asfound.jobs.recorder_hardware import hardware_of
from asfound.jobs.rollout_status import RolloutStatus, Standing, rollout_status
from asfound.jobs.rollout_visits import rollout_visits
from asfound.model.firmware import Catalogue
from asfound.model.firmware_choice import (
    UNREADABLE,
    FirmwareChoice,
    FirmwareRules,
    OpenedUnder,
    RolloutTurn,
    Turn,
)
from asfound.model.rollout import Decision, Rollout
from asfound.model.visit import VisitState
from asfound.ports.blobs import Blobs
from asfound.ports.clock import Clock
from asfound.ports.firmware_books import FirmwareBooks
from asfound.ports.store import Store


@dataclass(frozen=True)
class FleetRules:
    """The rules of ``books`` (jobs/visit_journal.py: Rules). A rollout is judged by the visits of
    ``store``, so that a failure on another device stops it here, too."""

    books: FirmwareBooks
    store: Store
    blobs: Blobs
    clock: Clock

    def catalogue(self) -> tuple[Catalogue, str] | None:
        """See Rules."""
        return self.books.catalogue()

    def under(self, map_id: str) -> OpenedUnder:
        """See Rules. What cannot be read is noted as there: its gates are shut until it can."""
        try:
            kept = self.books.catalogue()
            catalogue = kept[1] if kept else ""
        except AsfoundError:
            catalogue = UNREADABLE
        try:
            rollouts = tuple(one.id for one in self.books.rollouts() if one.map_id == map_id)
        except AsfoundError:
            rollouts = (UNREADABLE,)
        return OpenedUnder(catalogue, rollouts)

    def of(self, state: VisitState) -> FirmwareRules:
        """See Rules."""
        catalogue, known, faulty, why = None, "", "", ""
        try:
            kept = self.books.catalogue()
            if kept is not None:
                catalogue, known = kept
                why = choice_fault(state, catalogue)
        except AsfoundError as error:
            faulty = str(error)
        try:
            rollouts = [
                one for one in self.books.rollouts() if one.map_id == state.vehicle.recorder.map_id
            ]
            turns = self._turns(state, rollouts, catalogue)
        except AsfoundError as error:
            return FirmwareRules(known, faulty, why, (), str(error))
        names = tuple(one.id for one in rollouts)
        return FirmwareRules(known, faulty, why, names, "", turns)

    def _turns(
        self, state: VisitState, rollouts: list[Rollout], catalogue: Catalogue | None
    ) -> tuple[RolloutTurn, ...]:
        choice = state.choice
        if choice is None:
            return ()
        put_on = {one for one in choice.versions if one != choice.installed}
        return tuple(self._turn(state, one, catalogue) for one in rollouts if one.target in put_on)

    def _turn(
        self, state: VisitState, rollout: Rollout, catalogue: Catalogue | None
    ) -> RolloutTurn:
        fleet = self.books.fleet()
        start = datetime.combine(rollout.started_on, time.min, ZoneInfo(fleet.time_zone))
        now = self.clock.now()
        if now < start or state.opened_at < start:
            why = f"it begins on {rollout.started_on}, and this visit is from before that"
            return RolloutTurn(rollout.id, rollout.target, Turn.NOT_BEGUN, why)
        if catalogue is not None and (lacks := not_in_catalogue(rollout, catalogue)):
            return RolloutTurn(rollout.id, rollout.target, Turn.UNTOLD, lacks)
        numbers = [one.number for one in fleet.vehicles if one.recorder.map_id == rollout.map_id]
        visits = rollout_visits(numbers, start, store=self.store, blobs=self.blobs)
        menu_map = self.books.menu_map(rollout.map_id)
        standing = rollout_status(
            RolloutStatus(rollout, fleet, menu_map, visits, start, now, hardware_known(catalogue))
        )
        choice = state.choice
        turn, why = turn_of(
            rollout, state.vehicle.number, choice.hardware if choice else "", standing
        )
        return RolloutTurn(rollout.id, rollout.target, turn, why)


def hardware_known(catalogue: Catalogue | None) -> dict[str, str]:
    """Hardware revisions by recorder serial, as the catalogue has them."""
    return dict(catalogue.hardware) if catalogue else {}


def not_in_catalogue(rollout: Rollout, catalogue: Catalogue) -> str:
    """Why the catalogue lets nobody have a rollout's version, in one line; "" when it does."""
    of_version = [
        one for one in catalogue.images_of(rollout.map_id) if one.version == rollout.target
    ]
    if not of_version:
        return f"the firmware catalogue has no image of {rollout.target}"
    if all(one.withdrawn for one in of_version):
        return f"every image of {rollout.target} was withdrawn"
    made = {name for one in of_version if one.withdrawn is None for name in one.hardware}
    lacking = [name for name in rollout.hardware if name not in made]
    return f"no image of {rollout.target} is for hardware {lacking[0]}" if lacking else ""


def turn_of(rollout: Rollout, number: str, hardware: str, standing: Standing) -> tuple[Turn, str]:
    """Whether it is the turn of the vehicle ``number``, and why."""
    own = next((one for one in standing.vehicles if one.vehicle.number == number), None)
    if standing.decision is Decision.STOP:
        return Turn.STOPPED, f"it is stopped, {standing.why}"
    if rollout.hardware and not hardware:
        names = ", ".join(rollout.hardware)
        return Turn.UNTOLD, f"it is for hardware {names}, and the recorder's is not known"
    if rollout.hardware and hardware not in rollout.hardware:
        return Turn.NOT_ITS_TURN, f"it is not for hardware {hardware}"
    if own is None:
        return Turn.UNTOLD, f"vehicle {number} is not among its vehicles"
    if own.outcome is not None or own.firmware == rollout.target:
        return Turn.OPEN, ""
    if standing.decision is Decision.HOLD:
        return Turn.HELD, f"it is on hold, {standing.why}"
    if standing.decision is Decision.COULD_NOT_TELL:
        return Turn.UNTOLD, f"it could not be told, {standing.why}"
    if number in {one.number for one in standing.next}:
        return Turn.OPEN, ""
    first = ", ".join(one.number for one in standing.next[:4])
    return Turn.NOT_ITS_TURN, f"its wave has not begun; now it is the turn of {first}"


def choice_fault(state: VisitState, catalogue: Catalogue) -> str:
    """Why the catalogue, as it is now, does not give the choice any more; "" when it does."""
    choice = state.choice
    if choice is None or choice.refused or not choice.catalogue:
        return ""
    try:
        known = hardware_of(state.vehicle.recorder, catalogue, choice.hardware)
        now = choose_firmware(asked_again(state, choice, catalogue, known))
    except AsfoundError as error:
        return str(error)
    if [one.image.sha256 for one in now.steps] == [one.sha256 for one in choice.path]:
        return ""
    chosen = {one.sha256 for one in choice.path}
    why = next((one.note for one in now.rejected if one.image.sha256 in chosen), "")
    return why or "the catalogue gives another way now"


def asked_again(
    state: VisitState, choice: FirmwareChoice, catalogue: Catalogue, hardware: str
) -> ChooseFirmware:
    """The question that the choice answered."""
    return ChooseFirmware(
        catalogue,
        state.vehicle.recorder.map_id,
        hardware,
        choice.installed,
        state.fleet,
        choice.asked,
    )
