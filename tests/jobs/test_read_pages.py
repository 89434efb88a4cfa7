"""Photographs into a reading. The photographs are the simulator's and screens drawn here, with
other layouts than the simulator knows; the reader shares no code with either."""

from __future__ import annotations

import io
import os
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from asfound.demo.photos import Photo, Session, shoot
from asfound.demo.random_values import random_values
from asfound.demo.themes import TUNING_THEMES
from asfound.errors import Interrupted, NotFound, UsageError
from asfound.jobs import photo_views
from asfound.jobs.read_pages import ReadPages, read_pages
from asfound.model.kinds import Choice, Level, Number, Secret, Switch, Text
from asfound.model.menu_map import Field, Keys, MenuMap, Page
from asfound.model.reading import FieldReading, Reading, State
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.map_toml import load_map, shipped_map_paths
from asfound.ports.backends.ocr_rapid import RapidOcr
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.progress import Progress, silent

Screen = NDArray[np.uint8]
THEMES = {theme.name: theme for theme in TUNING_THEMES}
OCR = RapidOcr(threads=2)


def read(
    folder: Path, menu_map: MenuMap, files: list[Path], firmware: str | None = None,
    progress: Progress = silent,
) -> Reading:  # fmt: skip
    return read_pages(
        ReadPages(menu_map, tuple(files), firmware),
        pictures=PillowPictures(),
        ocr=OCR,
        blobs=FileBlobs(folder / "blobs"),
        clock=SystemClock(),
        progress=progress,
    )


def shot(folder: Path, map_id: str, theme: str, pages: set[str]) -> tuple[MenuMap, list[Photo]]:
    menu_map = load_map(shipped_map_paths()[map_id])
    firmware = menu_map.firmware[-1]
    values = random_values(menu_map, firmware, np.random.default_rng(41))
    what = Session(THEMES[theme], "clean", 41, pages=frozenset(pages))
    return menu_map, shoot(menu_map, values, firmware, what, folder)


@pytest.fixture(scope="module")
def octad(tmp_path_factory: pytest.TempPathFactory) -> tuple[MenuMap, list[Photo]]:
    folder = tmp_path_factory.mktemp("octad")
    return shot(folder, "quillfen-octad", "harbour", {"camera-3", "camera-6", "timetable", "unit"})


@pytest.mark.parametrize(
    ("map_id", "theme", "pages"),
    [
        ("quillfen-octad", "ledger", {"camera-1", "camera-8", "shock", "network", "outputs"}),
        ("marrowby-four", "carbon", {"channel-2", "channel-4", "keeping", "office", "supply"}),
    ],
)
def test_clean_photographs_are_read(
    tmp_path: Path, map_id: str, theme: str, pages: set[str]
) -> None:
    known = {page.id for page in load_map(shipped_map_paths()[map_id]).pages}
    menu_map, photos = shot(tmp_path, map_id, theme, pages & known)
    assert len(photos) >= 3
    reading = read(tmp_path, menu_map, [photo.path for photo in photos], menu_map.firmware[-1])
    assert [photo.page for photo in reading.photos] == [photo.page_id for photo in photos]
    truth = {name: value for photo in photos for name, value in photo.truth.items()}
    by_id = {field.id: field for field in reading.fields}
    sure = {name for name in truth if by_id[name].state is State.SURE}
    assert {name: by_id[name].value for name in sure} == {name: truth[name] for name in sure}
    assert len(sure) >= 0.9 * len(truth)
    for name in truth:
        if by_id[name].state is State.DOUBT:
            assert by_id[name].candidates and by_id[name].reason


def test_boxes_lie_on_the_values(octad: tuple[MenuMap, list[Photo]], tmp_path: Path) -> None:
    menu_map, photos = octad
    upright = [photo for photo in photos if photo.orientation == 1 and photo.turns == 0]
    assert upright
    reading = read(tmp_path, menu_map, [upright[0].path], menu_map.firmware[-1])
    for field in reading.photos[0].fields:
        if field.state is State.SURE and field.value not in ("", "blank") and field.box:
            found, true = np.array(field.box), np.array(upright[0].boxes[field.id])
            height = np.linalg.norm(true[3] - true[0])
            assert abs(found.mean(axis=0)[1] - true.mean(axis=0)[1]) < 0.5 * height
            assert found[:, 0].min() < true.mean(axis=0)[0] < found[:, 0].max()
            assert found[0, 0] < found[1, 0] and found[0, 1] < found[3, 1]


def test_however_the_phone_was_held(octad: tuple[MenuMap, list[Photo]], tmp_path: Path) -> None:
    menu_map, photos = octad
    original = Image.open(photos[0].path)
    turned = Image.fromarray(np.asarray(original))  # as stored, without its EXIF tags
    files = []
    for quarter in range(4):
        files.append(tmp_path / f"{quarter}.png")
        held = turned.rotate(90 * quarter, expand=True)
        held.thumbnail((1600, 1600))
        held.save(files[-1])
    reading = read(tmp_path, menu_map, files, menu_map.firmware[-1])
    assert {photo.page for photo in reading.photos} == {photos[0].page_id}
    for photo in reading.photos:
        sure = [field for field in photo.fields if field.state is State.SURE]
        assert len(sure) >= 0.7 * len(photo.fields)
        assert all(field.value == photos[0].truth[field.id] for field in sure)
    assert reading.repeated_pages == (photos[0].page_id,)


def test_order_doubles_and_bad_files(octad: tuple[MenuMap, list[Photo]], tmp_path: Path) -> None:
    menu_map, photos = octad
    firmware = menu_map.firmware[-1]
    copy = tmp_path / "copy.jpg"
    copy.write_bytes(photos[1].path.read_bytes())
    text = tmp_path / "notes.jpg"
    text.write_text("call the depot")
    half = tmp_path / "half.jpg"
    half.write_bytes(photos[0].path.read_bytes()[:20_000])
    black = tmp_path / "black.png"
    Image.new("RGB", (800, 600)).save(black)
    calls: list[tuple[int, int]] = []
    files = [text, photos[2].path, half, photos[1].path, copy, photos[1].path, black]
    reading = read(
        tmp_path, menu_map, files, firmware, lambda done, total, what: calls.append((done, total))
    )
    seen = {Path(photo.file).name: photo for photo in reading.photos}
    assert len(reading.photos) == 5
    assert [photo.damaged for photo in reading.photos] == [True, False, True, False, False]
    assert "notes.jpg" in seen["notes.jpg"].note and "half.jpg" in seen["half.jpg"].note
    assert "copy.jpg" in seen[photos[1].path.name].note
    assert seen["black.png"].page is None and "no text" in seen["black.png"].note
    assert reading.repeated_pages == ()
    assert set(reading.missing_pages) == {page.id for page in menu_map.pages} - {
        photos[1].page_id, photos[2].page_id,
    }  # fmt: skip
    assert calls[-1] == (5, 5)
    # Everything, bad files too, is kept by its content hash.
    blobs = FileBlobs(tmp_path / "blobs")
    assert all(blobs.has(photo.sha256) for photo in reading.photos)
    assert {field.photo for field in reading.photos[1].fields} == {reading.photos[1].sha256}


def test_what_is_no_file_stops_nothing(octad: tuple[MenuMap, list[Photo]], tmp_path: Path) -> None:
    menu_map, photos = octad
    names = ("folder.jpg", "pipe.jpg", "link.jpg", "memory.jpg", "empty.jpg", "zip.heic")
    (tmp_path / "folder.jpg").mkdir()
    os.mkfifo(tmp_path / "pipe.jpg")
    (tmp_path / "link.jpg").symlink_to(tmp_path / "gone.jpg")
    # Linux: a regular file whose reading fails (proc(5)), for root as well.
    (tmp_path / "memory.jpg").symlink_to("/proc/self/mem")
    (tmp_path / "empty.jpg").touch()
    (tmp_path / "zip.heic").write_bytes(b"PK\x03\x04" + bytes(200))
    files = [*(tmp_path / name for name in names), photos[1].path]
    reading = read(tmp_path, menu_map, files, menu_map.firmware[-1])
    *bad, good = reading.photos
    assert good.page == photos[1].page_id and all(photo.damaged for photo in bad)
    assert [photo.note.partition(": ")[0] for photo in bad] == list(names)
    says = ("a folder", "a pipe", "a link to a file that is gone", "cannot be read", "is empty",
            "not a picture")  # fmt: skip
    for photo, words in zip(bad, says, strict=True):
        assert words in photo.note and "\n" not in photo.note


def test_firmware_is_told_from_its_page(octad: tuple[MenuMap, list[Photo]], tmp_path: Path) -> None:
    menu_map, photos = octad
    unit = [photo.path for photo in photos if photo.page_id == "unit"]
    reading = read(tmp_path, menu_map, unit)
    assert reading.firmware == menu_map.firmware[-1]
    assert "read from the photographs" in reading.note
    other = [photo.path for photo in photos if photo.page_id == "timetable"]
    guessed = read(tmp_path, menu_map, other)
    assert guessed.firmware == menu_map.firmware[-1] and "newest" in guessed.note
    assert [f.id for f in guessed.photos[0].fields] == [
        f.id for f in menu_map.page_fields(menu_map.page("timetable"), guessed.firmware)
    ]


def title_hidden(photo: Photo, file: Path) -> Path:
    """The photograph with something before the left two thirds of the screen's top."""
    picture = np.array(Image.open(photo.path))
    square = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], np.float32)
    seen = cv2.getPerspectiveTransform(square, np.array(photo.corners, np.float32))
    strip = np.array([[(-0.1, -0.1), (0.66, -0.1), (0.66, 0.105), (-0.1, 0.105)]], np.float32)
    corners = cv2.perspectiveTransform(strip, seen)[0]
    cv2.fillConvexPoly(picture, corners.astype(np.int32), (70, 55, 50))
    Image.fromarray(picture).save(file)
    return file


def test_a_page_whose_title_is_hidden_is_told_by_its_number(tmp_path: Path) -> None:
    pages = {"camera-3", "timetable", "network"}
    menu_map, photos = shot(tmp_path, "quillfen-octad", "brook", pages)
    camera = next(photo for photo in photos if photo.page_id == "camera-3")
    hidden = title_hidden(camera, tmp_path / "hidden.png")
    others = [photo.path for photo in photos if photo is not camera]
    # Alone, nothing says that the number on the screen is that of the page.
    alone = read(tmp_path, menu_map, [hidden], menu_map.firmware[-1])
    assert alone.photos[0].page is None and "title" in alone.photos[0].note
    reading = read(tmp_path, menu_map, [hidden, *others], menu_map.firmware[-1])
    assert reading.photos[0].page == "camera-3"
    assert "page number" in reading.photos[0].note
    fields = {one.id: one for one in reading.photos[0].fields}
    sure = {name: one.value for name, one in fields.items() if one.state is State.SURE}
    assert sure == {name: camera.truth[name] for name in sure}
    # Without a title the number could stand in the first label's row: some rows are asked about.
    assert {name: one.value for name, one in fields.items()} == camera.truth


def test_wrong_calls(octad: tuple[MenuMap, list[Photo]], tmp_path: Path) -> None:
    menu_map, photos = octad
    with pytest.raises(UsageError):
        read(tmp_path, menu_map, [])
    with pytest.raises(NotFound, match=r"gone\.jpg"):
        read(tmp_path, menu_map, [photos[0].path, tmp_path / "gone.jpg"])
    with pytest.raises(NotFound, match="firmware"):
        read(tmp_path, menu_map, [photos[0].path], "99")


def test_stopping_keeps_the_photographs(octad: tuple[MenuMap, list[Photo]], tmp_path: Path) -> None:
    menu_map, photos = octad

    def stop(done: int, total: int, what: str) -> None:
        raise Interrupted("stopped")

    with pytest.raises(Interrupted):
        read(tmp_path, menu_map, [photo.path for photo in photos[:2]], progress=stop)
    assert len([path for path in (tmp_path / "blobs").rglob("*") if path.is_file()]) == 2


# ---------------------------------------------------------------- screens drawn here

KEYS = Keys("flat", "U", "D", "L", "R", "OK", "B", "-", "+", "N", "P")
CANAL = MenuMap(
    "canal-two", "Canal", "Two", 2, ("1",),
    (
        Page("ways", "Waterways", (
            Field("ways.depth", "Depth limit", Number(Decimal(0), Decimal(90), unit="cm")),
            Field("ways.horn", "Horn", Switch()),
            Field("ways.lamp", "Lamp colour", Choice(("Green", "Amber", "White"))),
            Field("ways.code", "Lock code", Secret()),
            Field("ways.berth", "Berth", Text(12)),
            Field("ways.speed", "Walking pace", Level(0, 9)),
        )),
    ),
    KEYS,
)  # fmt: skip
CANAL_TRUTH = {
    "ways.depth": "35", "ways.horn": "off", "ways.lamp": "Amber", "ways.code": "set",
    "ways.berth": "North bank", "ways.speed": "4",
}  # fmt: skip
CANAL_SHOWN = {
    "Depth limit": "35 cm", "Horn": "Off", "Lamp colour": "Amber", "Lock code": "******",
    "Berth": "North bank", "Walking pace": "4",
}  # fmt: skip


def write(screen: Screen, text: str, at: tuple[int, int], ink: int = 235) -> None:
    cv2.putText(screen, text, at, cv2.FONT_HERSHEY_DUPLEX, 1.0, (ink,) * 3, 2, cv2.LINE_AA)


def values_below() -> Screen:
    screen = np.full((900, 700, 3), 25, np.uint8)
    write(screen, "Waterways", (30, 60))
    for row, (label, value) in enumerate(CANAL_SHOWN.items()):
        write(screen, label, (40, 150 + 125 * row), 190)
        write(screen, value, (70, 205 + 125 * row))
    return screen


def two_columns() -> Screen:
    screen = np.full((520, 1500, 3), 240, np.uint8)
    write(screen, "Waterways", (40, 70), 10)
    for index, (label, value) in enumerate(CANAL_SHOWN.items()):
        left, top = 40 + 740 * (index % 2), 190 + 110 * (index // 2)
        write(screen, label, (left, top), 20)
        write(screen, value, (left + 350, top), 20)
    return screen


def tabs() -> Screen:
    screen = np.full((760, 1100, 3), 60, np.uint8)
    screen[:90] = 120
    for index, name in enumerate(("Routes", "Waterways", "Crew")):
        if name == "Waterways":
            screen[:90, 320:640] = 60
        write(screen, name, (40 + 320 * index, 60))
    for row, (label, value) in enumerate(CANAL_SHOWN.items()):
        write(screen, f"{label}: {value}", (60, 180 + 95 * row))
    return screen


def photographed(screen: Screen, seed: int) -> bytes:
    """The screen off axis, a little soft and grainy, as PNG."""
    rng = np.random.default_rng(seed)
    high, wide = screen.shape[:2]
    away = rng.uniform(0.02, 0.06, (4, 2)) * (wide, high) + 60
    room = np.array([[0, 0], [wide + 120, 0], [wide + 120, high + 120], [0, high + 120]])
    signs = np.array([[1, 1], [-1, 1], [-1, -1], [1, -1]])
    target = (room + signs * away).astype(np.float32)
    source = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], np.float32)
    matrix = cv2.getPerspectiveTransform(source, target)
    photo = cv2.warpPerspective(
        screen, matrix, (wide + 120, high + 120), borderValue=(70, 66, 60)
    ).astype(np.float32)
    photo = cv2.GaussianBlur(photo, (0, 0), 0.9) + rng.normal(0, 3, photo.shape)
    buffer = io.BytesIO()
    Image.fromarray(np.clip(photo, 0, 255).astype(np.uint8)).save(buffer, "PNG")
    return buffer.getvalue()


@pytest.mark.parametrize("layout", [values_below, two_columns, tabs])
def test_other_layouts(layout: object, tmp_path: Path) -> None:
    assert callable(layout)
    path = tmp_path / "screen.png"
    path.write_bytes(photographed(layout(), 5))
    reading = read(tmp_path, CANAL, [path], "1")
    assert reading.photos[0].page == "ways"
    sure = reading.sure_values()
    assert sure == {name: CANAL_TRUTH[name] for name in sure}
    assert len(sure) >= 5


def test_a_value_beyond_the_outline_of_the_screen_is_read_from_the_photograph(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The outline is drawn too small here: it ends left of one row's value."""
    lamps = tuple(Field(f"ways.lamp-{n}", f"Mooring light {n}", Switch()) for n in range(1, 5))
    page = replace(CANAL.pages[0], fields=(*CANAL.pages[0].fields, *lamps))
    canal = replace(CANAL, pages=(page,))
    screen = np.full((940, 1100, 3), 25, np.uint8)
    write(screen, "Waterways", (40, 70))
    shown = {**CANAL_SHOWN, **{field.label: "On" for field in lamps}}
    for row, (label, value) in enumerate(shown.items()):
        write(screen, label, (40, 160 + 80 * row))
        write(screen, value, (860 if label == "Horn" else 500, 160 + 80 * row))
    path = tmp_path / "screen.png"
    path.write_bytes(photographed(screen, 5))

    def too_small(pixels: Screen) -> NDArray[np.float64]:
        high, wide = pixels.shape[:2]
        return np.array([(80, 80), (0.68 * wide, 80), (0.68 * wide, high - 80), (80, high - 80)])

    monkeypatch.setattr(photo_views, "screen_outline", too_small)
    reading = read(tmp_path, canal, [path], "1")
    assert reading.sure_values()["ways.horn"] == "off"


def test_what_was_seen_of_a_secret_is_dropped(tmp_path: Path) -> None:
    path = tmp_path / "screen.png"
    screen = two_columns()
    screen[260:330, 1100:] = 240
    write(screen, "tulip 77", (1130, 300), 20)  # a recorder that shows its code
    path.write_bytes(photographed(screen, 6))
    reading = read(tmp_path, CANAL, [path], "1")
    [code] = [field for field in reading.fields if field.id == "ways.code"]
    assert (code.text, code.value) == ("", "set")
    assert "tulip" not in str(replace(code, box=None))
    other: list[FieldReading] = [field for field in reading.fields if field.id != "ways.code"]
    assert not any("tulip" in field.text for field in other)
