"""Errors as HTTP says them: a status, and problem details (RFC 9457) for programs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse

from asfound.calc.plain_text import plain
from asfound.errors import (
    AsfoundError,
    GateShut,
    InputError,
    IntegrityError,
    Interrupted,
    MapError,
    MissingPart,
    NotFound,
    PictureError,
    RecordingError,
    StorageError,
    UsageError,
)
from asfound.web.step_pages import N_

MEDIA_TYPE = "application/problem+json"
TYPES = "/api/v1/problems/"
"""Where a problem's type is described; a type is this and its name."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of problem: ``name`` is the last part of its type."""

    name: str
    title: str
    status: int


KINDS: Mapping[type[AsfoundError], Kind] = {
    UsageError: Kind("usage", "What was asked for does not fit", 422),
    MapError: Kind("map", "A menu map cannot be used", 422),
    PictureError: Kind("picture", "A file is not a picture that can be read", 422),
    RecordingError: Kind("recording", "No recording could be looked at", 422),
    StorageError: Kind("storage", "The disk or database refuses", 503),
    GateShut: Kind("gate-shut", "A step is locked until its gates hold", 409),
    NotFound: Kind("not-found", "There is no such thing", 404),
    IntegrityError: Kind("integrity", "What is stored is not what it was", 409),
    MissingPart: Kind("missing-part", "An optional part is not installed", 503),
    InputError: Kind("input", "A file of the home folder is wrong", 422),
    Interrupted: Kind("interrupted", "The work was stopped", 409),
}
"""Every error that asfound raises on purpose, as a kind of problem."""

PLAIN_KINDS: Mapping[int, Kind] = {
    400: Kind("malformed", "The request cannot be read", 400),
    401: Kind("not-paired", "This device is not paired", 401),
    403: Kind("refused", "The request is refused", 403),
    404: Kind("not-found", "There is no such thing", 404),
    405: Kind("method", "This address does not do that", 405),
    409: Kind("head-moved", "Somebody else wrote in between", 409),
    413: Kind("too-large", "The request is too large", 413),
    421: Kind("other-host", "The request names another host", 421),
    422: Kind("usage", "What was asked for does not fit", 422),
    429: Kind("too-many", "Too many attempts", 429),
    500: Kind("fault", "The program has a fault", 500),
}
"""Problems of the transport itself, by status."""

OFFSET = Kind("wrong-offset", "The bytes do not continue what is here", 409)
"""A piece of an upload for another place than where the file goes on."""


class Problem(Exception):
    """A request that the pages themselves refuse; ``extra`` are further members of its JSON.
    ``kind`` where the status alone does not tell it."""

    kind: Kind | None = None

    def __init__(self, status: int, detail: str, extra: Mapping[str, Any] | None = None) -> None:
        super().__init__(detail)
        self.status = status
        self.detail = detail
        self.extra = dict(extra or {})


def spoken(error: HTTPException) -> Problem:
    """What the framework refuses, with what to do."""
    if error.status_code == 404:
        return Problem(404, "nothing is at this address; go back, or begin at the first page")
    if error.status_code == 405:
        return Problem(405, "this address does not do that; go back to the page before it")
    return Problem(error.status_code, str(error.detail))


def kind_of(error: Exception) -> Kind:
    """The kind of problem that an error is; a fault of ours when it was not raised on purpose."""
    if isinstance(error, Problem):
        if error.kind is not None:
            return error.kind
        return PLAIN_KINDS.get(error.status, PLAIN_KINDS[400])
    for cls in type(error).__mro__:
        if issubclass(cls, AsfoundError) and cls in KINDS:
            return KINDS[cls]
    return PLAIN_KINDS[500]


def all_kinds() -> dict[str, Kind]:
    """Every kind by its name."""
    return {kind.name: kind for kind in (*PLAIN_KINDS.values(), *KINDS.values(), OFFSET)}


SCHEMA = {
    "type": "object",
    "required": ["type", "title", "status", "detail", "instance"],
    "properties": {
        "type": {"type": "string", "format": "uri-reference"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "instance": {"type": "string", "format": "uri-reference"},
    },
}
"""The shape of a problem as the interface's description gives it."""

RESPONSES: dict[int | str, dict[str, Any]] = {
    "4XX": {"description": "A problem (RFC 9457)", "content": {MEDIA_TYPE: {"schema": SCHEMA}}},
    "5XX": {"description": "A problem (RFC 9457)", "content": {MEDIA_TYPE: {"schema": SCHEMA}}},
}


FAULT = N_("the program has a fault; its log says more")
"""What is said of an error that was not raised on purpose."""


def details(kind: Kind, detail: str, instance: str, extra: Mapping[str, Any]) -> dict[str, Any]:
    """The members of a problem (RFC 9457, section 3.1), and the extensions in ``extra``."""
    return {
        "type": TYPES + kind.name,
        "title": kind.title,
        "status": kind.status,
        "detail": plain(detail),
        "instance": instance,
        **extra,
    }


def problem_response(
    error: Exception, instance: str, said: Callable[[str], str] = str, language: str = "en"
) -> JSONResponse:
    """An error as problem details; ``said`` puts its detail into ``language``."""
    kind = kind_of(error)
    known = isinstance(error, AsfoundError | Problem)
    detail = str(error) if known else FAULT
    extra = error.extra if isinstance(error, Problem) else {}
    body = details(kind, said(detail), instance, extra)
    headers = {"Content-Language": language}
    return JSONResponse(body, kind.status, headers, media_type=MEDIA_TYPE)
