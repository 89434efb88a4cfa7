"""What people type about power: whatever it is, a request comes out, or one line that helps."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.errors import UsageError
from asfound.jobs import ask_parked, ask_start, ask_volts
from asfound.jobs.judge_volts import judge_volts
from asfound.jobs.park_battery import park_battery
from asfound.jobs.plot_parked import plot_parked
from asfound.jobs.plot_start import plot_start
from asfound.jobs.ride_start import Measured, Ride, RideStart, ride_start
from asfound.ports.backends.voltage_rules_toml import load_voltage_rules

RULES = load_voltage_rules()
WORDS = st.sampled_from(
    ["", "0", "1", "-1", "24V", "12V", "12,5 V", "1e9", "nan", "inf", "99999999", "0.0001", "50%",
     "100%", "3d", "8h", "200ms", "45s", "25W", "15mA", "170Ah", "8m", "1.5mm2", "AWG16", "A", "H",
     "z", "flooded", "AGM", "-15", "20", "I", "III", "٣", "½", " ", "\x00", "V", "--"]
)  # fmt: skip


def parked(fields: dict[str, str]) -> None:
    request = ask_parked.ask_parked(fields)
    plot_parked(request, park_battery(request))


def crank(fields: dict[str, str]) -> None:
    request = ask_start.ask_start(fields)
    plot_start(request, ride_start(request))


def volts(fields: dict[str, str]) -> None:
    judge_volts(ask_volts.ask_volts(fields, RULES), RULES)


SOUND: list[tuple[Callable[[dict[str, str]], None], dict[str, str], tuple[str, ...]]] = [
    (parked, {"system": "24V", "battery": "170Ah", "charge": "90%", "parked": "62h"},
     ask_parked.NAMES),
    (crank, {"system": "24V", "code": "H"}, ask_start.NAMES),
    (volts, {"system": "24V", "plug-on": "24"}, (*ask_volts.NAMES, *RULES.readings)),
]  # fmt: skip


@given(st.sampled_from(SOUND), st.data())
def test_whatever_is_typed_is_taken_or_refused_in_one_line(tool: Any, data: st.DataObject) -> None:
    ask, sound, names = tool
    changed = data.draw(st.dictionaries(st.sampled_from(names), WORDS | st.text(max_size=9)))
    try:
        ask({**sound, **changed})
    except UsageError as error:
        assert str(error) and "\n" not in str(error).replace("\\n", "")


@pytest.mark.parametrize("tool", SOUND)
def test_what_is_sound_is_taken(tool: Any) -> None:
    tool[0](tool[1])


@given(
    st.floats(0.5, 23), st.floats(0, 5), st.floats(0.01, 10), st.floats(0, 5), st.floats(0, 20),
    st.sampled_from("EFGH"),
)  # fmt: skip
def test_lower_or_longer_is_never_better(
    lowest: float, lower: float, lasting: float, longer: float, hold: float, code: str
) -> None:
    order = [Ride.THROUGH, Ride.HELD, Ride.OUT]

    def ride(volts: float, seconds: float) -> int:
        limits = ask_start.ask_start({"system": "24V", "code": code}).range
        asked = RideStart(
            24, 24.0, limits, code, hold_up_s=hold, measured=Measured(volts, True, seconds)
        )
        return order.index(ride_start(asked).starts[0].ride)

    assert ride(max(0.0, lowest - lower), lasting + longer) >= ride(lowest, lasting)
