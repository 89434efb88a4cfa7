"""`asfound power crank`: whether a recorder gets over the start of the engine."""

from __future__ import annotations

from typing import Annotated

import typer

from asfound.cli import output
from asfound.cli.cautions_show import say_cautions
from asfound.cli.plot_file import PlotFile, plot_form, write_plot
from asfound.errors import ExitCode
from asfound.jobs.ask_start import CAUTIONS, ask_start
from asfound.jobs.plot_start import plot_start
from asfound.jobs.ride_start import Ride, RideStart, Start, Started, ride_start

FORMAT = "asfound-crank/1"
RIDES = {
    Ride.THROUGH: "rides through",
    Ride.HELD: "holds up",
    Ride.OUT: "drops out",
    Ride.UNKNOWN: "could not tell",
}


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="crank")(crank_command)


def crank_command(  # noqa: PLR0913 (an option each)
    system: Annotated[str, typer.Option(help="The vehicle's voltage: 12V or 24V.")],
    code: Annotated[str, typer.Option(help="The recorder's code of ISO 16750-2: A to H.")] = "",
    least: Annotated[str, typer.Option(help="Or the least voltage that it takes: 9V.")] = "",
    most: Annotated[str, typer.Option(help="And the most: 36V.")] = "",
    supply: Annotated[str, typer.Option(help="Supply before the start: 24V.")] = "",
    start: Annotated[
        list[str] | None,
        typer.Option(help="A start of the standard, I to IV; all of them else. May be repeated."),
    ] = None,
    lowest: Annotated[str, typer.Option(help="Lowest voltage measured at the battery: 17V.")] = "",
    lowest_at_plug: Annotated[str, typer.Option(help="Or at the recorder's plug: 16V.")] = "",
    lasting: Annotated[str, typer.Option(help="For how long it was too low: 1.2s.")] = "",
    draws: Annotated[str, typer.Option(help="What the recorder draws: 25W.")] = "",
    length: Annotated[str, typer.Option(help="Its leads, one way: 8m.")] = "",
    section: Annotated[str, typer.Option(help="Their section: 1.5mm2 or AWG16.")] = "",
    hold_up: Annotated[str, typer.Option(help="How long it lives without supply: 200ms.")] = "",
    boot: Annotated[str, typer.Option(help="How long it needs to record again: 45s.")] = "",
    plot: PlotFile = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Starts of ISO 16750-2, or a measured one, against what the recorder's supply needs."""
    plot_form(plot)
    request = ask_start(
        {
            "system": system, "code": code, "least": least, "most": most, "supply": supply,
            "starts": " ".join(start or ()), "lowest": lowest, "lowest_at_plug": lowest_at_plug,
            "lasting": lasting, "draws": draws, "length": length, "section": section,
            "hold_up": hold_up, "boot": boot,
        }
    )  # fmt: skip
    result = ride_start(request)
    if json:
        output.json_out(crank_data(request, result))
    else:
        _show(request, result)
    write_plot(plot_start(request, result), plot)
    if result.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def crank_data(request: RideStart, result: Started) -> dict[str, object]:
    """The documented form (docs/bench.md)."""
    return {
        "format": FORMAT,
        "system_v": request.system_v,
        "code": request.code,
        "least_v": request.range.least_v,
        "most_v": request.range.most_v,
        "limit_before_leads_v": result.limit_v,
        "starts": [
            {
                "name": one.name,
                "lowest_v": one.lowest_v,
                "limit_v": one.limit_v,
                "below_s": one.below and one.below.seconds,
                "verdict": one.ride,
                "gap_s": one.gap_s,
            }
            for one in result.starts
        ],
        "beyond": [
            {"name": event.name, "volts": event.volts, "note": event.note}
            for event in result.beyond
        ],
        "findings": [
            {
                "kind": one.kind,
                "measured": one.measured,
                "limit": one.limit,
                "unit": one.unit,
                "note": one.note,
            }
            for one in result.findings
        ],
    }


def _show(request: RideStart, result: Started) -> None:
    limits = request.range
    named = f"code {request.code}, " if request.code else ""
    output.say(
        f"recorder: {named}{limits.least_v:g} to {limits.most_v:g} V; wants {result.limit_v:.1f} V "
        "in front of its leads"
    )
    output.table(
        ("Start", "Lowest V", "Needs V", "Too low for", "Recorder", "Nothing recorded for"),
        [_row(one) for one in result.starts],
        right=(1, 2, 3, 5),
    )
    for event in result.beyond:
        output.say(
            f"{event.name}: {event.volts:g} V ({event.note}), more than the recorder's range; the "
            "range does not say that it survives: ask its maker for the test"
        )
    for one in result.findings:
        output.say(f"{one.kind}: {one.note}")
    say_cautions(CAUTIONS)


def _row(one: Start) -> tuple[str, ...]:
    below = "" if one.below is None else f"{one.below.seconds:.3f} s"
    gap = "" if one.gap_s is None else f"{one.gap_s:.1f} s"
    return (
        one.name, f"{one.lowest_v:g}", f"{one.limit_v:.1f}", below, RIDES[one.ride], gap,
    )  # fmt: skip
