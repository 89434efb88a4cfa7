"""Plan, compare and sign from pages and programs, against the head of the journal they saw."""

from __future__ import annotations

import base64
import binascii
from dataclasses import dataclass

from asfound.errors import UsageError
from asfound.jobs.visit_journal import Desk, load_visit, named
from asfound.jobs.visit_sign import SignVisit, sign_visit
from asfound.jobs.visit_work import VisitPlan, visit_compare, visit_plan
from asfound.model.visit import VisitState
from asfound.web.heads import desk_at
from asfound.web.services import Services

PICTURE_HEAD = "data:image/png;base64,"
"""How a drawing surface gives its picture (RFC 2397)."""


@dataclass(frozen=True, slots=True)
class Signing:
    """Somebody signs; ``picture`` is base64 of a picture, with or without a data address's head,
    "" when the name alone signs."""

    visit: str
    head: str
    name: str
    role: str
    picture: str = ""


def plan(visit: str, head: str, by: str, services: Services) -> VisitState:
    """Work the keys out. Raises HeadMoved, UsageError, NotFound, GateShut, StorageError."""
    desk = _desk(visit, head, services)
    return visit_plan(_request(visit, by, desk, services), desk=desk)


def compare(visit: str, head: str, by: str, services: Services) -> VisitState:
    """Compare the last round. Raises HeadMoved, UsageError, NotFound, GateShut, StorageError."""
    desk = _desk(visit, head, services)
    return visit_compare(_request(visit, by, desk, services), desk=desk)


def sign(signing: Signing, services: Services) -> VisitState:
    """Sign. Raises HeadMoved, UsageError, PictureError, NotFound, StorageError."""
    desk = _desk(signing.visit, signing.head, services)
    text = signing.picture.removeprefix(PICTURE_HEAD)
    try:
        picture = base64.b64decode(text, validate=True) if text else None
    except (binascii.Error, ValueError):
        raise UsageError("the signature's picture is not base64; draw it again") from None
    request = SignVisit(signing.visit, signing.name, signing.role, picture)
    return sign_visit(request, desk=desk, pictures=services.tools.pictures())


def _request(visit: str, by: str, desk: Desk, services: Services) -> VisitPlan:
    """Standard and vehicle as the fleet file has them now: it may have been mended."""
    state = load_visit(visit, store=desk.store, blobs=desk.blobs)
    fleet, shelf = services.shelf.fleet(), services.shelf
    menu_map = shelf.menu_map(state.vehicle.recorder.map_id)
    vehicle = fleet.vehicle(state.vehicle.number)
    return VisitPlan(visit, menu_map, fleet.standard(menu_map.id), vehicle, named(by), fleet)


def _desk(visit: str, head: str, services: Services) -> Desk:
    if not head:
        raise UsageError("the journal's head is missing; load the visit and send its head along")
    return desk_at(services.desk, visit, head)
