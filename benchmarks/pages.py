"""Pages of a large fleet beside the same pages of the demonstration's, and what the first costs.

    python benchmarks/pages.py [VEHICLES] [ENTRIES] [ROUNDS]

Two homes are written: the demonstration's fleet with a visit for each vehicle, and a fleet of
VEHICLES (10,000) whose journals hold ENTRIES (1,000,000) in all. Two servers of the program, on
loopback, are asked for the same pages in turn; medians are compared. The first page is fetched
as a browser would: bytes as sent, compressed where the server does.
"""

from __future__ import annotations

import gzip
import http.client
import json
import re
import statistics
import subprocess
import sys
import tempfile
import time
import tomllib
import urllib.request
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from socket import socket
from typing import Any

from sqlalchemy import create_engine, delete, insert

from asfound.calc.drive_names import register_id, same_serial
from asfound.cli.home import Home, home_at
from asfound.demo import scenario
from asfound.jobs.footage_requests import AddRequest, add_request
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.model.fleet import Vehicle
from asfound.model.journal import GENESIS, Entry, entry_hash
from asfound.model.visit_line import VisitLine, line_after
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.store_tables import ENTRIES, LINES, entry_row, line_row
from machine import machine

RESULTS = Path(__file__).parent / "results" / "pages.json"
VEHICLES, TOTAL, ROUNDS = 10_000, 1_000_000, 40
OPEN = 1
"""Visits that are open in either home, so that today lists the same."""

LIMIT = 1.5
HELD = ("today", "vehicles", "vehicle found", "vehicle", "visit", "proof")
"""Pages that are held to it; those of drives and requests go through the whole register."""

FIRST_BYTES = 150_000
READY_S = 120.0


@dataclass(frozen=True)
class Site:
    """A home with its vehicles, visits and one request, and the server on it; ``drive``: the id
    of the vehicle's."""

    name: str
    vehicle: str
    visit: str
    drive: str
    request: str
    port: int = 0


def main(arguments: Sequence[str]) -> int:
    """Measure and store. 1 when a bar is missed."""
    given = [int(text) for text in arguments]
    vehicles, total, rounds = (*given, *(VEHICLES, TOTAL, ROUNDS)[len(given) :])
    each = max(2, total // vehicles)
    with tempfile.TemporaryDirectory() as folder:
        small = _home(Path(folder) / "small", 0, each)
        large = _home(Path(folder) / "large", vehicles, each)
        with _serving(Path(folder) / "small", small) as one:
            first = _first_page(one)
            with _serving(Path(folder) / "large", large) as two:
                pages = _compared(one, two, rounds)
    worst = max(pages[name]["ratio"] for name in HELD)
    result = {
        "machine": machine(),
        "vehicles": vehicles,
        "entries": vehicles * each,
        "entries_of_a_visit": each,
        "rounds": rounds,
        "pages": pages,
        "worst_ratio": worst,
        "first_page": first,
    }
    RESULTS.write_text(json.dumps(result, indent=2) + "\n", encoding="utf-8")
    for name, item in pages.items():
        print(
            f"{name:14} {item['demo_ms']:8.1f} ms {item['large_ms']:8.1f} ms  x{item['ratio']:.2f}"
        )
    print(
        f"first page: {first['bytes']} bytes in {first['requests']} requests, {first['late']} late"
    )
    good = worst <= LIMIT and first["bytes"] <= FIRST_BYTES and first["late"] == 0
    return 0 if good else 1


def _home(folder: Path, vehicles: int, each: int) -> Site:
    """Write a home; ``vehicles`` 0: the demonstration's own fleet."""
    folder.mkdir()
    text = scenario.FLEET_FILE.read_text(encoding="utf-8")
    if vehicles:
        text = _larger(text, vehicles)
    (folder / "fleet.toml").write_text(text, encoding="utf-8")
    home = home_at(folder)
    visit = _journals(home, home.fleet().vehicles, each)
    vehicle = home.fleet().vehicle(scenario.VEHICLE)
    assert vehicle.drive
    return Site(
        folder.name, vehicle.number, visit, register_id(same_serial(vehicle.drive.serial)),
        _asked(home, vehicle),
    )  # fmt: skip


def _asked(home: Home, vehicle: Vehicle) -> str:
    """Someone asks for half an hour of yesterday."""
    desk, start = home.desk(), SystemClock().now() - timedelta(days=1)
    asked = AddRequest(
        vehicle, start, start + timedelta(minutes=30), (), "collision", "insurer", "ada"
    )
    return add_request(asked, log=home.requests(), store=desk.store, clock=desk.clock).id


def _larger(text: str, vehicles: int) -> str:
    """The fleet file with the vehicle tables repeated under other numbers."""
    parts = re.split(r"(?m)^(?=\[\[(?:vehicle|standard)\]\])", text)
    tables = [part for part in parts if part.startswith("[[vehicle]]")]
    known = len(tomllib.loads(text)["vehicle"])
    made = list(parts)
    for count in range(vehicles - known):
        table = re.sub(r"(?m)^number = .*$", f'number = "{1000 + count}"', tables[count % known])
        table = re.sub(r"(?m)^plate = .*$", f'plate = "P {count:05d}"', table)
        table = re.sub(r'serial = "[^"]*"', f'serial = "S-{count:05d}"', table)
        made.append("\n" + table)
    return "".join(made)


def _journals(home: Home, vehicles: Sequence[Vehicle], each: int) -> str:
    """A visit for each vehicle, chained as the store demands, all but OPEN of them closed; the
    id of the demonstration's vehicle's, which is open."""
    fleet, desk = home.fleet(), home.desk()
    vehicle = fleet.vehicle(scenario.VEHICLE)
    menu_map = home.menu_map(vehicle.recorder.map_id)
    request = OpenVisit(
        vehicle, fleet.name, fleet.time_zone, home.procedure(scenario.PROCEDURE), menu_map, "ada"
    )
    pattern = desk.store.entries(
        open_visit(request, store=desk.store, blobs=desk.blobs, clock=desk.clock).id
    )[0]
    engine = create_engine(f"sqlite:///{home.path / 'asfound.db'}")
    order = sorted(vehicles, key=lambda one: one.number != scenario.VEHICLE)
    with engine.begin() as connection:
        connection.execute(delete(LINES))
        connection.execute(delete(ENTRIES))
        for start in range(0, len(order), 100):
            entries: list[dict[str, Any]] = []
            lines: list[dict[str, Any]] = []
            for place, one in enumerate(order[start : start + 100], start):
                made, line = _journal(pattern, one, each, place)
                entries += [entry_row(item) for item in made]
                lines.append(line_row(line))
            connection.execute(insert(ENTRIES), entries)
            connection.execute(insert(LINES), lines)
    engine.dispose()
    return f"{scenario.VEHICLE}-{pattern.at:%y%m%d}-1"


def _journal(
    pattern: Entry, vehicle: Vehicle, each: int, place: int
) -> tuple[list[Entry], VisitLine]:
    visit = f"{vehicle.number}-{pattern.at:%y%m%d}-1"
    drive = vehicle.drive and {**pattern.data["vehicle"]["drive"], "serial": vehicle.drive.serial}
    opened: Mapping[str, Any] = {
        **pattern.data,
        "vehicle": {**pattern.data["vehicle"], "number": vehicle.number, "drive": drive},
    }
    made: list[Entry] = []
    line: VisitLine | None = None
    for count in range(each):
        at = pattern.at - timedelta(minutes=place) + timedelta(seconds=count)
        if count == 0:
            kind, data = "opened", opened
        elif count == each - 1 and place >= OPEN:
            kind, data = "closed", {"step": "close", "note": ""}
        else:
            kind, data = "noted", {"step": "", "note": f"note {count}"}
        made.append(_entry(visit, made, at, kind, data))
        line = line_after(line, made[-1])
    assert line is not None
    return made, line


def _entry(
    visit: str, before: Sequence[Entry], at: datetime, kind: str, data: Mapping[str, Any]
) -> Entry:
    seq, previous = len(before), before[-1].hash if before else GENESIS
    made = entry_hash(visit, seq, at, "ada", kind, data, previous)
    return Entry(visit, seq, at, "ada", kind, data, previous, made)


@contextmanager
def _serving(home: Path, site: Site) -> Iterator[Site]:
    with socket() as asking:
        asking.bind(("127.0.0.1", 0))
        port = int(asking.getsockname()[1])
    program = [sys.executable, "-c", "from asfound.cli.entry import run; run()", "serve"]
    options = ["--no-browser", "--port", str(port), "--home", str(home)]
    process = subprocess.Popen([*program, *options], stdout=subprocess.DEVNULL)
    try:
        end = time.monotonic() + READY_S
        while True:
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=60).close()
                break
            except OSError:
                if process.poll() is not None or time.monotonic() > end:
                    raise
                time.sleep(0.2)
        yield replace(site, port=port)
    finally:
        process.terminate()
        process.wait()


def _compared(one: Site, two: Site, rounds: int) -> dict[str, dict[str, float]]:
    """Medians of each page [ms], asked in turn, and their ratio."""
    paths = {
        "today": "/",
        "vehicles": "/vehicles",
        "vehicle found": "/vehicles?q=QB04XKM",
        "vehicle": f"/vehicles/{one.vehicle}",
        "visit": f"/visits/{one.visit}",
        "proof": f"/visits/{one.visit}/proof",
        "drives": "/drives",
        "drive": f"/drives/{one.drive}",
        "requests": "/requests",
        "request": f"/requests/{one.request}",
        "bundles": "/bundles",
    }
    made = {}
    for name, path in paths.items():
        times: dict[str, list[float]] = {one.name: [], two.name: []}
        for count in range(rounds + 2):
            for site in (one, two) if count % 2 else (two, one):
                took = _took(site, path)
                if count >= 2:
                    times[site.name].append(took)
        demo, large = (statistics.median(times[site.name]) for site in (one, two))
        made[name] = {"demo_ms": demo, "large_ms": large, "ratio": large / demo}
    return made


def _took(site: Site, path: str) -> float:
    connection = http.client.HTTPConnection("127.0.0.1", site.port, timeout=120)
    began = time.perf_counter()
    connection.request("GET", path)
    answer = connection.getresponse()
    answer.read()
    took = (time.perf_counter() - began) * 1000
    connection.close()
    if answer.status != 200:
        raise SystemExit(f"{site.name} {path}: {answer.status}")
    return took


def _first_page(site: Site) -> dict[str, Any]:
    """Bytes and requests of the first page; ``late`` files are found only after another came."""
    page, body = _fetched(site, "/")
    named = dict.fromkeys(re.findall(r'(?:href|src)="(/static/[^"#]+)', page))
    total, late = body, set[str]()
    for path in named:
        text, size = _fetched(site, path)
        total += size
        folder = path.rpartition("/")[0]
        for name in re.findall(r'^import .* from "\./([^"]+)"', text, re.M):
            if f"{folder}/{name}" not in named:
                late.add(f"{folder}/{name}")
    for path in sorted(late):
        total += _fetched(site, path)[1]
    return {
        "bytes": total,
        "html_bytes": body,
        "requests": 1 + len(named) + len(late),
        "late": len(late),
        "files": sorted(path.rpartition("/")[2] for path in named),
    }


def _fetched(site: Site, path: str) -> tuple[str, int]:
    """A file's text, and the bytes of its answer, headers included."""
    connection = http.client.HTTPConnection("127.0.0.1", site.port, timeout=60)
    connection.request("GET", path, headers={"Accept-Encoding": "gzip"})
    answer = connection.getresponse()
    data = answer.read()
    head = sum(len(name) + len(value) + 4 for name, value in answer.getheaders())
    connection.close()
    packed = answer.getheader("Content-Encoding") == "gzip"
    text = gzip.decompress(data) if packed else data
    return text.decode("utf-8"), len(data) + head


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
