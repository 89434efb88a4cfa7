"""`asfound power parked`: what a recorder leaves in the battery of a parked vehicle."""

from __future__ import annotations

from math import isfinite
from typing import Annotated

import typer

from asfound.calc.days_kept import Band
from asfound.calc.parked_drain import USUAL_ASLEEP_A
from asfound.cli import output
from asfound.cli.cautions_show import say_cautions
from asfound.cli.plot_file import PlotFile, plot_form, write_plot
from asfound.errors import ExitCode
from asfound.jobs.ask_parked import CAUTIONS, ask_parked
from asfound.jobs.park_battery import ParkBattery, Parked, park_battery
from asfound.jobs.plot_parked import plot_parked

FORMAT = "asfound-parked/1"


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="parked")(parked_command)


def parked_command(  # noqa: PLR0913 (an option each)
    system: Annotated[str, typer.Option(help="The vehicle's voltage: 12V or 24V.")],
    battery: Annotated[str, typer.Option(help="Capacity on the label, of the bank: 170Ah.")],
    parked: Annotated[str, typer.Option(help="How long it stands: 62h or 3d.")],
    kind: Annotated[str, typer.Option(help="flooded, agm or gel.")] = "flooded",
    health: Annotated[str, typer.Option(help="What age has left of the capacity.")] = "80%",
    celsius: Annotated[str, typer.Option(help="The coldest it gets while parked.")] = "20",
    charge: Annotated[str, typer.Option(help="State of charge when parked: 90%.")] = "",
    rest_volts: Annotated[str, typer.Option(help="Or the rest voltage: 25.1V.")] = "",
    rested: Annotated[str, typer.Option(help="How long it had rested then: 8h.")] = "",
    meter: Annotated[str, typer.Option(help="Error of the meter.")] = "1%",
    run_on: Annotated[str, typer.Option(help="Run-on after ignition off: 4h, 30min.")] = "0h",
    run_on_draws: Annotated[str, typer.Option(help="What it draws then: 25W or 1.1A.")] = "0A",
    sleep_draws: Annotated[str, typer.Option(help="What it draws asleep: 15mA.")] = "0A",
    vehicle_draws: Annotated[str, typer.Option(help="What the vehicle draws itself: 60mA.")] = "0A",
    keep: Annotated[str, typer.Option(help="Charge that a start in the warm needs.")] = "50%",
    cut_off: Annotated[str, typer.Option(help="The recorder's own cut-off: 24.4V.")] = "",
    length: Annotated[str, typer.Option(help="Its leads, one way: 8m.")] = "",
    section: Annotated[str, typer.Option(help="Their section: 1.5mm2 or AWG16.")] = "",
    plot: PlotFile = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Charge of the battery while parked, the longest run-on, a safe cut-off, danger of frost."""
    plot_form(plot)
    request = ask_parked(
        {
            "system": system, "battery": battery, "parked": parked, "kind": kind, "health": health,
            "celsius": celsius, "charge": charge, "rest_volts": rest_volts, "rested": rested,
            "meter": meter, "run_on": run_on, "run_on_draws": run_on_draws,
            "sleep_draws": sleep_draws, "vehicle_draws": vehicle_draws, "keep": keep,
            "cut_off": cut_off, "length": length, "section": section,
        }
    )  # fmt: skip
    result = park_battery(request)
    if json:
        output.json_out(parked_data(request, result))
    else:
        _show(request, result)
    write_plot(plot_parked(request, result), plot)
    if result.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def parked_data(request: ParkBattery, result: Parked) -> dict[str, object]:
    """The documented form (docs/bench.md)."""
    return {
        "format": FORMAT,
        "capacity_ah": request.battery.capacity_ah,
        "run_on_a": request.drain.run_on_a,
        "run_on_h": request.drain.run_on_h,
        "sleep_a": request.drain.sleep_a,
        "parked_h": request.hours,
        "charge": _band(request.charge),
        "charge_at_end": _band(result.at_end),
        "charge_for_start": result.least,
        "hours_until_no_start": [one if isfinite(one) else None for one in result.until_least_h],
        "longest_run_on_h": list(result.run_on_h),
        "cut_off_v": request.cut_off_v,
        "cut_off_acts_at": result.acts_at and _band(result.acts_at),
        "safe_cut_off_v": result.safe_cut_off_v,
        "parked_v": result.parked_v,
        "freezing_c": result.freezing_c,
        "findings": [
            {
                "kind": one.kind,
                "measured": one.measured if isfinite(one.measured) else None,
                "limit": one.limit,
                "unit": one.unit,
                "note": one.note,
            }
            for one in result.findings
        ],
    }


def _band(band: Band) -> list[float]:
    return [band.low, band.likely, band.high]


def _show(request: ParkBattery, result: Parked) -> None:
    battery, drain = request.battery, request.drain
    first = f"{drain.run_on_a:.3g} A for {drain.run_on_h:g} h, then " if drain.run_on_h else ""
    output.say(
        f"{battery.capacity_ah:g} Ah at {battery.celsius:g} °C; {first}"
        f"{1000 * drain.sleep_a:.0f} mA, vehicle and recorder together"
    )
    if drain.sleep_a > USUAL_ASLEEP_A:
        output.say(
            f"asleep it draws more than the {1000 * USUAL_ASLEEP_A:.0f} mA that service texts for "
            "cars allow; no common norm was found, and a lorry has its own figure"
        )
    output.table(
        ("When parked with", "Charge left", f"After {request.hours:g} h", "Start until", "Run-on"),
        [
            (name, f"{before:.0%}", f"{after:.0%}", hours_text(until), run_on_text(longest))
            for name, before, after, until, longest in zip(
                ("the least charge", "the likely charge", "the most charge"),
                _band(request.charge),
                _band(result.at_end),
                result.until_least_h,
                result.run_on_h,
                strict=True,
            )
        ][: 1 if request.charge.low == request.charge.high else 3],
        right=(1, 2, 3, 4),
    )
    output.say(f"a start wants {result.least:.0%} of charge at {battery.celsius:g} °C")
    output.say(f"safe cut-off: {result.safe_cut_off_v:.1f} V at the recorder's plug", style="bold")
    if not result.cut_off_serves:
        output.say(
            f"the battery stands near {result.parked_v:.1f} V there when parked: such a cut-off "
            "leaves no run-on, set its time instead"
        )
    if result.acts_at is not None:
        acts = result.acts_at
        output.say(
            f"its cut-off at {request.cut_off_v:g} V acts at {acts.likely:.0%} of charge (from "
            f"{acts.low:.0%} to {acts.high:.0%}: tables and meters differ)"
        )
    output.say(f"acid freezes near {result.freezing_c:.0f} °C at the end, at the least charge")
    for one in result.findings:
        output.say(f"{one.kind}: {one.note}")
    say_cautions(CAUTIONS)


def hours_text(hours: float) -> str:
    """Hours with their days: "83 h (3.5 d)"; endless ones as such."""
    return f"{hours:.0f} h ({hours / 24:.1f} d)" if isfinite(hours) else "no end"


def run_on_text(hours: float | None) -> str:
    """The longest run-on; None: there is none."""
    return "not even without" if hours is None else f"up to {hours:.1f} h"
