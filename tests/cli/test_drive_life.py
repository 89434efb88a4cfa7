"""`asfound drive life`: words, JSON, units, what cannot be.

Expected figures: 16 Mbit/s all day are 63.072 TB a year (computed by hand), 600 TB last 9.51 years.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from tests.smart_reports import nvme, text
from typer.testing import CliRunner

from asfound.cli import drive
from asfound.errors import AsfoundError, InputError, UsageError

LOAD = ("--drive", "1TB", "--rate", "16Mbit/s", "--hours", "24", "--spread", "0%")


def run(*arguments: str | Path) -> tuple[int, str]:
    app = typer.Typer()

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    drive.register(app)
    result = CliRunner().invoke(app, ["drive", "life", *map(str, arguments)])
    if isinstance(result.exception, AsfoundError):
        raise result.exception
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.stdout


def test_rated_writes() -> None:
    code, said = run(*LOAD, "--tbw", "600TB", "--warranty", "5", "--years", "8")
    assert code == 0 and "the rated writes last 9.5 years from now on" in said
    assert "rated drive writes a day" in said and "0.329" in said and "63.1 TB" in said
    code, said = run(*LOAD, "--tbw", "600TB", "--amplification", "2", "--years", "8")
    assert code == 1 and "wears-out-too-soon" in said and "8 were asked for" in said


def test_a_hard_disk() -> None:
    code, said = run(*LOAD, "--workload", "55TB")
    assert code == 1 and "63.1 TB are written in a year" in said
    assert "more-than-workload-rating: 63 TB a year" in said and "take one for 180" in said


def test_json() -> None:
    code, said = run(*LOAD, "--tbw", "600TB", "--written", "150TB", "--json")
    data = json.loads(said)
    assert code == 0 and data["format"] == "asfound-drive-life/1"
    assert data["used_share"] == pytest.approx(0.25)
    assert data["years_left"] == [pytest.approx(450 / 63.072)] * 3
    assert data["bytes_a_year"][1] == pytest.approx(63.072e12)
    assert data["findings"] == [] and data["rated_writes_a_day"] is None


def test_what_the_drive_reports(tmp_path: Path) -> None:
    report = tmp_path / "drive.json"
    report.write_bytes(text(nvme({"data_units_written": 1_000_000_000})))
    options = ("--rate", "16Mbit/s", "--hours", "24", "--tbw", "600TB", "--smart", report)
    code, said = run(*options)
    # 1e9 units of 512,000 bytes are 512 TB: 85.3 % of the rating.
    assert code == 1 and "rated-writes-nearly-used-up: 85% of the rated writes" in said
    worn = {"data_units_written": 100_000_000, "percentage_used": 20}
    report.write_bytes(text(nvme(worn)))
    code, said = run(*options)
    # 20 % of 600 TB after 51.2 TB: 2.3 times as much.
    assert code == 1 and "reckon with a write amplification of 2.3" in said
    report.write_bytes(b"{}")
    with pytest.raises(InputError, match="not a drive's report"):
        run(*options)


def test_measured_rates(tmp_path: Path) -> None:
    proof = tmp_path / "proof.json"
    recordings = [{"channel": n, "duration_s": 60.0, "bitrate_bps": 4e6} for n in range(4)]
    proof.write_text(json.dumps({"format": "asfound-proof/1", "recordings": recordings}), "utf-8")
    options = ("--drive", "1TB", "--tbw", "600TB", "--hours", "24", "--proof", proof, "--json")
    data = json.loads(run(*options)[1])
    assert data["bytes_a_day"][1] == pytest.approx(172.8e9)
    with pytest.raises(UsageError, match="one of them"):
        run(*options, "--rate", "1Mbit/s")


def test_a_plot(tmp_path: Path) -> None:
    path = tmp_path / "life.svg"
    run(*LOAD, "--tbw", "600TB", "--plot", path)
    assert path.read_bytes().startswith(b"<svg")
    with pytest.raises(UsageError, match="has to end"):
        run(*LOAD, "--tbw", "600TB", "--plot", tmp_path / "life.xyz")


def test_what_cannot_be() -> None:
    with pytest.raises(UsageError, match="no rating"):
        run(*LOAD)
    with pytest.raises(UsageError, match="drive is missing"):
        run("--rate", "1Mbit/s", "--hours", "9", "--tbw", "1TB")
