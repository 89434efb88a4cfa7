"""Every gate, and attempts to get round it: each kind of gate by each way.

What must hold is said by docs/procedures.md and by the rules in docs/architecture.md: a locked step
stays locked whoever asks and however, and nothing but a named override (never for a hold) passes
it. Ways: command line, direct call of the job, page, interface for programs, clock set back or
forward, a step's page that was open while another device (a process of its own on the same
database) shut the gate, an override from before.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import get_args

import pytest
from tests.gate_cases import (
    BY,
    CASES,
    CATALOGUE,
    NEXT,
    NOW_ON,
    STEP,
    make_home,
    open_case,
    stick_seen,
)
from tests.visit_kit import SetClock
from tests.web.kit import Browser, token

from asfound.cli.home import Home, HomeBooks, home_at
from asfound.cli.main import call
from asfound.cli.serve_parts import services
from asfound.errors import ExitCode, GateShut, UsageError
from asfound.jobs.firmware_rules import FleetRules
from asfound.jobs.visit_act import (
    CloseVisit,
    OverrideGate,
    TickStep,
    close_visit,
    override,
    tick,
)
from asfound.jobs.visit_firmware import ChooseForVisit, RecordStick, choose_for_visit, record_stick
from asfound.jobs.visit_gates import NEVER_OVERRIDDEN, gate_states
from asfound.jobs.visit_journal import Desk
from asfound.model.procedure import GateKind
from asfound.model.stick import StickChecked, StickVerdict

GATES: tuple[GateKind, ...] = get_args(GateKind)
SHUT_AGAIN = tuple(gate for gate in GATES if gate != "steps-done")
"""A step that was done stays done."""

Way = Callable[[Home, str], None]

BROWSERS: dict[Path, Browser] = {}
"""One server a home folder: making one takes longer than asking it."""


def _browser(home: Home) -> Browser:
    if home.path not in BROWSERS:
        BROWSERS.clear()
        BROWSERS[home.path] = Browser(services(home))
    return BROWSERS[home.path]


def by_command(home: Home, visit: str) -> None:
    done = ["visit", "done", visit, STEP, "--by", BY, "--home", str(home.path)]
    assert call(done) == ExitCode.GATE_SHUT


def by_job(home: Home, visit: str) -> None:
    with pytest.raises(GateShut) as caught:
        tick(TickStep(visit, STEP, BY), desk=home.desk())
    assert "\n" not in str(caught.value)


def by_bare_desk(home: Home, visit: str) -> None:
    """A caller who leaves the fleet's rules out when he makes his desk."""
    whole = home.desk()
    with pytest.raises(GateShut):
        tick(TickStep(visit, STEP, BY), desk=Desk(whole.store, whole.blobs, whole.clock))


def by_page(home: Home, visit: str) -> None:
    browser = _browser(home)
    fields = {"csrf": token(browser), "head": _head(home, visit), "step": STEP, "by": BY}
    answer = browser.post(f"/visits/{visit}/done", data=fields)
    assert answer.status_code == 409 and "is locked" in answer.text


def by_programs(home: Home, visit: str) -> None:
    browser = _browser(home)
    path = f"/api/v1/visits/{visit}/steps/{STEP}/done"
    asked = {"head": _head(home, visit), "by": BY}
    answer = browser.post(path, json=asked, headers=_proven(browser))
    assert answer.status_code == 409, answer.text


def by_clock(year: int) -> Way:
    def ask(home: Home, visit: str) -> None:
        clock = SetClock(datetime(year, 1, 1, tzinfo=UTC))
        desk = home.desk()
        rules = FleetRules(HomeBooks(home), desk.store, desk.blobs, clock)
        with pytest.raises(GateShut):
            tick(TickStep(visit, STEP, BY), desk=replace(desk, clock=clock, rules=rules))

    return ask


def by_closing(home: Home, visit: str) -> None:
    """Leave the locked step out, and close the visit."""
    with pytest.raises(GateShut):
        close_visit(CloseVisit(visit, BY), desk=home.desk())


def by_no_reason(home: Home, visit: str) -> None:
    """Override without saying why, or who."""
    (gate,) = home.visit(visit).procedure.step(STEP).gates
    for who, why in ((BY, " "), (" ", "in a hurry")):
        with pytest.raises(UsageError):
            override(OverrideGate(visit, STEP, gate, who, why), desk=home.desk())
    by_job(home, visit)


def by_other_gate(home: Home, visit: str) -> None:
    """An override of the same gate at another step does not open this one."""
    (gate,) = home.visit(visit).procedure.step(STEP).gates
    others = [
        step.id
        for step in home.visit(visit).procedure.steps
        if step.id != STEP and gate in step.gates
    ]
    for other in others:
        if gate not in NEVER_OVERRIDDEN:
            override(OverrideGate(visit, other, gate, BY, "wrong step"), desk=home.desk())
    by_job(home, visit)


WAYS: dict[str, Way] = {
    "command": by_command,
    "job": by_job,
    "bare-desk": by_bare_desk,
    "page": by_page,
    "programs": by_programs,
    "clock-back": by_clock(2001),
    "clock-forward": by_clock(2090),
    "closing": by_closing,
    "no-reason": by_no_reason,
    "other-step": by_other_gate,
}


def _head(home: Home, visit: str) -> str:
    return home.store().heads([visit])[visit][1]


def _proven(browser: Browser) -> dict[str, str]:
    return {"X-CSRF-Token": token(browser)}


def _not_done(home: Home, visit: str) -> None:
    state = home_at(home.path).visit(visit)
    assert not state.is_done(STEP) and not state.closed
    assert "step-done" not in {
        entry.kind for entry in home.store().entries(visit) if entry.data.get("step") == STEP
    }


class Other:
    """Another device: a process of its own on the same database and folder."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.gate_cases"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=Path(__file__).parents[2],
        )  # fmt: skip

    def shut(self, gate: GateKind, home: Home, visit: str) -> None:
        """Shut the gate from over there; returns when it is durable."""
        assert self._process.stdin is not None and self._process.stdout is not None
        self._process.stdin.write(f"{gate}\t{home.path}\t{visit}\n")
        self._process.stdin.flush()
        assert self._process.stdout.readline() == "done\n"

    def end(self) -> None:
        """Its input ends, and so does it."""
        self._process.communicate(timeout=60)


@pytest.fixture(scope="module")
def other() -> Iterator[Other]:
    made = Other()
    yield made
    made.end()


def test_the_table_has_every_gate() -> None:
    assert set(CASES) == set(GATES)


@pytest.mark.parametrize("gate", GATES)
def test_no_way_leads_round_a_shut_gate(gate: GateKind, tmp_path: Path) -> None:
    case, home = CASES[gate], make_home(tmp_path, gate)
    visit = open_case(home, gate)
    if not case.fresh:
        case.shut(home, visit)
    # The way comes with the failure as the local `name`.
    for name, way in WAYS.items():
        way(home, visit)
        assert not home.visit(visit).is_done(STEP), name
    _not_done(home, visit)


@pytest.mark.parametrize("gate", GATES)
def test_an_open_gate_lets_through(gate: GateKind, tmp_path: Path) -> None:
    case, home = CASES[gate], make_home(tmp_path, gate)
    visit = open_case(home, gate)
    case.open_(home, visit)
    assert tick(TickStep(visit, STEP, BY), desk=home.desk()).is_done(STEP)


@pytest.mark.parametrize("gate", SHUT_AGAIN)
def test_what_another_device_shuts_meanwhile_is_shut_here(
    gate: GateKind, tmp_path: Path, other: Other
) -> None:
    case, home = CASES[gate], make_home(tmp_path, gate)
    visit = open_case(home, gate)
    case.open_(home, visit)
    step = home.visit(visit).procedure.step(STEP)
    assert all(one.holds for one in gate_states(home.visit(visit), step))
    browser = _browser(home)
    fields = {"csrf": token(browser), "head": _head(home, visit), "step": STEP, "by": BY}
    assert browser.get(f"/visits/{visit}").status_code == 200
    other.shut(gate, home, visit)
    # By the head that the open page showed: it moved, or the gate is shut; never done.
    assert browser.post(f"/visits/{visit}/done", data=fields).status_code == 409
    asked = {"head": fields["head"], "by": BY}
    path = f"/api/v1/visits/{visit}/steps/{STEP}/done"
    assert browser.post(path, json=asked, headers=_proven(browser)).status_code == 409
    # And by everything that asks anew.
    for name in ("command", "job", "page", "programs"):
        WAYS[name](home, visit)
        assert not home.visit(visit).is_done(STEP), name
    _not_done(home, visit)


@pytest.mark.parametrize("gate", SHUT_AGAIN)
def test_an_override_does_not_cover_what_came_after_it(
    gate: GateKind, tmp_path: Path, other: Other
) -> None:
    case, home = CASES[gate], make_home(tmp_path, gate)
    visit = open_case(home, gate)
    case.shut(home, visit) if not case.fresh else None
    wanted = OverrideGate(visit, STEP, gate, BY, "agreed by telephone")
    if gate in NEVER_OVERRIDDEN:
        with pytest.raises(UsageError, match="never overridden"):
            override(wanted, desk=home.desk())
    else:
        override(wanted, desk=home.desk())
        case.open_(home, visit)
        other.shut(gate, home, visit)
        if gate == "secrets-hidden":
            # The same photograph again shows nothing new: it was known when it was overridden.
            return
    by_job(home, visit)
    _not_done(home, visit)


@pytest.mark.parametrize("gate", sorted(set(GATES) - NEVER_OVERRIDDEN))
def test_an_override_is_in_the_journal_with_name_and_reason(gate: GateKind, tmp_path: Path) -> None:
    case, home = CASES[gate], make_home(tmp_path, gate)
    visit = open_case(home, gate)
    if not case.fresh:
        case.shut(home, visit)
    override(OverrideGate(visit, STEP, gate, BY, "job 5582"), desk=home.desk())
    state = tick(TickStep(visit, STEP, BY), desk=home.desk())
    assert state.is_done(STEP)
    (made,) = state.overrides
    assert (made.gate, made.by, made.reason) == (gate, BY, "job 5582")
    with pytest.raises(UsageError, match="is done already"):
        tick(TickStep(visit, STEP, BY), desk=home.desk())


# What is particular to the two gates of a firmware step.


def test_a_stop_is_graver_than_what_was_overridden_before(tmp_path: Path, other: Other) -> None:
    home = make_home(tmp_path, "rollout-allows")
    path = home.path / "rollouts" / "first.toml"
    path.write_text(path.read_text().replace('vehicles = ["217", "41"]', 'vehicles = ["41"]'))
    visit = open_case(home, "rollout-allows")
    CASES["rollout-allows"].open_(home, visit)
    with pytest.raises(GateShut, match="its wave has not begun; now it is the turn of 41"):
        tick(TickStep(visit, STEP, BY), desk=home.desk())
    override(OverrideGate(visit, STEP, "rollout-allows", BY, "in the yard"), desk=home.desk())
    other.shut("rollout-allows", home, visit)
    with pytest.raises(GateShut, match="it is stopped, 1 of 1 vehicles failed"):
        tick(TickStep(visit, STEP, BY), desk=home.desk())


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda home: (home.path / "firmware.toml").unlink(), "there is none here"),
        (lambda home: (home.path / "firmware.toml").write_text("x"), "cannot be read"),
        (lambda home: (home.path / "firmware.toml").write_text(
            CATALOGUE.replace('hardware = "B"\n[[image]]', 'hardware = "C"\n[[image]]')
        ), "look at its label"),
    ],
)  # fmt: skip
def test_taking_the_catalogue_away_opens_nothing(
    change: Callable[[Home], None], why: str, tmp_path: Path
) -> None:
    home = make_home(tmp_path, "firmware-chosen")
    visit = open_case(home, "firmware-chosen")
    CASES["firmware-chosen"].open_(home, visit)
    change(home)
    with pytest.raises(GateShut, match=why):
        tick(TickStep(visit, STEP, BY), desk=home_at(home.path).desk())


@pytest.mark.parametrize("text", [None, "x"])
def test_taking_the_rollout_away_opens_nothing(text: str | None, tmp_path: Path) -> None:
    home = make_home(tmp_path, "rollout-allows")
    visit = open_case(home, "rollout-allows")
    path = home.path / "rollouts" / "first.toml"
    path.unlink() if text is None else path.write_text(text)
    with pytest.raises(GateShut, match="rollout"):
        tick(TickStep(visit, STEP, BY), desk=home.desk())


def test_a_rollout_that_could_not_be_read_at_opening_is_not_forgotten(tmp_path: Path) -> None:
    home = make_home(tmp_path, "rollout-allows")
    path = home.path / "rollouts" / "first.toml"
    text = path.read_text()
    path.write_text("x")
    visit = open_case(home, "rollout-allows")
    path.unlink()
    with pytest.raises(GateShut, match="unreadable rollouts were there when the visit began"):
        tick(TickStep(visit, STEP, BY), desk=home.desk())
    # Mended, it has its say.
    path.write_text(text)
    CASES["rollout-allows"].open_(home, visit)
    assert tick(TickStep(visit, STEP, BY), desk=home.desk()).is_done(STEP)


@pytest.mark.parametrize(
    ("seen", "why"),
    [
        (stick_seen("00" * 32), "does not hold the chosen image"),
        (stick_seen(verdict=StickVerdict.CHANGED), "is not as it was prepared"),
        (stick_seen(verdict=StickVerdict.COULD_NOT_TELL), "is not as it was prepared"),
    ],
)
def test_the_stick_has_to_hold_the_chosen_image(
    seen: StickChecked, why: str, tmp_path: Path
) -> None:
    home = make_home(tmp_path, "firmware-chosen")
    visit = open_case(home, "firmware-chosen")
    CASES["firmware-chosen"].open_(home, visit)
    record_stick(RecordStick(visit, seen, BY), desk=home.desk())
    with pytest.raises(GateShut, match=why):
        tick(TickStep(visit, STEP, BY), desk=home.desk())


STONE = "22" * 32
TWO_STEPS = (
    CATALOGUE.replace("approved", 'stones = ["2.01"]\napproved')
    + '[[image]]\nmap = "marrowby-four"\nhardware = ["B"]\nversion = "2.01"\nfile = "b.mfw"\n'
    f'size = 9\nsha256 = "{STONE}"\n'
    'approved = [ { fleet = "*", by = "Ada Penrose", on = 2020-01-01 } ]\n'
)
"""2.03 goes only over 2.01, and 1.12 is on."""


def test_the_second_image_of_the_way_does_not_go_first(tmp_path: Path) -> None:
    home = make_home(tmp_path, "firmware-chosen")
    (tmp_path / "firmware.toml").write_text(TWO_STEPS)
    visit = open_case(home, "firmware-chosen")
    CASES["pages-read"].open_(home, visit)
    CASES["firmware-chosen"].open_(home, visit)
    step = home.visit(visit).procedure.step("ware")
    menu_map = home.menu_map("marrowby-four")
    shut = {one.gate: one.why for one in gate_states(home.visit(visit), step)}["firmware-chosen"]
    assert shut == "2.01 comes first, and no stick with b.mfw was checked"
    with pytest.raises(GateShut, match=r"2\.01 comes first"):
        tick(TickStep(visit, "ware", BY, "", NEXT, menu_map), desk=home.desk())
    # A stick that is not as it was prepared shows nothing.
    record_stick(RecordStick(visit, stick_seen(STONE, StickVerdict.CHANGED), BY), desk=home.desk())
    record_stick(RecordStick(visit, stick_seen(), BY), desk=home.desk())
    with pytest.raises(GateShut, match=r"2\.01 comes first"):
        tick(TickStep(visit, "ware", BY, "", NEXT, menu_map), desk=home.desk())
    # One after the other it goes.
    record_stick(RecordStick(visit, stick_seen(STONE), BY), desk=home.desk())
    assert all(one.holds for one in gate_states(home.visit(visit), step))
    record_stick(RecordStick(visit, stick_seen(), BY), desk=home.desk())
    tick(TickStep(visit, "ware", BY, "", NEXT, menu_map), desk=home.desk())


def test_a_version_whose_stick_nobody_checked_is_not_let_in_at_the_end(tmp_path: Path) -> None:
    home = make_home(tmp_path, "firmware-chosen")
    (tmp_path / "firmware.toml").write_text(TWO_STEPS)
    visit = open_case(home, "firmware-chosen")
    CASES["pages-read"].open_(home, visit)
    choose_for_visit(ChooseForVisit(visit, BY), desk=home.desk())
    record_stick(RecordStick(visit, stick_seen(STONE), BY), desk=home.desk())
    menu_map = home.menu_map("marrowby-four")
    with pytest.raises(GateShut, match=r"no stick with a\.mfw \(2\.03\) was checked"):
        tick(TickStep(visit, "ware", BY, "", NEXT, menu_map), desk=home.desk())
    # The first image alone is on: that is what the step left, and what it says.
    state = tick(TickStep(visit, "ware", BY, "", "2.01", menu_map), desk=home.desk())
    assert state.firmware_left == "2.01"


def test_another_version_than_the_chosen_one_is_not_let_in_at_the_end(tmp_path: Path) -> None:
    """Choose what is allowed, put something else on, and tick the step off with that."""
    home = make_home(tmp_path, "firmware-chosen")
    visit = open_case(home, "firmware-chosen")
    CASES["pages-read"].open_(home, visit)
    CASES["firmware-chosen"].open_(home, visit)
    menu_map = home.menu_map("marrowby-four")
    with pytest.raises(GateShut, match=r"2\.03 was chosen, and the recorder shows 2\.01"):
        tick(TickStep(visit, "ware", BY, "", "2.01", menu_map), desk=home.desk())
    # What it shows is chosen, refused, and passed with a reason that the journal keeps.
    (tmp_path / "firmware.toml").write_text(
        CATALOGUE.replace('"1.08", "1.12"', '"1.08", "1.12", "2.01"')
        + CATALOGUE.partition("[[image]]")[2].join(("[[image]]", ""))
        .replace(NEXT, "2.01").replace("a.mfw", "b.mfw").replace("approved", "troubles = []\n#")
    )  # fmt: skip
    state, _ = choose_for_visit(ChooseForVisit(visit, BY, "2.01"), desk=home.desk())
    assert state.choice is not None and "not approved" in state.choice.refused
    with pytest.raises(GateShut, match=r"the catalogue refuses 2\.01: not approved"):
        tick(TickStep(visit, "ware", BY, "", "2.01", menu_map), desk=home.desk())
    override(OverrideGate(visit, "ware", "firmware-chosen", BY, "was on"), desk=home.desk())
    assert tick(
        TickStep(visit, "ware", BY, "", "2.01", menu_map), desk=home.desk()
    ).firmware_left == "2.01"  # fmt: skip


def test_a_fleet_without_catalogue_and_rollouts_is_not_locked_out(tmp_path: Path) -> None:
    home = make_home(tmp_path, "pages-read")
    visit = open_case(home, "pages-read")
    step = home.visit(visit).procedure.step("ware")
    notes = {one.gate: (one.holds, one.note) for one in gate_states(home.visit(visit), step)}
    assert notes["firmware-chosen"] == (True, "no firmware catalogue here: nothing was checked")
    assert notes["rollout-allows"] == (True, "no rollout of this recorder model here")
    CASES["pages-read"].open_(home, visit)
    menu_map = home.menu_map("marrowby-four")
    state = tick(TickStep(visit, "ware", BY, "", NEXT, menu_map), desk=home.desk())
    assert (state.firmware_found, state.firmware_left) == (NOW_ON, NEXT)
