"""A visit's plan, the ticks on it, the comparison, the report and its signatures."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from fastapi import APIRouter
from pydantic import BaseModel, Field
from starlette.responses import Response

from asfound.errors import NotFound
from asfound.jobs.key_ticks import TickKeys, clear_ticks, tick_keys
from asfound.jobs.visit_journal import load_visit
from asfound.model.rekey import KeyRun
from asfound.model.visit import Signature, VisitState
from asfound.web.api.visits import Head, Name
from asfound.web.context import Asked, Here
from asfound.web.pages.report import made_report, pdf_answer
from asfound.web.view_compare import CompareView, load_compare
from asfound.web.view_rekey import KeyPage, KeyRow, RekeyView, load_rekey
from asfound.web.work_acts import Signing, compare, plan, sign

router = APIRouter(prefix="/visits/{visit}", tags=["work"])

Picture = Annotated[str, Field(max_length=250_000, description="A PNG or JPEG as base64.")]


class ActIn(BaseModel):
    """Who acts, against the journal's head seen last."""

    head: Head
    by: Name


class KeysOut(BaseModel):
    """One key, pressed ``times`` times in a row."""

    key: str
    times: int

    @classmethod
    def of(cls, runs: tuple[KeyRun, ...]) -> list[KeysOut]:
        """From the model's runs."""
        return [cls(key=run.key, times=run.times) for run in runs]


class KeyRowOut(BaseModel):
    """A setting to key in: ``move`` reaches its row, ``change`` sets it. ``mark`` names it in
    ticks; ``from_value`` is null when the factory value is not known."""

    mark: str
    field: str
    label: str
    from_value: str | None
    to_value: str
    move: list[KeysOut]
    change: list[KeysOut]
    by_hand: bool
    note: str
    ticked_by: str | None
    ticked_at: datetime | None

    @classmethod
    def of(cls, row: KeyRow) -> KeyRowOut:
        """From the row that pages show."""
        return cls(
            mark=row.mark,
            field=row.field.id,
            label=row.field.label,
            from_value=row.start,
            to_value=row.goal,
            move=KeysOut.of(row.field.move),
            change=KeysOut.of(row.field.change),
            by_hand=row.field.by_hand,
            note=row.field.note,
            ticked_by=row.tick.by if row.tick else None,
            ticked_at=row.tick.at if row.tick else None,
        )


class KeyPageOut(BaseModel):
    """A page of the menu: ``reach`` opens it, ``save`` stores it."""

    id: str
    title: str
    number: int
    reach: list[KeysOut]
    save: list[KeysOut]
    fields: list[KeyRowOut]

    @classmethod
    def of(cls, page: KeyPage) -> KeyPageOut:
        """From the page that pages show."""
        return cls(
            id=page.page.id,
            title=page.title,
            number=page.page.number,
            reach=KeysOut.of(page.page.reach),
            save=KeysOut.of(page.page.save),
            fields=[KeyRowOut.of(row) for row in page.rows],
        )


class PlanOut(BaseModel):
    """The re-key sheet and how far it is; no pages while nothing was planned."""

    visit: str
    head: str
    firmware: str
    presses: int
    seconds: float
    presses_left: int
    seconds_left: float
    stamp: str
    pages: list[KeyPageOut]

    @classmethod
    def of(cls, view: RekeyView) -> PlanOut:
        """From what pages show."""
        sheet = view.state.sheet
        return cls(
            visit=view.state.id,
            head=view.state.head,
            firmware=view.state.firmware_left,
            presses=sheet.presses if sheet else 0,
            seconds=sheet.seconds if sheet else 0.0,
            presses_left=view.progress.presses_left,
            seconds_left=view.progress.seconds_left,
            stamp=view.stamp,
            pages=[KeyPageOut.of(page) for page in view.pages],
        )


class TickOut(BaseModel):
    """A setting that was keyed in."""

    mark: str
    by: str
    at: datetime


class TicksOut(BaseModel):
    """The ticks that the present plan asks for; ``stamp`` changes with every tick."""

    stamp: str
    done: int
    fields: int
    presses_left: int
    seconds_left: float
    ticks: list[TickOut]

    @classmethod
    def of(cls, view: RekeyView) -> TicksOut:
        """From what pages show."""
        ticks = [row.tick for row in view.rows if row.tick is not None]
        return cls(
            stamp=view.stamp,
            done=view.progress.done,
            fields=view.progress.fields,
            presses_left=view.progress.presses_left,
            seconds_left=view.progress.seconds_left,
            ticks=[TickOut(mark=item.mark, by=item.by, at=item.at) for item in ticks],
        )


class TickIn(BaseModel):
    """A tick, or with ``done`` false its taking back. Without ``by`` the session's name signs."""

    done: bool = True
    by: Name = ""


class ClearIn(BaseModel):
    """Take every tick back. Without ``by`` the session's name signs."""

    by: Name = ""


class ComparedOut(BaseModel):
    """A setting: wrong, doubt, unread, missing (page not photographed), same, no-target, clock."""

    field: str
    page: str
    label: str
    kind: str
    verdict: str
    should_be: str
    is_now: str
    candidates: list[str]


class DifferenceOut(BaseModel):
    """The last round against what was agreed: every setting once, open ones first. ``compared``
    is false until the round was compared; ``open`` counts what is left to do."""

    visit: str
    head: str
    round: int
    compared: bool
    open: int
    settings: list[ComparedOut]

    @classmethod
    def of(cls, view: CompareView) -> DifferenceOut:
        """From what pages show."""
        return cls(
            visit=view.state.id,
            head=view.state.head,
            round=len(view.rounds),
            compared=view.difference is not None,
            open=sum(group.count for group in view.open),
            settings=[
                ComparedOut(
                    field=row.field.id,
                    page=row.page,
                    label=row.field.label,
                    kind=group.kind,
                    verdict=row.field.verdict.value,
                    should_be=row.should,
                    is_now=row.left,
                    candidates=list(row.maybe),
                )
                for group in (*view.open, *view.fine)
                for row in group.rows
            ],
        )


class SignatureOut(BaseModel):
    """A signature under the journal's first ``entries``, whose last hash is ``head``; ``later``
    entries were written since. ``picture`` is its SHA-256, "" when the name alone signs."""

    name: str
    role: str
    at: datetime
    entries: int
    head: str
    picture: str
    later: int

    @classmethod
    def of(cls, item: Signature, state: VisitState) -> SignatureOut:
        """From the model's signature."""
        return cls(
            name=item.name,
            role=item.role,
            at=item.at,
            entries=item.entry,
            head=item.head,
            picture=item.picture,
            later=state.changes_since(item),
        )


class SignIn(BaseModel):
    """Somebody signs the visit as it stands; without a picture the name alone signs."""

    head: Head
    name: Name
    role: Literal["technician", "operator", "witness"] = "technician"
    picture: Picture = ""


@router.get("/plan")
def the_plan(here: Asked, visit: str) -> PlanOut:
    """The re-key sheet with its ticks."""
    return PlanOut.of(load_rekey(visit, here.services))


@router.post("/plan")
def make_plan(here: Asked, visit: str, wanted: ActIn) -> PlanOut:
    """Work the keys out from fleet file and readings as they are now."""
    plan(visit, wanted.head, wanted.by, here.services)
    here.server.hub.wake(visit)
    return PlanOut.of(load_rekey(visit, here.services))


@router.get("/ticks")
def ticks(here: Asked, visit: str) -> TicksOut:
    """Which settings were keyed in."""
    return TicksOut.of(load_rekey(visit, here.services))


@router.put("/ticks/{mark}")
def tick(here: Asked, visit: str, mark: str, wanted: TickIn) -> TicksOut:
    """Tick a setting off; the same tick twice is the same. It names no head: ticks of two people
    at once both count."""
    by = wanted.by or here.name
    tick_keys(TickKeys(visit, mark, by, wanted.done), desk=here.services.desk)
    return _ticked(here, visit)


@router.post("/ticks/clear")
def clear(here: Asked, visit: str, wanted: ClearIn) -> TicksOut:
    """Take every tick back: the recorder was reset once more."""
    clear_ticks(visit, wanted.by or here.name, desk=here.services.desk)
    return _ticked(here, visit)


@router.get("/difference")
def difference(here: Asked, visit: str) -> DifferenceOut:
    """The last comparison."""
    return DifferenceOut.of(load_compare(visit, here.services))


@router.post("/difference")
def make_difference(here: Asked, visit: str, wanted: ActIn) -> DifferenceOut:
    """Compare the last round of photographs with what was agreed."""
    compare(visit, wanted.head, wanted.by, here.services)
    here.server.hub.wake(visit)
    return DifferenceOut.of(load_compare(visit, here.services))


@router.get("/report.pdf", response_class=Response)
def report(here: Asked, visit: str) -> Response:
    """The report as PDF/A: a draft while the visit is open."""
    return pdf_answer(visit, made_report(here, visit))


@router.get("/signatures")
def signatures(here: Asked, visit: str) -> list[SignatureOut]:
    """Who signed what."""
    desk = here.services.desk
    return _signatures(load_visit(visit, store=desk.store, blobs=desk.blobs))


@router.post("/signatures", status_code=201)
def sign_visit(here: Asked, visit: str, wanted: SignIn) -> list[SignatureOut]:
    """Sign the visit as it stands, open or closed."""
    signing = Signing(visit, wanted.head, wanted.name, wanted.role, wanted.picture)
    state = sign(signing, here.services)
    here.server.hub.wake(visit)
    return _signatures(state)


@router.get("/signatures/{entry}.jpg", response_class=Response)
def signature_picture(here: Asked, visit: str, entry: int) -> Response:
    """The picture of the signature that is the journal's entry of this number."""
    desk = here.services.desk
    state = load_visit(visit, store=desk.store, blobs=desk.blobs)
    found = next((item for item in state.signatures if item.entry == entry), None)
    if found is None or not found.picture:
        raise NotFound(f"entry {entry} is no signature with a picture")
    return Response(desk.blobs.get(found.picture), media_type="image/jpeg")


def _ticked(here: Here, visit: str) -> TicksOut:
    here.server.hub.wake(visit)
    return TicksOut.of(load_rekey(visit, here.services))


def _signatures(state: VisitState) -> list[SignatureOut]:
    return [SignatureOut.of(item, state) for item in state.signatures]
