"""Documents: every model object survives JSON, and bad JSON is one line."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from typing import get_args

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from asfound.errors import InputError
from asfound.model import (
    difference,
    finding,
    fleet,
    hold,
    journal,
    kinds,
    procedure,
    rekey,
    target,
    visit,
)
from asfound.model.finding import Proof, ProofVerdict, Recording
from asfound.model.menu_map import Field, Keyboard, Keys, MenuMap, Page
from asfound.model.reading import Reading
from asfound.ports.documents import from_data, from_json, to_data, to_json

TYPES: tuple[kinds.FieldType, ...] = (
    kinds.Choice(("CIF", "HD"), (("CIF", "352x288"),)),
    kinds.Switch("Yes", "No"),
    kinds.Number(Decimal("0.5"), Decimal("9.5"), Decimal("0.25"), 2, "g", ("Off",)),
    kinds.Level(0, 10),
    kinds.Time(True),
    kinds.Date("DD.MM.YYYY"),
    kinds.IPv4(True),
    kinds.Host(40),
    kinds.Text(12, "ABC"),
    kinds.Secret(8),
    kinds.ReadOnly("serial"),
)

WHOLE_CLASSES = (
    MenuMap, Reading, target.Target, rekey.RekeySheet, difference.Difference, Proof,
    finding.Expectation, fleet.Fleet, hold.Hold, procedure.Procedure, visit.Round, visit.Override,
    visit.Settled, visit.StepDone,
)  # fmt: skip


def example_map() -> MenuMap:
    rows = tuple(Field(f"f{n}", f"F {n}", kind) for n, kind in enumerate(TYPES))
    keys = Keys("flat", "a", "b", "c", "d", "e", "f", "g", "h")
    keys = replace(keys, keyboard=Keyboard((("1", "2"), ("DONE",))))
    return MenuMap("m", "Maker", "Model", 4, ("1.0", "2.0"), (Page("p", "P", rows),), keys)


def test_a_menu_map_with_every_field_type_comes_back_equal() -> None:
    made = example_map()
    again = from_json(MenuMap, to_json(made))
    assert again == made
    assert [type(field.type) for field in again.fields] == [type(kind) for kind in TYPES]


@pytest.mark.parametrize("cls", WHOLE_CLASSES)
@given(data=st.data())
@settings(
    max_examples=8,
    deadline=None,
    phases=(Phase.explicit, Phase.generate),  # shrinking whole visits takes minutes
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.large_base_example],
)
def test_any_object_of_the_model_comes_back_equal(cls: type[object], data: st.DataObject) -> None:
    made = data.draw(strategy(cls))
    text = to_json(made)
    assert from_json(cls, text) == made
    assert from_data(cls, to_data(made)) == made


def strategy(cls: type[object]) -> st.SearchStrategy[object]:
    """Objects of ``cls`` from its annotations; times aware, floats finite, as the model says."""
    st.register_type_strategy(datetime, st.datetimes(timezones=st.just(UTC)))
    st.register_type_strategy(float, st.floats(allow_nan=False, allow_infinity=False))
    st.register_type_strategy(Decimal, st.decimals(allow_nan=False, allow_infinity=False, places=2))
    st.register_type_strategy(Mapping, plain_mapping)
    return st.from_type(cls)


def plain_mapping(kind: type[object]) -> st.SearchStrategy[object]:
    """A dict for any Mapping annotation of the model (text to text, or to such a dict)."""
    inner: st.SearchStrategy[object] = st.text(max_size=4)
    if get_args(kind)[1] is not str:
        inner = st.dictionaries(st.text(max_size=4), inner, max_size=2)
    return st.dictionaries(st.text(max_size=4), inner, max_size=2)


def test_times_are_rfc_3339() -> None:
    # RFC 3339 section 5.8 (examples from memory): 1996-12-19T16:39:57-08:00 is
    # 1996-12-20T00:39:57Z; 1937-01-01T12:00:27.87+00:20 is 11:40:27.87Z.
    text = json.dumps(
        {
            "id": "h", "vehicle": "1", "start": "1996-12-19T16:39:57-08:00",
            "end": "1937-01-01T12:00:27.87+00:20", "reason": "r", "placed_by": "a",
            "placed_at": "1985-04-12T23:20:50.52Z",
        }
    )  # fmt: skip
    made = from_json(hold.Hold, text)
    assert made.start == datetime(1996, 12, 20, 0, 39, 57, tzinfo=UTC)
    assert made.end == datetime(1937, 1, 1, 11, 40, 27, 870000, tzinfo=UTC)
    assert to_data(made)["placed_at"] == "1985-04-12T23:20:50.520000Z"


def test_the_journal_writes_utc_whatever_zone_the_time_had() -> None:
    west = datetime(1996, 12, 19, 16, 39, 57, tzinfo=timezone(timedelta(hours=-8)))
    assert journal.rfc3339(west) == "1996-12-20T00:39:57.000000Z"  # RFC 3339 section 5.8


@pytest.mark.parametrize(
    "text",
    [
        "", "{", "null", "[]", '{"map_id": 8}', "\x00", '{"map_id": "m", "firmware": "1"',
        '{"map_id":"m","firmware":"1","photos":[],"fields":[{"id":"a"}],"missing_pages":[]}',
    ],
)  # fmt: skip
def test_bad_json_is_one_line(text: str) -> None:
    with pytest.raises(InputError) as caught:
        from_json(Reading, text, "visit 7, reading")
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("visit 7, reading")


@given(st.text(max_size=40) | st.binary(max_size=40))
def test_noise_never_escapes_as_another_error(text: str | bytes) -> None:
    with pytest.raises(InputError):
        from_json(Reading, text)


def test_text_is_not_taken_for_a_number() -> None:
    with pytest.raises(InputError, match="supply_volts"):
        from_json(
            fleet.Recorder,
            '{"map_id":"m","serial":"s","firmware":"1","place":"p","supply_volts":"24"}',
        )


def test_a_number_that_json_cannot_carry_is_refused() -> None:
    broken = Recording("f", 1, "h264", 1, 1, float("nan"), None, None, None, ())
    with pytest.raises(ValueError, match=r"recordings\.0\.rate_fps"):
        to_json(Proof(ProofVerdict.RECORDS, (broken,)))
    with pytest.raises(InputError, match="JSON"):
        from_data(Reading, {"map_id": object()})


def test_unknown_keys_are_passed_over() -> None:
    data = to_data(kinds.Level(0, 3)) | {"later": 1}
    assert from_data(kinds.Level, data) == kinds.Level(0, 3)
