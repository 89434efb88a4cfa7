"""Passwords on a visit's photographs: which may show one, and having them painted over."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import BaseModel

from asfound.web.api.tasks import TaskOut
from asfound.web.api.visits import Head, Name
from asfound.web.context import Asked
from asfound.web.events import task_data
from asfound.web.hiding import HideAct, hiding_view, start_hiding

router = APIRouter(prefix="/visits/{visit}", tags=["work"])


class ShownSecretOut(BaseModel):
    """A photograph that shows, or may show, a password; ``why`` is "" when it is known where."""

    file: str
    page: str
    why: str


class SecretsOut(BaseModel):
    """Photographs that may show passwords (``shown``), how many originals are ``waiting`` to be
    deleted, and how many were painted over (``hidden``). Write against ``head``."""

    shown: list[ShownSecretOut]
    waiting: int
    hidden: int
    head: str


class HideIn(BaseModel):
    """Who has passwords painted over; ``whole``: photographs of which it could not be told where
    one stands, from edge to edge."""

    head: Head
    by: Name
    whole: bool = False


@router.get("/secrets")
def secrets(here: Asked, visit: str) -> SecretsOut:
    """Photographs of the visit that may show passwords."""
    view = hiding_view(visit, here.services)
    shown = [ShownSecretOut(file=one.file, page=one.page, why=one.why) for one in view.shown]
    return SecretsOut(shown=shown, waiting=view.waiting, hidden=view.hidden, head=view.state.head)


@router.post("/secrets", status_code=202)
def hide(here: Asked, visit: str, wanted: HideIn) -> TaskOut:
    """Begin to paint over and to delete the originals; the answer is the task."""
    act = HideAct(visit, wanted.head, wanted.by, wanted.whole)
    return TaskOut(**task_data(start_hiding(act, here.services, here.server.tasks)))
