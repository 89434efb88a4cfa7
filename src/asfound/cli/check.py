"""`asfound check SETTINGS`: all sums that apply to a reading or a target, and what they find."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.home import HomeOption, home_at
from asfound.cli.settings_file import load_values
from asfound.errors import ExitCode, UsageError
from asfound.jobs.ask_check import ask_facts
from asfound.jobs.check_settings import CheckSettings, check_settings, facts_of
from asfound.model.menu_map import MenuMap
from asfound.model.sums import Facts, SettingsChecked

FORMAT = "asfound-check/1"


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="check")(check_command)


def check_command(  # noqa: PLR0913 (an option each)
    settings: Annotated[Path, typer.Argument(help="Values by field id, or a reading: JSON.")],
    map_name: Annotated[
        str, typer.Option("--map", metavar="MAP", help="Menu map, id or file; else the vehicle's.")
    ] = "",
    firmware: Annotated[
        str, typer.Option(metavar="V", help="Installed firmware; else the vehicle's.")
    ] = "",
    vehicle: Annotated[
        str, typer.Option(help="A vehicle of the home folder's fleet: its drive, hours, promise.")
    ] = "",
    home: HomeOption = None,
    drive: Annotated[str, typer.Option(help="The drive as its label says: 1TB.")] = "",
    hours: Annotated[str, typer.Option(help="Hours a day with the ignition on.")] = "",
    week: Annotated[str, typer.Option(metavar="DAYS", help="Days a week that it drives.")] = "7",
    promised: Annotated[str, typer.Option(metavar="DAYS", help="Days that were promised.")] = "",
    lawful: Annotated[str, typer.Option(metavar="DAYS", help="Days that are lawful.")] = "",
    events: Annotated[str, typer.Option(help="Events a day that fill the reserve: 3.")] = "",
    kind: Annotated[str, typer.Option(metavar="lorry|bus", help="Which limiter it has.")] = "",
    supply: Annotated[str, typer.Option(metavar="12|24", help="Volts of the vehicle.")] = "",
    zone: Annotated[str, typer.Option(help="The fleet's time zone: Europe/London.")] = "",
    year: Annotated[str, typer.Option(help="The year whose clock changes count.")] = "",
    pulses: Annotated[
        str, typer.Option(metavar="LOW-HIGH", help="Measured wheel pulses a km: 8180-8240.")
    ] = "",
    battery: Annotated[str, typer.Option(help="Battery of the vehicle: 170Ah.")] = "",
    draws: Annotated[str, typer.Option(help="What the recorder draws running on: 25W.")] = "",
    parked: Annotated[str, typer.Option(help="Longest time parked: 62h or 3d.")] = "",
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Settings against the sums: days kept, triggers, cut-off voltage, clock.

    Exit code 0: nothing found; 1: something does not hold.
    """
    menu_map, firmware, facts = _known(map_name, firmware, vehicle, home)
    values = load_values(settings, menu_map, firmware)
    typed = ask_facts(
        {
            "drive": drive, "hours": hours, "week": week, "promised": promised, "lawful": lawful,
            "events": events, "kind": kind, "supply": supply, "zone": zone, "year": year,
            "pulses": pulses, "battery": battery, "draws": draws, "parked": parked,
        },
        facts,
    )  # fmt: skip
    checked = check_settings(CheckSettings(menu_map, firmware, values, typed))
    if json:
        output.json_out(check_data(checked))
    else:
        show(checked, menu_map)
    if checked.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def _known(
    map_name: str, firmware: str, vehicle: str, home: Path | None
) -> tuple[MenuMap, str, Facts]:
    """The recorder, and what the fleet file says of the vehicle where one was named."""
    year = wiring.clock().now().year
    if not vehicle:
        if not map_name or not firmware:
            raise UsageError("name the recorder: --map and --firmware, or --vehicle")
        return wiring.menu_map(map_name), firmware, Facts(year=year)
    place = home_at(home)
    fleet = place.fleet()
    fitted = fleet.vehicle(vehicle)
    own = fitted.recorder.map_id
    menu_map = wiring.menu_map(map_name) if map_name else place.menu_map(own)
    if menu_map.id != own:
        raise UsageError(f"vehicle {fitted.number} has a {own}, not a {menu_map.id}")
    return menu_map, firmware or fitted.recorder.firmware, facts_of(fleet, fitted, year)


def check_data(checked: SettingsChecked) -> dict[str, object]:
    """The documented form (docs/bench.md)."""
    return {
        "format": FORMAT,
        "findings": [
            {
                "kind": one.kind, "fields": list(one.fields), "measured": one.measured,
                "limit": one.limit, "unit": one.unit, "source": one.source, "note": one.note,
            }
            for one in checked.findings
        ],
        "held": list(checked.held),
        "left_out": list(checked.left_out),
    }  # fmt: skip


def show(checked: SettingsChecked, menu_map: MenuMap) -> None:
    """Findings as a table, then what was checked and what was not."""
    if checked.findings:
        output.table(
            ("Found", "Settings", "Source"),
            [
                (
                    one.note,
                    ", ".join(menu_map.field(name).label for name in one.fields[:3])
                    + (" …" if len(one.fields) > 3 else ""),
                    one.source,
                )
                for one in checked.findings
            ],
        )
    else:
        output.say("nothing speaks against these settings", style="bold")
    output.say(f"checked: {', '.join(checked.held) or 'nothing'}")
    for line in checked.left_out:
        output.say(f"not checked: {line}")
