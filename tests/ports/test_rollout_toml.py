"""The rollout file: the guide's example loads, and each fault is one line with its place."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from asfound.errors import InputError
from asfound.ports.backends.rollout_toml import load_rollout

GUIDE = Path(__file__).parents[2] / "docs" / "rollout.md"
FOUND = re.search(r"```toml\n(.*?)```", GUIDE.read_text(encoding="utf-8"), re.S)
GOOD = FOUND[1] if FOUND else ""


def write(folder: Path, text: str) -> Path:
    path = folder / "rollout.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_the_guide_loads(tmp_path: Path) -> None:
    made = load_rollout(write(tmp_path, GOOD))
    assert (made.target, made.hardware, made.waves) == ("2.03", ("B", "C"), (5, 20, 50))
    assert made.pilot.count == 12 and made.limits.rule == "sequential"
    assert made.approved_by == "Ada Penrose"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("count = 12", 'vehicles = ["1"]\ncount = 1', "pilot: must have either vehicles or count"),
        ("count = 12", "", "must have either vehicles or count"),
        ("count = 12", 'vehicles = ["1", "2"]', "pilot.depots: goes with count"),
        ("count = 12", "count = 0", "pilot.count: "),
        ('["B", "C"]', '["B", "b"]', "'b' stands here twice"),
        ("acceptable = 0.02", "acceptable = 0.2", "limits.acceptable: must be below"),
        ("beta = 0.10", "beta = 0.96", "beta together must be below 1"),
        ("beta = 0.10", "beta = 1.0", "limits.beta: "),
        ('"sequential"', '"guess"', "limits.rule: "),
        ("2026-11-18", "2026-11-21", "approved_on: is after started_on"),
        ("2026-11-18", '"yesterday"', "approved_on: "),
        ("waves = [5, 20, 50]", "waves = []", "waves: "),
        ("hold_days = 7", "hold_days = -1", "hold_days: "),
        ("hold_days", "hold_day", "did you mean 'hold_days'"),
        ('"Ada Penrose"', '" "', "approved_by: is empty"),
        ('"Ada Penrose"', '"A\\u001bda"', "unseen character"),
    ],
)
def test_faults_are_told_by_line(tmp_path: Path, old: str, new: str, says: str) -> None:
    assert old in GOOD
    path = write(tmp_path, GOOD.replace(old, new, 1))
    with pytest.raises(InputError) as caught:
        load_rollout(path)
    lines = str(caught.value).splitlines()
    at = [line for line in lines if says in line]
    assert at and re.match(rf"{re.escape(str(path))}:\d+: ", at[0])
