"""A drive's rated writes being used up over the years, or its workload beside the usual classes."""

from __future__ import annotations

from dataclasses import replace

from asfound.calc.days_kept import Band as Range
from asfound.calc.drive_life import WORKLOADS
from asfound.jobs.ask_drive import drive_text
from asfound.jobs.drive_life import DriveLife, drive_life
from asfound.model.plot import Axis, Band, Bars, Layer, Line, Plot, Rule
from asfound.units import TB, bytes_text

LONGEST = 25.0
"""Years that a plot shows at most."""
SHORTEST = 2.0
STEPS = 40
TOP = 150.0
"""Per cent of the rated writes up to which is drawn."""
BESIDE = 1.3
"""How far the plot goes beyond what matters."""


def plot_drive_life(request: DriveLife) -> Plot:
    """Share of the rated writes used from now on, as a band, with half and double the drive and
    twice the write amplification beside it; without rated writes the workload a year."""
    if request.rated is None:
        return _workload(request)
    life = drive_life(request)
    years = life.years.likely if life.years is not None else 0.0
    marks = [years, request.wanted_years or 0.0, request.warranty_years or 0.0]
    end = min(LONGEST, max(SHORTEST, BESIDE * max(marks)))
    across = tuple(end * step / STEPS for step in range(STEPS + 1))
    own = _used(request, across)
    layers: list[Layer] = [
        Band(
            "from little to much to record",
            across,
            tuple(min(one.low, TOP) for one in own),
            tuple(min(one.high, TOP) for one in own),
        ),
        _line(drive_text(request), request, across, dashed=False),
    ]
    if request.capacity is not None:
        for factor in (0.5, 2.0):
            name = f"{bytes_text(request.capacity * factor)} of the same kind, new"
            layers.append(_line(name, _sized(request, factor), across))
    twice = replace(request.wear, amplification=2 * request.wear.amplification)
    name = f"write amplification {twice.amplification:g}"
    layers.append(_line(name, replace(request, wear=twice), across))
    layers.append(Rule("rated writes", 100.0))
    if request.wanted_years is not None and request.wanted_years <= end:
        layers.append(Rule("years asked for", request.wanted_years, "x"))
    warranty = request.warranty_years
    if warranty is not None and warranty <= end and not request.written:
        layers.append(Rule("warranty", warranty, "x"))
    return Plot(
        "Rated writes used from now on",
        Axis("time", "years", low=0.0),
        Axis("rated writes used", "%", low=0.0),
        tuple(layers),
    )


def _sized(request: DriveLife, factor: float) -> DriveLife:
    """A new drive of the same kind: as many drive writes a day, so rated for more or less."""
    rated, capacity = request.rated or 0.0, request.capacity or 0.0
    return replace(request, capacity=capacity * factor, tbw=rated * factor, dwpd=None, written=0.0)


def _line(name: str, request: DriveLife, across: tuple[float, ...], dashed: bool = True) -> Line:
    """On average, as far as TOP."""
    used = [one.likely for one in _used(request, across)]
    shown = [(years, share) for years, share in zip(across, used, strict=True) if share <= TOP]
    if len(shown) < len(used) and len(used) > 1:
        # The end lies where it reaches TOP, between two steps.
        rise = used[1] - used[0]
        shown.append(((TOP - used[0]) / rise * across[1], TOP) if used[0] < TOP else (0.0, TOP))
    return Line(name, tuple(at for at, _ in shown), tuple(share for _, share in shown), dashed)


def _used(request: DriveLife, across: tuple[float, ...]) -> list[Range]:
    """Per cent of the rating that is used after each of ``across`` [years]."""
    rated = request.rated or 1.0
    a_year, used = request.wear.worn_a_year, request.written * request.wear.amplification
    return [
        Range(
            *(
                100 * (used + figure * years) / rated
                for figure in (a_year.low, a_year.likely, a_year.high)
            )
        )
        for years in across
    ]


def _workload(request: DriveLife) -> Plot:
    a_year = request.wear.written_a_year
    labels = ("with little to record", "on average", "with much to record")
    figures = (a_year.low, a_year.likely, a_year.high)
    layers: list[Layer] = [Bars("written", labels, tuple(one / TB for one in figures))]
    enough = next((one for one in WORKLOADS if one >= a_year.high), WORKLOADS[-1])
    classes = {one: f"class of {one / TB:g} TB" for one in WORKLOADS if one <= enough}
    if request.workload is not None:
        classes[request.workload] = f"this drive: {request.workload / TB:g} TB"
    layers += [Rule(name, size / TB, "x") for size, name in sorted(classes.items())]
    return Plot(
        "Written in a year, beside the workload that hard disks are rated for",
        Axis("written in a year", "TB", low=0.0),
        Axis("", ""),
        tuple(layers),
    )
