"""Proof: what a visit's recordings show, which hours are on disk, and the way to have them
looked at on the machine that they are plugged into."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Query
from pydantic import AwareDatetime, BaseModel, Field
from starlette.responses import Response

from asfound.jobs.prove_clock_judge import ClockAsk
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
from asfound.web.covering import LONGEST_DAYS, CoverAct, hours_of, start_covering
from asfound.web.events import task_data
from asfound.web.pages.proof import picture
from asfound.web.proof_ask import LIMIT_S, clock_of
from asfound.web.proving import ProveAct, shut_because, start_proving
from asfound.web.view_proof import RECORDINGS, paged

router = APIRouter(tags=["proof"])

Day = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
CLOCK_TIME = "^([01][0-9]|2[0-3]):[0-5][0-9]$|^24:00$"


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


class ClockIn(BaseModel):
    """Burned-in clocks are read: whose local time they should show ("": the fleet's), what the
    recorder's showed and what it really was, and the offset that is let pass [s]."""

    zone: Name = ""
    shown: datetime | None = None
    true: datetime | None = None
    limit_s: Annotated[float, Field(gt=0, le=86400)] = LIMIT_S


class ProveIn(BaseModel):
    """Recordings to look at: ``folder`` is a key from /recordings, or "sent" for those sent;
    ``reference`` that of earlier good pictures, one a channel."""

    head: Head
    by: Name
    folder: Name
    clock: ClockIn | None = None
    reference: Name = ""


class HoursIn(BaseModel):
    """Hours in which it should record, on some days of the week, in the fleet's zone; an end that
    is not after the start lies on the next day."""

    days: Annotated[list[Day], Field(min_length=1, max_length=7)]
    start: Annotated[str, Field(pattern=CLOCK_TIME)]
    end: Annotated[str, Field(pattern=CLOCK_TIME)]


class CoverIn(BaseModel):
    """Hours to count in ``folder``, a key from /recordings: held against ``log``, the text of an
    ignition log (CSV) or schedule (TOML, told by ``name``), or against ``hours``. ``days``: those
    promised."""

    head: Head
    by: Name
    folder: Name
    log: str = ""
    name: Annotated[str, Field(max_length=255)] = "log.csv"
    log_vehicle: Name = ""
    hours: HoursIn | None = None
    days: Annotated[float, Field(gt=0, le=LONGEST_DAYS)] | None = None
    until: AwareDatetime | None = None


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
    act = ProveAct(
        visit, wanted.head, wanted.by, wanted.folder, _clock(here, wanted.clock), wanted.reference
    )
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


@router.post("/visits/{visit}/coverage", status_code=202)
def cover(here: Asked, visit: str, wanted: CoverIn) -> TaskOut:
    """Begin to count; from the server's machine alone. The answer is the task."""
    form = {"against": "file", "log_vehicle": wanted.log_vehicle}
    if wanted.hours is not None:
        form = dict.fromkeys(wanted.hours.days, "1")
        form |= {"against": "typed", "from": wanted.hours.start, "to": wanted.hours.end}
    file = (wanted.name, wanted.log.encode("utf-8", "surrogatepass"))
    expected, name = hours_of(form, file, _state(here, visit), here.services)
    act = CoverAct(
        visit, wanted.head, wanted.by, wanted.folder, expected, name, wanted.days,
        until=wanted.until,
    )  # fmt: skip
    return TaskOut(**task_data(start_covering(act, here, here.server.tasks)))


def _clock(here: Here, wanted: ClockIn | None) -> ClockAsk | None:
    if wanted is None:
        return None
    form = {"clock": "1", "clock_zone": wanted.zone, "clock_limit": str(wanted.limit_s)}
    for name, at in (("clock_shown", wanted.shown), ("clock_true", wanted.true)):
        form[name] = at.isoformat() if at is not None else ""
    return clock_of(form, here.services.shelf.fleet().time_zone)
