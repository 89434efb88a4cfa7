"""`asfound lens`: what is said, JSON, sizes, exit codes."""

from __future__ import annotations

import json

import pytest
import typer
from typer.testing import CliRunner

from asfound.cli import lens
from asfound.errors import AsfoundError, UsageError

CAMERA = ("--sensor", "4.8x3.6mm", "--focal", "2.8mm", "--pixels", "1280")


def run(*arguments: str) -> tuple[int, str]:
    app = typer.Typer()

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    lens.register(app)
    result = CliRunner().invoke(app, ["lens", *arguments])
    if isinstance(result.exception, AsfoundError):
        raise result.exception
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.stdout


def test_what_is_seen() -> None:
    where = ("--distance", "3m", "--need", "identify", "--height", "2.5m", "--tilt", "30")
    code, said = run(*CAMERA, *where)
    assert code == 1 and "field of view 81.2° x 65.5°" in said
    assert "5.14 m across at 3 m, 248.9 pixels a metre: recognise" in said
    assert "level ground is seen from 1.29 m to the horizon" in said
    assert "found: 248.9 pixels a metre at 3 m, identify wants 250" in said
    assert "no ground" in run(*CAMERA, "--height", "2m", "--tilt", "-60")[1]


def test_json() -> None:
    code, said = run(*CAMERA, "--height", "2m", "--tilt", "50", "--json")
    data = json.loads(said)
    assert code == 0 and data["pixels_per_m"] is None and data["good_for"] == ""
    assert data["farthest_m"]["recognise"] == pytest.approx(1280 * 2.8 / (4.8 * 125))
    assert data["ground_m"][0] < data["ground_m"][1]
    assert json.loads(run(*CAMERA, "--json")[1])["ground_m"] is None


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        (("--sensor", "1/3"), "names, not sizes"),
        (("--sensor", "0x3.6mm"), "names, not sizes"),
        (("--focal", "2.8"), "with one of mm"),
        (("--pixels", "0"), "1 to 20000"),
        (("--distance", "0m"), "more than 0"),
        (("--tilt", "91"), "-90 to 90"),
        (("--edition", "2020"), "no classes of 2020"),
    ],
)
def test_what_cannot_be(changed: tuple[str, str], said: str) -> None:
    with pytest.raises(UsageError, match=said):
        run(*CAMERA, *changed)
