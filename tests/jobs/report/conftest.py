"""A made-up visit with something of everything, and stand-ins for the store and the decoder."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import cv2
import numpy as np
import pytest

from asfound.errors import NotFound, PictureError
from asfound.jobs.report import MakeReport
from asfound.model import kinds as k
from asfound.model.caution import Caution
from asfound.model.difference import Difference, FieldDifference, Verdict
from asfound.model.finding import (  # fmt: skip
    Expectation,
    ExpectedChannel,
    Finding,
    Kind,
    Proof,
    ProofVerdict,
    Recording,
)
from asfound.model.fleet import Camera, Drive, Recorder, Vehicle
from asfound.model.hold import Hold
from asfound.model.menu_map import Field, Keys, MenuMap, Page
from asfound.model.procedure import Procedure, Step
from asfound.model.reading import FieldReading, PhotoReading, Reading, State
from asfound.model.rekey import RekeySheet
from asfound.model.target import Origin, Target, TargetValue
from asfound.model.visit import Override, Round, Settled, StepDone, VisitState
from asfound.ports.pictures import ClipFrame, Picture, Pixels

OPENED = datetime(2026, 11, 24, 20, 58, tzinfo=UTC)
HEAD = hashlib.sha256(b"head of the made-up journal").hexdigest()
CAMERAS = ("Road ahead", "Front door", "Driver", "Saloon, lower deck", "Saloon, upper deck",
           "Rear door", "Nearside", "Behind the vehicle")  # fmt: skip
LONG_HOST = "recorder-upload-gateway.depot-north.brindlemere-haulage.example"


@dataclass
class ShelfBlobs:
    """As much of a blob store as a report asks for."""

    shelf: dict[str, bytes] = field(default_factory=dict)

    def put(self, data: bytes) -> str:
        name = hashlib.sha256(data).hexdigest()
        self.shelf[name] = data
        return name

    def get(self, name: str) -> bytes:
        if name not in self.shelf:
            raise NotFound(f"no blob {name}")
        return self.shelf[name]


class CvPictures:
    """Pictures through OpenCV."""

    def decode(self, data: bytes, name: str, longest: int | None = None) -> Picture:
        made = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
        if made is None:
            raise PictureError(f"{name} is not a picture")
        return Picture(np.asarray(made[..., ::-1], np.uint8))

    def encode_jpeg(
        self, pixels: Pixels, quality: int = 85, frame: ClipFrame | None = None
    ) -> bytes:
        assert frame is None  # reports hold no frames of clips
        done, made = cv2.imencode(
            ".jpg", np.ascontiguousarray(pixels[..., ::-1]), [cv2.IMWRITE_JPEG_QUALITY, quality]
        )
        assert done
        return bytes(made.tobytes())


def road(seed: int, dark: bool = False) -> bytes:
    """A simple street picture: sky, road, lane marks, some boxes for buildings."""
    rng = np.random.default_rng(seed)
    picture = np.zeros((360, 640, 3), np.uint8)
    picture[:170] = (205, 190, 170)
    picture[170:] = (88, 90, 92)
    for _ in range(9):
        left, high = int(rng.integers(0, 600)), int(rng.integers(40, 130))
        colour = [int(value) for value in rng.integers(60, 190, 3)]
        cv2.rectangle(picture, (left, 170 - high), (left + 70, 172), colour, -1)
    for row in range(4):
        half = 3 + 3 * row
        top = 180 + 45 * row
        cv2.rectangle(picture, (320 - half, top), (320 + half, top + 24), (225, 225, 225), -1)
    cv2.putText(picture, f"24-11-2026 21:{seed % 60:02d}", (12, 348), 0, 0.7, (240, 240, 240), 2)
    if dark:
        picture = np.asarray(picture * 0.04, np.uint8)
    return CvPictures().encode_jpeg(np.asarray(picture[..., ::-1], np.uint8))


def monitor(label: str, value: str) -> bytes:
    """A photograph of one row of a monitor."""
    picture = np.full((360, 900, 3), 40, np.uint8)
    cv2.putText(picture, label, (40, 180), 0, 1.1, (210, 225, 210), 3)
    cv2.putText(picture, value, (560, 184), 0, 1.1, (210, 225, 210), 3)
    return CvPictures().encode_jpeg(np.asarray(cv2.GaussianBlur(picture, (0, 0), 2.2), np.uint8))


BOX = ((555.0, 150.0), (760.0, 152.0), (760.0, 196.0), (555.0, 194.0))


def a_map() -> MenuMap:
    """Eight cameras, more than 150 fields."""

    def make(name: str, label: str, kind: k.FieldType, default: str, **more: str) -> Field:
        return Field(name, label, kind, default, was=more.get("was"), since=more.get("since"))

    fixed = [
        Page("clock", "Clock and region", (
            make("clock.zone", "Time zone", k.Choice(("UTC", "UTC+1", "UTC+2")), "UTC"),
            make("clock.source", "Clock source", k.Choice(("Satellite", "Network", "By hand")),
                 "By hand"),
            Field("clock.now", "Time now", k.ReadOnly("clock"), None, volatile=True),
        )),
        Page("network", "Network", (
            make("net.host", "Upload server", k.Host(63), ""),
            make("net.ip", "Own address", k.IPv4(), "192.168.1.10"),
            make("net.code", "Access code", k.Secret(), "blank"),
            make("net.apn", "Mobile access point", k.Text(40), ""),
            make("net.roam", "Roaming", k.Switch(), "off", since="4.0.2", was="gsm.roam"),
        )),
        Page("trigger", "Triggers", (
            make("trig.shock", "Shock threshold", k.Number(Decimal("0.1"), Decimal("5.0"),
                 Decimal("0.1"), 1, "g"), "2.0"),
            make("trig.speed", "Speed threshold", k.Number(Decimal(10), Decimal(150), Decimal(5),
                 0, "km/h"), "100"),
            make("trig.pre", "Keep before an event", k.Number(Decimal(0), Decimal(120), Decimal(5),
                 0, "s"), "15"),
            make("trig.post", "Keep after an event", k.Number(Decimal(0), Decimal(300), Decimal(5),
                 0, "s"), "30"),
            Field("trig.old", "Panic button tone", k.Switch(), "on", until="4.0.2"),
        )),
    ]  # fmt: skip
    sizes = k.Choice(("CIF", "HD 720", "HD 1080"))
    rates = k.Number(Decimal(1), Decimal(30), Decimal(1), 0, "fps")
    bits = k.Number(Decimal(128), Decimal(8192), Decimal(128), 0, "kbit/s")
    cameras = []
    for n in range(1, 9):
        c = f"camera-{n}"
        fields = [
            make(f"{c}.name", "Name on the picture", k.Text(16), f"CH{n}"),
            make(f"{c}.record", "Record", k.Switch(), "on"),
            make(f"{c}.size", "Picture size", sizes, "HD 720"),
            make(f"{c}.rate", "Picture rate", rates, "12"),
            make(f"{c}.bits", "Bit rate", bits, "1024"),
            make(f"{c}.codec", "Codec", k.Choice(("H.264", "H.265")), "H.264"),
            make(f"{c}.sound", "Sound", k.Switch(), "off"),
            make(f"{c}.mirror", "Mirror picture", k.Switch(), "off"),
        ]
        fields += [
            make(f"{c}.zone{area}", f"Motion area {area}, sensitivity",
                 k.Number(Decimal(0), Decimal(9)), "5")
            for area in range(1, 11)
        ]  # fmt: skip
        cameras.append(Page(c, f"Camera {n}", tuple(fields)))
    keys = Keys("flat", "Up", "Down", "Left", "Right", "OK", "Back", "Minus", "Plus")
    return MenuMap(
        "quillfen-octad", "Quillfen", "Octad", 8, ("3.4.1", "4.0.2"), (*fixed, *cameras), keys
    )


def _targets(menu_map: MenuMap) -> Target:
    values = []
    agreed = {
        "clock.source": ("Satellite", Origin.BASELINE),
        "clock.zone": ("UTC", Origin.BASELINE),
        "net.host": (LONG_HOST, Origin.BASELINE),
        "net.ip": ("10.40.7.217", Origin.OVERRIDE),
        "net.code": ("set", Origin.BASELINE),
        "trig.shock": ("0.8", Origin.CLASS),
        "camera-6.name": ("REAR DOOR", Origin.OVERRIDE),
    }
    for item in menu_map.fields_in("4.0.2"):
        if not item.settable or item.id == "net.apn":
            continue
        value, origin = agreed.get(item.id, (item.default or "", Origin.AS_FOUND))
        if item.id.endswith(".rate"):
            value, origin = "25", Origin.BASELINE
        if item.id.endswith(".bits"):
            value, origin = "2048", Origin.CLASS
        values.append(TargetValue(item.id, value, origin))
    return Target(menu_map.id, "4.0.2", tuple(values), ("net.apn",))


def _reading(
    menu_map: MenuMap, firmware: str, values: dict[str, str], doubts: dict[str, FieldReading],
    photos: tuple[PhotoReading, ...],
) -> Reading:  # fmt: skip
    fields = []
    for item in menu_map.fields_in(firmware):
        known = values.get(item.id, "2026-11-24 21:00" if item.volatile else item.default)
        read = FieldReading(item.id, item.label, known or "", known, State.SURE)
        if known is None:
            read = replace(read, state=State.UNREAD)
        fields.append(doubts.get(item.id, read))
    return Reading(menu_map.id, firmware, photos, tuple(fields), ())


def _photos(moment: str, menu_map: MenuMap) -> tuple[PhotoReading, ...]:
    return tuple(
        PhotoReading(
            f"{moment}-{n:03d}.jpg",
            hashlib.sha256(f"{moment}{n}".encode()).hexdigest(),
            page.id,
            0.4,
            (),
        )
        for n, page in enumerate(menu_map.pages, 1)
    )


def _difference(menu_map: MenuMap, target: Target, left: dict[str, str], doubt: str) -> Difference:
    wanted, rows = target.as_dict(), []
    for item in menu_map.fields_in("4.0.2"):
        aim, now = wanted.get(item.id), left.get(item.id)
        verdict = Verdict.SAME if aim == now else Verdict.WRONG
        if now == item.default and aim != now:
            verdict = Verdict.MISSED
        if aim is None:
            verdict = Verdict.NO_TARGET
        if item.volatile:
            verdict = Verdict.CLOCK
        if item.id == doubt:
            verdict, now = Verdict.DOUBT, None
        rows.append(FieldDifference(item.id, item.label, verdict, aim, now, item.default))
    return Difference(menu_map.id, "4.0.2", tuple(rows))


def _recording(channel: int, blobs: ShelfBlobs) -> Recording:
    start = datetime(2026, 11, 24, 19, 2, 5, tzinfo=UTC)
    shots = tuple((10.0 + 20 * k, blobs.put(road(channel * 7 + k))) for k in range(6))
    findings: tuple[Finding, ...] = ()
    if channel == 6:
        dark = blobs.put(road(66, dark=True))
        findings = (
            Finding(Kind.BLACK, 41.0, 63.4, 0.998, 0.98, "1", "FFmpeg blackdetect", dark,
                    "22 s without a picture, then it comes back"),
            Finding(Kind.FROZEN, 88.2, 97.0, 0.0002, 0.001, "1", "FFmpeg freezedetect",
                    hashlib.sha256(b"lost").hexdigest(), "the clock runs on, the picture does not"),
            Finding(Kind.WRONG_RATE, 0.0, 120.0, 12.5, 25.0, "fps", "agreed settings"),
        )  # fmt: skip
    unclear = ("the start time of the second half could not be told",) if channel == 8 else ()
    return Recording(
        f"CH{channel:02d}_20261124_190205.mp4", channel, "h264", 1280, 720,
        12.5 if channel == 6 else 25.0, 120.0, 2.031e6 + channel * 4200, start, findings,
        unclear, shots,
    )  # fmt: skip


def _steps() -> Procedure:
    return Procedure("firmware-and-reset", "Firmware and reset", (
        Step("secure", "Secure the vehicle", "Chock it.", "check", cautions=("chock", "orange")),
        Step("as-found", "Photograph every page as found", "", "read-as-found"),
        Step("settle", "Settle the doubts", "", "settle"),
        Step("firmware", "Write the new firmware", "", "firmware", cautions=("supply",)),
        Step("reset", "Factory reset", "", "reset", ("pages-read", "doubts-settled")),
        Step("rekey", "Key the settings back in", "", "rekey"),
        Step("as-left", "Photograph every page as left", "", "read-as-left"),
        Step("drive", "Swap the drive", "", "drive", ("no-hold",), ("footage",)),
        Step("prove", "Prove the recordings", "", "prove"),
        Step("close", "Close the visit", "", "close", ("as-left-compared", "recording-proved")),
    ))  # fmt: skip


def a_state(blobs: ShelfBlobs, menu_map: MenuMap) -> VisitState:
    """A closed visit: two doubts, two rounds, a fault on camera 6, a hold, an override."""
    at = [OPENED + timedelta(minutes=6 * n) for n in range(30)]
    target = _targets(menu_map)
    found = {
        "clock.source": "By hand", "net.host": LONG_HOST, "net.code": "set", "trig.shock": "2.5",
        "camera-6.name": "REAR",
    }  # fmt: skip
    screens = [blobs.put(monitor("Speed threshold", "80 km/h")),
               blobs.put(monitor("Picture rate", "18 fps"))]  # fmt: skip
    doubts = {
        "trig.speed": FieldReading("trig.speed", "Speed threshold", "8O", "80", State.DOUBT,
                                   ("80", "60"), BOX, screens[0], "one stroke is blurred"),
        "camera-3.rate": FieldReading("camera-3.rate", "Picture rate", "l8", None, State.DOUBT,
                                      ("18", "13"), BOX, screens[1], "glare over the first digit"),
    }  # fmt: skip
    as_found = _reading(menu_map, "3.4.1", found, doubts, _photos("found", menu_map))
    final = target.as_dict() | {"net.apn": "fleet.brindlemere"}
    first = final | {"camera-2.bits": "1024", "camera-5.size": "CIF", "trig.shock": "1.8"}
    unsure = FieldReading("camera-7.mirror", "Mirror picture", "", None, State.UNREAD)
    rounds = (
        Round(_reading(menu_map, "4.0.2", first, {unsure.id: unsure}, _photos("left-1", menu_map)),
              (), _difference(menu_map, target, first, unsure.id), at[15]),
        Round(_reading(menu_map, "4.0.2", final, {}, _photos("left-2", menu_map)),
              (), _difference(menu_map, target, final, ""), at[18]),
    )  # fmt: skip
    cameras = tuple(Camera(n, name) for n, name in enumerate(CAMERAS, 1))
    vehicle = Vehicle(
        "217", "QB 04 XKM", "bus", "Depot North", "double deck",
        Recorder("quillfen-octad", "QO-8-004417", "4.0.2", "cabinet behind the driver", 24),
        cameras, Drive("DR-99120-7", 2_000_000_000_000, "ssd"),
    )  # fmt: skip
    procedure = _steps()
    done = tuple(
        StepDone(step.id, "Ada Penhallow", at[2 * n + 1],
                 {"drive": "old drive bagged, label 0071"}.get(step.id, ""))
        for n, step in enumerate(procedure.steps)
    )  # fmt: skip
    proof = Proof(
        ProofVerdict.FAULTS,
        (*(_recording(n, blobs) for n in range(1, 8)),
         replace(_recording(8, blobs), start=None)),
    )  # fmt: skip
    hold = Hold(
        "H-0042", "217", OPENED - timedelta(days=6), OPENED - timedelta(days=6, hours=-2),
        "Passenger fell at Mill Lane stop; insurer asked for the saloon cameras", "Jory Tresize",
        OPENED - timedelta(days=2), "Ada Penhallow",
        "copied to the depot's archive, both copies opened and played", at[14],
    )  # fmt: skip
    return VisitState(
        id="V-20261124-217-7K3Q", vehicle=vehicle, fleet="Brindlemere Haulage & Coaches",
        procedure=procedure, opened_by="Ada Penhallow", opened_at=OPENED, firmware_found="3.4.1",
        firmware_left="4.0.2", as_found=as_found,
        settled=(Settled("trig.speed", "80", "Ada Penhallow", at[3]),
                 Settled("camera-3.rate", "18", "Ada Penhallow", at[4])),
        target=target,
        sheet=RekeySheet(menu_map.id, "4.0.2", (), 0, 0.0, ("net.roam",), ("trig.old",),
                         (("gsm.roam", "net.roam"),)),
        rounds=rounds, proof=proof, done=done,
        overrides=(Override("close", "recording-proved", "Ada Penhallow",
                            "camera 6 has a broken lead; part ordered, next visit on Friday",
                            at[21]),),
        holds=(hold,),
        notes=(StepDone("secure", "Ada Penhallow", at[1], "Isolator stiff, greased."),),
        closed_by="Ada Penhallow", closed_at=at[22], head=HEAD, entries=87,
    )  # fmt: skip


CAUTIONS = {
    name: Caution(name, title, text, "common practice, no source", defers)
    for name, title, text, defers in (
        ("chock", "Rolling vehicle", "Level ground, brake on, wheels chocked, key out and kept.",
         "the depot's own rules"),
        ("orange", "High voltage", "Stay off orange cables: they carry the traction system.",
         "the vehicle maker"),
        ("supply", "Supply while writing", "Do not let the supply fail while writing.", ""),
        ("footage", "Personal data", "Bag and label the drive, and log who had it.", "local law"),
    )
}  # fmt: skip

EXPECTED = Expectation(
    tuple(
        ExpectedChannel(n, name, 1280, 720, 25.0, 2.048e6, "h264")
        for n, name in enumerate(CAMERAS, 1)
    )
)


@dataclass
class Scene:
    """A request with its store and decoder."""

    request: MakeReport
    blobs: ShelfBlobs
    pictures: CvPictures

    @property
    def state(self) -> VisitState:
        return self.request.state

    def but(self, **changes: object) -> Scene:
        """The same scene with parts of the visit changed."""
        state = replace(self.request.state, **changes)  # type: ignore[arg-type]  # names checked at run time
        return Scene(replace(self.request, state=state), self.blobs, self.pictures)


@pytest.fixture(scope="session")
def scene() -> Scene:
    blobs, menu_map = ShelfBlobs(), a_map()
    request = MakeReport(a_state(blobs, menu_map), menu_map, "Europe/Lisbon", CAUTIONS, EXPECTED)
    return Scene(request, blobs, CvPictures())


@pytest.fixture(scope="session")
def bare(scene: Scene) -> Scene:
    """A visit that was only opened."""
    state = scene.state
    empty = VisitState(
        state.id, state.vehicle, state.fleet, Procedure("empty", "Inspection", ()),
        state.opened_by, state.opened_at, "3.4.1", "3.4.1",
    )  # fmt: skip
    return Scene(replace(scene.request, state=empty, cautions={}, expectation=None),
                 ShelfBlobs(), CvPictures())  # fmt: skip
