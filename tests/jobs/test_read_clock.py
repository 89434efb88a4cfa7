"""The recorder's clock from simulated photographs and from readings made by hand. Zone rules: IANA
tz database through zoneinfo."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from asfound.demo.photos import Session, shoot
from asfound.demo.random_values import random_values
from asfound.demo.themes import TUNING_THEMES
from asfound.errors import UsageError
from asfound.jobs.read_clock import ClockFacts, check_facts, named_zone, timed, with_clock
from asfound.jobs.read_pages import ReadPages, read_pages
from asfound.model.kinds import Choice, Date, ReadOnly, Time
from asfound.model.menu_map import Field, Keys, MenuMap, Page
from asfound.model.reading import FieldReading, PhotoReading, Reading, State
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.map_toml import load_map, shipped_map_paths
from asfound.ports.backends.ocr_rapid import RapidOcr
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.pictures import ClipFrame, Picture

MADRID = ZoneInfo("Europe/Madrid")
NOON = datetime(2026, 7, 1, 12, 0, 0, tzinfo=timezone(timedelta(hours=2)))
PIXELS = np.zeros((2, 2, 3), np.uint8)


def small_map(*fields: Field) -> MenuMap:
    keys = Keys("flat", "U", "D", "L", "R", "OK", "B", "-", "+")
    return MenuMap("m", "M", "M", 1, ("1",), (Page("p", "Clock", fields),), keys)


NOW = Field("now", "Now", ReadOnly("clock"), volatile=True, means="clock")
DAY = Field("day", "Date", Date("DD/MM/YYYY"), volatile=True, means="clock-date")
TIME = Field("time", "Time", Time(), volatile=True, means="clock-time")
ZONE = Field("zone", "Zone", Choice(("UTC", "UTC+2")), means="time-zone")


def reading(menu_map: MenuMap, taken: datetime | None, *states: tuple[str, str, State]) -> Reading:
    fields = tuple(
        FieldReading(field.id, field.label, value, value, state)
        for field in menu_map.fields
        for name, value, state in states
        if name == field.id
    )
    photo = PhotoReading("a.jpg", "0" * 64, "p", 0.1, fields, taken=taken)
    return Reading(menu_map.id, "1", (photo,), fields, ())


def sure(name: str, value: str) -> tuple[str, str, State]:
    return name, value, State.SURE


def test_simulated_photographs_of_a_clock_that_is_slow(tmp_path: Path) -> None:
    menu_map = load_map(shipped_map_paths()["quillfen-octad"])
    firmware = menu_map.firmware[-1]
    values = random_values(menu_map, firmware, np.random.default_rng(3)) | {"clock.zone": "UTC+2"}
    files = []
    for seed, apart in ((3, 0.0), (4, 0.35)):
        start = datetime(2026, 7, 1, 10, 0, 0, tzinfo=MADRID) + timedelta(seconds=apart + seed)
        session = Session(
            TUNING_THEMES[seed], "clean", seed, start, clock_offset_s=-192.4,
            pages=frozenset({"clock"}),
        )  # fmt: skip
        files += [shot.path for shot in shoot(menu_map, values, firmware, session, tmp_path)]
    found = read_pages(
        ReadPages(menu_map, tuple(files), firmware, ClockFacts("Europe/Madrid")),
        pictures=PillowPictures(), ocr=RapidOcr(threads=2), blobs=FileBlobs(tmp_path / "blobs"),
        clock=SystemClock(),
    )  # fmt: skip
    assert [photo.taken_step_s for photo in found.photos] == [1.0, 0.001]
    assert found.clock is not None and found.clock.photos == 2 and found.clock.zone_sure
    assert found.clock.low_s <= -192.4 <= found.clock.high_s
    assert found.clock.within_s <= 2.2 and found.clock.zone == "Europe/Madrid"
    # By what the recorder itself is set to it comes out the same: Madrid is UTC+2 in July.
    own = with_clock(menu_map, found, ClockFacts())
    assert own.clock is not None and "UTC+2" in own.clock.zone
    assert (own.clock.low_s, own.clock.high_s) == (found.clock.low_s, found.clock.high_s)


def test_only_what_is_sure_counts() -> None:
    menu_map = small_map(NOW)
    doubt = reading(menu_map, NOON, ("now", "01/07/2026 12:00:41", State.DOUBT))
    found = with_clock(menu_map, doubt, ClockFacts())
    assert (
        found.clock is None and found.clock_note == "no photograph shows the clock for sure: Clock"
    )
    timeless = reading(menu_map, None, sure("now", "01/07/2026 12:00:41"))
    found = with_clock(menu_map, timeless, ClockFacts())
    assert found.clock is None and "no capture time" in found.clock_note
    without = small_map(ZONE)
    found = with_clock(without, reading(without, NOON, sure("zone", "UTC")), ClockFacts())
    assert (found.clock, found.clock_note) == (None, "")


def test_the_running_clock_stands_before_the_rows_it_is_set_with() -> None:
    menu_map = small_map(NOW, DAY, TIME)
    rows = (sure("day", "2026-07-01"), sure("time", "11:58"))
    both = with_clock(
        menu_map, reading(menu_map, NOON, sure("now", "01/07/2026 12:00:41"), *rows), ClockFacts()
    ).clock
    assert both is not None and both.low_s == 39.0 and both.notes == ()
    alone = with_clock(menu_map, reading(menu_map, NOON, *rows), ClockFacts()).clock
    assert alone is not None and alone.low_s == -122.0 and alone.high_s == pytest.approx(-58.8)
    assert any("'Time', which stands still" in note for note in alone.notes)


def test_a_clock_without_its_day_is_taken_for_the_nearest() -> None:
    menu_map = small_map(DAY, TIME)
    late = NOON.replace(hour=23, minute=59)
    unsure = ("day", "2026-07-01", State.DOUBT)
    found = with_clock(
        menu_map, reading(menu_map, late, unsure, sure("time", "00:01")), ClockFacts()
    )
    assert found.clock is not None and 118 <= found.clock.low_s <= found.clock.high_s <= 182


def test_against_which_local_time() -> None:
    menu_map = small_map(NOW, ZONE)
    seen = reading(menu_map, NOON, sure("now", "01/07/2026 10:00:00"), sure("zone", "UTC"))
    own = with_clock(menu_map, seen, ClockFacts()).clock
    assert own is not None and abs(own.offset_s) < 1 and own.zone.startswith("UTC, as")
    fleet = with_clock(menu_map, seen, ClockFacts("Europe/Madrid")).clock
    assert fleet is not None and fleet.low_s <= -7200 <= fleet.high_s
    assert "zone setting" in fleet.hint
    unset = reading(menu_map, NOON, sure("now", "01/07/2026 10:00:00"))
    phone = with_clock(menu_map, unset, ClockFacts()).clock
    assert phone is not None and phone.low_s <= -7200 <= phone.high_s
    assert phone.zone == "the phone's own local time"


def test_a_phone_without_its_zone_asks_for_it() -> None:
    menu_map = small_map(NOW)
    seen = reading(menu_map, NOON.replace(tzinfo=None), sure("now", "01/07/2026 12:00:41"))
    found = with_clock(menu_map, seen, ClockFacts("Europe/London")).clock
    assert found is not None and not found.zone_sure
    assert "--phone-zone" in found.notes[-1]


def picture(taken: datetime, frame: ClipFrame | None = None, exposure_s: float = 0.0) -> Picture:
    return Picture(PIXELS, taken, frame=frame, exposure_s=exposure_s)


def test_the_phones_zone_is_laid_over_times_without_one() -> None:
    photo = PhotoReading("a.jpg", "0" * 64, "p", 0.1, ())
    madrid = ClockFacts(phone_zone="Europe/Madrid")
    local = datetime(2026, 7, 1, 12, 0)
    assert timed(photo, picture(local), madrid).taken == NOON
    assert timed(photo, picture(local), ClockFacts(phone_zone="+02:00")).taken == NOON
    assert timed(photo, picture(local), ClockFacts()).taken == local
    # The file's own tag stands.
    assert timed(photo, picture(NOON), ClockFacts(phone_zone="UTC")).taken == NOON
    # Clocks went back at 03:00 on 25 October 2026 (EU Directive 2000/84/EC): 02:30 came twice.
    twice = datetime(2026, 10, 25, 2, 30)
    assert timed(photo, picture(twice), madrid).taken == twice


def test_exposure_and_a_clips_start_make_it_less_certain() -> None:
    photo = PhotoReading("a.jpg", "0" * 64, "p", 0.1, ())
    frame = ClipFrame("1" * 64, 2.0, NOON, 9.0)
    made = timed(photo, picture(NOON, frame, 0.25), ClockFacts())
    assert made.taken_slack_s == 9.25
    menu_map = small_map(NOW)
    seen = reading(menu_map, NOON, sure("now", "01/07/2026 12:00:00"))
    exact = with_clock(menu_map, seen, ClockFacts()).clock
    loose = replace(seen, photos=(replace(seen.photos[0], taken_slack_s=9.25),))
    vague = with_clock(menu_map, loose, ClockFacts()).clock
    assert exact is not None and vague is not None
    assert vague.within_s == pytest.approx(exact.within_s + 9.25)


@pytest.mark.parametrize("name", ["Madrid", "+25:00", "2", "../etc/passwd", "Europe/Madrid\x00"])
def test_zones_that_are_none(name: str) -> None:
    with pytest.raises(UsageError, match="not known"):
        check_facts(ClockFacts(phone_zone=name))


@pytest.mark.parametrize("seconds", [-1.0, float("nan"), 1e9])
def test_phone_errors_that_are_none(seconds: float) -> None:
    with pytest.raises(UsageError, match="phone error"):
        check_facts(ClockFacts(phone_error_s=seconds))


def test_offsets_are_zones() -> None:
    for name, minutes in (("+05:45", 345), ("-03:30", -210), ("+00:00", 0)):
        assert named_zone(name).utcoffset(None) == timedelta(minutes=minutes)
    assert NOON.astimezone(named_zone("UTC")) == NOON.astimezone(UTC)
