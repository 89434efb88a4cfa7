"""`asfound serve`: clear lines when it cannot start, a clean end, and the code in the terminal."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
import urllib.request
from pathlib import Path
from socket import socket

import pytest

from asfound.cli import serve
from asfound.cli.home import Home
from asfound.cli.main import call
from asfound.cli.serve_parts import HomeShelf, services
from asfound.demo.scenario import FLEET_FILE
from asfound.errors import ExitCode, UsageError

READY_S = 60.0
END_S = 20.0


@pytest.fixture
def home(tmp_path: Path) -> Path:
    (tmp_path / "fleet.toml").write_bytes(FLEET_FILE.read_bytes())
    return tmp_path


def test_a_taken_port_is_told(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = str(other.getsockname()[1])
        code = call(["serve", "--home", str(home), "--port", port, "--no-browser"])
    assert code == ExitCode.USAGE
    assert f"port {port} is taken" in capsys.readouterr().err


def test_a_home_without_a_fleet_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = call(["serve", "--home", str(tmp_path), "--no-browser"])
    assert code == ExitCode.NOT_FOUND
    assert "there is no fleet file" in capsys.readouterr().err


def test_a_machine_on_no_network_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    # RFC 1122, 3.2.1.3: 127.0.0.0/8 is this machine, whatever network it is on.
    monkeypatch.setattr(serve, "NOWHERE", ("127.0.0.1", 9))
    with pytest.raises(UsageError, match="on no network"):
        serve.lan_address()


def test_ctrl_c_ends_it_at_once_with_a_stream_open(home: Path) -> None:
    with socket() as asking:
        asking.bind(("127.0.0.1", 0))
        port = asking.getsockname()[1]
    shelf = services(Home(home))
    opened = call(
        ["visit", "open", "41", "--procedure", "inspection", "--by", "ada", "--home", str(home)]
    )
    assert opened == ExitCode.OK
    (line,) = shelf.desk.store.lines()
    program = [sys.executable, "-c", "from asfound.cli.entry import run; run()", "serve"]
    options = ["--no-browser", "--port", str(port), "--home", str(home)]
    process = subprocess.Popen(
        [*program, *options], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    address = f"http://localhost:{port}"
    end = time.monotonic() + READY_S
    while True:
        try:
            urllib.request.urlopen(f"{address}/settings", timeout=5).close()
            break
        except OSError:
            assert time.monotonic() < end and process.poll() is None, process.communicate()
            time.sleep(0.1)
    with urllib.request.urlopen(f"{address}/api/v1/visits/{line.id}/events", timeout=10) as stream:
        assert stream.readline()
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=END_S)
    assert process.returncode == ExitCode.OK
    assert address in out and "the pages are closed" in out
    assert err == ""


def test_the_fleet_file_is_read_again_when_it_changed(home: Path) -> None:
    shelf = HomeShelf(Home(home))
    first = shelf.fleet()
    assert shelf.fleet() is first
    path = home / "fleet.toml"
    path.write_text(path.read_text().replace('number = "305"', 'number = "3055"'))
    assert shelf.fleet().vehicle("3055").plate == "QB11 RTF"


def test_menu_maps_and_procedures_are_kept_while_their_files_stay(home: Path) -> None:
    shelf = HomeShelf(Home(home))
    assert shelf.menu_map("marrowby-four") is shelf.menu_map("marrowby-four")
    assert shelf.procedure("inspection") is shelf.procedure("inspection")
    assert "inspection" in shelf.procedure_ids()


def test_folders_of_recordings_get_names(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drive, odd = tmp_path / "drive", tmp_path / "a=b"
    drive.mkdir()
    odd.mkdir()
    made = serve.named_folders(
        [str(drive), f"{drive}=Bus  drive", str(odd), str(tmp_path / "away")]
    )
    assert made == {"drive": drive, "Bus drive": drive, "a=b": odd, "away": tmp_path / "away"}
    assert "away is not there now" in capsys.readouterr().err
    (tmp_path / "clip.mp4").write_bytes(b"")
    for wrong in ([str(drive), f"{odd}=drive"], [str(tmp_path / "clip.mp4")]):
        with pytest.raises(UsageError):
            serve.named_folders(wrong)
