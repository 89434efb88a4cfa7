"""For each gate: a procedure that has it alone, how it opens, and how another device shuts it again
(tests only). Run as a program it is that other device: a process of its own on the same database.
"""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from tests.worked_visit import fleet_home, reading

from asfound.cli.home import Home, home_at
from asfound.demo import scenario
from asfound.jobs.holds import PlaceHold, ReleaseHold, place_hold, release_hold
from asfound.jobs.visit_act import TickStep, tick
from asfound.jobs.visit_firmware import (
    ChooseForVisit,
    RecordStick,
    choose_for_visit,
    record_stick,
)
from asfound.jobs.visit_journal import Book
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.jobs.visit_record import (
    RecordDifference,
    RecordProof,
    RecordReading,
    record_as_found,
    record_as_left,
    record_difference,
    record_proof,
)
from asfound.model.difference import Difference
from asfound.model.finding import Proof, ProofVerdict
from asfound.model.procedure import GateKind
from asfound.model.reading import SecretSpot
from asfound.model.stick import Slip, StickChecked, StickFacts, StickVerdict

BY = scenario.TECHNICIAN
STEP = "target"
NOW_ON, NEXT = "1.12", "2.03"
IMAGE = b"image of 2.03"
SHA = hashlib.sha256(IMAGE).hexdigest()
CATALOGUE = (
    'format = "asfound-firmware/1"\n[[model]]\nmap = "marrowby-four"\norder = "dotted"\n'
    'in_field = ["1.08", "1.12"]\n[[fitted]]\nserial = "MF-20417"\nhardware = "B"\n'
    f'[[image]]\nmap = "marrowby-four"\nhardware = ["B"]\nversion = "{NEXT}"\nfile = "a.mfw"\n'
    f'size = {len(IMAGE)}\nsha256 = "{SHA}"\n'
    'approved = [ { fleet = "*", by = "Ada Penrose", on = 2020-01-01 } ]\n'
)
# One failure of one: the likelihood ratio 0.20 / 0.02 = 10 passes Wald's bound (1 - 0.1) / 0.1 = 9
# (A. Wald, Sequential Tests of Statistical Hypotheses, 1945).
ROLLOUT = f"""\
format = "asfound-rollout/1"
id = "first"
map = "marrowby-four"
target = "{NEXT}"
started_on = 2020-01-02
hold_days = 0
waves = [2]
approved_by = "Ada Penrose"
approved_on = 2020-01-01
[pilot]
vehicles = ["217", "41"]
[limits]
acceptable = 0.02
unacceptable = 0.20
alpha = 0.1
beta = 0.1
"""
READ = '[[step]]\nid = "read"\ntitle = "Read"\ntext = "Read."\nkind = "read-as-found"\n'
SETTLE = '[[step]]\nid = "settle"\ntitle = "Settle"\ntext = "Settle."\nkind = "settle"\n'
LEFT = '[[step]]\nid = "left"\ntitle = "Read again"\ntext = "Read."\nkind = "read-as-left"\n'
PROVE = '[[step]]\nid = "prove"\ntitle = "Prove"\ntext = "Prove."\nkind = "prove"\n'
WARE = (
    '[[step]]\nid = "ware"\ntitle = "Put on"\ntext = "Put on."\nkind = "firmware"\n'
    'gates = ["pages-read", "doubts-settled", "firmware-chosen", "rollout-allows"]\n'
)
CLOSE = (
    '[[step]]\nid = "close"\ntitle = "Close"\ntext = "Close."\nkind = "close"\n'
    'gates = ["as-left-compared", "recording-proved"]\n'
)


@dataclass(frozen=True)
class Case:
    """``open_`` from a fresh visit, ``shut`` from whatever there is; ``fresh``: shut as opened."""

    gate: GateKind
    open_: Callable[[Home, str], None]
    shut: Callable[[Home, str], None]
    fresh: bool = True


def make_home(folder: Path, gate: GateKind) -> Home:
    """A home with a procedure ``gate-…`` whose step ``target`` has this gate and no other."""
    fleet_home(folder)
    if gate in ("firmware-chosen", "rollout-allows"):
        (folder / "firmware.toml").write_text(CATALOGUE, encoding="utf-8")
    if gate == "rollout-allows":
        (folder / "rollouts").mkdir()
        (folder / "rollouts" / "first.toml").write_text(ROLLOUT, encoding="utf-8")
    target = (
        f'[[step]]\nid = "{STEP}"\ntitle = "Target"\ntext = "Do."\nkind = "check"\n'
        f'gates = ["{gate}"]\n'
    )
    before = '[[step]]\nid = "before"\ntitle = "Before"\ntext = "Do."\nkind = "check"\n'
    # `target` stands before what it depends on, so that only its own gate keeps it.
    lines = [READ, SETTLE, LEFT, PROVE, target, WARE, CLOSE]
    if gate == "steps-done":
        lines = [before, target, READ, CLOSE]
    head = f'format = "asfound-procedure/1"\nid = "gate-{gate}"\ntitle = "Gate"\n'
    (folder / "procedures").mkdir(exist_ok=True)
    (folder / "procedures" / f"gate-{gate}.toml").write_text(head + "".join(lines), "utf-8")
    return home_at(folder)


def open_case(home: Home, gate: GateKind, vehicle: str = scenario.VEHICLE) -> str:
    """A fresh visit by that procedure; its id."""
    fleet, desk = home.fleet(), home.desk()
    found = fleet.vehicle(vehicle)
    menu_map = home.menu_map(found.recorder.map_id)
    made = OpenVisit(
        found, fleet.name, fleet.time_zone, home.procedure(f"gate-{gate}"), menu_map, BY, NOW_ON
    )
    return open_visit(
        made, store=desk.store, blobs=desk.blobs, clock=desk.clock, rules=desk.rules
    ).id


def _read(home: Home, visit: str, firmware: str, kind: str = "") -> None:
    """Every page read for sure; ``kind`` "part": pages missing, "doubt": one value in doubt,
    "secret": a photograph that shows a password."""
    menu_map = home.menu_map("marrowby-four")
    screen = dict(scenario.as_found_screen(menu_map, firmware))
    if kind == "part":
        first = menu_map.pages[0]
        keep = {field.id for field in menu_map.page_fields(first, firmware)}
        screen = {name: value for name, value in screen.items() if name in keep}
    made = reading(menu_map, screen, firmware, next(iter(screen)) if kind == "doubt" else "")
    if kind == "secret":
        from dataclasses import replace  # noqa: PLC0415 (the only place)

        first_photo = replace(made.photos[0], sha256="ab" * 32, secrets=(SecretSpot("x", None),))
        made = replace(made, photos=(first_photo, *made.photos[1:]))
    record_as_found(RecordReading(visit, menu_map, made, BY), desk=home.desk())


def _compared(home: Home, visit: str) -> None:
    _left(home, visit)
    made = Difference("marrowby-four", NOW_ON, ())
    record_difference(RecordDifference(visit, made, BY), desk=home.desk())


def _left(home: Home, visit: str) -> None:
    menu_map = home.menu_map("marrowby-four")
    made = reading(menu_map, scenario.as_found_screen(menu_map, NOW_ON), NOW_ON)
    record_as_left(RecordReading(visit, menu_map, made, BY), desk=home.desk())


def _proof(verdict: ProofVerdict) -> Callable[[Home, str], None]:
    def record(home: Home, visit: str) -> None:
        record_proof(RecordProof(visit, Proof(verdict, ()), BY), desk=home.desk())

    return record


def _hold(home: Home, visit: str) -> None:
    desk, vehicle = home.desk(), home.fleet().vehicle(scenario.VEHICLE)
    span = (datetime(2026, 3, 9, 16, tzinfo=UTC), datetime(2026, 3, 9, 17, tzinfo=UTC))
    made = PlaceHold(vehicle, *span, "claim 5582", "office")
    place_hold(made, store=desk.store, clock=desk.clock)


def _release(home: Home, visit: str) -> None:
    desk = home.desk()
    for hold in desk.store.holds(scenario.VEHICLE):
        if hold.active:
            release_hold(ReleaseHold(hold.id, BY, "copied"), store=desk.store, clock=desk.clock)


def stick_seen(sha256: str = SHA, verdict: StickVerdict = StickVerdict.UNCHANGED) -> StickChecked:
    """A stick as its check says."""
    slip = Slip("a.mfw", sha256, 13, "2026-11-26T12:00:00+00:00", BY, "", "", "*", ())
    return StickChecked(verdict, StickFacts("vfat", "/dev/x", 1, 1), slip, sha256, "direct")


def _chosen(home: Home, visit: str) -> None:
    choose_for_visit(ChooseForVisit(visit, BY), desk=home.desk())
    record_stick(RecordStick(visit, stick_seen(), BY), desk=home.desk())


def _withdraw(home: Home, visit: str) -> None:
    """The office withdraws the image in the shared folder."""
    gone = 'withdrawn = { on = 2026-01-01, why = "loses the clock" }\n'
    (home.path / "firmware.toml").write_text(CATALOGUE + gone, encoding="utf-8")


def _fails(home: Home, visit: str) -> None:
    """Another vehicle of the pilot gets the version, and its footage has faults."""
    other = open_case(home, "rollout-allows", "41")
    book = Book(other, home.desk())
    book.write(BY, "firmware-left", {"firmware": NEXT})
    book.write(BY, "proved", {"proof": book.keep(Proof(ProofVerdict.FAULTS, ()))})


def _first_done(home: Home, visit: str) -> None:
    tick(TickStep(visit, "before", BY), desk=home.desk())


def _nothing(home: Home, visit: str) -> None:
    pass


CASES: dict[GateKind, Case] = {
    case.gate: case
    for case in (
        Case(
            "pages-read", lambda h, v: _read(h, v, NOW_ON), lambda h, v: _read(h, v, "1.08", "part")
        ),
        Case(
            "doubts-settled",
            lambda h, v: _read(h, v, NOW_ON),
            lambda h, v: _read(h, v, "1.08", "doubt"),
        ),
        Case("no-hold", _release, _hold, fresh=False),
        Case("as-left-compared", _compared, _left),
        Case("recording-proved", _proof(ProofVerdict.RECORDS), _proof(ProofVerdict.FAULTS)),
        Case("secrets-hidden", _nothing, lambda h, v: _read(h, v, NOW_ON, "secret"), fresh=False),
        Case("firmware-chosen", _chosen, _withdraw),
        Case("rollout-allows", _chosen, _fails),
        # A step that was done stays done: nobody can shut this one again.
        Case("steps-done", _first_done, _nothing),
    )
}


def main() -> None:
    """The other device: a line "GATE HOME VISIT" shuts that gate there, answered by "done"."""
    for line in sys.stdin:
        gate, folder, visit = line.rstrip("\n").split("\t")
        case = next(one for one in CASES.values() if one.gate == gate)
        case.shut(home_at(Path(folder)), visit)
        sys.stdout.write("done\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
