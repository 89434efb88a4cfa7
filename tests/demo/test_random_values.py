"""Random settings are allowed ones, repeat with their seed, and cover the awkward cases."""

from __future__ import annotations

from ipaddress import IPv4Address

import numpy as np
import pytest

from asfound.demo.random_values import random_values
from asfound.model.kinds import Host, IPv4, Number, Secret, Text
from asfound.model.values import problem
from asfound.ports.backends.map_toml import load_map, shipped_map_paths

MAPS = {name: load_map(path) for name, path in shipped_map_paths().items()}
CASES = [(name, version) for name in MAPS for version in MAPS[name].firmware]


@pytest.mark.parametrize(("name", "version"), CASES)
def test_every_field_gets_an_allowed_value(name: str, version: str) -> None:
    menu_map = MAPS[name]
    for seed in range(12):
        values = random_values(menu_map, version, np.random.default_rng(seed))
        assert set(values) == {field.id for field in menu_map.fields_in(version)}
        for field in menu_map.fields_in(version):
            assert problem(field.type, values[field.id]) is None, (field.id, values[field.id])
            if isinstance(field.type, IPv4):
                # The standard library's parser is the outside check.
                assert str(IPv4Address(values[field.id])) == values[field.id]


def test_the_same_seed_gives_the_same_values() -> None:
    menu_map = MAPS["marrowby-four"]
    first, again, other = (
        random_values(menu_map, "2.03", np.random.default_rng(seed)) for seed in (5, 5, 6)
    )
    assert first == again
    assert first != other


def test_awkward_cases_come_up() -> None:
    menu_map = MAPS["quillfen-octad"]
    seen: dict[str, set[str]] = {}
    for seed in range(40):
        values = random_values(menu_map, "4.0.2", np.random.default_rng(seed))
        for field in menu_map.fields_in("4.0.2"):
            seen.setdefault(field.type.kind, set()).add(values[field.id])
            if isinstance(field.type, Number) and field.type.words:
                seen.setdefault("words", set()).update({values[field.id]} & set(field.type.words))
    kinds = {field.type.kind for field in menu_map.fields if isinstance(field.type, Host | Text)}
    for kind in kinds:
        assert "" in seen[kind]
        assert any("1" in text and "l" in text for text in seen[kind])
        assert any("0" in text and ("O" in text or "o" in text) for text in seen[kind])
    assert seen["words"] >= {"Off", "Until full", "Never"}
    assert seen[Secret().kind] == {"set", "blank"}
