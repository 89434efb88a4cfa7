"""Units, gravity and axes of a log: found where they are clear, asked for where not."""

from __future__ import annotations

import numpy as np
import pytest

from asfound.calc.log_survey import Survey, Surveyor
from asfound.calc.mounting import GRAVITY_MS2, Floats
from asfound.demo.drives import VAN, Drive, drive
from asfound.errors import UsageError
from asfound.jobs.mount_log import ALL, Said, axis_of, mount_log, scale_of
from asfound.model.drive_log import Track
from asfound.model.trigger import Direction

SEED = 62000


@pytest.fixture(scope="module")
def made() -> Drive:
    return drive(SEED, 12, VAN)


def survey_of(drive: Drive, factor: float = 1.0, less: Floats | None = None) -> Survey:
    one = Surveyor()
    xyz = drive.acceleration.xyz_ms2 - (np.zeros(3) if less is None else less)
    one.feed(drive.acceleration.times_s, xyz * factor)
    found = one.made()
    assert found is not None
    return found


def off_deg(one: Floats, other: Floats) -> float:
    return float(np.degrees(np.arccos(np.clip(one @ other, -1, 1))))


@pytest.mark.parametrize(
    ("unit", "factor"), [("m/s2", 1.0), ("g", 1 / GRAVITY_MS2), ("mg", 1000 / GRAVITY_MS2)]
)
def test_units_that_gravity_tells(made: Drive, unit: str, factor: float) -> None:
    for said in ("", unit):
        mounted = mount_log("x", survey_of(made, factor), said, Said(), made.track)
        assert mounted.scale * factor == pytest.approx(1.0) and mounted.gravity
        assert mounted.directions == ALL and mounted.notes == ()
        assert off_deg(mounted.axes()[0], made.axes[0]) < 6
        assert off_deg(mounted.axes()[2], made.axes[2]) < 3


def test_what_has_to_be_said(made: Drive) -> None:
    counts = survey_of(made, 16384 / GRAVITY_MS2)
    with pytest.raises(UsageError, match="leaves the unit open"):
        mount_log("x", counts, "", Said(), made.track)
    assert mount_log("x", counts, "16384/g", Said(), None).gravity
    with pytest.raises(UsageError, match="g, mg, m/s2, or counts"):
        mount_log("x", counts, "furlongs", Said(), None)
    removed = survey_of(made, less=made.axes[2] * GRAVITY_MS2)
    with pytest.raises(UsageError, match="leaves the unit open"):
        mount_log("x", removed, "", Said(), None)
    with pytest.raises(UsageError, match="which is not gravity"):
        mount_log("x", removed, "m/s2", Said(gravity="included"), None)


def test_without_gravity_up_is_for_a_person_to_say(made: Drive) -> None:
    upright = drive(SEED, 12, VAN)
    removed = survey_of(upright, less=made.axes[2] * GRAVITY_MS2)
    mounted = mount_log("x", removed, "m/s2", Said(), upright.track)
    assert mounted.directions == (Direction.TOTAL,) and "say up z" in mounted.notes[0]
    said = mount_log("x", removed, "m/s2", Said(up="z", gravity="removed"), None)
    assert said.directions == (Direction.LEVEL, Direction.UPRIGHT)
    assert np.linalg.norm(said.rest_ms2) < 1


def test_forward(made: Drive) -> None:
    survey = survey_of(made)
    without = mount_log("x", survey, "", Said(), None)
    assert without.directions == (Direction.LEVEL, Direction.UPRIGHT)
    assert "without a track" in without.notes[0]
    late = made.track
    later = Track(late.times_s + 1e7, late.lat_deg, late.lon_deg, late.speed_ms, late.course_deg)
    strange = mount_log("x", survey, "", Said(), later)
    assert strange.forward is None and "could not tell" in strange.notes[0]
    for name in "xyz":
        level = abs(made.axes[2] @ np.eye(3)["xyz".index(name)]) < 0.9
        if level:
            mounted = mount_log("x", survey, "", Said(forward=f"-{name}"), None)
            assert mounted.directions == ALL
            assert mounted.axes()[0] @ np.eye(3)["xyz".index(name)] < 0


def test_forward_that_points_up() -> None:
    from_above = Surveyor()
    times = np.arange(2000) / 25
    from_above.feed(times, np.tile([0.0, 0, 9.8], (2000, 1)))
    survey = from_above.made()
    assert survey is not None
    with pytest.raises(UsageError, match="points up or down"):
        mount_log("x", survey, "", Said(forward="z"), None)
    with pytest.raises(UsageError, match="x, y or z"):
        mount_log("x", survey, "", Said(forward="north"), None)
    turned = mount_log("x", survey, "", Said(up="x"), None)
    assert "gravity it is" in turned.notes[0]


def test_names() -> None:
    assert scale_of("g") == GRAVITY_MS2 and scale_of("0/g") is None and scale_of("km") is None
    assert scale_of("256/g") == pytest.approx(GRAVITY_MS2 / 256)
    found = axis_of("-Y")
    assert found is not None and found.tolist() == [0, -1, 0]
    assert axis_of("xy") is None and axis_of("w") is None
