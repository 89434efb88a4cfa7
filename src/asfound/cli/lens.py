"""`asfound lens`: what a camera sees, how far it shows enough, and the ground it cannot see."""

from __future__ import annotations

from math import isfinite
from typing import Annotated

import typer

from asfound.calc.lens_view import CLASSES, Camera, Ground
from asfound.cli import output
from asfound.cli.plot_file import PlotFile, plot_form, write_plot
from asfound.errors import ExitCode
from asfound.jobs.ask_lens import EDITION, ask_lens
from asfound.jobs.plot_lens import plot_above, plot_side
from asfound.jobs.view_lens import Viewed, ViewLens, view_lens
from asfound.units import down_text

FORMAT = "asfound-lens/1"


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="lens")(lens_command)


def lens_command(  # noqa: PLR0913 (an option each)
    sensor: Annotated[
        str, typer.Option(help="The sensor's size in mm, from its data sheet: 4.8x3.6mm.")
    ],
    focal: Annotated[str, typer.Option(help="Focal length: 2.8mm.")],
    pixels: Annotated[str, typer.Option(help="Pixels across: 1280.")],
    distance: Annotated[str, typer.Option(help="How far away what matters is: 5m.")] = "",
    need: Annotated[str, typer.Option(help="What it has to be good for there: recognise.")] = "",
    height: Annotated[str, typer.Option(help="Height of the camera: 2.5m.")] = "",
    tilt: Annotated[str, typer.Option(help="Degrees downwards from the horizon.")] = "0",
    edition: Annotated[str, typer.Option(help="Classes of 2014 or of 2025.")] = EDITION,
    above: Annotated[
        bool, typer.Option("--above", help="Draw it from above, not from the side.")
    ] = False,
    plot: PlotFile = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Field of view, pixels on a thing at a distance and what they are good for, blind ground."""
    plot_form(plot)
    request = ask_lens(
        {
            "sensor": sensor, "focal": focal, "pixels": pixels, "distance": distance, "need": need,
            "height": height, "tilt": tilt, "edition": edition,
        }
    )  # fmt: skip
    camera = request.camera
    seen = view_lens(request)
    if json:
        output.json_out(lens_data(camera, seen))
    else:
        _show(request, seen)
    write_plot((None if above else plot_side(request)) or plot_above(request), plot)
    if seen.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def lens_data(camera: Camera, seen: Viewed) -> dict[str, object]:
    """The documented form (docs/bench.md)."""
    ground = seen.ground
    return {
        "format": FORMAT,
        "across_deg": camera.across_deg,
        "upright_deg": camera.upright_deg,
        "width_m": seen.width_m,
        "pixels_per_m": seen.density,
        "good_for": seen.good,
        "farthest_m": seen.farthest_m,
        "ground_m": ground and [_finite(ground.near_m), _finite(ground.far_m)],
        "findings": list(seen.findings),
    }


def _finite(metres: float) -> float | None:
    return metres if isfinite(metres) else None


def _show(request: ViewLens, seen: Viewed) -> None:
    camera = request.camera
    output.say(f"field of view {camera.across_deg:.1f}° x {camera.upright_deg:.1f}°", style="bold")
    if seen.density is not None:
        output.say(
            f"{seen.width_m:.2f} m across at {request.away_m:g} m, {seen.written} pixels a "
            f"metre: {seen.good or 'none of the classes'}"
        )
    least = CLASSES[request.edition]
    output.table(
        ("Good for", "Pixels a metre", "Up to [m]"),
        [(name, f"{least[name]:g}", down_text(far, 1)) for name, far in seen.farthest_m.items()],
        right=(1, 2),
    )
    output.say(f"classes of IEC/EN 62676-4, {request.edition}")
    if seen.ground is not None:
        output.say(_ground(seen.ground))
    for one in seen.findings:
        output.say(f"found: {one}")


def _ground(ground: Ground) -> str:
    if not isfinite(ground.near_m):
        return "no ground is seen"
    end = f"to {ground.far_m:.2f} m" if isfinite(ground.far_m) else "to the horizon"
    return f"level ground is seen from {ground.near_m:.2f} m {end}"
