"""Packing a bundle, killed at each single change of a file."""

from __future__ import annotations

from pathlib import Path

from tests.bundle_kit import Laptop, dump
from tests.fault_layer import all_killed, quick_folder
from tests.journeys.test_bundle_crash import at_home, faults, packed

OPEN: dict[Path, Laptop] = {}
"""Homes that are open: a file database is opened anew for each call, so forks may share one."""


def with_open(place: Path) -> None:
    """Before the first is killed: the home is opened, and packs once."""
    home = place.parent / "here"
    if home not in OPEN:
        OPEN[home] = at_home(home)
        OPEN[home].export(place.parent / "warm", *OPEN[home].store.visits())


def act(place: Path) -> None:
    """Pack the visit of the home beside ``place`` into it."""
    home = place.parent / "here"
    here = OPEN.get(home) or at_home(home)
    here.export(place / "bag", *here.store.visits())


def test_killed_at_every_change_no_bag_is_half_believed() -> None:
    with quick_folder() as quick:
        here = packed(quick)
        before = dump(here.store)
        places = all_killed("tests.journeys.test_bundle_crash_export", quick, "with_open")
        assert len(places) > 40
        for place in places:
            if (place / "bag").exists():
                # Killed after the name was given: an empty folder beside it may be left.
                assert not faults(place / "bag"), place
        for place in [one for one in places if not (one / "bag").exists()][::4]:
            act(place)
            assert [one.name for one in place.iterdir()] == ["bag"] and not faults(place / "bag")
        assert dump(here.store) == before
        here.store.close()
