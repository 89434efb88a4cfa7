"""`asfound visit read|rekey|compare|prove`: the big jobs, run for a visit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from asfound.calc.plain_text import plain
from asfound.cli import check, output, prove, rekey, wiring
from asfound.cli.clock_show import PhoneErrorOption, PhoneZoneOption, show_clock
from asfound.cli.helpers import FreshOption, WorkersOption, helpers
from asfound.cli.home import Home, HomeOption, home_at
from asfound.cli.prove_clock import (
    CLOCK_LIMIT_S,
    ClockLimitOption,
    ClockNowOption,
    ClockOption,
    ClockZoneOption,
    clock_ask,
)
from asfound.cli.read import photo_files
from asfound.cli.report import write_page
from asfound.cli.retake_show import show_retakes
from asfound.cli.visit_show import (
    next_step,
    settle_hint,
    show_difference,
    show_doubts,
    show_identity,
)
from asfound.errors import ExitCode, UsageError
from asfound.jobs.clip_stills import clip_of
from asfound.jobs.prove_references import pictures_in
from asfound.jobs.read_clock import ClockFacts
from asfound.jobs.rekey_page import rekey_page
from asfound.jobs.report_rekey import PrintRekey
from asfound.jobs.visit_read import ReadTools, VisitRead, visit_read
from asfound.jobs.visit_work import (
    ProveTools,
    VisitPlan,
    VisitProve,
    visit_compare,
    visit_plan,
    visit_prove,
)
from asfound.model.clock import PHONE_ERROR_S
from asfound.model.finding import ProofVerdict
from asfound.model.visit import VisitState

VisitArgument = Annotated[str, typer.Argument(metavar="VISIT", help="The visit's id.")]
WorkerOption = Annotated[
    str,
    typer.Option(
        "--by", envvar="ASFOUND_BY", metavar="NAME", help="Who does it; else who opened the visit."
    ),
]


def read_command(
    visit: VisitArgument,
    photos: Annotated[
        list[Path],
        typer.Argument(metavar="PHOTO...", help="Photographs, clips, or folders of them."),
    ],
    as_left: Annotated[
        bool, typer.Option("--as-left", help="The settings as left, not as found.")
    ] = False,
    by: WorkerOption = "",
    phone_zone: PhoneZoneOption = "",
    phone_error: PhoneErrorOption = PHONE_ERROR_S,
    home: HomeOption = None,
) -> None:
    """Read photographs of the menu.

    Exit code 1: pages are missing, values in doubt, a photograph shows no page, or serial number
    or firmware are not those of the fleet file; 4: a file is no picture (the rest is read all the
    same).
    """
    files = photo_files(photos)
    place = home_at(home)
    state = place.visit(visit)
    menu_map = place.visit_map(state)
    tools = ReadTools(wiring.pictures(), wiring.ocr(), wiring.video())
    clock = ClockFacts(place.fleet().time_zone, phone_zone, phone_error)
    request = VisitRead(visit, menu_map, files, by or state.opened_by, as_left, clock)
    with wiring.progress("Reading photographs") as progress:
        state = visit_read(request, desk=place.desk(), tools=tools, progress=progress)
    reading = state.rounds[-1].reading if as_left else state.as_found
    if reading is None:
        raise UsageError(f"visit {visit}: nothing was read; look at the photographs")
    settled = state.rounds[-1].settled if as_left else state.settled
    given = {Path(plain(str(path))).name for path in files}
    fresh = [photo for photo in reading.photos if Path(clip_of(photo.file)).name in given]
    for photo in fresh:
        if photo.note:
            name = Path(photo.file).name
            output.say(photo.note if photo.note.startswith(name) else f"{name}: {photo.note}")
    pages = len(menu_map.pages) - len(reading.missing_pages)
    photographs = output.count(len(reading.photos), "photograph")
    output.say(f"{photographs}, {pages} of {len(menu_map.pages)} pages")
    for page in reading.missing_pages:
        output.say(f"not photographed: {menu_map.page(page).title} [{page}]")
    show_clock(reading, "as left" if as_left else "as found")
    differs = show_identity(state, reading, menu_map)
    show_retakes(reading, menu_map, {item.id for item in settled})
    left = show_doubts(reading, settled, menu_map)
    (settle_hint if left and not reading.missing_pages else next_step)(state)
    if any(photo.damaged for photo in fresh):
        raise typer.Exit(ExitCode.BAD_PICTURE)
    if left or differs or reading.missing_pages or any(photo.page is None for photo in fresh):
        raise typer.Exit(ExitCode.FINDINGS)


def rekey_command(
    visit: VisitArgument,
    html: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the sheet as a page to print.")
    ] = None,
    by: WorkerOption = "",
    home: HomeOption = None,
) -> None:
    """Plan which keys bring every setting back, for the firmware that is installed now."""
    place = home_at(home)
    state = place.visit(visit)
    menu_map = place.visit_map(state)
    # A closed visit is only looked at; in an open one the plan follows fleet file and readings.
    if not state.closed:
        state = visit_plan(_plan(place, state, by), desk=place.desk())
    if state.sheet is None:
        raise UsageError(f"visit {visit} was closed without a re-key sheet; there is none to show")
    if html is not None:
        vehicle = f"{state.vehicle.number} ({state.vehicle.plate})"
        now = wiring.clock().now()
        page = rekey_page(PrintRekey(state.sheet, menu_map, now, vehicle, state.id, state.fleet))
        write_page(html, page)
        output.say(f"{html}: the sheet as a page")
    rekey.show(state.sheet, menu_map)
    if state.sums is not None:
        output.say()
        check.show(state.sums, menu_map)


def compare_command(visit: VisitArgument, by: WorkerOption = "", home: HomeOption = None) -> None:
    """Compare the settings as left with the target. Exit code 1: something is open."""
    place = home_at(home)
    state = place.visit(visit)
    menu_map = place.visit_map(state)
    state = visit_compare(_plan(place, state, by), desk=place.desk())
    difference = state.rounds[-1].difference
    if difference is None:
        raise UsageError(f"visit {visit}: nothing was compared; read the settings as left first")
    show_difference(difference, menu_map, len(state.rounds))
    if difference.open_items():
        output.say(
            "mend what is wrong, photograph those pages again and read them with --as-left; "
            "settle what is in doubt; then compare again"
        )
        raise typer.Exit(ExitCode.FINDINGS)
    next_step(state)


def prove_command(  # noqa: PLR0913 (an option each)
    visit: VisitArgument,
    paths: Annotated[
        list[Path],
        typer.Argument(
            metavar="PATH...", parser=wiring.place, help="Recordings, or folders of them."
        ),
    ],
    pattern: Annotated[
        str, typer.Option(help="How files are named: {channel}_{start:%Y%m%dT%H%M%SZ}")
    ] = "",
    by: WorkerOption = "",
    clock: ClockOption = False,
    clock_zone: ClockZoneOption = "",
    clock_now: ClockNowOption = "",
    clock_limit: ClockLimitOption = CLOCK_LIMIT_S,
    reference: prove.ReferenceOption = None,
    whole: prove.WholeOption = False,
    workers: WorkersOption = "",
    fresh: FreshOption = False,
    home: HomeOption = None,
) -> None:
    """Look at recordings; burned-in clocks are held against the fleet's local time.

    Exit code 1: faults, or something could not be judged.
    """
    ask, read_clocks = clock_ask(clock, clock_zone, clock_now, clock_limit)
    earlier = pictures_in(reference) if reference is not None else ()
    place = home_at(home)
    state = place.visit(visit)
    desk = place.desk()
    if read_clocks and not ask.zone:
        ask = replace(ask, zone=place.fleet().time_zone)
    if state.target is None:
        state = visit_plan(_plan(place, state, by), desk=desk)
    request = VisitProve(
        visit,
        place.visit_map(state),
        tuple(paths),
        by or state.opened_by,
        pattern,
        ask,
        earlier,
        whole,
    )
    with (
        helpers(place, paths, workers, fresh) as hands,
        wiring.progress("Looking at recordings") as progress,
    ):
        ocr = wiring.ocr(1) if read_clocks else None
        tools = ProveTools(wiring.video(), wiring.pictures(), hands, ocr)
        state = visit_prove(request, desk=desk, tools=tools, progress=progress)
    if state.proof is None:
        raise UsageError(f"visit {visit}: nothing was proved; name the recordings")
    prove.show(state.proof)
    next_step(state)
    if state.proof.verdict is not ProofVerdict.RECORDS:
        raise typer.Exit(ExitCode.FINDINGS)


def _plan(place: Home, state: VisitState, by: str) -> VisitPlan:
    """Standard and vehicle as the fleet file has them now: it may have been mended."""
    menu_map = place.visit_map(state)
    fleet = place.fleet()
    vehicle = fleet.vehicle(state.vehicle.number)
    return VisitPlan(
        state.id, menu_map, fleet.standard(menu_map.id), vehicle, by or state.opened_by, fleet
    )
