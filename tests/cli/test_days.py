"""`asfound days`: what is said, JSON, units, exit codes.

Expected figures: 4 x 2 Mbit/s on 1 TB are 11.574 days all day (bit/s * 86400 / 8, decimal
prefixes by IEC 80000-13, computed by hand).
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from asfound.cli import days
from asfound.errors import AsfoundError, InputError, NotFound, UsageError

ALL_DAY = ("--drive", "1TB", "--channels", "4x2Mbit/s", "--hours", "24", "--file-system", "0%")


def run(*arguments: str | Path) -> tuple[int, str]:
    app = typer.Typer()

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    days.register(app)
    result = CliRunner().invoke(app, ["days", *map(str, arguments)])
    if isinstance(result.exception, AsfoundError):
        raise result.exception
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.stdout


def test_days_and_what_keeps_the_promise() -> None:
    code, said = run(*ALL_DAY, "--promised", "30", "--lawful", "31")
    assert code == 1
    assert "days kept 11.6 (from 9.6 to 14.5)" in said
    assert "a computer shows 931 GiB" in said
    assert "for 30 days: a drive of 3.11 TB to be safe (2.59 TB on average)" in said
    assert "too-few-days: 10 to 14 days are kept, 30 were promised" in said
    assert run(*ALL_DAY, "--promised", "9")[0] == 0


def test_json() -> None:
    code, said = run(*ALL_DAY, "--reserve", "10%", "--lawful", "12", "--json")
    data = json.loads(said)
    assert code == 1 and data["format"] == "asfound-days/1"
    assert data["usable_bytes"] == pytest.approx(9e11)
    assert data["days"][1] == pytest.approx(11.574074 * 0.9)
    assert [one["kind"] for one in data["findings"]] == ["more-days-than-lawful"]


def test_sound_and_several_groups_of_channels_add_up() -> None:
    more = ("--channels", "2x512kbit/s", "--audio", "64kbit/s", "--spread", "0%", "--json")
    data = json.loads(run(*ALL_DAY, *more)[1])
    # (4 * 2,064,000 + 2 * 576,000) bit/s * 86,400 s / 8
    assert data["bytes_a_day"] == [pytest.approx(9_408_000 * 10_800)] * 3


def test_measured_rates(tmp_path: Path) -> None:
    proof = tmp_path / "proof.json"
    recording = {"channel": 1, "duration_s": 60.0, "bitrate_bps": 4e6}
    broken = [{"channel": None}, {"channel": 2, "duration_s": 0, "bitrate_bps": 1}, 7]
    data = {"format": "asfound-proof/1", "recordings": [recording, *broken]}
    proof.write_text(json.dumps(data), "utf-8")
    drive = ("--drive", "1TB", "--hours", "12", "--file-system", "0%", "--json")
    result = json.loads(run("--proof", proof, *drive)[1])
    assert result["bytes_a_day"][1] == pytest.approx(4e6 * 12 * 3600 / 8)
    assert result["days"][0] < result["days"][1] < result["days"][2], "one recording is no spread"
    data["recordings"] = broken
    proof.write_text(json.dumps(data), "utf-8")
    with pytest.raises(InputError, match="no recording in it has"):
        run("--proof", proof, *drive)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--drive", "1XB", "--channels", "4x2Mbit/s", "--hours", "9"), "'1XB' is no figure"),
        (("--drive", "1TB", "--channels", "4x2Mbps", "--hours", "9"), "Mbit/s"),
        (("--drive", "1TB", "--channels", "2Mbit/s", "--hours", "9"), "a number and a rate"),
        (("--drive", "1TB", "--channels", "0x2Mbit/s", "--hours", "9"), "a number and a rate"),
        (("--drive", "1TB", "--channels", "4x2Mbit/s", "--hours", "25"), "0 to 24 is taken"),
        (("--drive", "1TB", "--channels", "4x0Mbit/s", "--hours", "9"), "more than 0"),
        ((*ALL_DAY, "--reserve", "100%"), "no share below 100%"),
        ((*ALL_DAY, "--promised", "0"), "no number of days"),
        (("--drive", "1TB", "--hours", "9"), "--proof FILE"),
    ],
)
def test_what_cannot_be(arguments: tuple[str, ...], said: str) -> None:
    with pytest.raises(UsageError, match=said.replace("(", r"\(")):
        run(*arguments)


def test_what_is_no_proof(tmp_path: Path) -> None:
    drive = ("--drive", "1TB", "--hours", "12")
    with pytest.raises(NotFound):
        run("--proof", tmp_path / "none.json", *drive)
    for text in ("no json", "[1]", '{"format": "asfound-reading/1"}'):
        (tmp_path / "other.json").write_text(text, "utf-8")
        with pytest.raises(InputError, match="--json"):
            run("--proof", tmp_path / "other.json", *drive)
