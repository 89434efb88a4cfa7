"""Rules from voltages to causes: the shipped file, and every way in which a file can be wrong."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from asfound.errors import AsfoundError, InputError
from asfound.ports.backends.voltage_rules_toml import load_voltage_rules

GOOD = """format = "asfound-voltage-rules/1"
[[reading]]
id = "a"
short = "battery"
title = "battery"
when = "at rest"
[[reading]]
id = "b"
short = "plug"
title = "plug"
when = "at rest"
[[cause]]
id = "flat"
title = "Battery flat"
advice = "Charge it."
[[rule]]
id = "low"
cause = "flat"
when = [{ of = "a", minus = ["b"], below = 12.2 }]
weight = 3
says = "it is low"
source = "common practice, no source"
"""


def load(tmp_path: Path, text: str) -> str:
    """What loading ``text`` says; "" when it is fine."""
    path = tmp_path / "rules.toml"
    path.write_text(text)
    try:
        load_voltage_rules(path)
    except InputError as error:
        return str(error)
    return ""


def test_what_ships_is_whole() -> None:
    rules = load_voltage_rules()
    named = {name for rule in rules.rules for one in rule.when for name in one.readings}
    assert named == set(rules.readings)
    assert {rule.cause for rule in rules.rules} == set(rules.causes)
    # Every limit says where it comes from, or that it comes from nowhere.
    words = ("common practice, no source", "read", "memory", "law", "own choice", "IEC", "ISO")
    assert all(any(word in rule.source for word in words) for rule in rules.rules)
    # Each cause has something that speaks against it, or could never be laid aside.
    against = {rule.cause for rule in rules.rules if rule.weight < 0}
    assert set(rules.causes) == against


def test_a_small_file(tmp_path: Path) -> None:
    assert load(tmp_path, GOOD) == ""


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('cause = "flat"', 'cause = "flab"', "there is no cause 'flab'"),
        ('of = "a"', 'of = "z"', "there is no reading 'z'"),
        ('minus = ["b"]', 'minus = ["y"]', "there is no reading 'y'"),
        ("below = 12.2", "below = 12.2, above = 13.0", "nothing is above the one and below"),
        (", below = 12.2", "", "it has no limit"),
        ("weight = 3", "weight = 0", "0 says nothing"),
        ("weight = 3", "weight = 30", "weight"),
        ("weight = 3", "weight = 3\nhow = 4", "this key is not known here"),
        ('id = "b"', 'id = "a"', "'a' stands twice"),
        ("weight = 3", "weight = -3", "no rule speaks for it"),
        ("below = 12.2", "below = nan", "below"),
        ('format = "asfound-voltage-rules/1"', 'format = "other"', "format"),
        ("[[cause]]", "[[cause", "not valid TOML"),
    ],
)
def test_what_is_wrong_is_said_with_its_line(tmp_path: Path, old: str, new: str, said: str) -> None:
    error = load(tmp_path, GOOD.replace(old, new, 1))
    assert said in error and "rules.toml:" in error


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(st.text(max_size=80), st.integers(0, len(GOOD)))
def test_hostile_files_are_refused_in_words(tmp_path: Path, text: str, at: int) -> None:
    path = tmp_path / "rules.toml"
    path.write_bytes((GOOD[:at] + text + GOOD[at:]).encode("utf-8", "surrogatepass"))
    try:
        load_voltage_rules(path)
    except AsfoundError as error:
        assert str(error)
