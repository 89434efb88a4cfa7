"""Passwords that a recorder shows in clear are gone from the store once a person says so. What is
left to be read is tried with the OCR engine on the whole stored copy; EXIF with Pillow."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from PIL import Image, ImageDraw
from tests.visit_kit import VEHICLE, desk, procedure

from asfound.calc.secret_areas import GREY
from asfound.demo.fonts import font
from asfound.errors import GateShut, IntegrityError, StorageError
from asfound.jobs.fold_secrets import outstanding, pending_removals
from asfound.jobs.hidden_pixels import secret_places
from asfound.jobs.hide_secrets import HideSecrets, hide_secrets
from asfound.jobs.photo_text import photo_text
from asfound.jobs.read_pages import ReadPages, read_pages
from asfound.jobs.report_pictures import Album
from asfound.jobs.visit_act import TickStep, tick
from asfound.jobs.visit_check import check_visit
from asfound.jobs.visit_gates import gate_states, require_open, secrets_shown
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.jobs.visit_record import RecordReading, record_as_found
from asfound.model.kinds import Choice, Secret, Text
from asfound.model.menu_map import Field, Keys, MenuMap, Page
from asfound.model.reading import Reading, State
from asfound.model.visit import VisitState
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.ocr_rapid import RapidOcr
from asfound.ports.backends.pictures_pillow import PillowPictures

OCR = RapidOcr(threads=2)
PICTURES = PillowPictures()
PASSWORD, PIN = "marmalade7413", "905526"

MAP = MenuMap(
    "harrowgate-one", "Harrowgate", "One", 1, ("1.0",),
    (
        Page("link", "Wireless link", (
            Field("link.name", "Network name", Text(20), ""),
            Field("link.key", "Network password", Secret(), "blank"),
            Field("link.band", "Radio band", Choice(("Low band", "High band")), "Low band"),
            Field("link.pin", "Service code", Secret(), "blank"),
            Field("link.land", "Country", Choice(("Spain", "Portugal")), "Spain"),
        )),
        Page("sound", "Sound", (
            Field("sound.beep", "Key beep", Choice(("Loud", "Quiet")), "Loud"),
            Field("sound.voice", "Voice prompt", Choice(("Spoken", "Silent")), "Spoken"),
        )),
    ),
    Keys("flat", "U", "D", "L", "R", "OK", "B", "-", "+"),
)  # fmt: skip
LINK = (("Network name", "DEPOT NORTH"), ("Network password", PASSWORD),
        ("Radio band", "High band"), ("Service code", PIN), ("Country", "Portugal"))  # fmt: skip
SOUND = (("Key beep", "Quiet"), ("Voice prompt", "Spoken"))


def screen(title: str, rows: tuple[tuple[str, str], ...], turn: int = 0) -> bytes:
    """A page with its values in clear, as a JPEG whose EXIF says how it is to be turned."""
    image = Image.new("RGB", (1280, 800), (16, 24, 60))
    pen = ImageDraw.Draw(image)
    pen.text((60, 40), title, (255, 255, 255), font("DejaVuSans-Bold.ttf", 44))
    for number, (label, value) in enumerate(rows):
        y = 160 + 90 * number
        pen.text((80, y), label, (230, 230, 230), font("DejaVuSans.ttf", 36))
        pen.text((680, y), value, (250, 240, 160), font("DejaVuSans.ttf", 36))
    exif = Image.Exif()
    exif[0x0112] = {0: 1, 1: 8, 2: 3, 3: 6}[turn]
    exif[0x010F] = "Tinbrook"
    inner = exif.get_ifd(0x8769)
    inner[0x9003], inner[0x9011], inner[0x9291] = "2026:07:01 10:00:05", "+02:00", "25"
    exif.get_ifd(0x8825)[1] = "N"
    buffer = io.BytesIO()
    # The quarter turns of the tag are undone in the pixels: held another way, the same scene.
    turned = image.rotate(-90 * turn, expand=True) if turn else image
    turned.save(buffer, "JPEG", quality=92, exif=exif)
    return buffer.getvalue()


@pytest.fixture(scope="module")
def photos(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("photos")
    made = {"link": screen("Wireless link", LINK), "held": screen("Wireless link", LINK, 1),
            "sound": screen("Sound", SOUND)}  # fmt: skip
    for name, data in made.items():
        (folder / f"{name}.jpg").write_bytes(data)
    return {name: folder / f"{name}.jpg" for name in made}


def begun(at: Desk, photos: list[Path]) -> str:
    """A visit whose as-found photographs are read."""
    fitted = replace(VEHICLE.recorder, map_id=MAP.id, firmware="1.0")
    request = OpenVisit(
        replace(VEHICLE, recorder=fitted), "F", "UTC", procedure("inspection"), MAP, "ada"
    )
    visit = open_visit(request, store=at.store, blobs=at.blobs, clock=at.clock).id
    state = load_visit(visit, store=at.store, blobs=at.blobs)
    for step in state.procedure.steps:
        if step.kind == "read-as-found":
            break
        tick(TickStep(visit, step.id, "ada"), desk=at)
    read(at, visit, photos)
    return visit


def read(at: Desk, visit: str, photos: list[Path]) -> VisitState:
    for photo in photos:
        at.blobs.put_file(photo)
    request = RecordReading(visit, MAP, reading_of(tuple(photos)), "ada")
    return record_as_found(request, desk=at)


@cache
def reading_of(photos: tuple[Path, ...]) -> Reading:
    """What the reader makes of the photographs, each set of them once."""
    with TemporaryDirectory() as folder:
        return read_pages(
            ReadPages(MAP, photos, "1.0"), pictures=PICTURES, ocr=OCR,
            blobs=FileBlobs(Path(folder)), clock=SystemClock(),
        )  # fmt: skip


def state_of(at: Desk, visit: str) -> VisitState:
    return load_visit(visit, store=at.store, blobs=at.blobs)


def hide(at: Desk, visit: str, whole: bool = False) -> tuple[int, int, tuple[str, ...]]:
    done = hide_secrets(HideSecrets(visit, "ines", whole), desk=at, pictures=PICTURES)
    return done.painted, done.removed, done.left


@cache
def words_in(data: bytes) -> str:
    """Everything that the OCR engine finds on a stored picture, without spaces."""
    text = photo_text(PICTURES.decode(data, "x").pixels, OCR)
    return "".join(line.text for line in text.lines).replace(" ", "").lower()


def kept(at: Desk) -> list[bytes]:
    """The bytes of every file of the store, temporary ones included."""
    assert isinstance(at.blobs, FileBlobs)
    return [path.read_bytes() for path in at.blobs.root.rglob("*") if path.is_file()]


def test_passwords_in_clear_are_gone_and_everything_else_stays(
    photos: dict[str, Path], tmp_path: Path
) -> None:
    at = desk(tmp_path)
    visit = begun(at, list(photos.values()))
    before = state_of(at, visit)
    assert before.as_found is not None
    values = before.as_found.sure_values()
    assert values["link.key"] == "set" and values["link.pin"] == "set"
    shown = outstanding(before)
    assert {Path(item.file).name for item in shown} == {"link.jpg", "held.jpg"}
    assert all(PASSWORD in words_in(at.blobs.get(item.sha256)) for item in shown)
    close = before.procedure.of_kind("close")
    assert close is not None
    gates = {gate.gate: gate for gate in gate_states(before, close)}
    assert gates["secrets-hidden"].why == "2 stored photographs show passwords or codes"

    assert hide(at, visit) == (2, 2, ())
    after = state_of(at, visit)
    assert after.as_found is not None and secrets_shown(after) is None
    assert {gate.gate: gate.holds for gate in gate_states(after, close)}["secrets-hidden"]
    # The values, their outlines and the photographs' order are what they were.
    assert after.as_found.sure_values() == values
    assert [f.box for f in after.as_found.fields] == [f.box for f in before.as_found.fields]
    for old, new in zip(before.as_found.photos, after.as_found.photos, strict=True):
        if old.page == "sound":
            assert old == new
            continue
        assert new.original == old.sha256 and not at.blobs.has(old.sha256)
        data = at.blobs.get(new.sha256)
        words = words_in(data)
        assert "marmalade" not in words and "7413" not in words and PIN not in words
        for other in ("depotnorth", "highband", "portugal", "networkname", "wirelesslink"):
            assert other in words
        copy = PICTURES.decode(data, "x")
        original = PICTURES.decode(photos[Path(old.file).stem].read_bytes(), "x")
        assert (copy.taken, copy.taken_step_s) == (original.taken, original.taken_step_s)
        assert copy.pixels.shape == original.pixels.shape
        exif = Image.open(io.BytesIO(data)).getexif()
        assert exif[0x0112] == 1 and exif[0x010F] == "Tinbrook" and not exif.get_ifd(0x8825)
    photographs = [data for data in kept(at) if data[:2] == b"\xff\xd8"]
    assert len(photographs) == 3
    assert not any(PASSWORD in words_in(data) for data in photographs)
    check = check_visit(visit, store=at.store, blobs=at.blobs)
    assert check.faults == ()
    assert hide(at, visit) == (0, 0, ())
    assert state_of(at, visit).entries == after.entries


class Killed(Exception):
    """The process ends here."""


@pytest.mark.parametrize("step", ["put", "append", "remove", "append-last"])
def test_killed_anywhere_it_goes_on_where_it_stood(
    step: str, photos: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = desk(tmp_path)
    visit = begun(at, [photos["link"], photos["sound"]])
    old = outstanding(state_of(at, visit))[0].sha256
    calls = {"append": 0}

    def killing(name: str, after: Callable[..., object] | None) -> Callable[..., object]:
        def act(*given: object) -> object:
            if name == "append":
                calls["append"] += 1
                if step == "append-last" and calls["append"] == 1 and after is not None:
                    return after(*given)
            if after is not None and name == "put":
                after(*given)
            raise Killed

        return act

    with monkeypatch.context() as patch:
        target, name = {
            "put": (at.blobs, "put"), "append": (at.store, "append"),
            "remove": (at.blobs, "remove"), "append-last": (at.store, "append"),
        }[step]  # fmt: skip
        patch.setattr(target, name, killing(name, getattr(target, name)))
        with pytest.raises(Killed):
            hide(at, visit)
    state = state_of(at, visit)
    # Original or copy is there, the visit is whole, and the gate is shut until all is done.
    assert secrets_shown(state) is not None
    assert check_visit(visit, store=at.store, blobs=at.blobs).faults == ()
    assert at.blobs.has(old) == (step != "append-last")
    painted, removed, left = hide(at, visit)
    assert (painted, left) == (1 if step in ("put", "append") else 0, ()) and removed == 1
    assert not at.blobs.has(old) and secrets_shown(state_of(at, visit)) is None
    assert check_visit(visit, store=at.store, blobs=at.blobs).faults == ()


def test_a_damaged_copy_keeps_the_original(
    photos: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = desk(tmp_path)
    visit = begun(at, [photos["link"]])
    with monkeypatch.context() as patch:
        patch.setattr(at.blobs, "remove", lambda name: (_ for _ in ()).throw(StorageError("full")))
        with pytest.raises(StorageError):
            hide(at, visit)
    (pair,) = state_of(at, visit).hidden
    at.blobs.path(pair.new).write_bytes(b"damaged")
    with pytest.raises(IntegrityError):
        hide(at, visit)
    assert at.blobs.has(pair.old)


def test_an_original_read_in_again_is_to_be_hidden_again(
    photos: dict[str, Path], tmp_path: Path
) -> None:
    at = desk(tmp_path)
    visit = begun(at, [photos["link"]])
    hide(at, visit)
    (first,) = state_of(at, visit).hidden
    state = read(at, visit, [photos["link"]])
    assert state.as_found is not None and len(state.as_found.photos) == 1
    assert secrets_shown(state) is not None
    assert hide(at, visit) == (1, 1, ())
    (again,) = state_of(at, visit).hidden
    assert again.new == first.new and not at.blobs.has(again.old)
    assert check_visit(visit, store=at.store, blobs=at.blobs).faults == ()


def test_what_another_visit_rests_on_is_not_taken_away(
    photos: dict[str, Path], tmp_path: Path
) -> None:
    at = desk(tmp_path)
    one, other = begun(at, [photos["link"]]), begun(at, [photos["link"]])
    painted, removed, left = hide(at, one)
    assert (painted, removed) == (1, 0) and other in left[0]
    assert pending_removals(state_of(at, one))
    assert check_visit(other, store=at.store, blobs=at.blobs).faults == ()
    assert hide(at, other) == (1, 1, ())
    assert hide(at, one)[:1] == (0,) and not pending_removals(state_of(at, one))
    for visit in (one, other):
        assert check_visit(visit, store=at.store, blobs=at.blobs).faults == ()


def test_a_photograph_of_no_page_may_show_anything(photos: dict[str, Path], tmp_path: Path) -> None:
    at = desk(tmp_path)
    stray = tmp_path / "stray.jpg"
    stray.write_bytes(screen("Elsewhere", (("Memo", PASSWORD), ("Pages", "4 of 9"))))
    visit = begun(at, [photos["sound"], stray])
    assert secrets_shown(state_of(at, visit)) == (
        "where 1 photograph may show passwords could not be told"
    )
    painted, removed, left = hide(at, visit)
    assert (painted, removed) == (0, 0) and "stray.jpg: shows no page" in left[0]
    assert hide(at, visit, whole=True) == (1, 1, ())
    (pair,) = state_of(at, visit).hidden
    pixels = PICTURES.decode(at.blobs.get(pair.new), "x").pixels.astype(int)
    assert np.abs(pixels - GREY).max() <= 3  # JPEG


def test_a_damaged_photograph_may_show_anything_until_it_is_given_up(
    photos: dict[str, Path], tmp_path: Path
) -> None:
    at = desk(tmp_path)
    half = tmp_path / "half.jpg"
    # Cut off behind the password's row: a viewer that forgives shows it.
    data = photos["link"].read_bytes()
    half.write_bytes(data[: len(data) * 2 // 3])
    other = tmp_path / "other.jpg"
    other.write_bytes(data[: len(data) // 2])
    visit = begun(at, [photos["sound"], half, other])
    item, _ = outstanding(state_of(at, visit))
    assert item.damaged and not item.placed and at.blobs.has(item.sha256)
    painted, removed, left = hide(at, visit)
    assert (painted, removed) == (0, 0)
    assert "half.jpg: could not be opened whole" in left[0]
    assert at.blobs.get(item.sha256) == half.read_bytes()
    assert hide(at, visit, whole=True) == (2, 2, ())
    state = state_of(at, visit)
    assert state.as_found is not None and len(state.as_found.photos) == 3
    pair = next(pair for pair in state.hidden if pair.old == item.sha256)
    assert pair.removed and not at.blobs.has(pair.old) and secrets_shown(state) is None
    pixels = PICTURES.decode(at.blobs.get(pair.new), "x").pixels.astype(int)
    assert np.abs(pixels - GREY).max() <= 3  # JPEG
    assert check_visit(visit, store=at.store, blobs=at.blobs).faults == ()


def test_the_report_s_pictures_never_show_a_secret(photos: dict[str, Path], tmp_path: Path) -> None:
    at = desk(tmp_path)
    visit = begun(at, [photos["link"]])
    state = state_of(at, visit)
    assert state.as_found is not None
    (photo,) = state.as_found.photos
    album = Album(at.blobs, PICTURES, secret_places([state.as_found]))
    fields = {field.id: field for field in photo.fields}
    band, key = fields["link.band"], fields["link.key"]
    assert band.box is not None and key.box is not None and band.state is State.SURE
    # A value's picture, and one so generous that it takes in the password above and below.
    tall = ((560.0, 160.0), (1200.0, 160.0), (1200.0, 520.0), (560.0, 520.0))
    for box in (band.box, key.box, tall):
        assert album.crop(photo.sha256, box)["problem"] == ""
    assert album.whole(photo.sha256)["problem"] == ""
    for data in album.files.values():
        words = words_in(data)
        assert "marmalade" not in words and "7413" not in words and PIN not in words
    assert any("highband" in words_in(data) for data in album.files.values())
    lost = replace(photo, secrets=(replace(photo.secrets[0], outline=None),))
    unsure = replace(state, as_found=replace(state.as_found, photos=(lost,)))
    refused = Album(at.blobs, PICTURES, secret_places([unsure.as_found])).crop(
        photo.sha256, band.box
    )
    assert "password" in str(refused["problem"]) and not refused["file"]


def test_the_gate_is_passed_by_override_only(photos: dict[str, Path], tmp_path: Path) -> None:
    at = desk(tmp_path)
    visit = begun(at, [photos["link"]])
    state = state_of(at, visit)
    close = state.procedure.of_kind("close")
    assert close is not None
    alone = replace(close, gates=("secrets-hidden",))
    with pytest.raises(GateShut, match=r"1 stored photograph shows passwords.*hide-secrets"):
        require_open(state, alone)


def test_frames_of_clips_that_show_no_page_are_deleted(
    photos: dict[str, Path], tmp_path: Path
) -> None:
    at = desk(tmp_path)
    visit = begun(at, [photos["sound"]])
    spare = at.blobs.put(b"a frame while the phone moved past a password")
    reading = replace(reading_of((photos["sound"],)), spare=(spare,))
    state = record_as_found(RecordReading(visit, MAP, reading, "ada"), desk=at)
    assert (
        secrets_shown(state) == "1 picture with passwords, or that may show some, not deleted yet"
    )
    assert hide(at, visit) == (0, 1, ())
    assert not at.blobs.has(spare) and secrets_shown(state_of(at, visit)) is None
    assert check_visit(visit, store=at.store, blobs=at.blobs).faults == ()
