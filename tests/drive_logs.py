"""Logs of simulated drives as files have them."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from asfound.jobs.read_pulses import PulseForm, PulseLog, read_pulses
from asfound.jobs.read_track import ReadTrack, read_track
from asfound.jobs.read_track_csv import CsvForm
from asfound.model.drive_log import Track
from asfound.model.track_log import TrackLog
from simulated_drives import Floats


def stamp(at_s: float) -> str:
    """RFC 3339."""
    return datetime.fromtimestamp(at_s, UTC).isoformat().replace("+00:00", "Z")


def gpx_of(track: Track) -> str:
    """GPX 1.1 with speeds in extensions."""
    rows = zip(track.times_s, track.lat_deg, track.lon_deg, track.speed_ms, strict=True)
    points = "\n".join(
        f'<trkpt lat="{lat:.7f}" lon="{lon:.7f}"><time>{stamp(at)}</time><extensions><speed>'
        f"{speed:.3f}</speed></extensions></trkpt>"
        for at, lat, lon, speed in rows
    )
    space = 'xmlns="http://www.topografix.com/GPX/1/1"'
    return f'<gpx version="1.1" {space}><trk><trkseg>\n{points}\n</trkseg></trk></gpx>'


def csv_of(track: Track) -> str:
    """time;v in km/h."""
    rows = zip(track.times_s, track.speed_ms, strict=True)
    return "time;v\n" + "\n".join(f"{stamp(at)};{speed * 3.6:.1f}" for at, speed in rows)


def pulses_of(times: Floats, counts: Floats) -> str:
    """time,count in Unix seconds."""
    rows = zip(times, counts, strict=True)
    return "time,count\n" + "\n".join(f"{at:.3f},{count:.0f}" for at, count in rows)


def as_log(text: str, name: str = "log", form: CsvForm | None = None) -> TrackLog:
    """What is read of it."""
    return read_track(ReadTrack(name, [text.encode()], form or CsvForm()))


def as_pulses(text: str, form: PulseForm) -> PulseLog:
    """What is read of it."""
    return read_pulses("pulses.csv", [text.encode()], form)


def put(folder: Path, name: str, text: str) -> Path:
    """A file."""
    path = folder / name
    path.write_text(text, "utf-8")
    return path
