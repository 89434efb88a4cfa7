"""A small recorder, a vehicle and a desk, for tests of visits (tests only)."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path

from asfound.jobs.visit_journal import Desk
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.model.difference import Difference
from asfound.model.finding import Finding, Kind, Proof, ProofVerdict, Recording
from asfound.model.fleet import Camera, Recorder, Standard, Vehicle
from asfound.model.kinds import Choice, Secret, Switch, Text
from asfound.model.menu_map import Field, Keyboard, Keys, MenuMap, Page
from asfound.model.procedure import Procedure
from asfound.model.reading import FieldReading, PhotoReading, Reading, State
from asfound.model.visit import VisitState
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.cautions_toml import load_cautions
from asfound.ports.backends.procedure_toml import load_procedure, shipped_procedure_paths
from asfound.ports.backends.store_sql import SqlStore

T0 = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)
SIZES = Choice(("CIF", "HD"), (("CIF", "352x288"), ("HD", "1280x720")))
KEYBOARD = Keyboard((("A", "B", "DELETE", "DONE"),))
MAP = MenuMap(
    "tinbrook-two", "Tinbrook", "Two", 2, ("1.0", "2.0"),
    (
        Page("general", "General", (
            Field("general.name", "Name", Text(8, "AB"), "", means="vehicle"),
            Field("general.code", "Code", Secret(), "blank"),
        )),
        Page("camera-1", "Camera 1", (
            Field("camera-1.record", "Record", Switch(), "off", means="record", camera=1),
            Field("camera-1.size", "Size", SIZES, "CIF", means="frame-size", camera=1),
        )),
        Page("camera-2", "Camera 2", (
            Field("camera-2.record", "Record", Switch(), "off", means="record", camera=2),
            Field("camera-2.size", "Size", SIZES, "CIF", since="2.0", camera=2),
        )),
    ),
    Keys("flat", "Up", "Down", "Left", "Right", "OK", "Back", "Less", "More",
         "Next", "Previous", keyboard=KEYBOARD),
)  # fmt: skip

VALUES = {
    "general.name": "AB", "general.code": "set", "camera-1.record": "on",
    "camera-1.size": "HD", "camera-2.record": "off",
}  # fmt: skip
"""As found, firmware 1.0."""

VEHICLE = Vehicle(
    "217", "QB 04 XKM", "bus", "North", "city",
    Recorder(MAP.id, "TT-1", "1.0", "under the driver's seat", 24),
    (Camera(1, "Front"), Camera(2, "Door")),
)  # fmt: skip
STANDARD = Standard(MAP.id, {"camera-2.record": "on"}, {"city": {"camera-1.size": "HD"}})


class SetClock:
    """A clock that stands where it is put and goes on a second a look."""

    def __init__(self, at: datetime = T0) -> None:
        self.at = at

    def now(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at

    def steady(self) -> float:
        return self.at.timestamp()


def desk(folder: Path, url: str = "sqlite://") -> Desk:
    """A desk on a fresh store in memory and real blobs."""
    return Desk(SqlStore(url), FileBlobs(folder / "blobs"), SetClock())


def procedure(name: str = "firmware-and-reset") -> Procedure:
    """A shipped procedure."""
    return load_procedure(shipped_procedure_paths()[name], load_cautions())


def opened(at: Desk, name: str = "firmware-and-reset") -> VisitState:
    """A fresh visit of the vehicle."""
    request = OpenVisit(VEHICLE, "Brindlemere", "Europe/London", procedure(name), MAP, "ada")
    return open_visit(request, store=at.store, blobs=at.blobs, clock=at.clock)


def reading(
    values: Mapping[str, str],
    at: Desk,
    firmware: str = "1.0",
    doubts: Mapping[str, tuple[str, ...]] | None = None,
) -> Reading:
    """A reading of the pages whose fields are in ``values`` or ``doubts``, one photo a page."""
    unsure = doubts or {}
    given = {*values, *unsure}
    photos: dict[str, PhotoReading] = {}
    fields: list[FieldReading] = []
    for page in MAP.pages:
        rows = MAP.page_fields(page, firmware)
        if not given & {row.id for row in rows}:
            fields += [FieldReading(row.id, row.label, "", None, State.UNREAD) for row in rows]
            continue
        photo = at.blobs.put(f"photograph of {page.id}: {sorted(values.items())}".encode())
        made = [_field(row, values, unsure, photo) for row in rows]
        fields += made
        photos[page.id] = PhotoReading(f"{page.id}.jpg", photo, page.id, 0.1, tuple(made))
    missing = tuple(page.id for page in MAP.pages if page.id not in photos)
    return Reading(MAP.id, firmware, tuple(photos.values()), tuple(fields), missing)


def _field(
    row: Field, values: Mapping[str, str], doubts: Mapping[str, tuple[str, ...]], photo: str
) -> FieldReading:
    if row.id in doubts:
        seen = doubts[row.id]
        return FieldReading(row.id, row.label, "?", None, State.DOUBT, seen, None, photo, "blurred")
    if row.id in values:
        text = values[row.id]
        return FieldReading(row.id, row.label, text, text, State.SURE, (), None, photo)
    return FieldReading(row.id, row.label, "", None, State.UNREAD, (), None, photo)


def proof(verdict: ProofVerdict, at: Desk) -> Proof:
    """A proof with one recording, and a black stretch when there are faults."""
    picture = at.blobs.put(b"thumbnail")
    black = Finding(Kind.BLACK, 1.0, 3.0, 0.99, 0.98, "1", "FFmpeg blackdetect", picture)
    found = (black,) if verdict is ProofVerdict.FAULTS else ()
    unclear = ("too short to tell",) if verdict is ProofVerdict.UNCLEAR else ()
    recording = Recording(
        "ch1.mp4", 1, "h264", 1280, 720, 25.0, 60.0, 2e6, None, found, unclear, ((0.0, picture),)
    )
    return Proof(verdict, (recording,))


def no_difference(firmware: str = "1.0") -> Difference:
    """A comparison with nothing in it, so nothing open."""
    return Difference(MAP.id, firmware, ())
