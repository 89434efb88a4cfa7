"""Firmware: the catalogue, a vehicle's way, and what a version changes."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from fastapi import APIRouter, Query
from pydantic import BaseModel

from asfound.errors import NotFound
from asfound.jobs.vehicle_firmware import WayAsked
from asfound.model.firmware import FirmwareStep, Image, RejectedImage
from asfound.web.context import Asked
from asfound.web.slugs import unslug
from asfound.web.view_firmware import firmware_view, way_view
from asfound.web.view_rollout import ChangesView, changes_view

router = APIRouter(tags=["firmware"])

Typed = Annotated[str, Query(max_length=60)]


class ApprovalOut(BaseModel):
    """Who let a fleet ("*": every one) have an image."""

    fleet: str
    by: str
    on: date


class ImageOut(BaseModel):
    """An image of the catalogue, as docs/firmware.md describes it; ``usable``: this fleet may have
    it; ``here``: its file is in the home folder."""

    map: str
    hardware: list[str]
    version: str
    file: str
    size: int
    sha256: str
    notes: str
    needs: str
    stones: list[str]
    not_over: list[str]
    floor: str
    troubles: list[str]
    withdrawn_on: date | None
    withdrawn_why: str
    approved: list[ApprovalOut]
    usable: bool
    here: bool

    @classmethod
    def of(cls, image: Image, usable: bool, here: bool) -> ImageOut:
        """From the model's image."""
        gone = image.withdrawn
        return cls(
            map=image.map_id, hardware=list(image.hardware), version=image.version,
            file=image.file, size=image.size, sha256=image.sha256, notes=image.notes,
            needs=image.needs, stones=list(image.stones), not_over=list(image.not_over),
            floor=image.floor, troubles=list(image.troubles),
            withdrawn_on=gone.on if gone else None, withdrawn_why=gone.why if gone else "",
            approved=[ApprovalOut(fleet=x.fleet, by=x.by, on=x.on) for x in image.approved],
            usable=usable, here=here,
        )  # fmt: skip


class CatalogueOut(BaseModel):
    """Every image, newest first within its recorder model, and what to look at."""

    images: list[ImageOut]
    findings: list[str]


class StepOut(BaseModel):
    """One image to put on, over the version ``over``."""

    version: str
    file: str
    size: int
    sha256: str
    over: str
    reasons: list[str]

    @classmethod
    def of(cls, step: FirmwareStep) -> StepOut:
        """From the model's step."""
        image = step.image
        return cls(
            version=image.version, file=image.file, size=image.size, sha256=image.sha256,
            over=step.over, reasons=list(step.reasons),
        )  # fmt: skip


class RejectedOut(BaseModel):
    """An image that was not chosen, and why."""

    version: str
    file: str
    hardware: list[str]
    why: str
    note: str

    @classmethod
    def of(cls, one: RejectedImage) -> RejectedOut:
        """From the model's rejection."""
        image = one.image
        return cls(
            version=image.version, file=image.file, hardware=list(image.hardware),
            why=one.why.value, note=one.note,
        )  # fmt: skip


class WayOut(BaseModel):
    """A vehicle's way. ``answer``: put-on, nothing-to-do, nothing-fits or could-not-tell, with
    ``doubt``. ``installed`` by ``visit`` at ``at`` ("": as the fleet file says)."""

    vehicle: str
    map: str
    hardware: str
    installed: str
    visit: str
    at: datetime | None
    answer: str
    doubt: str
    steps: list[StepOut]
    rejected: list[RejectedOut]
    findings: list[str]
    warnings: list[str]


class ChangeOut(BaseModel):
    """A setting that changes."""

    change: str
    id: str
    label: str
    before: str
    after: str


class AgreedOut(BaseModel):
    """What becomes of an agreed value; ``default``: the new factory value."""

    who: str
    effect: str
    id: str
    value: str
    default: str | None


class ChangesOut(BaseModel):
    """What version ``to`` changes against ``old``."""

    map: str
    old: str
    new: str
    changes: list[ChangeOut]
    agreed: list[AgreedOut]

    @classmethod
    def of(cls, view: ChangesView) -> ChangesOut:
        """From what pages show."""
        return cls(
            map=view.menu_map.id, old=view.old, new=view.new,
            changes=[
                ChangeOut(change=x.change, id=x.id, label=x.label, before=x.before, after=x.after)
                for x in view.made.fields
            ],
            agreed=[
                AgreedOut(who=x.who, effect=x.effect, id=x.id, value=x.value, default=x.default)
                for x in view.made.agreed
            ],
        )  # fmt: skip


@router.get("/firmware")
def catalogue(here: Asked) -> CatalogueOut:
    """The firmware catalogue. 404 where there is none."""
    view = firmware_view(here.services)
    if view is None:
        raise NotFound("there is no firmware catalogue; write one (docs/firmware.md)")
    rows = [row for model in view.models for row in model.rows]
    return CatalogueOut(
        images=[ImageOut.of(row.image, row.usable, row.here) for row in rows],
        findings=list(view.findings),
    )


@router.get("/vehicles/{key}/firmware")
def way(
    here: Asked, key: str, hardware: Typed = "", installed: Typed = "", to: Typed = ""
) -> WayOut:
    """The right image for a vehicle's recorder and the way there; ``to``: this version alone."""
    view = way_view(unslug(key), WayAsked(hardware, installed, to), here.services)
    chosen = view.chosen
    doubt = "there is no firmware catalogue" if view.no_catalogue else view.doubt
    return WayOut(
        vehicle=view.vehicle.number,
        map=view.vehicle.recorder.map_id,
        hardware=view.hardware,
        installed=view.installed,
        visit=view.known.visit,
        at=view.known.at,
        answer=chosen.answer.value if chosen is not None else "could-not-tell",
        doubt=doubt,
        steps=[StepOut.of(step) for step in chosen.steps] if chosen is not None else [],
        rejected=[RejectedOut.of(one) for one in chosen.rejected] if chosen is not None else [],
        findings=list(chosen.findings) if chosen is not None else [],
        warnings=list(chosen.warnings) if chosen is not None else [],
    )


@router.get("/vehicles/{key}/firmware/changes")
def changes(here: Asked, key: str, new: Typed, old: Typed = "") -> ChangesOut:
    """What version ``new`` changes in a vehicle's settings; ``old`` left out: the installed one."""
    return ChangesOut.of(changes_view(unslug(key), "", old, new, here.services))
