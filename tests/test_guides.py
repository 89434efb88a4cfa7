"""The examples in the guides are true: they load, and the menu maps know what they name."""

from __future__ import annotations

import re
from pathlib import Path

from asfound.calc.fleet_faults import fleet_faults
from asfound.jobs.visit_fold import ENTRY_KINDS
from asfound.model.procedure import REQUIRED_GATES
from asfound.ports.backends.cautions_toml import load_cautions
from asfound.ports.backends.faults_toml import load_faults
from asfound.ports.backends.fleet_toml import load_fleet
from asfound.ports.backends.map_toml import load_map, shipped_map_paths
from asfound.ports.backends.procedure_toml import load_procedure

DOCS = Path(__file__).parents[1] / "docs"


def example(guide: str) -> str:
    """The first TOML example of a guide."""
    found = re.search(r"```toml\n(.*?)```", (DOCS / guide).read_text(encoding="utf-8"), re.S)
    assert found is not None
    return found[1]


def test_the_fleet_of_the_guide_is_a_sound_fleet(tmp_path: Path) -> None:
    path = tmp_path / "fleet.toml"
    path.write_text(example("fleet.md"), encoding="utf-8")
    fleet = load_fleet(path)
    maps = {name: load_map(place) for name, place in shipped_map_paths().items()}
    assert fleet_faults(fleet, maps) == ()
    assert fleet.vehicles[0].overrides and fleet.standards[0].classes


def test_the_procedure_of_the_guide_is_a_sound_procedure(tmp_path: Path) -> None:
    path = tmp_path / "camera-change.toml"
    path.write_text(example("procedures.md"), encoding="utf-8")
    made = load_procedure(path, load_cautions())
    assert made.id == path.stem and made.of_kind("close") is not None


def test_the_fault_guide_of_the_guide_is_sound(tmp_path: Path) -> None:
    path = tmp_path / "faults.toml"
    path.write_text(example("faults.md"), encoding="utf-8")
    made = load_faults(path, load_cautions())
    assert made.id == "north-depot" and made.question("supply-at-plug").tools == ("meter",)


def test_the_guide_names_every_caution_and_every_gate_that_must_be() -> None:
    guide = (DOCS / "procedures.md").read_text(encoding="utf-8")
    for name in load_cautions():
        assert f"`{name}`" in guide
    for kind, gates in REQUIRED_GATES.items():
        row = next(line for line in guide.splitlines() if line.startswith(f"| `{kind}` |"))
        assert all(f"`{gate}`" in row.split("|")[-2] for gate in gates)


def test_the_guide_names_every_kind_of_entry_and_no_other() -> None:
    guide = (DOCS / "journal.md").read_text(encoding="utf-8")
    table = guide.split("| kind | data | effect on the visit |")[1].split("\n\n")[0]
    assert re.findall(r"^\| `([a-z-]+)` \|", table, re.M) == list(ENTRY_KINDS)
