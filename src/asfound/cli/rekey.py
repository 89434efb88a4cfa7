"""`asfound rekey`: the keys to press from factory defaults to the target."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from asfound.cli import output, wiring
from asfound.cli.report import write_page
from asfound.cli.settings_file import load_values
from asfound.jobs.build_target import BuildTarget, build_target
from asfound.jobs.plan_rekey import PlanRekey, plan_rekey
from asfound.jobs.rekey_page import rekey_page
from asfound.jobs.report_rekey import PrintRekey
from asfound.model.fleet import Standard
from asfound.model.kinds import Secret
from asfound.model.menu_map import MenuMap
from asfound.model.rekey import KeyRun, RekeyField, RekeySheet
from asfound.model.values import shown
from asfound.ports.documents import to_data

MAX_RUNS = 12
"""More key runs than this are only counted in the table; the page and JSON have them all."""

MAX_NAMES = 12
"""Fields listed apart beyond these are only counted."""


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="rekey")(rekey_command)


def rekey_command(
    map_name: Annotated[str, typer.Option("--map", metavar="MAP", help="Menu map, id or file.")],
    firmware: Annotated[str, typer.Option(metavar="V", help="Installed firmware.")],
    target: Annotated[Path, typer.Option(metavar="JSON", help="Values by field id, or a reading.")],
    from_firmware: Annotated[
        str | None, typer.Option(metavar="V", help="Firmware that the values come from.")
    ] = None,
    html: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the sheet as a page to print.")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print the sheet as JSON.")] = False,
) -> None:
    """The fewest key presses that bring a recorder from factory defaults to the target."""
    menu_map = wiring.menu_map(map_name)
    before = from_firmware or firmware
    values = load_values(target, menu_map, before)
    settings = {name: value for name, value in values.items() if menu_map.field(name).settable}
    standard = Standard(menu_map.id, {}, {})
    wanted = build_target(
        BuildTarget(
            menu_map, firmware, standard, as_found=settings, as_found_firmware=from_firmware
        )
    )
    sheet = plan_rekey(PlanRekey(menu_map, firmware, wanted, from_firmware))
    if html is not None:
        page = rekey_page(PrintRekey(sheet, menu_map, wiring.clock().now()))
        write_page(html, page)
    if json:
        output.json_out(to_data(sheet))
    else:
        show(sheet, menu_map)


def show(sheet: RekeySheet, menu_map: MenuMap) -> None:
    """The sheet as a table, and what is listed apart."""
    rows: list[tuple[str | Text, ...]] = []
    running = 0
    for page in sheet.pages:
        running += _presses(page.reach)
        title = Text(f"{page.number} {page.title}", style="bold")
        rows.append((title, "", "", Text(keys_text(page.reach)), str(running)))
        for field in page.fields:
            running += field.presses
            rows.append(("", *_row(field, menu_map), str(running)))
        if page.save:
            running += _presses(page.save)
            rows.append(("", Text("store", style="dim"), "", keys_text(page.save), str(running)))
    name = f"{menu_map.maker} {menu_map.model}, firmware {sheet.firmware}"
    if rows:
        columns = ("page", "field", "from → to", "keys", "presses")
        output.table(columns, rows, title=f"Re-key sheet: {name}", right=(4,))
    count = sum(len(page.fields) for page in sheet.pages)
    by_hand = sum(field.by_hand for page in sheet.pages for field in page.fields)
    minutes = -int(-sheet.seconds // 60)
    hand = f", {by_hand} of them by hand" if by_hand else ""
    output.say(
        f"{count} settings{hand}, {sheet.presses} presses, about {minutes} min at the keys"
        if count
        else f"{name}: nothing to key in; the factory defaults are the target"
    )
    apart = (
        ("set at the vehicle, they run by themselves", sheet.volatile),
        ("nobody says what these should be, left at the factory default", sheet.unknown),
        ("new in this firmware", sheet.added),
        ("gone from this firmware", sheet.removed),
        ("renamed", tuple(f"{old} -> {new}" for old, new in sheet.renamed)),
    )
    for words, names in apart:
        if names:
            more = f" and {len(names) - MAX_NAMES} more" if len(names) > MAX_NAMES else ""
            output.say(f"{words} ({len(names)}): {', '.join(names[:MAX_NAMES])}{more}")


def keys_text(runs: tuple[KeyRun, ...]) -> str:
    """Key runs in one line, such as "Down ×2, Set"."""
    return ", ".join(run.key if run.times == 1 else f"{run.key} ×{run.times}" for run in runs)


def _row(field: RekeyField, menu_map: MenuMap) -> tuple[str | Text, ...]:
    kind = menu_map.field(field.id).type
    new = field.to_value if isinstance(kind, Secret) else shown(kind, field.to_value)
    old = "not known"
    if field.from_value is not None:
        old = field.from_value if isinstance(kind, Secret) else shown(kind, field.from_value)
    change = f"{old or '(empty)'} → {new or '(empty)'}"
    if field.by_hand:
        moves = f"{keys_text(field.move)}; " if field.move else ""
        return field.label, change, Text(f"{moves}by hand: {field.note}", style="yellow")
    if field.cap_text and len(field.change) > MAX_RUNS:
        moves = f"{keys_text(field.move)}, " if field.move else ""
        typed = f"{moves}type it on the on-screen keyboard ({_presses(field.change)} presses)"
        return field.label, change, typed
    return field.label, change, keys_text(field.move + field.change)


def _presses(runs: tuple[KeyRun, ...]) -> int:
    return sum(run.times for run in runs)
