"""What a problem's type means: the addresses in problem details can be opened."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import BaseModel

from asfound.errors import NotFound
from asfound.web.problems import TYPES, all_kinds

router = APIRouter(tags=["problems"])


class ProblemKind(BaseModel):
    """A kind of problem (RFC 9457)."""

    type: str
    title: str
    status: int


@router.get("/problems/{name}")
def problem(name: str) -> ProblemKind:
    """One kind of problem."""
    kind = all_kinds().get(name)
    if kind is None:
        raise NotFound(f"no problem {name!r}; docs/http.md lists them")
    return ProblemKind(type=TYPES + kind.name, title=kind.title, status=kind.status)
