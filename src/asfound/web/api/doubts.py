"""Doubts: what only a person can settle, and the answers."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query
from pydantic import BaseModel, Field

from asfound.calc.settling import Question
from asfound.web.context import Asked, Here
from asfound.web.settling import Answer, DoubtsView, doubts_view, give, undo

router = APIRouter(prefix="/visits/{visit}/doubts", tags=["doubts"])

Moment = Literal["found", "left"]
MomentQuery = Annotated[
    Moment | None, Query(description="found, left, or without it: what was read last")
]


class DoubtOut(BaseModel):
    """A value that is not certain; ``candidates`` as the journal writes them, likeliest first, and
    what else the field's fixed list allows. ``picture`` is empty for passwords and codes."""

    field: str
    label: str
    page: str
    state: str
    reason: str
    candidates: list[str]
    secret: bool
    picture: str

    @classmethod
    def of(cls, visit: str, one: Question) -> DoubtOut:
        """From the question that pages ask."""
        shown = bool(one.photo and one.box and not one.secret)
        return cls(
            field=one.id,
            label=one.label,
            page=one.page,
            state=one.state.value,
            reason=one.reason,
            candidates=[offer.value for offer in one.offers],
            secret=one.secret,
            picture=f"/visits/{visit}/pictures/{one.photo}/{one.id}" if shown else "",
        )


class DoubtsOut(BaseModel):
    """Open doubts; ``head`` is what an answer must name."""

    visit: str
    head: str
    as_left: bool
    doubts: list[DoubtOut]
    missing_pages: int

    @classmethod
    def of(cls, view: DoubtsView) -> DoubtsOut:
        """From what pages show."""
        visit = view.state.id
        return cls(
            visit=visit,
            head=view.state.head,
            as_left=view.as_left,
            doubts=[DoubtOut.of(visit, one) for one in view.questions],
            missing_pages=view.missing,
        )


class ActIn(BaseModel):
    """Who does it, and the journal's head seen last."""

    head: Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
    by: Annotated[str, Field(max_length=80)]
    moment: Moment | None = None


class AnswerIn(ActIn):
    """A value as the journal writes it: switches "on" or "off", secrets "set" or "blank"."""

    value: Annotated[str, Field(max_length=400)]


@router.get("")
def doubts(here: Asked, visit: str, moment: MomentQuery = None) -> DoubtsOut:
    """What is to be settled, in menu order."""
    return _now(here, visit, moment)


@router.post("/{field}")
def answer(here: Asked, visit: str, field: str, wanted: AnswerIn) -> DoubtsOut:
    """Settle a value."""
    left = _left(wanted.moment)
    give(Answer(visit, wanted.head, wanted.by, field, wanted.value, None, left), here.services)
    here.server.hub.wake(visit)
    return _now(here, visit, wanted.moment)


@router.post("/{field}/take-back")
def back(here: Asked, visit: str, field: str, wanted: ActIn) -> DoubtsOut:
    """Put a settled value back in doubt."""
    left = _left(wanted.moment)
    undo(Answer(visit, wanted.head, wanted.by, field, as_left=left), here.services)
    here.server.hub.wake(visit)
    return _now(here, visit, wanted.moment)


def _now(here: Here, visit: str, moment: Moment | None) -> DoubtsOut:
    return DoubtsOut.of(doubts_view(visit, _left(moment), (), "", here.services))


def _left(moment: Moment | None) -> bool | None:
    return None if moment is None else moment == "left"
