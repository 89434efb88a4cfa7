"""Logs of positions: what is good is read, the rest is reported.

Sources: NMEA 0183 and GPX 1.1 (from memory); `gpxpy` and `pynmea2` read the same texts beside.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from math import isnan
from zoneinfo import ZoneInfo

import gpxpy
import numpy as np
import pynmea2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc import fix_order
from asfound.calc.log_values import TimeForm
from asfound.calc.nmea import checksum
from asfound.errors import AsfoundError, InputError, UsageError
from asfound.jobs import gather_fixes, read_track
from asfound.jobs.read_track import ReadTrack
from asfound.jobs.read_track_csv import CsvForm
from asfound.model.track_log import FixFault, TrackLog

START = datetime(2026, 5, 4, 6, 0, tzinfo=UTC)
read = read_track.read_track


def signed(inner: str) -> str:
    return f"${inner}*{checksum(inner):02X}"


def angle(value: float, wide: int) -> str:
    return f"{int(value):0{wide}d}{(value % 1) * 60:08.5f}"


def rmc(at: datetime, lat: float, lon: float, knots: float = 20.0) -> str:
    return signed(
        f"GNRMC,{at:%H%M%S}.00,A,{angle(lat, 2)},N,{angle(lon, 3)},E,{knots:.2f},90.0,{at:%d%m%y},,"
    )


def gga(at: datetime, lat: float, lon: float) -> str:
    place = f"{angle(lat, 2)},N,{angle(lon, 3)},E"
    return signed(f"GNGGA,{at:%H%M%S}.00,{place},1,09,0.9,50.0,M,47.0,M,,")


def drive(seconds: int = 60, start: datetime = START) -> list[tuple[datetime, float, float]]:
    return [(start + timedelta(seconds=n), 52.0, 9.0 + n * 1.5e-4) for n in range(seconds)]


def log(lines: list[str], day: date | None = None, today: date | None = None) -> TrackLog:
    data = "\r\n".join(lines).encode()
    return read(ReadTrack("drive.nmea", [data[:70], data[70:]], day=day, today=today))


def test_nmea_as_pynmea2_reads_it() -> None:
    lines = [line for at, *place in drive() for line in (gga(at, *place), rmc(at, *place))]
    made = log(lines)
    others = [pynmea2.parse(line) for line in lines if "RMC" in line]
    track = made.track
    assert track.lat_deg == pytest.approx([one.latitude for one in others])
    assert track.lon_deg == pytest.approx([one.longitude for one in others])
    assert track.times_s == pytest.approx([one.datetime.timestamp() for one in others])
    assert track.speed_ms == pytest.approx([one.spd_over_grnd * 1852 / 3600 for one in others])
    assert not made.counts and not made.faults and not made.notes


def test_nmea_with_every_fault_keeps_the_rest() -> None:
    lines = [rmc(*fix) for fix in drive()]
    lines[5] = lines[5].replace(",A,", ",V,")[:-2] + "00"  # checksum
    lines[10] = lines[10][:30]
    lines[15] = "\x00\xff rubbish"
    lines[20] = signed("GNRMC,060020.00,V,,,,,,,040526,,")
    lines[25] = lines[24]
    lines[30] = rmc(drive()[3][0], 52.0, 9.0003)
    lines[35] = rmc(START + timedelta(seconds=35), 53.0, 9.0)
    lines[40] = signed("GNRMC,060040.00,A,5299.0,N,00900.0,E,1,1,040526,,")
    made = log(lines)
    assert len(made.track) == 52
    assert made.counts == {
        FixFault.CHECKSUM: 1,
        FixFault.NO_CHECKSUM: 1,
        FixFault.BROKEN: 2,
        FixFault.NO_FIX: 1,
        FixFault.REPEATED: 1,
        FixFault.JUMP: 1,
    }
    assert {fault.where for fault in made.faults} >= {"drive.nmea:6", "drive.nmea:36"}


def test_a_repeated_moment_is_one_and_time_going_back_is_left_out() -> None:
    fixes = [rmc(*fix) for fix in drive(20)]
    made = log([*fixes[:10], *fixes[9:15], *fixes[3:5], *fixes[15:]])
    assert len(made.track) == 20
    assert made.counts == {FixFault.REPEATED: 2}


def test_dates_come_from_what_is_said_later_and_midnight_is_passed() -> None:
    fixes = drive(20, datetime(2026, 5, 3, 23, 59, 50, tzinfo=UTC))
    lines = [gga(*fix) for fix in fixes[:15]] + [rmc(*fix) for fix in fixes[15:]]
    expected = [at.timestamp() for at, *_ in fixes]
    assert log(lines).track.times_s == pytest.approx(expected)
    alone = [gga(*fix) for fix in fixes]
    made = log(alone, day=date(2026, 5, 3))
    assert made.track.times_s == pytest.approx(expected)
    with pytest.raises(InputError, match=r"20 x no-date, first drive\.nmea:1"):
        log(alone)


def test_vtg_and_lost_line_ends() -> None:
    place = drive(1)[0]
    vtg = signed("GNVTG,90.0,T,,M,20.0,N,37.04,K")
    made = log([gga(*place) + vtg, rmc(START + timedelta(seconds=1), 52.0, 9.0001, 19)])
    assert made.track.speed_ms == pytest.approx([37.04 / 3.6, 19 * 1852 / 3600])


def test_week_roll_over_is_told_and_put_right_only_when_the_day_is_named() -> None:
    """1024 weeks are 7168 days (IS-GPS-200)."""
    early = [rmc(*fix) for fix in drive(20, START - timedelta(days=7168))]
    told = log(early, today=date(2026, 6, 1))
    assert told.early_weeks == 0 and "1024 weeks" in told.notes[0]
    assert told.track.times_s[0] == (START - timedelta(days=7168)).timestamp()
    right = log(early, day=date(2026, 5, 1))
    assert right.early_weeks == 1024 and right.track.times_s[0] == START.timestamp()
    assert not log([rmc(*fix) for fix in drive()], today=date(2026, 6, 1)).notes


GPX = """<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1" xmlns:e="urn:speed">
<wpt lat="1" lon="1"><time>2026-05-04T06:00:00Z</time></wpt><trk><trkseg>%s</trkseg></trk></gpx>"""


def gpx_points(number: int = 20) -> list[str]:
    return [
        f'<trkpt lat="{lat}" lon="{lon:.6f}"><ele>50</ele><time>{at:%Y-%m-%dT%H:%M:%SZ}</time>'
        f"<extensions><e:x><e:speed>{10 + n / 10}</e:speed></e:x></extensions></trkpt>\n"
        for n, (at, lat, lon) in enumerate(drive(number))
    ]


def gpx(text: str, size: int = 100) -> TrackLog:
    data = text.encode()
    chunks = (data[start : start + size] for start in range(0, len(data), size))
    return read(ReadTrack("drive.gpx", chunks))


def test_gpx_as_gpxpy_reads_it() -> None:
    text = GPX % "".join(gpx_points())
    made = gpx(text)
    others = [point for point, *_ in gpxpy.parse(text).walk()]
    assert made.track.lat_deg == pytest.approx([one.latitude for one in others])
    assert made.track.lon_deg == pytest.approx([one.longitude for one in others])
    times = [one.time.timestamp() for one in others if one.time is not None]
    assert made.track.times_s == pytest.approx(times)
    assert made.track.speed_ms == pytest.approx(np.arange(20) / 10 + 10)
    assert np.isnan(made.track.course_deg).all()


def test_gpx_that_breaks_off_or_lacks_times() -> None:
    points = gpx_points()
    points[3] = '<trkpt lat="1" lon="2"></trkpt>'
    points[4] = points[4].replace("52.0", "north")
    points[5] = points[5].replace("52.0", "95.0")
    points[6] = points[6].replace(">10.6<", ">fast<")
    text = GPX % "".join(points)
    made = gpx(text[: text.index("06:00:15")])
    assert len(made.track) == 12 and isnan(made.track.speed_ms[3])
    assert made.counts == {FixFault.NO_TIME: 1, FixFault.BROKEN: 3, FixFault.RANGE: 1}
    assert made.faults[-1].what.startswith("not readable from here on")


@pytest.mark.parametrize(
    "text",
    [
        '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "b"><!ENTITY c "&a;&a;">]><gpx>&c;</gpx>',
        '<!DOCTYPE gpx SYSTEM "file:///etc/passwd"><gpx></gpx>',
        "<gpx>" + "<a>" * 100,
        "<kml></kml>",
        "<gpx>",
        '<?xml version="1.0" encoding="none-such"?><gpx></gpx>',
        "<gpx></gpx>",
    ],
)
def test_gpx_that_is_refused(text: str) -> None:
    with pytest.raises(InputError, match=r"drive\.gpx"):
        gpx(text)


def csv(text: str, form: CsvForm | None = None) -> TrackLog:
    return read(ReadTrack("drive.csv", [text.encode()], form or CsvForm()))


def test_csv_forms_say_the_same() -> None:
    """72 km/h, 20 m/s, 38.877 knots and 44.739 mph are one speed (exact units)."""
    first = csv("time,lat,lon,speed\n2026-05-04T06:00:00Z,52,9,72\n2026-05-04T06:00:01Z,52,9,72\n")
    zone = ZoneInfo("Europe/Berlin")
    columns = {"time": "Zeit", "lat": "Breite", "lon": "3", "speed": "v"}
    local = CsvForm(columns, "m/s", zone=zone, comma=True)
    other = csv("Zeit;Breite;x;v\n2026-05-04T08:00:00,0;52,0;9,0;20,0\n", local)
    numbers = CsvForm(
        {"time": "1", "lat": "2", "lon": "3", "speed": "4"}, "knots", TimeForm.SECONDS
    )
    third = csv(f"{START.timestamp():.0f}\t52\t9\t38.876890\n", numbers)
    fourth = csv(
        f"time,lat,lon,speed\n{START.timestamp() * 1000:.0f},52,9,44.738726\n",
        CsvForm(speed_unit="mph", times=TimeForm.MILLISECONDS),
    )
    for made in (first, other, third, fourth):
        assert made.track.times_s[0] == START.timestamp()
        assert made.track.speed_ms[0] == pytest.approx(20, abs=1e-5)
        assert made.track.lon_deg[0] == 9 and not made.counts


def test_csv_with_broken_lines_and_without_positions() -> None:
    made = csv(
        "time,speed\n2026-05-04T06:00:00Z,50\n2026-05-04T06:00:01Z,x\n,50\n2026-05-04T06:00:02Z\n"
        "2026-05-04T06:00:03Z,900\nlater\n2026-05-04T06:00:04Z,51\n"
    )
    assert np.isnan(made.track.lat_deg).all() and len(made.track) == 3
    assert made.counts == {
        FixFault.BROKEN: 2,
        FixFault.NO_TIME: 1,
        FixFault.NO_FIX: 1,
        FixFault.RANGE: 1,
    }


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a,b\n1,2\n", "name the column of times"),
        ("time,b\n2026-05-04T06:00:00Z,2\n", "name the columns of positions"),
        ("time,lat\n2026-05-04T06:00:00Z,2\n", "name the columns of positions"),
    ],
)
def test_csv_without_its_columns(text: str, said: str) -> None:
    with pytest.raises(UsageError, match=said):
        csv(text)


@pytest.mark.parametrize("text", ["", "  \n", "time,lat,lon\n", "time,lat,lon\nsoon,1,2\n"])
def test_nothing_to_use(text: str) -> None:
    with pytest.raises(InputError, match=r"drive\.csv"):
        csv(text)


def test_what_is_too_large(monkeypatch: pytest.MonkeyPatch) -> None:
    def endless() -> Iterator[bytes]:
        while True:
            yield b"2026-05-04T06:00:00Z,52,9\n" * 1000

    monkeypatch.setattr(read_track, "MOST_BYTES", 1 << 20)
    with pytest.raises(InputError, match="larger than 1 MiB"):
        read(ReadTrack("drive.csv", endless(), CsvForm({"time": "1", "lat": "2", "lon": "3"})))
    monkeypatch.setattr(gather_fixes, "MOST_FIXES", 5)
    with pytest.raises(InputError, match="more than 5 fixes"):
        log([rmc(*fix) for fix in drive()])


def test_a_log_that_only_jumps_about(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fix_order, "MOST_RUNS", 20)
    fixes = [rmc(at, 52.0 + n % 2, lon) for n, (at, _, lon) in enumerate(drive(30))]
    with pytest.raises(InputError, match="jump more than 20 times; give the log of one vehicle"):
        log(fixes)


def test_many_faults_are_counted_and_few_named() -> None:
    made = log([rmc(*fix) for fix in drive()] + ["$GPRMC,1*00"] * 500)
    assert made.counts[FixFault.CHECKSUM] == 500 and len(made.faults) == gather_fixes.NAMED


@given(st.binary(max_size=400), st.sampled_from([b"", b"<gpx>", b"$GPRMC,", b"time,lat,lon\n"]))
def test_nothing_but_our_own_errors(data: bytes, head: bytes) -> None:
    try:
        made = read(ReadTrack("log", [head, data]))
    except AsfoundError as error:
        assert "\n" not in str(error)
    else:
        assert len(made.track)


@given(st.integers(0, 10_000), st.integers(1, 6))
def test_damaged_logs_lose_what_is_damaged_alone(seed: int, cuts: int) -> None:
    random = np.random.default_rng(seed)
    lines = [rmc(*fix) for fix in drive(40)]
    data = bytearray("\n".join(lines).encode())
    for at in random.integers(0, len(data), cuts):
        data[at] ^= 0x10
    made = read(ReadTrack("log", [bytes(data)]))
    whole = log(lines).track
    assert len(made.track) >= 40 - 2 * cuts
    known = dict(zip(whole.times_s.tolist(), whole.lon_deg.tolist(), strict=True))
    for at, lon in zip(made.track.times_s.tolist(), made.track.lon_deg.tolist(), strict=True):
        assert known[at] == lon
