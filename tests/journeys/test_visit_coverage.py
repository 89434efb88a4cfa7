"""Hours on disk from the command line into the visit, its show, JSON, check and report."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pypdfium2
import pytest
from tests.cli.test_visit import FLEET, TINBROOK

from asfound.cli.main import call
from asfound.demo.footage import Camera, Drive, film
from asfound.errors import ExitCode

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
PATTERN = ("--pattern", "ch{channel}_{start:%Y%m%dT%H%M%SZ}")

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    (tmp_path / "maps").mkdir()
    (tmp_path / "maps" / "tinbrook-two.toml").write_text(TINBROOK, encoding="utf-8")
    (tmp_path / "fleet.toml").write_text(FLEET, encoding="utf-8")
    monkeypatch.setenv("ASFOUND_HOME", str(tmp_path))
    monkeypatch.delenv("ASFOUND_STORE", raising=False)
    monkeypatch.delenv("ASFOUND_BY", raising=False)

    def go(*arguments: str | Path) -> tuple[int, str, str]:
        code = call([*map(str, arguments)])
        said = capsys.readouterr()
        assert "Traceback" not in said.err
        return code, said.out, said.err

    return go


@pytest.fixture
def drive(tmp_path: Path) -> Path:
    """Two cameras over a minute; the second lacks the middle 20 seconds."""
    [clip] = film(Drive(5, START, 20, (Camera(1, "ROAD", "road", 160, 96, 4),)), tmp_path / "clip")
    made = tmp_path / "drive"
    made.mkdir()
    for channel, second in ((1, 0), (1, 20), (1, 40), (2, 0), (2, 40)):
        start = START + timedelta(seconds=second)
        shutil.copyfile(clip, made / f"ch{channel}_{start:%Y%m%dT%H%M%SZ}.mp4")
    return made


def a_log(path: Path, *rows: tuple[str, float, float]) -> Path:
    lines = [
        f"{name},{(START + timedelta(seconds=a)).isoformat()},"
        f"{(START + timedelta(seconds=b)).isoformat()}"
        for name, a, b in rows
    ]
    path.write_text("\n".join(["vehicle,on,off", *lines]), encoding="utf-8")
    return path


def text_of(path: Path) -> str:
    document = pypdfium2.PdfDocument(path)
    texts = []
    for page in document:
        text = page.get_textpage()
        texts.append(text.get_text_range())
        text.close()
        page.close()
    document.close()
    return " ".join(" ".join(texts).split()).replace("\u00a0", " ")


def test_hours_on_disk_from_drive_to_report(run: Run, drive: Path, tmp_path: Path) -> None:
    _, out, _ = run("visit", "open", "217", "--procedure", "inspection", "--by", "ada")
    visit = out.split()[1]
    # A log of the whole fleet: the visit knows its own vehicle, by number or plate.
    log = a_log(tmp_path / "log.csv", ("qb 04 xkm", 0, 60), ("300", 0, 90))
    code, out, _ = run(
        "visit", "coverage", visit, drive, "--ignition", log, *PATTERN, "--allow", "5"
    )
    assert code == ExitCode.FINDINGS
    assert "channel 2: missing 2026-03-01 08:00:20 +00:00" in out and "20 s" in out
    assert f"kept in visit {visit}" in out
    code, out, _ = run("visit", "show", visit)
    assert code == 0
    assert "hours on disk counted by ada" in out and "against the ignition log log.csv" in out
    assert "  channel 1: 100.0 %, 0.0 days kept\n" in out
    assert "  channel 2: 66.6 %, 0.0 days kept, 1 hole\n" in out
    _, out, _ = run("visit", "show", visit, "--json")
    [taken] = json.loads(out)["coverage"]
    assert taken["coverage"]["channels"][1]["share"] == pytest.approx(2 / 3)
    assert run("visit", "check", visit)[0] == 0
    report = tmp_path / "report.pdf"
    assert run("report", visit, "-o", report)[0] == 0
    told = text_of(report)
    for needle in ("Are the expected hours on disk?", "No: camera 2 has 66.6 %.", "Hours on disk",
                   "From 1 Mar 2026, 08:00 +00:00 to 1 Mar 2026, 08:01 +00:00"):  # fmt: skip
        assert needle in told, needle
    # Counted again over the part that both cameras hold: this count takes the other's place.
    code, out, _ = run(
        "visit", "coverage", visit, drive, "--ignition", log, *PATTERN, "--json",
        "--until", "2026-03-01T08:00:20Z", "--by", "bo",
    )  # fmt: skip
    assert code == 0 and json.loads(out)["format"] == "asfound-coverage/1"
    _, out, _ = run("visit", "show", visit)
    assert "counted by bo" in out and "counted by ada" not in out and "complete" in out


def test_promised_days_come_from_the_fleet_and_cameras_from_the_vehicle(
    run: Run, drive: Path, tmp_path: Path
) -> None:
    fleet = tmp_path / "fleet.toml"
    fleet.write_text(FLEET.replace("[[standard]]", "minimum_days = 1\n[[standard]]", 1))
    for path in drive.glob("ch2_*"):
        path.unlink()
    _, out, _ = run("visit", "open", "217", "--procedure", "inspection", "--by", "ada")
    visit = out.split()[1]
    log = a_log(tmp_path / "log.csv", ("217", -7200, -3600), ("217", 0, 60))
    code, out, _ = run("visit", "coverage", visit, drive, "--ignition", log, *PATTERN)
    assert code == ExitCode.FINDINGS
    assert "channel 1: keeps fewer than 1 days" in out
    _, out, _ = run("visit", "show", visit)
    assert "channel 1: 1.6 %, 0.0 days kept of 1 promised, 1 hole" in out
    assert "channel 2: nothing on disk" in out, "a fitted camera that no file is of"


def test_mistakes_are_one_line_and_leave_no_entry(run: Run, drive: Path, tmp_path: Path) -> None:
    _, out, _ = run("visit", "open", "217", "--procedure", "inspection", "--by", "ada")
    visit = out.split()[1]
    other = a_log(tmp_path / "other.csv", ("300", 0, 60))
    for arguments, code, words in (
        (("--ignition", other), ExitCode.NOT_FOUND, "vehicle 217 or QB 04 XKM does not stand"),
        ((), ExitCode.USAGE, "--ignition LOG.csv or --schedule"),
        (("--ignition", tmp_path / "none.csv"), ExitCode.NOT_FOUND, "none.csv"),
        (("--ignition", other, "--days", "0"), ExitCode.USAGE, "--days"),
    ):
        got, _, err = run("visit", "coverage", visit, drive, *PATTERN, *arguments)
        assert got == code and words in err and err.count("\n") == 1
    _, out, _ = run("visit", "show", visit, "--json")
    assert json.loads(out)["coverage"] == [] and json.loads(out)["entries"] == 1
