"""Firmware as pages show it: the catalogue by recorder model, and one vehicle's way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from asfound.calc.version_order import version_key
from asfound.errors import AsfoundError
from asfound.jobs.check_firmware import catalogue_findings
from asfound.jobs.choose_firmware import choose_firmware
from asfound.jobs.vehicle_firmware import (
    FirmwareKnown,
    WayAsked,
    firmware_known,
    vehicle_request,
)
from asfound.jobs.visit_journal import load_visit
from asfound.model.firmware import Catalogue, FirmwareChosen, Image
from asfound.model.fleet import Vehicle
from asfound.model.menu_map import MenuMap
from asfound.model.visit import VisitState
from asfound.model.visit_line import LineQuery
from asfound.web.services import Services

LOOKED_AT = 3
"""How many of a vehicle's newest visits are folded to find its version."""


@dataclass(frozen=True, slots=True)
class ImageRow:
    """An image; ``usable``: this fleet may have it; ``here``: its file is in the home folder."""

    image: Image
    usable: bool
    here: bool


@dataclass(frozen=True, slots=True)
class ModelRows:
    """A recorder model: its name, how its versions are ordered, its images, newest first."""

    map_id: str
    name: str
    order: str
    rows: tuple[ImageRow, ...]


@dataclass(frozen=True, slots=True)
class FirmwareView:
    """The catalogue; ``findings``: what somebody should look at."""

    fleet: str
    models: tuple[ModelRows, ...]
    findings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WayView:
    """One vehicle's way. ``chosen`` None: could not tell, ``doubt`` says why ("" where there is no
    catalogue). ``hardware`` and ``installed``: what it was worked out for. ``revisions`` and
    ``versions``: what the catalogue has for this model, versions newest first."""

    vehicle: Vehicle
    name: str
    known: FirmwareKnown
    asked: WayAsked
    hardware: str
    installed: str
    revisions: tuple[str, ...]
    versions: tuple[str, ...]
    chosen: FirmwareChosen | None
    doubt: str
    no_catalogue: bool = False

    @property
    def goal(self) -> str:
        """The version to end with; "" when there is none."""
        return self.chosen.steps[-1].image.version if self.chosen and self.chosen.steps else ""


def firmware_view(services: Services) -> FirmwareView | None:
    """The catalogue; None where there is none. Raises NotFound, InputError."""
    made = services.shelf.catalogue()
    if made is None:
        return None
    fleet = services.shelf.fleet().name
    models = tuple(
        ModelRows(
            model.map_id,
            map_name(model.map_id, services),
            model.scheme.name,
            tuple(_row(one, fleet, services) for one in newest_first(made, model.map_id)),
        )
        for model in made.models
    )
    return FirmwareView(fleet, models, tuple(catalogue_findings(made)))


def way_view(number: str, asked: WayAsked, services: Services) -> WayView:
    """What to put on a vehicle's recorder; a faulty catalogue is a doubt. Raises NotFound
    (vehicle), InputError (fleet file), StorageError, IntegrityError."""
    fleet = services.shelf.fleet()
    vehicle = fleet.vehicle(number)
    made, doubt, absent = None, "", False
    try:
        made = services.shelf.catalogue()
        absent = made is None
    except AsfoundError as error:
        doubt = str(error)
    visits = newest_visits(vehicle, services)
    try:
        known = firmware_known(vehicle, visits, made)
    except AsfoundError as error:
        # Fleet file and catalogue disagree about the hardware: neither is believed.
        known, doubt = replace(firmware_known(vehicle, visits, None), hardware=""), str(error)
    map_id = vehicle.recorder.map_id
    chosen = None
    hardware, installed = known.hardware or asked.hardware, asked.installed or known.installed
    if made is not None and not doubt:
        try:
            chosen = choose_firmware(vehicle_request(vehicle, fleet.name, known, made, asked))
        except AsfoundError as error:
            doubt = str(error)
    images = newest_first(made, map_id) if made is not None else []
    return WayView(
        vehicle,
        map_name(map_id, services),
        known,
        asked,
        hardware,
        installed,
        tuple(sorted({one for image in images for one in image.hardware})),
        tuple(dict.fromkeys(image.version for image in images)),
        chosen,
        doubt,
        absent,
    )


def newest_first(catalogue: Catalogue, map_id: str) -> list[Image]:
    """A model's images by its own order of versions."""
    model = catalogue.model(map_id)
    if model is None:
        return []
    images = catalogue.images_of(map_id)
    return sorted(images, key=lambda one: version_key(model.scheme, one.version), reverse=True)


def newest_visits(vehicle: Vehicle, services: Services) -> Sequence[VisitState]:
    """The vehicle's newest visits, newest first."""
    desk = services.desk
    lines = desk.store.lines(LineQuery(vehicles=(vehicle.number,), limit=LOOKED_AT))
    return [load_visit(line.id, store=desk.store, blobs=desk.blobs) for line in lines]


def map_of(map_id: str, services: Services) -> MenuMap | None:
    """A menu map; None when it is gone or cannot be read."""
    try:
        return services.shelf.menu_map(map_id)
    except AsfoundError:
        return None


def map_name(map_id: str, services: Services) -> str:
    """A recorder model as people call it."""
    found = map_of(map_id, services)
    return f"{found.maker} {found.model}" if found is not None else map_id


def _row(image: Image, fleet: str, services: Services) -> ImageRow:
    usable = image.withdrawn is None and image.approved_for(fleet)
    return ImageRow(image, usable, services.sticks.has_image(image.file))
