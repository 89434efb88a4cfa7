"""A visit: the state that its journal adds up to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from asfound.model.coverage import Coverage
from asfound.model.difference import Difference
from asfound.model.fault_found import FaultFound
from asfound.model.finding import Proof
from asfound.model.firmware_choice import (
    NO_RULES,
    NOTHING_UNDER,
    FirmwareChoice,
    FirmwareRules,
    OpenedUnder,
    StickSeen,
)
from asfound.model.fleet import Vehicle
from asfound.model.hold import Hold
from asfound.model.procedure import GateKind, Procedure, Step
from asfound.model.reading import Reading, SecretSpot
from asfound.model.rekey import RekeySheet
from asfound.model.sums import SettingsChecked
from asfound.model.target import Target


@dataclass(frozen=True, slots=True)
class Settled:
    """A doubt that a person settled: the canonical value, who and when. ``unlisted``: the map
    was a draft and did not list the value."""

    id: str
    value: str
    by: str
    at: datetime
    unlisted: bool = False


@dataclass(frozen=True, slots=True)
class Override:
    """A gate passed although it did not hold: who, why and when.

    ``entry`` is its number in the journal: an override does not cover what was found later.
    ``turn``: of ``rollout-allows``, the gravest thing that the rollouts said then.
    """

    step: str
    gate: GateKind
    by: str
    reason: str
    at: datetime
    entry: int = 0
    turn: str = ""


@dataclass(frozen=True, slots=True)
class StepDone:
    """A step ticked off; ``note`` is what the person wrote or the job reported. Of a drive step,
    serial numbers of the drive that came out and the one that went in ("" = not said)."""

    step: str
    by: str
    at: datetime
    note: str = ""
    drive_out: str = ""
    drive_in: str = ""

    @property
    def drives(self) -> str:
        """Which drives, in one line; "" when it was not said."""
        if self.drive_out and self.drive_out == self.drive_in:
            return f"drive {self.drive_out} stayed"
        out = [f"drive {self.drive_out} came out"] if self.drive_out else []
        into = [f"drive {self.drive_in} went in"] if self.drive_in else []
        return ", ".join(out + into)


@dataclass(frozen=True, slots=True)
class Round:
    """One as-left round: the photographs read, the doubts settled, and the comparison.

    ``difference`` is None until it was compared; settling a doubt afterwards clears it.
    ``entry`` is the number of the journal entry that last changed the round.
    """

    reading: Reading
    settled: tuple[Settled, ...] = ()
    difference: Difference | None = None
    at: datetime | None = None
    entry: int = 0


@dataclass(frozen=True, slots=True)
class CoverageTaken:
    """Which hours were on disk, as counted in the visit: by whom and when.

    ``against`` is "ignition" or "schedule" and ``file`` its name; ``paths`` are the places that
    were searched. ``changes``: how many steps that change the recorder were done by then.
    """

    coverage: Coverage
    against: str
    file: str
    paths: tuple[str, ...]
    by: str
    at: datetime
    changes: int = 0


@dataclass(frozen=True, slots=True)
class SecretPicture:
    """A stored photograph that shows, or may show, a password or code; ``spare``: a frame of a
    clip that shows no page and was left out of the reading. ``damaged``: it could not be opened
    whole, so that nothing of it can be kept where it is painted over."""

    sha256: str
    file: str
    page: str | None
    spots: tuple[SecretSpot, ...] = ()
    spare: bool = False
    damaged: bool = False

    @property
    def placed(self) -> bool:
        """True when every place is known that has to be painted over."""
        return all(spot.outline is not None for spot in self.spots)


@dataclass(frozen=True, slots=True)
class HiddenPicture:
    """A photograph whose secrets were painted over: ``old`` is the SHA-256 of the original,
    ``new`` that of the copy that stands for it. ``removed``: the original was deleted."""

    old: str
    new: str
    by: str
    at: datetime
    removed: bool = False


SIGNER_ROLES = ("technician", "operator", "witness")
"""Who may sign: whoever did the work, whoever takes it over, and whoever stood by."""


@dataclass(frozen=True, slots=True)
class Signature:
    """That somebody signed the journal whose last hash was ``head`` and last number ``entry`` - 1.

    ``entry`` is the signature's own number; ``picture`` the SHA-256 of its picture, "" when the
    name alone signs.
    """

    name: str
    role: str
    at: datetime
    head: str
    entry: int
    picture: str = ""


@dataclass(frozen=True, slots=True)
class GateState:
    """One gate of one step: whether it holds, and why it is shut in one line. ``note``: why it
    holds, where that is not plain."""

    gate: GateKind
    holds: bool
    why: str = ""
    overridden: bool = False
    note: str = ""


@dataclass(frozen=True)
class VisitState:
    """Everything about one visit, folded from its journal; ``head`` is the last entry's hash.

    ``holds`` are those on the vehicle: of a closed visit as they were at closing. ``map_blob``
    names the menu map as it was at opening. ``as_found_entry`` and ``proof_entry`` are the
    numbers of the entries that brought the present reading and proof. ``secret_pictures`` still
    show passwords, ``hidden`` no longer do; ``secrets_entry`` brought the last of the former.
    ``coverage``: the last count of hours on disk before and after each change to the recorder.
    ``faults``: those whose cause was found. ``sums``: what they say of the target. ``choice`` and
    ``stick``: the firmware to put on and the stick that holds it; ``rules``: what catalogue and
    rollouts say of them at this moment, ``under``: what there was of these at opening.
    ``images_seen``: SHA-256 of images on sticks that were checked and found as prepared.
    """

    id: str
    vehicle: Vehicle
    fleet: str
    procedure: Procedure
    opened_by: str
    opened_at: datetime
    firmware_found: str
    firmware_left: str
    as_found: Reading | None = None
    settled: tuple[Settled, ...] = ()
    target: Target | None = None
    sheet: RekeySheet | None = None
    rounds: tuple[Round, ...] = ()
    proof: Proof | None = None
    done: tuple[StepDone, ...] = ()
    overrides: tuple[Override, ...] = ()
    holds: tuple[Hold, ...] = ()
    notes: tuple[StepDone, ...] = ()
    closed_by: str | None = None
    closed_at: datetime | None = None
    head: str = ""
    entries: int = 0
    map_blob: str = ""
    as_found_entry: int = 0
    proof_entry: int = 0
    secret_pictures: tuple[SecretPicture, ...] = ()
    hidden: tuple[HiddenPicture, ...] = ()
    secrets_entry: int = 0
    coverage: tuple[CoverageTaken, ...] = ()
    signatures: tuple[Signature, ...] = ()
    faults: tuple[FaultFound, ...] = ()
    sums: SettingsChecked | None = None
    choice: FirmwareChoice | None = None
    stick: StickSeen | None = None
    images_seen: tuple[str, ...] = ()
    under: OpenedUnder = NOTHING_UNDER
    rules: FirmwareRules = NO_RULES

    @property
    def closed(self) -> bool:
        """True when the visit takes no more entries but signatures."""
        return self.closed_at is not None

    def changes_since(self, signature: Signature) -> int:
        """How many entries came after a signature, further signatures left out."""
        later = sum(item.entry > signature.entry for item in self.signatures)
        return self.entries - 1 - signature.entry - later

    def is_done(self, step_id: str) -> bool:
        """True when the step was ticked off."""
        return any(item.step == step_id for item in self.done)

    def current(self) -> Step | None:
        """The first step that is not done; None when all are."""
        for step in self.procedure.steps:
            if not self.is_done(step.id):
                return step
        return None

    def as_found_values(self) -> dict[str, str]:
        """Sure as-found values with settled doubts laid over them."""
        values = self.as_found.sure_values() if self.as_found else {}
        return values | {item.id: item.value for item in self.settled}
