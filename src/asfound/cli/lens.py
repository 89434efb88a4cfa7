"""`asfound lens`: what a camera sees, how far it shows enough, and the ground it cannot see."""

from __future__ import annotations

import re
from math import isfinite
from typing import Annotated

import typer

from asfound.calc.lens_view import CLASSES, Camera, Ground
from asfound.cli import output
from asfound.errors import ExitCode, UsageError
from asfound.jobs.view_lens import Viewed, ViewLens, view_lens
from asfound.units import parse_quantity

FORMAT = "asfound-lens/1"
SIZE = re.compile(r"\s*(\d{1,2}(?:[.]\d{1,4})?)\s*[x×]\s*(\d{1,2}(?:[.]\d{1,4})?)\s*mm\s*")


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="lens")(lens_command)


def lens_command(  # noqa: PLR0913 (an option each)
    sensor: Annotated[
        str, typer.Option(help="The sensor's size in mm, from its data sheet: 4.8x3.6mm.")
    ],
    focal: Annotated[str, typer.Option(help="Focal length: 2.8mm.")],
    pixels: Annotated[int, typer.Option(help="Pixels across: 1280.")],
    distance: Annotated[str, typer.Option(help="How far away what matters is: 5m.")] = "",
    need: Annotated[str, typer.Option(help="What it has to be good for there: recognise.")] = "",
    height: Annotated[str, typer.Option(help="Height of the camera: 2.5m.")] = "",
    tilt: Annotated[float, typer.Option(help="Degrees downwards from the horizon.")] = 0.0,
    edition: Annotated[str, typer.Option(help="Classes of 2014 or of 2025.")] = "2014",
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Field of view, pixels on a thing at a distance and what they are good for, blind ground."""
    if not 1 <= pixels <= 20_000:
        raise UsageError(f"--pixels {pixels}: 1 to 20000")
    if not -90 <= tilt <= 90:
        raise UsageError(f"--tilt {tilt:g}: -90 to 90")
    camera = Camera(*_size(sensor), _metres(focal, "--focal", "mm"), pixels)
    request = ViewLens(
        camera,
        edition,
        _metres(distance, "--distance", "m") if distance else None,
        need,
        _metres(height, "--height", "m") if height else None,
        tilt,
    )
    seen = view_lens(request)
    if json:
        output.json_out(lens_data(camera, seen))
    else:
        _show(request, seen)
    if seen.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def _metres(text: str, name: str, unit: str) -> float:
    try:
        found = parse_quantity(text, {unit: 1.0})
    except ValueError as error:
        raise UsageError(f"{name}: {error}") from None
    if not 0 < found < 1e4:
        raise UsageError(f"{name} {text}: more than 0 is wanted, and less than 10000")
    return found


def _size(text: str) -> tuple[float, float]:
    found = SIZE.fullmatch(text)
    if found is None or not float(found[1]) or not float(found[2]):
        raise UsageError(
            f"--sensor {text!r}: write width x height from the data sheet, 4.8x3.6mm; types such "
            "as 1/3 inch are names, not sizes"
        )
    return float(found[1]), float(found[2])


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
            f"{seen.width_m:.2f} m across at {request.away_m:g} m, {seen.density:.1f} pixels a "
            f"metre: {seen.good or 'none of the classes'}"
        )
    least = CLASSES[request.edition]
    output.table(
        ("Good for", "Pixels a metre", "Up to [m]"),
        [(name, f"{least[name]:g}", f"{far:.1f}") for name, far in seen.farthest_m.items()],
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
