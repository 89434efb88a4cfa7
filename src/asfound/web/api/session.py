"""The session: what a program needs before it may change anything."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import BaseModel

from asfound.version import VERSION
from asfound.web.context import Asked

router = APIRouter(tags=["session"])


class Session(BaseModel):
    """``csrf_token`` goes into the header X-CSRF-Token of every request that changes something,
    together with the cookie that came with this answer."""

    csrf_token: str
    version: str
    device: str | None


@router.get("/session")
def session(here: Asked) -> Session:
    """Begin or continue a session."""
    device = here.visitor.device
    return Session(
        csrf_token=here.form_token, version=VERSION, device=device.name if device else None
    )
