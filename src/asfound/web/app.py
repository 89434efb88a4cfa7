"""The application: pages, the HTTP interface, and what guards both."""

from __future__ import annotations

import logging
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from anyio.to_thread import run_sync
from fastapi import Depends, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import Response
from starlette.routing import Route

from asfound.errors import AsfoundError
from asfound.version import VERSION
from asfound.web.bundling import Bundles
from asfound.web.context import Here, Server, checked, here_of
from asfound.web.copying import Copies
from asfound.web.events import Hub
from asfound.web.pairing import Pairing
from asfound.web.problems import RESPONSES, Problem, kind_of, problem_response, spoken
from asfound.web.reading import Reader
from asfound.web.render import load_renderer
from asfound.web.requesting import Looks
from asfound.web.routes import PAGES, PREFIX, RESOURCES
from asfound.web.security import Guard
from asfound.web.services import Services, Settings
from asfound.web.statics import load_statics
from asfound.web.tasks import Tasks
from asfound.web.texts import DEFAULT
from asfound.web.verifying import Verified

_log = logging.getLogger(__name__)


def create_app(services: Services, settings: Settings) -> FastAPI:
    """The pages and the HTTP interface over ``services``."""
    statics = load_statics()
    hub = Hub(services.desk.store)
    tasks = Tasks(hub.wake)
    server = Server(
        services,
        settings,
        statics,
        load_renderer(),
        hub,
        tasks,
        Pairing(services.devices, services.desk.clock),
        Reader(services, tasks, hub.wake),
        Looks(services),
        Verified(),
        Copies(),
        Bundles(),
    )
    app = FastAPI(
        title="asfound",
        version=VERSION,
        description="The visit of a vehicle's recorder, for programs. See docs/http.md.",
        openapi_url=f"{PREFIX}/openapi.json",
        docs_url=None,
        redoc_url=None,
        dependencies=[Depends(checked)],
        lifespan=_lifespan,
    )
    app.state.server = server
    for page in PAGES:
        app.include_router(page.router, include_in_schema=False)
    for resource in RESOURCES:
        app.include_router(resource.router, prefix=PREFIX, responses=RESPONSES)
    app.router.routes.append(
        Route("/static/{stamp}/{name}", statics.answer, include_in_schema=False)
    )
    for error in (AsfoundError, Problem, HTTPException, RequestValidationError, Exception):
        app.add_exception_handler(error, _answer)
    app.add_middleware(Guard, services=services, settings=settings)
    return app


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    server: Server = app.state.server
    try:
        await run_sync(server.reader.resume)
    except AsfoundError:
        # The pages come up all the same, and say what is wrong where it is.
        _log.warning("photographs that wait are not read yet", exc_info=True)
    yield
    server.hub.close()
    server.tasks.stop_all()


def _answer(request: Request, error: Exception) -> Response:
    """An error as the one who asked can use it: problem details, or a page."""
    told = _told(error)
    if not isinstance(told, AsfoundError | Problem):
        _log.error("request failed", exc_info=error)
    if not hasattr(request.state, "visitor"):
        return problem_response(told, request.url.path)
    here = here_of(request)
    if request.url.path.startswith("/api/"):
        # Programs ask for no language and get English; a page shows the line as it comes.
        said = here.told if here.language != DEFAULT else str
        return problem_response(told, request.url.path, said, here.language)
    return error_page(here, told)


def error_page(here: Here, error: Exception) -> Response:
    """The page that says what went wrong, in the same line as the command line does."""
    kind = kind_of(error)
    known = isinstance(error, AsfoundError | Problem)
    line = str(error) if known else ""
    return here.page("error.html.j2", kind.status, kind=kind, line=line)


def _told(error: Exception) -> Exception:
    """What the frameworks below raise, as one of our own problems."""
    if isinstance(error, RequestValidationError):
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        return Problem(422, f"{place}: {first['msg']}")
    if isinstance(error, HTTPException):
        return spoken(error)
    return error
