"""One visit of bus 217, told through the jobs that a technician uses."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

from asfound.demo import scenario
from asfound.demo.footage import Drive, Fault, as_promised, film
from asfound.demo.photos import Photo, Session, shoot
from asfound.demo.smear import smear
from asfound.demo.themes import TUNING_THEMES
from asfound.errors import GateShut
from asfound.jobs.hide_secrets import HideSecrets, hide_secrets
from asfound.jobs.holds import PlaceHold, ReleaseHold, place_hold, release_hold
from asfound.jobs.read_clock import ClockFacts
from asfound.jobs.visit_act import (
    CloseVisit,
    OverrideGate,
    Settle,
    TickStep,
    close_visit,
    override,
    settle,
    tick,
)
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.jobs.visit_read import ReadTools, VisitRead, visit_read
from asfound.jobs.visit_work import (
    ProveTools,
    VisitPlan,
    VisitProve,
    visit_compare,
    visit_expectation,
    visit_plan,
    visit_prove,
)
from asfound.model.fleet import Fleet
from asfound.model.menu_map import MenuMap
from asfound.model.procedure import Procedure
from asfound.model.values import shown
from asfound.model.visit import VisitState
from asfound.ports.pictures import Repainter
from asfound.ports.progress import Progress

Watch = Callable[[str], AbstractContextManager[Progress]]


@dataclass(frozen=True)
class Stage:
    """What the story plays with: the same ports that the commands choose.

    ``tell`` shows one line to whoever watches; ``watch`` gives a progress bar.
    """

    folder: Path
    desk: Desk
    fleet: Fleet
    menu_map: MenuMap
    procedure: Procedure
    reading: ReadTools
    proving: ProveTools
    painter: Repainter
    tell: Callable[[str], None]
    watch: Watch
    seed: int = 217


class Story:
    """The visit, chapter by chapter; ``state`` is the visit as it stands."""

    def __init__(self, stage: Stage) -> None:
        self.stage = stage
        self.vehicle = stage.fleet.vehicle(scenario.VEHICLE)
        self.by = scenario.TECHNICIAN
        hold = place_hold(
            PlaceHold(
                self.vehicle, scenario.CLAIM_START, scenario.CLAIM_END, scenario.CLAIM,
                scenario.OFFICE,
            ),
            store=stage.desk.store,
            clock=stage.desk.clock,
        )  # fmt: skip
        self.hold_id = hold.id
        opened = open_visit(
            OpenVisit(
                self.vehicle, stage.fleet.name, stage.fleet.time_zone, stage.procedure,
                stage.menu_map, self.by,
            ),
            store=stage.desk.store,
            blobs=stage.desk.blobs,
            clock=stage.desk.clock,
            rules=stage.desk.rules,
        )  # fmt: skip
        self.visit = opened.id
        stage.tell(
            f"visit {opened.id}: {self.vehicle.number} ({self.vehicle.plate}), "
            f"{stage.procedure.title}; the claims desk holds footage of 9 March"
        )

    @property
    def state(self) -> VisitState:
        """The visit, folded from its journal."""
        desk = self.stage.desk
        return load_visit(self.visit, store=desk.store, blobs=desk.blobs, rules=desk.rules)

    def play(self) -> VisitState:
        """All chapters in order; returns the closed visit."""
        self.arrive()
        self.read_as_found()
        self.change_firmware()
        self.rekey()
        self.compare_as_left()
        self.swap_drive()
        self.prove()
        return self.close()

    def arrive(self) -> None:
        """Find it, power it, plug in the monitor."""
        self._tick("locate", self.vehicle.recorder.place)
        self._tick("power", "isolator on, ignition on, 26.3 V at the plug")
        self._tick("monitor", "picture steady")

    def read_as_found(self) -> None:
        """Photograph every page, read, settle what is in doubt."""
        firmware = self.vehicle.recorder.firmware
        screen = scenario.as_found_screen(self.stage.menu_map, firmware)
        photos = self._photograph("as found", screen, firmware)
        for number, field_id in enumerate(scenario.SMEARED):
            for photo in photos:
                if field_id in photo.boxes:
                    smear(photo, field_id, self.stage.seed + number)
        self._read("as-found", photos, as_left=False)
        self._settle(screen, as_left=False)

    def change_firmware(self) -> None:
        """New firmware from the stick, then the reset that forgets everything."""
        self._tick("firmware", "written from the depot's stick", scenario.FIRMWARE)
        self._tick("reset", "factory settings confirmed on the monitor")

    def rekey(self) -> None:
        """Plan the keys back to the target and tick them off."""
        sheet = visit_plan(self._work(), desk=self.stage.desk).sheet
        if sheet is not None:
            fields = sum(len(page.fields) for page in sheet.pages)
            self.stage.tell(
                f"re-key sheet: {fields} settings on {len(sheet.pages)} pages, {sheet.presses} "
                f"key presses, about {sheet.seconds / 60:.0f} minutes"
            )
        self._tick("rekey", "every row of the sheet ticked")

    def compare_as_left(self) -> None:
        """Photograph again, compare, mend what is wrong, photograph those pages once more."""
        target = self.state.target
        values = target.as_dict() if target is not None else {}
        screen = scenario.keyed_screen(self.stage.menu_map, values, mended=False)
        self._round("as left, round 1", screen, None)
        wrong = self._open_items()
        mended = scenario.keyed_screen(self.stage.menu_map, values, mended=True)
        pages = frozenset(self.stage.menu_map.page_of(field).id for field in wrong)
        if pages:
            self._round("as left, round 2", mended, pages)
        if not self.state.is_done("read-left"):
            self._tick("read-left", "nothing open any more")

    def swap_drive(self) -> None:
        """The hold locks the step; the claims desk releases it; then the drive is formatted."""
        try:
            self._tick("drive", "formatted")
        except GateShut as locked:
            self.stage.tell(f"locked: {locked}")
        release_hold(
            ReleaseHold(self.hold_id, scenario.OFFICE, scenario.RELEASE),
            store=self.stage.desk.store,
            clock=self.stage.desk.clock,
        )
        self.stage.tell(f"hold {self.hold_id} released by {scenario.OFFICE}: {scenario.RELEASE}")
        drive = self.vehicle.drive.serial if self.vehicle.drive else ""
        note = "formatted on the recorder, footage of the claim is safe elsewhere"
        self._tick("drive", note, drive=drive)

    def prove(self) -> None:
        """Look at what it recorded: one camera has shown the same picture since it started."""
        expectation = visit_expectation(self.state, self.stage.menu_map)
        stuck = Fault("frozen", from_s=3.0)
        cameras = as_promised(
            expectation, ("road", "dusk", "road", "rain"), {scenario.FROZEN_CHANNEL: (stuck,)}
        )
        start = self.stage.desk.clock.now().replace(microsecond=0)
        folder = self.stage.folder / "footage"
        drive = Drive(self.stage.seed, start, scenario.FOOTAGE_SECONDS, cameras)
        self.stage.tell(f"the bus is driven round the yard; {len(cameras)} cameras record")
        film(drive, folder)
        with self.stage.watch("Looking at recordings") as progress:
            state = visit_prove(
                VisitProve(self.visit, self.stage.menu_map, (folder,), self.by),
                desk=self.stage.desk, tools=self.stage.proving, progress=progress,
            )  # fmt: skip
        if state.proof is not None:
            for recording, finding in state.proof.findings():
                self.stage.tell(
                    f"channel {recording.channel}: {finding.kind.value} from "
                    f"{finding.start_s:.1f} s to {finding.end_s:.1f} s"
                )
        if not self.state.is_done("prove"):
            self._tick("prove", "looked at with the technician's own eyes, too")

    def close(self) -> VisitState:
        """The visit cannot close over a camera that does not record, unless somebody says why."""
        self._hide_secrets()
        request = CloseVisit(self.visit, self.by, "handed to the yard foreman")
        try:
            return close_visit(request, desk=self.stage.desk)
        except GateShut as locked:
            self.stage.tell(f"locked: {locked}")
        override(
            OverrideGate(
                self.visit, "close", "recording-proved", scenario.TECHNICIAN, scenario.OVERRIDE
            ),
            desk=self.stage.desk,
        )
        self.stage.tell(f"override by {scenario.TECHNICIAN}: {scenario.OVERRIDE}")
        return close_visit(request, desk=self.stage.desk)

    def _hide_secrets(self) -> None:
        """The passwords on the photographs are painted over, and the originals deleted."""
        done = hide_secrets(
            HideSecrets(self.visit, self.by), desk=self.stage.desk, pictures=self.stage.painter
        )
        self.stage.tell(f"passwords painted over on {done.painted} photographs")
        for line in done.left:
            self.stage.tell(line)

    def _tick(
        self, step: str, note: str, firmware: str | None = None, drive: str = ""
    ) -> None:  # fmt: skip
        """``drive``: the drive that stays, at a drive step."""
        request = TickStep(
            self.visit, step, self.by, note, firmware, self.stage.menu_map, drive, drive
        )
        tick(request, desk=self.stage.desk)
        self.stage.tell(f"done: {self.stage.procedure.step(step).title} ({note})")

    def _work(self) -> VisitPlan:
        standard = self.stage.fleet.standard(self.stage.menu_map.id)
        fleet = self.stage.fleet
        return VisitPlan(self.visit, self.stage.menu_map, standard, self.vehicle, self.by, fleet)

    def _photograph(
        self, name: str, screen: Mapping[str, str], firmware: str,
        pages: frozenset[str] | None = None,
    ) -> list[Photo]:  # fmt: skip
        session = Session(
            TUNING_THEMES[0], "clean", self.stage.seed, pages=pages, size=scenario.PHOTO_SIZE,
            clock_offset_s=scenario.CLOCK_FOUND_S if name == "as found" else scenario.CLOCK_LEFT_S,
        )  # fmt: skip
        folder = self.stage.folder / "photographs" / name.replace(", ", "-").replace(" ", "-")
        photos = shoot(self.stage.menu_map, screen, firmware, session, folder)
        self.stage.tell(f"{len(photos)} photographs {name}")
        return photos

    def _read(self, name: str, photos: list[Photo], as_left: bool) -> None:
        paths = tuple(photo.path for photo in photos)
        clock = ClockFacts(self.stage.fleet.time_zone)
        request = VisitRead(self.visit, self.stage.menu_map, paths, self.by, as_left, clock)
        with self.stage.watch(f"Reading {name}") as progress:
            visit_read(request, desk=self.stage.desk, tools=self.stage.reading, progress=progress)

    def _settle(self, screen: Mapping[str, str], as_left: bool) -> None:
        """The scripted person looks at the monitor again and says what stands there."""
        state = self.state
        reading = state.rounds[-1].reading if as_left and state.rounds else state.as_found
        settled = state.rounds[-1].settled if as_left and state.rounds else state.settled
        known = {item.id for item in settled}
        for doubt in reading.doubts() if reading is not None else ():
            if doubt.id in known:
                continue
            answer = screen[doubt.id]
            settle(
                Settle(self.visit, self.stage.menu_map, doubt.id, answer, self.by, as_left),
                desk=self.stage.desk,
            )
            field = self.stage.menu_map.field(doubt.id)
            page = self.stage.menu_map.page_of(doubt.id).title
            offered = ", ".join(map(repr, doubt.candidates)) or "nothing"
            self.stage.tell(
                f"{doubt.state.value}: {page}, {doubt.label} ({doubt.reason}); offered {offered}; "
                f"{self.by} looks again and keys {shown(field.type, answer)!r}"
            )

    def _round(self, name: str, screen: Mapping[str, str], pages: frozenset[str] | None) -> None:
        photos = self._photograph(name, screen, scenario.FIRMWARE, pages)
        self._read(name, photos, as_left=True)
        self._settle(screen, as_left=True)
        visit_compare(self._work(), desk=self.stage.desk)
        wrong = self._open_items()
        labels = [
            f"{self.stage.menu_map.page_of(field).title}, {self.stage.menu_map.field(field).label}"
            for field in wrong
        ]
        self.stage.tell(f"{name}: {len(wrong)} open" + "".join(f"; {label}" for label in labels))

    def _open_items(self) -> list[str]:
        difference = self.state.rounds[-1].difference
        return [item.id for item in difference.open_items()] if difference is not None else []
