"""The reading of a visit: photographs, pages, values with their states."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query
from pydantic import BaseModel

from asfound.web.context import Asked
from asfound.web.view_read import ReadView, read_view

router = APIRouter(prefix="/visits/{visit}/reading", tags=["reading"])


class PhotoOut(BaseModel):
    """A photograph; ``state`` is arriving, waiting, failed, read, no-page or damaged. ``sha256``
    once it was read; its picture is at /visits/VISIT/pictures/SHA256, passwords painted over."""

    name: str
    state: str
    sha256: str
    page: str
    sure: int
    doubt: int
    note: str
    hints: list[str]


class PageOut(BaseModel):
    """A page of the menu; ``photo`` is a photograph's SHA-256, "" while none shows it."""

    id: str
    title: str
    number: int
    photo: str
    known: int
    unsure: int


class ValueOut(BaseModel):
    """A value: ``state`` is sure, doubt or unread as photographs show it; settled values are
    those of the journal. ``box`` in pixels of the upright photograph."""

    field: str
    label: str
    value: str | None
    state: str
    candidates: list[str]
    reason: str
    photo: str
    box: list[tuple[float, float]] | None


class ReadingOut(BaseModel):
    """``refusal`` says why no photographs can be taken up now, "" when they can; ``rounds`` counts
    the as-left ones; ``unsure`` values only a person can settle."""

    visit: str
    head: str
    as_left: bool
    refusal: str
    rounds: int
    unsure: int
    pages: list[PageOut]
    missing: list[str]
    photos: list[PhotoOut]
    values: list[ValueOut]

    @classmethod
    def of(cls, view: ReadView) -> ReadingOut:
        """From what pages show."""
        return cls(
            visit=view.state.id,
            head=view.state.head,
            as_left=view.as_left,
            refusal=view.refusal,
            rounds=view.rounds,
            unsure=view.unsure,
            pages=[
                PageOut(
                    id=page.id,
                    title=page.title,
                    number=page.number,
                    photo=page.photo,
                    known=page.known,
                    unsure=page.unsure,
                )
                for page in view.pages
            ],
            missing=[page.id for page in view.missing],
            photos=[
                PhotoOut(
                    name=row.name,
                    state=row.state,
                    sha256=row.photo,
                    page=row.page,
                    sure=row.sure,
                    doubt=row.doubt,
                    note=row.note,
                    hints=list(row.hints),
                )
                for row in view.photos
            ],
            values=_values(view),
        )


@router.get("")
def reading(
    here: Asked,
    visit: str,
    moment: Annotated[Literal["found", "left"] | None, Query()] = None,
) -> ReadingOut:
    """The reading as found or as left; without ``moment`` of where the visit is."""
    left = None if moment is None else moment == "left"
    return ReadingOut.of(read_view(visit, left, here.services))


def _values(view: ReadView) -> list[ValueOut]:
    return [
        ValueOut(
            field=field.id,
            label=field.label,
            value=field.value,
            state=field.state.value,
            candidates=list(field.candidates),
            reason=field.reason,
            photo=field.photo,
            box=list(field.box) if field.box is not None else None,
        )
        for field in (view.reading.fields if view.reading is not None else ())
    ]
