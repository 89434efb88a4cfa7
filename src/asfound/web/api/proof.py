"""Proof: what a visit's recordings show, which hours are on disk, and the way to have them
looked at on the machine that they are plugged into."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Query
from pydantic import BaseModel
from starlette.responses import Response

from asfound.jobs.report_proof import unclear_lines
from asfound.jobs.visit_cover import since_change
from asfound.jobs.visit_journal import load_visit
from asfound.model.coverage import ChannelCoverage
from asfound.model.finding import Finding, Recording
from asfound.model.visit import CoverageTaken, VisitState
from asfound.ports.folders import Place
from asfound.web.api.tasks import TaskOut
from asfound.web.api.visits import Head, Name
from asfound.web.context import Asked, Here
from asfound.web.events import task_data
from asfound.web.pages.proof import picture
from asfound.web.proving import ProveAct, shut_because, start_proving
from asfound.web.view_proof import RECORDINGS, paged

router = APIRouter(tags=["proof"])


class FindingOut(BaseModel):
    """A measured value against a limit; seconds from the start of the file. ``evidence``: the
    name of a picture of this proof, "" without one."""

    kind: str
    start_s: float
    end_s: float
    measured: float | None
    limit: float | None
    unit: str
    source: str
    evidence: str
    note: str

    @classmethod
    def of(cls, item: Finding) -> FindingOut:
        """From the model's finding."""
        return cls(
            kind=item.kind.value,
            start_s=item.start_s,
            end_s=item.end_s,
            measured=item.measured,
            limit=item.limit,
            unit=item.unit,
            source=item.source,
            evidence=item.evidence,
            note=item.note,
        )


class ThumbnailOut(BaseModel):
    """A picture of a recording, by its name."""

    second: float
    picture: str


class RecordingOut(BaseModel):
    """One video stream of one file; null: not known. Keys are those of asfound-proof/1."""

    file: str
    channel: int | None
    codec: str
    width: int
    height: int
    rate_fps: float | None
    duration_s: float | None
    bitrate_bps: float | None
    start: datetime | None
    findings: list[FindingOut]
    unclear: list[str]
    thumbnails: list[ThumbnailOut]

    @classmethod
    def of(cls, item: Recording) -> RecordingOut:
        """From the model's recording."""
        return cls(
            file=item.file,
            channel=item.channel,
            codec=item.codec,
            width=item.width,
            height=item.height,
            rate_fps=item.rate_fps,
            duration_s=item.duration_s,
            bitrate_bps=item.bitrate_bps,
            start=item.start,
            findings=[FindingOut.of(found) for found in item.findings],
            unclear=list(item.unclear),
            thumbnails=[ThumbnailOut(second=at, picture=name) for at, name in item.thumbnails],
        )


class ProofOut(BaseModel):
    """A visit's proof; ``verdict`` is records, faults or unclear, null while nothing was looked
    at. ``found`` recordings in all, one page of them here. ``locked``: why nothing can be looked
    at now, "" when it can."""

    verdict: str | None
    missing_channels: list[int]
    unclear: list[str]
    findings: int
    found: int
    page: int
    pages: int
    recordings: list[RecordingOut]
    locked: str
    head: str


class HoleOut(BaseModel):
    """Expected hours that are not on disk."""

    start: datetime
    end: datetime


class ChannelCoverageOut(BaseModel):
    """One channel: hours expected and held, ``share`` of them (null: none expected), days kept."""

    channel: int
    expected_h: float
    held_h: float
    share: float | None
    days_kept: float | None
    oldest: datetime | None
    newest: datetime | None
    short: bool
    missing: list[HoleOut]

    @classmethod
    def of(cls, item: ChannelCoverage, short: bool) -> ChannelCoverageOut:
        """From the model's channel; ``short``: it keeps fewer days than promised."""
        return cls(
            channel=item.channel,
            expected_h=item.expected_h,
            held_h=item.held_h,
            share=item.share,
            days_kept=item.days_kept,
            oldest=item.oldest,
            newest=item.newest,
            short=short,
            missing=[HoleOut(start=hole.start, end=hole.end) for hole in item.missing],
        )


class CoverageOut(BaseModel):
    """One count of the hours on disk; ``current`` false: the recorder was changed since.
    ``against`` is ignition or schedule; ``verdict`` complete, missing or unclear."""

    verdict: str
    at: datetime
    by: str
    against: str
    file: str
    start: datetime
    end: datetime
    days: float | None
    current: bool
    channels: list[ChannelCoverageOut]
    unclear: list[str]

    @classmethod
    def of(cls, taken: CoverageTaken, state: VisitState) -> CoverageOut:
        """From a count that the visit keeps."""
        made = taken.coverage
        return cls(
            verdict=made.verdict.value,
            at=taken.at,
            by=taken.by,
            against=taken.against,
            file=taken.file,
            start=made.window.start,
            end=made.window.end,
            days=made.days,
            current=since_change(state, taken),
            channels=[
                ChannelCoverageOut.of(item, item.channel in made.short) for item in made.channels
            ],
            unclear=list(made.unclear),
        )


class FolderOut(BaseModel):
    """A folder that may be looked at; ``name`` "" is the whole place."""

    key: str
    name: str


class PlaceOut(BaseModel):
    """A place that was named when the server was started; ``more`` folders are not listed."""

    name: str
    there: bool
    folders: list[FolderOut]
    more: int

    @classmethod
    def of(cls, place: Place) -> PlaceOut:
        """From the port's place."""
        return cls(
            name=place.name,
            there=place.there,
            folders=[FolderOut(key=item.key, name=item.name) for item in place.folders],
            more=place.more,
        )


class ProveIn(BaseModel):
    """Recordings to look at: ``folder`` is a key from /recordings, or "sent" for those sent."""

    head: Head
    by: Name
    folder: Name


@router.get("/recordings")
def recordings(here: Asked) -> list[PlaceOut]:
    """Places whose recordings may be looked at; none for anybody but the server's machine."""
    places = here.services.folders.places() if here.visitor.local else ()
    return [PlaceOut.of(place) for place in places]


@router.get("/visits/{visit}/proof")
def proof(here: Asked, visit: str, page: Annotated[int, Query(ge=1, le=1_000_000)] = 1) -> ProofOut:
    """What the visit's recordings show, twenty-five recordings a page."""
    state = _state(here, visit)
    made = state.proof
    cameras = sorted(camera.channel for camera in state.vehicle.cameras)
    shown = paged(made.recordings if made is not None else (), page, RECORDINGS)
    return ProofOut(
        verdict=made.verdict.value if made is not None else None,
        missing_channels=list(made.missing_channels) if made is not None else [],
        unclear=unclear_lines(made, cameras) if made is not None else [],
        findings=len(made.findings()) if made is not None else 0,
        found=shown.found,
        page=shown.number,
        pages=shown.pages,
        recordings=[RecordingOut.of(item) for item in shown.rows],
        locked=shut_because(state),
        head=state.head,
    )


@router.post("/visits/{visit}/proof", status_code=202)
def prove(here: Asked, visit: str, wanted: ProveIn) -> TaskOut:
    """Begin to look at recordings; from the server's machine alone. The answer is the task."""
    act = ProveAct(visit, wanted.head, wanted.by, wanted.folder)
    return TaskOut(**task_data(start_proving(act, here, here.server.tasks)))


@router.get(
    "/visits/{visit}/proof/pictures/{name}",
    response_class=Response,
    responses={200: {"content": {"image/jpeg": {}}, "description": "The picture"}},
)
def proof_picture(here: Asked, visit: str, name: str, small: bool = False) -> Response:
    """A picture of the proof, as it is kept or small."""
    return picture(here, visit, name, small)


@router.get("/visits/{visit}/coverage")
def coverage(here: Asked, visit: str) -> list[CoverageOut]:
    """Counts of the hours on disk that the visit keeps, oldest first."""
    state = _state(here, visit)
    return [CoverageOut.of(taken, state) for taken in state.coverage]


def _state(here: Here, visit: str) -> VisitState:
    desk = here.services.desk
    return load_visit(visit, store=desk.store, blobs=desk.blobs)
