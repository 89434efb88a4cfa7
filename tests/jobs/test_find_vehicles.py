"""Vehicles are found by number, plate or serial number, blanks and case aside."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.visit_kit import VEHICLE

from asfound.jobs.find_vehicles import FindVehicles, find_vehicles, index_vehicles
from asfound.model.fleet import Fleet

NUMBERS = ("217", "41", "1217", "B12", "a7")
FLEET = Fleet(
    "F",
    "UTC",
    tuple(
        replace(
            VEHICLE,
            number=number,
            plate=f"QB {place:02d} XKM",
            depot="North" if place % 2 else "South",
            recorder=replace(VEHICLE.recorder, serial=f"TT-{place}"),
        )
        for place, number in enumerate(NUMBERS)
    ),
    (),
)
INDEX = index_vehicles(FLEET)


def found(**wanted: object) -> list[str]:
    request = replace(FindVehicles(), **wanted)  # type: ignore[arg-type] # the table names only its fields
    return [item.number for item in find_vehicles(request, INDEX)]


def test_numbers_stand_in_the_order_people_count_in() -> None:
    assert found() == ["41", "217", "1217", "a7", "B12"]


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("217", ["217", "1217"]),
        ("b 12", ["B12"]),
        ("qb01xkm", ["41"]),
        ("tt-4", ["a7"]),
        ("zz", []),
    ],
)
def test_text_is_looked_for_in_all_names(text: str, numbers: list[str]) -> None:
    assert found(text=text) == numbers


def test_filters_add_up() -> None:
    assert found(depot="North") == ["41", "B12"]
    assert found(depot="North", only={"41", "217"}) == ["41"]
    assert found(vehicle_class="none") == []
    assert found(only=()) == []
    assert (INDEX.depots, INDEX.classes) == (("North", "South"), ("city",))


def test_the_exact_number_comes_first() -> None:
    index = index_vehicles(replace(FLEET, vehicles=FLEET.vehicles[::-1]))
    numbers = [item.number for item in find_vehicles(FindVehicles("217"), index)]
    assert numbers == ["217", "1217"]
