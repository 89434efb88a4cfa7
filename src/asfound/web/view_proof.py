"""A visit's proof as pages show it: findings by channel, doubts apart, recordings page by page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from itertools import groupby
from typing import Generic, TypeVar
from zoneinfo import ZoneInfo

from asfound.errors import AsfoundError, NotFound
from asfound.jobs.footage_strip import StripLook, length_of, numbered, strips
from asfound.jobs.proof_pages import ShowProof, shortened
from asfound.jobs.report_pictures import Album
from asfound.jobs.report_proof import unclear_lines
from asfound.jobs.report_texts import Row, shape_of
from asfound.jobs.strip_drawing import NARROW, WIDE, Layout, drawing
from asfound.jobs.visit_cover import since_change
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_work import visit_expectation
from asfound.model.finding import Expectation, ExpectedChannel, Finding, Proof, Recording
from asfound.model.visit import CoverageTaken, VisitState
from asfound.web.proof_words import UNTIMED, strip_words
from asfound.web.services import Services
from asfound.web.view_visit import visit_map

T = TypeVar("T")
RECORDINGS = 25
FINDINGS = 40
DOUBTS = 40
"""On one page."""


@dataclass(frozen=True, slots=True)
class Paged(Generic[T]):
    """One page of a list: ``found`` in all, ``number`` of ``pages`` from 1."""

    rows: tuple[T, ...]
    found: int
    number: int
    pages: int


@dataclass(frozen=True, slots=True)
class Shown:
    """Which page of each list is asked for."""

    recordings: int = 1
    findings: int = 1
    doubts: int = 1


@dataclass(frozen=True, slots=True)
class Telling:
    """How it is told: ``said`` translates a text, ``zone`` is that of times on the strip."""

    said: Callable[[str], str]
    zone: ZoneInfo


@dataclass(frozen=True, slots=True)
class FindingRow:
    """A finding, its number on the strip, the sign that stands for it, and when it was, where
    the recording's start is known."""

    number: int
    sign: str
    finding: Finding
    recording: Recording
    start: datetime | None
    end: datetime | None


@dataclass(frozen=True, slots=True)
class ChannelFindings:
    """Findings of one channel; None: of recordings whose channel is not known."""

    channel: int | None
    name: str
    rows: tuple[FindingRow, ...]


@dataclass(frozen=True, slots=True)
class RecordingRow:
    """A recording beside what was expected of its channel; ``state``: "findings", "unclear" or
    "good"."""

    recording: Recording
    name: str
    expected: ExpectedChannel | None
    state: str


@dataclass(frozen=True, slots=True)
class CoverageView:
    """The last count of hours on disk; ``before``: the recorder was changed since."""

    taken: CoverageTaken
    before: bool


@dataclass(frozen=True, slots=True)
class ProofView:
    """A proof and all that is shown of it. ``hours`` of recordings; ``undrawn`` of them have no
    length; ``folder`` holds them all."""

    proof: Proof
    folder: str
    by: str
    at: datetime | None
    channels: int
    hours: float
    undrawn: int
    findings: Paged[FindingRow]
    groups: tuple[ChannelFindings, ...]
    doubts: Paged[str]
    recordings: Paged[RecordingRow]
    drawings: tuple[Row, Row]
    pictures: frozenset[str]


def proof_view(
    state: VisitState, shown: Shown, services: Services, told: Telling
) -> ProofView | None:
    """The visit's proof; None while there is none. Raises IntegrityError, StorageError."""
    if state.proof is None:
        return None
    expectation = expectation_of(state, services)
    request, folder = shortened(ShowProof(state.proof, state.opened_at, expectation))
    proof = request.proof
    names = {camera.channel: camera.name for camera in state.vehicle.cameras}
    rows = finding_rows(proof)
    findings = paged(sorted(rows, key=_by_channel), shown.findings, FINDINGS)
    entry = services.desk.store.entries(state.id)[state.proof_entry]
    return ProofView(
        proof,
        folder,
        entry.by,
        entry.at,
        len({item.channel for item in proof.recordings if item.channel is not None}),
        sum(item.duration_s or 0.0 for item in proof.recordings) / 3600,
        sum(length_of(item) is None for item in proof.recordings),
        findings,
        _grouped(findings.rows, names),
        paged(unclear_lines(proof, sorted(names)), shown.doubts, DOUBTS),
        paged(recording_rows(proof, names, expectation), shown.recordings, RECORDINGS),
        (
            _drawn(proof, names, WIDE, services, told),
            _drawn(proof, names, NARROW, services, told),
        ),
        pictures_in(proof),
    )


def coverage_view(state: VisitState) -> CoverageView | None:
    """The visit's last count of hours; None when none was taken."""
    if not state.coverage:
        return None
    taken = state.coverage[-1]
    return CoverageView(taken, not since_change(state, taken))


def expectation_of(state: VisitState, services: Services) -> Expectation | None:
    """What the recordings were held against; None when it cannot be told any more."""
    menu_map = visit_map(state, services)
    if menu_map is None:
        return None
    try:
        return visit_expectation(state, menu_map)
    except AsfoundError:
        return None


def finding_rows(proof: Proof) -> list[FindingRow]:
    """Every finding with its number, in the order of the strip."""
    made = []
    for item in numbered(proof.recordings):
        recording, finding = proof.recordings[item.recording], item.finding
        start = end = None
        if recording.start is not None:
            start = recording.start + timedelta(seconds=finding.start_s)
            end = recording.start + timedelta(seconds=max(finding.start_s, finding.end_s))
        sign = shape_of(finding.kind)
        made.append(FindingRow(item.number, sign, finding, recording, start, end))
    return made


def recording_rows(
    proof: Proof, names: dict[int, str], expectation: Expectation | None
) -> list[RecordingRow]:
    """Every recording, those with findings or doubts first, then by channel and time."""
    expected = {item.channel: item for item in expectation.channels} if expectation else {}
    rows = [
        RecordingRow(
            item,
            names.get(item.channel or -1, ""),
            expected.get(item.channel or -1),
            _state(item),
        )
        for item in proof.recordings
    ]
    order = {"findings": 0, "unclear": 1, "good": 2}
    return sorted(rows, key=lambda row: (order[row.state], *_place(row.recording)))


def pictures_in(proof: Proof) -> frozenset[str]:
    """Names of the stored pictures that belong to a proof."""
    return frozenset(
        name
        for item in proof.recordings
        for name in (
            *(second[1] for second in item.thumbnails),
            *(finding.evidence for finding in item.findings),
        )
        if name
    )


class _At:
    """A visit at a head of its journal: the head alone says what it holds."""

    def __init__(self, visit: str, head: str, desk: Desk) -> None:
        self.visit, self.head, self.desk = visit, head, desk

    def __hash__(self) -> int:
        return hash((self.visit, self.head))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _At) and (self.visit, self.head) == (other.visit, other.head)


@lru_cache(maxsize=32)
def _known(at: _At) -> frozenset[str]:
    state = load_visit(at.visit, store=at.desk.store, blobs=at.desk.blobs)
    return pictures_in(state.proof) if state.proof is not None else frozenset()


def proof_picture(visit: str, name: str, services: Services) -> bytes:
    """A picture of the visit's proof. Raises NotFound for any other, IntegrityError."""
    desk = services.desk
    found = desk.store.heads([visit])
    if visit in found and name in _known(_At(visit, found[visit][1], desk)):
        return desk.blobs.get(name)
    raise NotFound("no such picture in the visit's proof; load its page again")


def paged(rows: Sequence[T], number: int, size: int) -> Paged[T]:
    """One page of ``rows``; a number beyond the last page is the last."""
    pages = max(1, -(-len(rows) // size))
    at = min(max(1, number), pages)
    return Paged(tuple(rows[(at - 1) * size : at * size]), len(rows), at, pages)


class _Names(Album):
    """Pictures by the names under which they are stored: the browser fetches them."""

    def whole(self, sha256: str, longest: int = 0) -> Row:
        return {"file": sha256, "problem": ""}


def _drawn(
    proof: Proof,
    names: dict[int, str],
    layout: Layout,
    services: Services,
    told: Telling,
) -> Row:
    album = _Names(services.desk.blobs, services.tools.pictures())
    look = StripLook(told.zone, names, album, layout.strip, layout.scale, strip_words(told.said))
    made = drawing(strips(proof.recordings, look), layout)
    axes = made["axes"]
    for axis in axes if isinstance(axes, list) else ():
        if axis["title"] == UNTIMED:
            axis["title"] = told.said(UNTIMED)
    return made


def _grouped(rows: Sequence[FindingRow], names: dict[int, str]) -> tuple[ChannelFindings, ...]:
    return tuple(
        ChannelFindings(channel, names.get(channel or -1, ""), tuple(found))
        for channel, found in groupby(rows, lambda row: row.recording.channel)
    )


def _by_channel(row: FindingRow) -> tuple[int, int]:
    channel = row.recording.channel
    return (10**6 if channel is None else channel, row.number)


def _place(recording: Recording) -> tuple[int, str, str]:
    start = recording.start.isoformat() if recording.start else ""
    return (10**6 if recording.channel is None else recording.channel, start, recording.file)


def _state(recording: Recording) -> str:
    if recording.findings:
        return "findings"
    return "unclear" if recording.unclear or recording.channel is None else "good"
