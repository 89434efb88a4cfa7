"""Where a rollout stands: outcomes by visits, decisions, and who is next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import cache
from random import Random

import pytest
from tests.visit_kit import MAP, T0, VALUES, VEHICLE, desk, no_difference, opened, proof, reading

from asfound.errors import InputError
from asfound.jobs.rollout_outcomes import vehicle_outcome
from asfound.jobs.rollout_status import RolloutStatus, Standing, rollout_status, spread
from asfound.jobs.visit_journal import Desk
from asfound.model.difference import Difference, FieldDifference, Verdict
from asfound.model.fault_found import FaultFound
from asfound.model.finding import ProofVerdict
from asfound.model.fleet import Fleet, Vehicle
from asfound.model.rollout import Decision, Outcome, Pilot, Rollout, StopLimits
from asfound.model.visit import Round, StepDone, VisitState

DAY = timedelta(days=1)
LATER = T0 + 30 * DAY
ROLLOUT = Rollout(
    "two-to-2.0", MAP.id, (), "2.0", Pilot(count=2), (3,), 7, StopLimits(0.05, 0.6),
    date(2026, 11, 20), "ada", date(2026, 11, 19),
)  # fmt: skip


@pytest.fixture(scope="module")
def at(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    """One for all: visits are made from a few that were stored."""
    return desk(tmp_path_factory.mktemp("home"))


@cache
def updated(at: Desk, verdict: ProofVerdict | None = ProofVerdict.RECORDS) -> VisitState:
    """A closed visit that brought version 2.0, with nothing amiss."""
    state = opened(at)
    step = state.procedure.of_kind("firmware")
    assert step is not None
    return replace(
        state,
        firmware_found="1.0",
        firmware_left="2.0",
        done=(StepDone(step.id, "ada", T0 + timedelta(hours=1)),),
        rounds=(Round(reading(VALUES, at), (), no_difference("2.0")),),
        proof=proof(verdict, at) if verdict is not None else None,
        closed_by="ada",
        closed_at=T0 + timedelta(hours=2),
    )


def compared(at: Desk, verdict: Verdict) -> VisitState:
    one = FieldDifference("general.name", "Name", verdict, "A", "B")
    difference = Difference(MAP.id, "2.0", (one,))
    return replace(updated(at), rounds=(Round(reading(VALUES, at), (), difference),))


def fault(hours: float) -> FaultFound:
    when = T0 + timedelta(hours=hours)
    return FaultFound("fuse", "Blown fuse", "own", (), (), (), "", "ada", when, 9)


def outcome(visits: Sequence[VisitState], now: datetime = LATER) -> Outcome | None:
    return vehicle_outcome(ROLLOUT, VEHICLE, visits, T0 - DAY, now).outcome


def test_passed_only_after_the_hold_time(at: Desk) -> None:
    state = updated(at)
    assert outcome([state]) is Outcome.PASSED
    end = T0 + timedelta(hours=2) + 7 * DAY
    assert outcome([state], end - timedelta(seconds=1)) is Outcome.WAITING
    assert outcome([state], end) is Outcome.PASSED
    assert outcome([replace(state, closed_at=None, closed_by=None)]) is Outcome.WAITING


def test_what_counts_as_a_failure(at: Desk) -> None:
    good = updated(at)
    later = replace(good, id="later", opened_at=T0 + 3 * DAY, firmware_found="2.0", proof=None)
    assert outcome([good, later]) is Outcome.PASSED
    for bad in (
        [updated(at, ProofVerdict.FAULTS)],
        [compared(at, Verdict.WRONG)],
        [compared(at, Verdict.MISSED)],
        [replace(good, faults=(fault(1.5),))],
        [good, replace(later, faults=(fault(80),))],
        [good, replace(later, firmware_left="1.0")],
        [good, replace(later, proof=proof(ProofVerdict.FAULTS, at))],
    ):
        assert outcome(bad) is Outcome.FAILED
        # A failure does not wait for the hold time.
        assert outcome(bad, T0 + timedelta(hours=3)) is Outcome.FAILED
    # Found before the version was installed: that is what the visit was for.
    assert outcome([replace(good, faults=(fault(0.5),))]) is Outcome.PASSED


def test_what_was_not_told_never_passes(at: Desk) -> None:
    for visits in (
        [updated(at, None)],
        [updated(at, ProofVerdict.UNCLEAR)],
        [replace(updated(at), rounds=())],
        [compared(at, Verdict.DOUBT)],
    ):
        assert outcome(visits) is Outcome.COULD_NOT_TELL


def test_who_is_on_what(at: Desk) -> None:
    state = updated(at)
    made = vehicle_outcome(ROLLOUT, VEHICLE, [state], T0 - DAY, LATER)
    assert (made.firmware, made.visit) == ("2.0", state.id)
    bare = vehicle_outcome(ROLLOUT, VEHICLE, [], T0 - DAY, LATER)
    assert (bare.firmware, bare.visit, bare.outcome) == ("1.0", "", None)
    # Visits of another recorder, of before the start, and that found the version there.
    swapped = replace(VEHICLE, recorder=replace(VEHICLE.recorder, serial="TT-2"))
    assert vehicle_outcome(ROLLOUT, swapped, [state], T0 - DAY, LATER) == replace(
        bare, vehicle=swapped
    )
    assert vehicle_outcome(ROLLOUT, VEHICLE, [state], T0 + DAY, LATER).outcome is None
    assert outcome([replace(state, firmware_found="2.0")]) is None


def vehicles(count: int) -> tuple[Vehicle, ...]:
    return tuple(
        replace(
            VEHICLE,
            number=str(n),
            plate=f"P{n}",
            depot=("North", "South")[n % 2],
            vehicle_class=("city", "coach", "city")[n % 3],
            recorder=replace(VEHICLE.recorder, serial=f"S{n}"),
        )
        for n in range(1, count + 1)
    )


def status(at: Desk, kinds: dict[str, str], rollout: Rollout = ROLLOUT, count: int = 9) -> Standing:
    """``kinds``: number -> "passed", "failed", "open" or "untold"."""
    fleet = Fleet("Own", "Europe/London", vehicles(count), ())
    verdicts = {
        "failed": ProofVerdict.FAULTS, "untold": ProofVerdict.UNCLEAR,
    }  # fmt: skip
    visits = {}
    for number, kind in kinds.items():
        state = updated(at, verdicts.get(kind, ProofVerdict.RECORDS))
        state = replace(state, vehicle=fleet.vehicle(number))
        if kind == "open":
            state = replace(state, closed_at=None, closed_by=None)
        visits[number] = [state]
    return rollout_status(RolloutStatus(rollout, fleet, MAP, visits, T0 - DAY, LATER))


def numbers(made: Standing) -> list[str]:
    return [one.number for one in made.next]


def test_pilot_then_waves(at: Desk) -> None:
    # ln(0.105) / ln(0.4 / 0.95) by Wald's formula, by hand: -2.251 / -0.865 = 2.6, so three.
    rollout = replace(ROLLOUT, pilot=Pilot(count=3))
    first = status(at, {}, rollout)
    assert first.decision is Decision.GO_ON and first.wave == 0 and first.pilot_needed == 3
    pilot = numbers(first)
    assert len(pilot) == 3
    part = status(at, {pilot[0]: "open"}, rollout)
    assert part.decision is Decision.GO_ON and numbers(part) == pilot[1:]
    waiting = status(at, dict.fromkeys(pilot, "passed") | {pilot[0]: "open"}, rollout)
    assert waiting.decision is Decision.HOLD and not waiting.next and "hold time" in waiting.why
    passed = dict.fromkeys(pilot, "passed")
    second = status(at, passed, rollout)
    assert second.decision is Decision.GO_ON and second.wave == 1 and len(second.next) == 3
    assert not set(numbers(second)) & set(pilot)
    third = status(at, passed | dict.fromkeys(numbers(second), "passed"), rollout)
    assert third.wave == 2 and len(third.next) == 3
    whole = passed | dict.fromkeys([*numbers(second), *numbers(third)], "passed")
    done = status(at, whole, rollout)
    assert done.done and done.decision is Decision.GO_ON and not done.next


def test_it_is_not_done_while_a_vehicles_hardware_is_not_known(at: Desk) -> None:
    rollout = replace(ROLLOUT, hardware=("B",), pilot=Pilot(count=3))
    fleet = Fleet("Own", "Europe/London", vehicles(4), ())
    state = updated(at)
    visits = {one.number: [replace(state, vehicle=one)] for one in fleet.vehicles[:3]}
    known = {one.recorder.serial: "B" for one in fleet.vehicles[:3]}
    request = RolloutStatus(rollout, fleet, MAP, visits, T0 - DAY, LATER, known)
    made = rollout_status(request)
    assert [one.number for one in made.unsure] == ["4"] and not made.next and not made.done
    assert made.why == "every vehicle whose hardware is known has the version"
    other = replace(request, hardware={**known, "S4": "C"})
    assert rollout_status(other).done and rollout_status(other).why == (
        "every vehicle has the version"
    )


def test_stop_hold_and_could_not_tell(at: Desk) -> None:
    pilot = numbers(status(at, {}))
    both = status(at, dict.fromkeys(pilot, "failed"))
    assert both.decision is Decision.STOP and not both.next
    one = status(at, {pilot[0]: "failed", pilot[1]: "passed"})
    assert one.decision is Decision.HOLD and "1 of 2" in one.why
    few = status(at, dict.fromkeys(pilot, "passed"))
    assert few.decision is Decision.HOLD and few.pilot_needed == 3
    rollout = replace(ROLLOUT, pilot=Pilot(count=4))
    pilot = numbers(status(at, {}, rollout))
    kinds = dict.fromkeys(pilot, "passed") | {pilot[3]: "untold"}
    assert status(at, kinds, rollout).decision is Decision.COULD_NOT_TELL


@pytest.mark.parametrize("seed", range(12))
def test_a_failure_more_never_undoes_a_stop(at: Desk, seed: int) -> None:
    random = Random(seed)
    kinds = {
        str(n): random.choice(["passed", "failed", "failed", "open", "untold"])
        for n in range(1, 10)
    }
    before = status(at, kinds).decision
    for number in kinds:
        after = status(at, kinds | {number: "failed"}).decision
        assert after is Decision.STOP or before is not Decision.STOP


def test_a_stop_is_not_undone_by_what_passes_later(at: Desk) -> None:
    # Two failures first, then seven that pass: the ratio alone would go on (Wald's formula).
    pilot = Pilot(tuple(str(n) for n in range(1, 10)))
    rollout = replace(ROLLOUT, pilot=pilot)
    kinds = {str(n): "failed" if n < 3 else "passed" for n in range(1, 10)}
    made = status(at, kinds, rollout)
    assert made.ruled.decision is not Decision.STOP and made.decision is Decision.STOP
    assert "earlier" in made.why


def test_the_order_does_not_depend_on_the_file() -> None:
    fleet = list(vehicles(20))
    want = [one.number for one in spread(fleet)]
    Random(7).shuffle(fleet)
    assert [one.number for one in spread(fleet)] == want
    groups = {(one.depot, one.vehicle_class) for one in fleet}
    first = spread(fleet)[: len(groups)]
    assert {(one.depot, one.vehicle_class) for one in first} == groups


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        (replace(ROLLOUT, pilot=Pilot(("99",))), "pilot vehicle '99'"),
        (replace(ROLLOUT, pilot=Pilot(count=10)), "wants 10 vehicles, there are 9"),
        (replace(ROLLOUT, pilot=Pilot(count=1, depots=("East",))), "there are North, South"),
        (replace(ROLLOUT, pilot=Pilot(count=1, classes=("van",))), "there are city, coach"),
        (replace(ROLLOUT, target="3.0"), "it knows 1.0, 2.0"),
        (replace(ROLLOUT, map_id="other"), "no vehicle of Own has a other"),
    ],
)
def test_what_does_not_fit_is_one_line(at: Desk, changed: Rollout, says: str) -> None:
    with pytest.raises(InputError, match=says) as caught:
        status(at, {}, changed)
    assert "\n" not in str(caught.value)
