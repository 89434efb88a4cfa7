"""The fleet file: what it becomes, and that every fault names file, line and field."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.errors import AsfoundError, InputError, NotFound
from asfound.model.fleet import Camera, Drive
from asfound.ports.backends.fleet_toml import load_fleet

GOOD = """\
format = "asfound-fleet/1"
name = "Brindlemere Haulage & Coaches"
time_zone = "Europe/London"
minimum_days = 14
maximum_days = 31
hours_a_day = 14

[[standard]]
map = "quillfen-octad"
baseline = { "clock.zone" = "UTC" }
[standard.classes.city]
"camera-1.size" = "HD 720"

[[vehicle]]
number = "217"
plate = "QB 04 XKM"
kind = "bus"
depot = "North"
class = "city"
cameras = [ { channel = 1, name = "Front" }, { channel = 2, name = "Door" } ]
drive = { serial = "D-1", capacity_bytes = 1000204886016 }
hours_a_day = 9.5
overrides = { "camera-2.size" = "CIF" }
[vehicle.recorder]
map = "quillfen-octad"
serial = "QO-1"
firmware = "3.4.1"
place = "behind the driver"
supply_volts = 24

[[vehicle]]
number = "31"
plate = "QB 11 ABC"
kind = "lorry"
depot = "South"
class = "tipper"
cameras = [ { channel = 1, name = "Front" } ]
recorder = { map = "m", serial = "s", firmware = "1", place = "p", supply_volts = 12 }
"""


AT = {"": "[vehicle.recorder]", 'klass = "city"': "[[vehicle]]"}
"""A key that is missing is told at the head of its table."""


def write(folder: Path, text: str) -> Path:
    path = folder / "fleet.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_fleet_file_becomes_a_fleet(tmp_path: Path) -> None:
    fleet = load_fleet(write(tmp_path, GOOD))
    first, second = fleet.vehicles
    assert (fleet.name, fleet.time_zone) == ("Brindlemere Haulage & Coaches", "Europe/London")
    assert (fleet.minimum_days, fleet.maximum_days, fleet.hours_a_day) == (14, 31, 14)
    assert (first.hours_a_day, second.hours_a_day) == (9.5, None)
    assert fleet.standard("quillfen-octad").classes == {"city": {"camera-1.size": "HD 720"}}
    assert first.cameras == (Camera(1, "Front"), Camera(2, "Door"))
    assert first.drive == Drive("D-1", 1000204886016, "ssd")
    assert first.overrides == {"camera-2.size": "CIF"}
    assert (first.recorder.firmware, first.recorder.supply_volts) == ("3.4.1", 24)
    assert second.drive is None and second.vehicle_class == "tipper"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"Europe/London"', '"Europe/Brindlemere"', "not a time zone"),
        ('"Europe/London"', '"Europe"', "not a time zone"),
        ('"Europe/London"', '"../etc/passwd"', "not a time zone"),
        ("minimum_days = 14", "minimum_days = 0", "minimum_days"),
        ("hours_a_day = 14", "hours_a_day = 25", "hours_a_day"),
        ('"31"', '"217"', "already names vehicle 1"),
        ('"QB 11 ABC"', '"qb04xkm"', "already names vehicle 1"),
        ('"bus"', '"tram"', "kind"),
        ('"North"', '"No\\u001b[31mrth"', "unseen character ⟨U+001B⟩"),
        ('"North"', '"North\\nWest"', "unseen character ⟨U+000A⟩"),
        ('"31"', '"  "', "is empty"),
        ("channel = 2", "channel = 1", "already has a camera"),
        ("channel = 2", "channel = 0", "channel"),
        ("supply_volts = 24", "supply_volts = 48", "supply_volts"),
        ("supply_volts = 24", 'supply_volts = "24"', "supply_volts"),
        ("capacity_bytes = 1000204886016", "capacity_bytes = -1", "capacity_bytes"),
        ('class = "city"', 'klass = "city"', "class"),
        ('place = "behind the driver"\n', "", "place"),
        ('{ "clock.zone" = "UTC" }', '{ "clock.zone" = 0 }', "must be text"),
        ("asfound-fleet/1", "asfound-fleet/9", "format"),
        ('name = "Brindlemere', 'name = Brindlemere', "not valid TOML"),
    ],
)  # fmt: skip
def test_a_fault_names_file_line_and_field(tmp_path: Path, old: str, new: str, says: str) -> None:
    line = GOOD[: GOOD.index(AT.get(new, old))].count("\n") + 1
    path = write(tmp_path, GOOD.replace(old, new, 1))
    with pytest.raises(InputError) as caught:
        load_fleet(path)
    assert f"{path}:{line}: " in str(caught.value)
    assert says in str(caught.value)


def test_two_standards_of_one_map_are_not_chosen_between(tmp_path: Path) -> None:
    path = write(tmp_path, GOOD + '[[standard]]\nmap = "quillfen-octad"\n')
    with pytest.raises(InputError, match="already has a standard"):
        load_fleet(path)


def test_a_missing_file_is_not_found(tmp_path: Path) -> None:
    with pytest.raises(NotFound):
        load_fleet(tmp_path / "none.toml")


@given(
    st.binary(max_size=60) | st.text(max_size=60).map(lambda text: text.encode("utf-8", "replace"))
)
@settings(max_examples=40, deadline=None)
def test_noise_is_one_of_our_errors(tmp_path_factory: pytest.TempPathFactory, noise: bytes) -> None:
    path = tmp_path_factory.mktemp("fleet") / "fleet.toml"
    path.write_bytes(noise)
    with pytest.raises(AsfoundError):
        load_fleet(path)
