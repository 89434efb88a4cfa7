"""The console script: what it hands on, and what Ctrl-C does before, during and after."""

from __future__ import annotations

import os
import runpy
import signal
from collections.abc import Callable, Iterator
from types import SimpleNamespace

import pytest

from asfound.cli import entry
from asfound.errors import ExitCode

Load = Callable[[Callable[[list[str]], int]], None]


@pytest.fixture(autouse=True)
def handler() -> Iterator[None]:
    before = signal.getsignal(signal.SIGINT)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.fixture
def load(monkeypatch: pytest.MonkeyPatch) -> Load:
    def put(call: Callable[[list[str]], int]) -> None:
        monkeypatch.setattr(
            entry, "import_module", lambda name: SimpleNamespace(call=call, load=list)
        )
        monkeypatch.setattr("sys.argv", ["asfound", "map", "list"])

    return put


def ended() -> int | str | None:
    with pytest.raises(SystemExit) as caught:
        entry.run()
    return caught.value.code


def test_the_arguments_go_in_and_the_code_comes_out(load: Load) -> None:
    seen: list[list[str]] = []

    def call(arguments: list[str]) -> int:
        seen.append(arguments)
        assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
        return 7

    signal.signal(signal.SIGINT, signal.default_int_handler)
    load(call)
    assert ended() == 7 and seen == [["map", "list"]]
    assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN


def test_ctrl_c_that_nobody_caught_is_the_one_line(
    load: Load, capsys: pytest.CaptureFixture[str]
) -> None:
    def call(arguments: list[str]) -> int:
        raise KeyboardInterrupt

    load(call)
    assert ended() == ExitCode.INTERRUPTED
    assert capsys.readouterr().err == f"{entry.STOPPED}\n"


def test_while_loading_the_process_ends_at_once(
    load: Load, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    codes: list[int] = []
    monkeypatch.setattr(os, "_exit", codes.append)
    load(lambda arguments: 0)

    def interrupted(name: str) -> SimpleNamespace:
        signal.raise_signal(signal.SIGINT)
        return SimpleNamespace(call=len, load=list)

    monkeypatch.setattr(entry, "import_module", interrupted)
    signal.signal(signal.SIGINT, signal.default_int_handler)
    ended()
    assert codes == [ExitCode.INTERRUPTED]
    assert capfd.readouterr().err == f"{entry.STOPPED}\n"


def test_a_signal_that_is_ignored_stays_ignored(load: Load) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    load(lambda arguments: int(signal.getsignal(signal.SIGINT) is signal.SIG_IGN))
    assert ended() == 1


def test_the_package_runs_as_a_module(load: Load) -> None:
    load(lambda arguments: 5)
    with pytest.raises(SystemExit) as caught:
        runpy.run_module("asfound", run_name="__main__")
    assert caught.value.code == 5
