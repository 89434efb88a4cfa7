"""Procedures as data: steps with cautions and gates."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from asfound.errors import NotFound

StepKind = Literal[
    "check",  # a person does something and ticks it off
    "read-as-found",
    "settle",
    "firmware",  # firmware written to the recorder: a person reports the new version
    "reset",  # factory reset: destroys settings
    "rekey",
    "read-as-left",
    "drive",  # drive swapped or formatted: destroys footage
    "prove",
    "close",
]

GateKind = Literal[
    "pages-read",  # every page of the map was photographed and read
    "doubts-settled",  # no field is in doubt or unread
    "no-hold",  # no active hold on this vehicle
    "as-left-compared",  # as-left photographs were compared and nothing is open
    "recording-proved",  # a proof was made and its verdict is "records"
    "secrets-hidden",  # no stored photograph shows a password
    "firmware-chosen",  # the catalogue allows the chosen image, and the stick holds it
    "rollout-allows",  # it is this vehicle's turn for the chosen version
    "steps-done",  # all earlier steps are done
]


@dataclass(frozen=True, slots=True)
class Step:
    """One step. ``cautions`` are ids of texts in data/cautions.toml."""

    id: str
    title: str
    text: str
    kind: StepKind
    gates: tuple[GateKind, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Procedure:
    """A named order of steps, e.g. "firmware-and-reset"."""

    id: str
    title: str
    steps: tuple[Step, ...]

    @property
    def changes(self) -> bool:
        """True when a step of it changes the recorder; False for a mere inspection."""
        return any(step.kind in CHANGING for step in self.steps)

    def step(self, step_id: str) -> Step:
        """The step with this id. Raises NotFound."""
        for step in self.steps:
            if step.id == step_id:
                return step
        raise NotFound(
            f"procedure {self.id} has no step {step_id!r}; "
            f"it has {', '.join(step.id for step in self.steps)}"
        )

    def of_kind(self, kind: StepKind) -> Step | None:
        """The first step of this kind; None when there is none."""
        return next((step for step in self.steps if step.kind == kind), None)


CHANGING: frozenset[StepKind] = frozenset({"firmware", "reset", "rekey", "drive"})
"""Kinds of step after which the recorder is no longer as it was found."""

REQUIRED_GATES: dict[StepKind, tuple[GateKind, ...]] = {
    "firmware": ("pages-read", "doubts-settled", "firmware-chosen", "rollout-allows"),
    "reset": ("pages-read", "doubts-settled"),
    "drive": ("no-hold",),
    "close": ("as-left-compared", "recording-proved"),
}
"""Gates that a step of this kind must have, whoever writes the procedure."""
