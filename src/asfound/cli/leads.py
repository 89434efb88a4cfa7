"""`asfound leads`: the voltage that a recorder's supply leads lose, and which would be enough."""

from __future__ import annotations

from typing import Annotated

import typer

from asfound.calc.supply_leads import FUSE_LEAST
from asfound.cli import output
from asfound.cli.cautions_show import say_cautions
from asfound.cli.plot_file import PlotFile, plot_form, write_plot
from asfound.errors import ExitCode
from asfound.jobs.ask_leads import WARM, ask_leads
from asfound.jobs.plot_leads import plot_leads
from asfound.jobs.size_leads import CRITICAL, USUAL, Leads, SizeLeads, size_leads

FORMAT = "asfound-leads/1"
CAUTIONS = ("battery", "isolator", "high-voltage")


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="leads")(leads_command)


def leads_command(  # noqa: PLR0913 (an option each)
    supply: Annotated[str, typer.Option(help="Voltage at the supply: 24V.")],
    load: Annotated[
        str, typer.Option(help="What the recorder draws: 60W whatever the voltage, or 2.5A.")
    ],
    length: Annotated[str, typer.Option(help="Length of the leads one way: 8m.")],
    section: Annotated[str, typer.Option(help="Section: 1.5mm2, or AWG16.")],
    celsius: Annotated[str, typer.Option(help="Temperature of the leads.")] = WARM,
    least: Annotated[str, typer.Option(help="Below this the recorder is not specified: 9V.")] = "",
    plot: PlotFile = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Voltage lost in the supply leads of a recorder, the section that would do, the least fuse."""
    plot_form(plot)
    request = ask_leads(
        {
            "supply": supply, "load": load, "length": length, "section": section,
            "celsius": celsius, "least": least,
        }
    )  # fmt: skip
    result = size_leads(request)
    if json:
        output.json_out(leads_data(request, result))
    else:
        _show(request, result)
    write_plot(plot_leads(request), plot)
    if result.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def leads_data(request: SizeLeads, result: Leads) -> dict[str, object]:
    """The documented form (docs/bench.md)."""
    load = result.load
    return {
        "format": FORMAT,
        "supply_v": request.supply_v,
        "ohms": request.lead.ohms,
        "section_mm2": request.lead.section_mm2,
        "volts": load and load.volts,
        "amperes": load and load.amperes,
        "drop_v": load and load.drop_v,
        "section_for_critical_mm2": result.critical_mm2,
        "section_for_usual_mm2": result.usual_mm2,
        "least_fuse_a": result.fuse_a,
        "findings": list(result.findings),
    }


def _show(request: SizeLeads, result: Leads) -> None:
    lead, load = request.lead, result.load
    output.say(
        f"{lead.length_m:g} m one way, {lead.section_mm2:.3g} mm², {lead.celsius:g} °C: "
        f"{1000 * lead.ohms:.1f} mΩ there and back"
    )
    if load is not None:
        output.say(
            f"{load.amperes:.2f} A, {load.drop_v:.2f} V lost "
            f"({load.drop_v / request.supply_v:.1%}), {load.volts:.2f} V arrive",
            style="bold",
        )
    for share, section in ((CRITICAL, result.critical_mm2), (USUAL, result.usual_mm2)):
        wanted = "no usual section is enough" if section is None else f"{section:g} mm²"
        output.say(f"at most {share:.0%} lost: {wanted}")
    fuse = "none of the usual blade fuses" if result.fuse_a is None else f"{result.fuse_a:g} A"
    if load is not None:
        output.say(
            f"fuse at the supply: {fuse} at least ({FUSE_LEAST:.0%} of the steady current), and "
            "never more than the lead's maker allows for its place and bundle"
        )
    for one in result.findings:
        output.say(f"found: {one}")
    say_cautions(CAUTIONS)
