"""Which vehicle is in which wave, and who is out of step."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from tests.jobs.test_rollout_status import ROLLOUT, status
from tests.visit_kit import MAP, T0, desk

from asfound.jobs.rollout_status import Standing
from asfound.jobs.rollout_waves import out_of_step, waves_of
from asfound.jobs.visit_journal import Desk


@pytest.fixture(scope="module")
def at(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    path: Path = tmp_path_factory.mktemp("home")
    return desk(path)


def of_wave(standing: Standing, wave: int) -> list[str]:
    return sorted(name for name, at in waves_of(ROLLOUT, standing).items() if at == wave)


def test_every_vehicle_has_its_wave_before_anything_is_done(at: Desk) -> None:
    standing = status(at, {})
    # A pilot of two, then three at a time of nine.
    assert [len(of_wave(standing, wave)) for wave in range(5)] == [2, 3, 3, 1, 0]
    assert of_wave(standing, 0) == sorted(one.number for one in standing.next)


def test_what_is_next_is_the_wave_that_the_status_names(at: Desk) -> None:
    pilot = [one.number for one in status(at, {}).next]
    standing = status(at, dict.fromkeys(pilot, "passed"))
    if standing.next:
        assert of_wave(standing, standing.wave) == sorted(one.number for one in standing.next)
    planned = waves_of(ROLLOUT, status(at, {}))
    assert waves_of(ROLLOUT, standing) == planned, "nobody changes wave by going on"


def test_who_is_out_of_step(at: Desk) -> None:
    standing = status(at, {})
    pilot = of_wave(standing, 0)
    early = next(one.vehicle.number for one in standing.vehicles[2:])
    jumped = status(at, {early: "passed"})
    assert {one.vehicle.number: one.why for one in out_of_step(ROLLOUT, jumped, MAP)} == {
        early: "got the version before the pilot was done"
    }
    done = status(at, dict.fromkeys(pilot, "passed"))
    assert {one.why for one in out_of_step(ROLLOUT, done, MAP)} == {"the fleet file still says 1.0"}
    first = next(one for one in done.vehicles if one.vehicle.number == pilot[0])
    for odd, why in (
        (replace(first, firmware="9.9"), "the menu map does not know its version 9.9"),
        (replace(first, firmware="1.0", since=T0), "version 1.0 was put back"),
    ):
        (one,) = out_of_step(ROLLOUT, replace(done, vehicles=(odd,)), MAP)
        assert one.why == why
