"""Each import contract fires: a planted violation makes the checker fail and name it."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

PLANTED = [
    ("model/planted.py", "import asfound.jobs", "Five floors"),
    ("jobs/planted.py", "import asfound.ports.backends.blobs_files", "concrete back-end"),
    ("ports/store.py", "import asfound.ports.backends.store_sql", "Protocols know no back-end"),
    ("calc/planted.py", "import av", "Only back-ends touch"),
    ("jobs/planted.py", "import asfound.demo.screen", "Only the demo command"),
    ("web/planted.py", "import asfound.ports.backends.blobs_files", "Pages are handed"),
    ("jobs/planted.py", "import starlette", "Jobs know no HTTP"),
    ("calc/planted.py", "import asfound", "package root"),
]


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    """Run the import checker on a copy of the package."""
    program = (
        "import sys; sys.path.insert(0, 'src');"
        "from importlinter.cli import lint_imports; sys.exit(lint_imports(no_cache=True))"
    )
    return subprocess.run(
        [sys.executable, "-c", program], cwd=folder, capture_output=True, text=True, check=False
    )


@pytest.mark.parametrize(("module", "line", "contract"), PLANTED)
def test_a_planted_violation_is_named(
    tmp_path: Path, module: str, line: str, contract: str
) -> None:
    shutil.copytree(ROOT / "src", tmp_path / "src", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    planted = tmp_path / "src" / "asfound" / module
    old = planted.read_text() if planted.exists() else ""
    planted.write_text(f"{old}\n{line}\n")
    result = lint(tmp_path)
    broken = [row for row in result.stdout.splitlines() if " BROKEN" in row]
    assert result.returncode != 0
    assert any(contract in row for row in broken), result.stdout
