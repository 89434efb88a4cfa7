"""What the bench knows of a vehicle: its newest agreed settings, and rates that were measured."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.worked_visit import fleet_home, up_to_keys

from asfound.cli.serve_parts import services
from asfound.errors import NotFound
from asfound.jobs.visit_journal import load_visit
from asfound.web.vehicle_known import known_rates, known_settings


def test_without_a_visit_what_the_fleet_agreed(tmp_path: Path) -> None:
    made = services(fleet_home(tmp_path))
    known = known_settings("217", made)
    standard = known.fleet.standard(known.menu_map.id)
    assert (known.visit, known.agreed) == ("", True)
    assert set(known.vehicle.overrides) <= set(known.values)
    assert known.values["channel-1.data-rate"] == standard.baseline["channel-1.data-rate"]
    assert known_rates("217", made)[1:] == ("", ())
    with pytest.raises(NotFound):
        known_settings("nobody", made)


def test_the_target_of_the_newest_visit_speaks_first(tmp_path: Path) -> None:
    home = fleet_home(tmp_path)
    visit = up_to_keys(home)
    made = services(home)
    state = load_visit(visit, store=made.desk.store, blobs=made.desk.blobs)
    known = known_settings("217", made)
    assert known.visit == visit and known.firmware == state.firmware_left
    expected = state.target.as_dict() if state.target else state.as_found_values()
    assert known.values == expected and known.agreed == (state.target is not None)
