"""Procedures as data: steps with cautions and gates."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

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
