"""The exit codes are documented, unique per class of error, and follow the convention."""

from __future__ import annotations

import re
from pathlib import Path

from asfound import errors
from asfound.errors import AsfoundError, ExitCode

ROOT = Path(__file__).parents[1]


def test_the_page_lists_every_code_with_its_name() -> None:
    page = (ROOT / "docs" / "exit-codes.md").read_text()
    rows = {name: int(code) for code, name in re.findall(r"^\| (\d+) \| ([A-Z_]+) \|", page, re.M)}
    assert rows == {code.name: code.value for code in ExitCode}


def test_each_class_carries_its_own_code_and_none_means_success() -> None:
    codes = [kind.exit_code for kind in AsfoundError.__subclasses__()]
    assert len(codes) == len(set(codes)) == len(ExitCode) - 2
    assert not {ExitCode.OK, ExitCode.FINDINGS} & set(codes)


def test_the_tree_at_the_top_of_the_module_is_complete() -> None:
    for kind in AsfoundError.__subclasses__():
        assert re.search(rf"── {kind.__name__} +{int(kind.exit_code)} ", str(errors.__doc__))


def test_interruption_follows_the_shell() -> None:
    # 128 + signal number 2 (SIGINT): POSIX shells report a killed command so;
    # POSIX.1-2017, Shell Command Language 2.8.2 asks for a value above 128.
    assert int(ExitCode.INTERRUPTED) == 128 + 2
