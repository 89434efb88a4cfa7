"""`asfound request`, called as a user calls it."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.worked_visit import fleet_home, up_to_keys

from asfound.cli.home import Home
from asfound.cli.main import call
from asfound.cli.request_show import chance
from asfound.errors import ExitCode

NOW = datetime.now(UTC)


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return fleet_home(tmp_path)


def run(capsys: pytest.CaptureFixture[str], home: Home, *words: str) -> tuple[int, str, str]:
    code = call(["request", *words, "--home", str(home.path)])
    told = capsys.readouterr()
    return code, told.out, told.err


def at(days: float) -> str:
    return (NOW - timedelta(days=days)).isoformat(timespec="seconds")


def add(
    capsys: pytest.CaptureFixture[str], home: Home, days: float, *more: str
) -> tuple[int, str, str]:
    return run(
        capsys, home, "add", "--vehicle", "217", "--from", at(days), "--until", at(days - 0.05),
        "--why", "claim", "--authority", "insurer", "--by", "Ines", *more,
    )  # fmt: skip


def test_from_asking_to_closing(capsys: pytest.CaptureFixture[str], home: Home) -> None:
    up_to_keys(home)
    code, out, _ = add(capsys, home, 0.5, "--channels", "1,2", "--hold", "--clock-ahead", "90")
    assert code == ExitCode.OK, out
    assert "ask-217-1" in out and "TL-88301-C" in out and "still there: yes" in out
    assert "held by hold-217-1" in out and "90 s ahead" in out
    assert add(capsys, home, 60)[0] == ExitCode.FINDINGS
    code, out, _ = run(capsys, home, "list", "--json")
    data = json.loads(out)
    assert code == ExitCode.FINDINGS and data["format"] == "asfound-requests/1"
    first, second = data["requests"]
    assert (first["id"], second["id"]) == ("ask-217-1", "ask-217-2")
    assert (first["likely_there"], second["likely_there"]) == (1.0, 0.0)
    assert first["channels"] == [1, 2] and first["hold"] == "hold-217-1"
    assert first["overwritten_from"] == sorted(first["overwritten_from"])
    assert any("sums of its settings" in line for line in first["notes"])
    code, out, _ = run(capsys, home, "list")
    assert code == ExitCode.FINDINGS and out.index("ask-217-1") < out.index("ask-217-2")
    code, out, _ = run(
        capsys, home, "answer", "ask-217-1", "--by", "Ines", "--reason", "copied",
        "--copy", "front.mkv",
    )  # fmt: skip
    assert code == ExitCode.OK and "answered by Ines: copied" in out and "hold release" in out
    code, out, _ = run(
        capsys, home, "close", "ask-217-2", "--by", "Ines", "--reason", "gone", "--json"
    )
    assert code == ExitCode.OK and json.loads(out)["requests"][0]["state"] == "closed"
    assert run(capsys, home, "list")[0] == ExitCode.OK
    code, out, _ = run(capsys, home, "list", "--all")
    assert "ask-217-2" in out
    code, out, _ = run(capsys, home, "show", "ask-217-1")
    assert code == ExitCode.OK and "answered by Ines" in out and "recorder's clock from" in out


def test_without_a_visit_it_cannot_be_told(
    capsys: pytest.CaptureFixture[str], home: Home, tmp_path: Path
) -> None:
    code, out, _ = add(capsys, home, 3)
    assert code == ExitCode.FINDINGS and "cannot be told" in out and "prove or read it" in out
    log = tmp_path / "log.csv"
    log.write_text("on,off\n2026-01-01T08:00:00Z,2026-01-01T09:00:00Z\n", encoding="utf-8")
    assert run(capsys, home, "show", "ask-217-1", "--ignition", str(log))[0] == ExitCode.FINDINGS


def test_a_log_goes_with_one_vehicle(
    capsys: pytest.CaptureFixture[str], home: Home, tmp_path: Path
) -> None:
    up_to_keys(home)
    add(capsys, home, 3)
    add(capsys, home, 3, "--vehicle", "305")
    log = tmp_path / "log.csv"
    rows = [f"{at(n)},{at(n - 0.3)}" for n in range(40, 0, -1)]
    log.write_text("on,off\n" + "\n".join(rows) + "\n", encoding="utf-8")
    code, _, err = run(capsys, home, "list", "--ignition", str(log))
    assert code == ExitCode.USAGE and err.count("\n") == 1 and "--vehicle" in err
    _, out, _ = run(capsys, home, "list", "--vehicle", "217", "--json")
    even = json.loads(out)["requests"][0]["overwritten_from"]
    code, out, err = run(capsys, home, "show", "ask-217-1", "--ignition", str(log), "--json")
    known = json.loads(out)["requests"][0]["overwritten_from"]
    assert err == "" and known != even and known == sorted(known)


def test_a_clock_set_back_is_told_and_changes_nothing(
    capsys: pytest.CaptureFixture[str], home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    up_to_keys(home)
    add(capsys, home, 60)
    monkeypatch.setattr("asfound.cli.request.SystemClock.now", lambda _: NOW - timedelta(days=59.5))
    code, out, err = run(capsys, home, "show", "ask-217-1", "--json")
    assert code == ExitCode.FINDINGS and "look at the clock" in err
    assert json.loads(out)["requests"][0]["likely_there"] == 0.0


def test_deletions(capsys: pytest.CaptureFixture[str], home: Home) -> None:
    add(capsys, home, 40)
    run(capsys, home, "answer", "ask-217-1", "--by", "I", "--reason", "x", "--copy", "a.mkv")
    code, out, _ = run(capsys, home, "deletions")
    assert code == ExitCode.FINDINGS and "ask-217-1/copy-1" in out and "events-305" in out
    for item in ("ask-217-1/copy-1", "events-217", "events-305", "events-41"):
        code, out, err = run(capsys, home, "deleted", item, "--by", "I", "--note", "wiped")
        assert code == ExitCode.OK, err
    code, out, _ = run(capsys, home, "deletions", "--json")
    data = json.loads(out)
    assert data["format"] == "asfound-deletions/1" and len(data["done"]) == 4
    assert code == (ExitCode.FINDINGS if any(one["overdue"] for one in data["due"]) else 0)
    code, out, _ = run(capsys, home, "deletions")
    assert "deleted events-217" in out


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["show", "ask-9-9"], ExitCode.NOT_FOUND, "request list"),
        (["show", "deletions"], ExitCode.NOT_FOUND, "request list"),
        (["answer", "ask-9-9", "--by", "I", "--reason", "x"], ExitCode.NOT_FOUND, "ask-9-9"),
        (["list", "--vehicle", "9999"], ExitCode.NOT_FOUND, "9999"),
        (["deleted", "x\ny", "--by", "I", "--note", "x"], ExitCode.USAGE, "deletions"),
        (["list", "--week", "9"], ExitCode.USAGE, "--week"),
        (["show", "a", "--ignition", "no.csv"], ExitCode.NOT_FOUND, "'a'"),
    ],
)
def test_wrong_calls_are_one_line(
    capsys: pytest.CaptureFixture[str], home: Home, words: list[str], code: ExitCode, says: str
) -> None:
    got, _, err = run(capsys, home, *words)
    assert (got, err.count("\n")) == (code, 1) and says in err and "Traceback" not in err


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (["--channels", "1,x"], "--channels"), (["--channels", "9"], "no channel 9"),
        (["--channels", "0"], "--channels"), (["--clock-ahead", "inf"], "--clock-ahead"),
        (["--why", ""], "--why"), (["--authority", " "], "--authority"),
        (["--from", "yesterday"], "not a time"), (["--until", "2001-01-01"], "ends before"),
    ],
)  # fmt: skip
def test_hostile_requests_are_one_line(
    capsys: pytest.CaptureFixture[str], home: Home, more: list[str], says: str
) -> None:
    code, _, err = add(capsys, home, 3, *more)
    assert code == ExitCode.USAGE and err.count("\n") == 1 and says in err
    assert run(capsys, home, "list")[1].strip() == "no requests"


@given(st.floats(0, 1))
def test_words_for_a_likelihood_are_never_better_than_it_is(share: float) -> None:
    said = chance(share)
    assert (said == "yes") == (share == 1) and (said == "no") == (share == 0)
    if said.endswith("%") and share >= 0.01:
        assert int(said[:-2]) / 100 <= share + 1e-12


def test_hours_that_come_twice_or_never(capsys: pytest.CaptureFixture[str], home: Home) -> None:
    """29 March 2026 and 26 October 2025 (tests/calc/test_wall_time.py names the source)."""
    said = ("add", "--vehicle", "217", "--why", "claim", "--authority", "insurer", "--by", "Ines")
    code, _, err = run(
        capsys, home, *said, "--from", "2026-03-29T01:30", "--until", "2026-03-29T02:30"
    )
    assert code == ExitCode.USAGE and "clocks were put forward" in err
    # Of both hours that the clocks showed, the wider span; and the offset says so.
    code, out, _ = run(
        capsys, home, *said, "--from", "2025-10-26T01:50", "--until", "2025-10-26T01:10"
    )
    assert "from 2025-10-26 01:50 +0100 until 2025-10-26 01:10 +0000" in out
    (one,) = json.loads(run(capsys, home, "list", "--json")[1])["requests"]
    assert (one["from"][:16], one["until"][:16]) == ("2025-10-26T00:50", "2025-10-26T01:10")
