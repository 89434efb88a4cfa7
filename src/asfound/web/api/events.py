"""News about a visit as server-sent events (HTML Living Standard, section 9.2)."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import StreamingResponse

from asfound.errors import NotFound
from asfound.web.context import Asked
from asfound.web.events import Subject

router = APIRouter(prefix="/visits/{visit}", tags=["events"])


@router.get("/events", response_class=StreamingResponse)
def events(here: Asked, visit: str) -> StreamingResponse:
    """A stream of ``journal``, ``ticks``, ``holds`` and ``task`` events; Last-Event-ID goes on
    where one was left."""
    entries = here.services.desk.store.entries(visit)
    if not entries:
        raise NotFound(f"no visit {visit!r}; the first page shows them")
    vehicle = entries[0].data.get("vehicle", {}).get("number", "")
    last = here.request.headers.get("last-event-id", "")
    stream = here.server.hub.stream(
        Subject(visit, vehicle), last, here.server.tasks, here.still_allowed
    )
    return StreamingResponse(stream, media_type="text/event-stream")
