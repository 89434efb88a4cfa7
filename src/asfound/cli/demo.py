"""`asfound demo`: the invented fleet, and one visit of it from start to end."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.home import Home
from asfound.cli.report import write_whole
from asfound.demo import scenario
from asfound.demo.firmware import lay_firmware
from asfound.demo.story import Stage, Story
from asfound.errors import UsageError
from asfound.jobs.drive_acts import RegisterDrive, register_drive
from asfound.jobs.rekey_page import rekey_page
from asfound.jobs.report_rekey import PrintRekey
from asfound.jobs.report_visit import ReportTools, ReportVisit, rekey_visit, report_visit
from asfound.jobs.visit_check import check_visit
from asfound.jobs.visit_read import ReadTools
from asfound.jobs.visit_work import ProveTools
from asfound.model.visit import VisitState

MARK = ".asfound-demo"
"""Marks a folder as made by the demo, so that nothing else is ever emptied."""


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("demo")(demo)


def demo(
    out: Annotated[Path, typer.Option("--out", help="Folder to lay the demo out in.")] = Path(
        "demo-out"
    ),
) -> None:
    """Lay out the invented fleet and run one visit of bus 217 through the real jobs."""
    home = _fresh_home(out)
    menu_map = home.menu_map(home.fleet().vehicle(scenario.VEHICLE).recorder.map_id)
    story = Story(
        Stage(
            folder=out,
            desk=home.desk(),
            fleet=home.fleet(),
            menu_map=menu_map,
            procedure=home.procedure(scenario.PROCEDURE),
            reading=ReadTools(wiring.pictures(), wiring.ocr()),
            proving=ProveTools(wiring.video(), wiring.pictures()),
            painter=wiring.painter(),
            tell=output.say,
            watch=wiring.progress,
        )
    )
    _register_drives(home)
    state = story.play()
    # Afterwards: the visit's fleet had no catalogue, and its steps did not wait for one.
    lay_firmware(home.path)
    files = _papers(home, state, out)
    _summary(home, state, files)


def _fresh_home(out: Path) -> Home:
    """An empty home with the fleet in it. Raises UsageError when ``out`` is something else."""
    if out.exists() and not (out / MARK).is_file() and (out.is_file() or any(out.iterdir())):
        raise UsageError(f"{out} is not a folder of the demo; name another one with --out")
    shutil.rmtree(out, ignore_errors=True)
    path = out / "home"
    path.mkdir(parents=True)
    (out / MARK).touch()
    shutil.copy(scenario.FLEET_FILE, path / "fleet.toml")
    return Home(path)


def _register_drives(home: Home) -> None:
    """The drives that the fleet file names, each in its vehicle."""
    desk = home.drive_desk()
    for vehicle in home.fleet().vehicles:
        drive = vehicle.drive
        if drive is not None:
            request = RegisterDrive(
                drive.serial, drive.kind, drive.capacity_bytes, scenario.TECHNICIAN, "", vehicle
            )
            register_drive(request, desk=desk)
    output.say("the fleet's drives are registered: asfound drive list")


def _papers(home: Home, state: VisitState, out: Path) -> list[Path]:
    """The report, the re-key sheet as PDF and as a page."""
    tools = ReportTools(home.store(), home.blobs(), wiring.pdf(), wiring.pictures())
    request = ReportVisit(state.id, home.fleet().time_zone, home.cautions())
    files = [out / f"{state.id}.pdf", out / f"{state.id}-rekey.pdf"]
    write_whole(files[0], report_visit(request, tools=tools).pdf)
    write_whole(files[1], rekey_visit(state.id, tools=tools).pdf)
    if state.sheet is not None:
        vehicle = f"{state.vehicle.number} ({state.vehicle.plate})"
        menu_map = home.menu_map(state.vehicle.recorder.map_id)
        sheet = PrintRekey(
            state.sheet, menu_map, wiring.clock().now(), vehicle, state.id, state.fleet
        )
        page = out / f"{state.id}-rekey.html"
        write_whole(page, rekey_page(sheet).encode("utf-8"))
        files.append(page)
    return files


def _summary(home: Home, state: VisitState, files: list[Path]) -> None:
    check = check_visit(state.id, store=home.store(), blobs=home.blobs())
    health = "; ".join(check.faults) or "all as written"
    as_found, proof, last = state.as_found, state.proof, state.rounds[-1] if state.rounds else None
    settings = len(as_found.fields) if as_found else 0
    opened = [len(r.difference.open_items()) for r in state.rounds if r.difference is not None]
    same = last.difference.counts() if last is not None and last.difference is not None else {}
    rows = [
        ("settings read as found", f"{settings}, {len(state.settled)} settled by a person"),
        ("key presses to bring them back", str(state.sheet.presses) if state.sheet else "–"),
        ("open after each as-left round", ", ".join(map(str, opened))),
        ("settings as left", ", ".join(f"{n} {v.value}" for v, n in same.items() if n)),
        ("recordings", proof.verdict.value if proof else "–"),
        ("overrides", "; ".join(f"{o.gate} ({o.by})" for o in state.overrides) or "none"),
        ("journal", f"{check.entries} entries, {check.blobs} files, {health}"),
        *[(f"written ({path.suffix[1:]})", str(path)) for path in files],
        ("look closer", f"asfound visit show {state.id} --home {home.path}"),
    ]
    output.say()
    output.table(("visit " + state.id, ""), rows)
