"""`asfound drive health`: words, JSON, several drives, what is no report.

The reports are of invented drives (tests/smart_reports.py); what makes one suspect comes from the
field study named there.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import typer
from tests.smart_reports import hdd, head, nvme, text
from typer.testing import CliRunner

from asfound.cli import drive
from asfound.errors import AsfoundError, InputError, NotFound


def run(*arguments: str | Path, stdin: bytes | None = None) -> tuple[int, str, str]:
    app = typer.Typer()

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    drive.register(app)
    result = CliRunner().invoke(app, ["drive", "health", *map(str, arguments)], input=stdin)
    if isinstance(result.exception, AsfoundError):
        raise result.exception
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.stdout, result.stderr


@pytest.fixture
def kept(tmp_path: Path) -> Any:
    def keep(name: str, report: dict[str, Any]) -> Path:
        path = tmp_path / name
        path.write_bytes(text(report))
        return path

    return keep


def test_a_good_drive_is_no_proof(kept: Any) -> None:
    code, said, _ = run(kept("good.json", hdd()))
    assert code == 0 and "good: nothing that speaks against it" in said
    assert "counters at zero are no proof of health" in said
    assert "TARN-4000V" in said and "8000 (0.9 years)" in said and "4 TB" in said


def test_a_suspect_drive_is_flagged_with_figure_limit_and_source(kept: Any) -> None:
    code, said, _ = run(kept("old.json", hdd({197: 8})))
    assert code == 1 and "suspect: do not fit it" in said
    assert "suspect: pending-sectors: sectors that wait to be read or replaced: 8" in said
    assert "(limit 0, Backblaze drive statistics" in said


def test_a_report_of_long_ago(kept: Any) -> None:
    old = hdd() | {"local_time": {"time_t": 1_400_000_000}}
    code, said, _ = run(kept("old.json", old))
    assert code == 1 and "good: nothing" in said and "old-report: the report is" in said
    assert "2014-05-13 16:53 UTC" in said


def test_json_of_several_drives(kept: Any) -> None:
    good, worn = kept("a.json", nvme()), kept("b.json", nvme({"percentage_used": 101}))
    hidden = kept("c.json", head("SCSI") | {"smart_status": None})
    code, said, _ = run(good, worn, hidden, "--json")
    data = json.loads(said)
    assert code == 1 and data["format"] == "asfound-drive-health/1"
    verdicts = [one["verdict"] for one in data["drives"]]
    assert verdicts == ["good", "suspect", "could-not-tell"]
    [finding] = data["drives"][1]["findings"]
    assert (finding["kind"], finding["measured"], finding["limit"]) == ("worn-out", 101, 100)
    assert data["drives"][0]["written_bytes"] == 1_024_000_000_000


def test_from_a_pipe() -> None:
    assert run("-", stdin=text(hdd()))[0] == 0
    with pytest.raises(InputError, match="-: not readable as JSON"):
        run("-", stdin=b"")


def test_one_file_that_is_no_report_does_not_hide_the_others(kept: Any, tmp_path: Path) -> None:
    other = tmp_path / "other.json"
    other.write_text('{"blockdevices": []}', "utf-8")
    good = kept("good.json", hdd())
    app = typer.Typer()
    drive.register(app)
    result = CliRunner().invoke(app, ["drive", "health", str(other), str(good), str(other)])
    assert isinstance(result.exception, InputError)
    assert "other.json: JSON, but not a drive's report" in str(result.exception)
    assert "good: nothing" in result.stdout and "not a drive's report" in result.stderr
    with pytest.raises(NotFound, match="no such file"):
        run(tmp_path / "none.json")
    with pytest.raises(NotFound):
        run(tmp_path)
