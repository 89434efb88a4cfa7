"""Which firmware a visit is to put on, what its stick holds, and what the fleet's rules say now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


@dataclass(frozen=True, slots=True)
class ChosenStep:
    """One image of the way: ``version`` over ``over``; ``size`` [byte]; ``sha256`` 64 figures."""

    version: str
    over: str
    file: str
    size: int
    sha256: str
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FirmwareChoice:
    """What somebody chose: ``to`` over ``installed``, by way of ``path`` (empty: stay).

    ``asked``: the version that was asked for ("": the newest). ``catalogue``: SHA-256 of its file
    ("": there is none, and nothing was checked). ``refused``: why it must not be put on, or "".
    ``entry`` is the number of its journal entry.
    """

    installed: str
    to: str
    hardware: str
    path: tuple[ChosenStep, ...] = ()
    asked: str = ""
    catalogue: str = ""
    refused: str = ""
    findings: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    by: str = ""
    at: datetime | None = None
    entry: int = 0

    @property
    def versions(self) -> tuple[str, ...]:
        """Versions that the recorder shows on the way, the last one at its end."""
        return tuple(step.version for step in self.path) or (self.to,)


@dataclass(frozen=True, slots=True)
class StickSeen:
    """A stick as it was checked in the visit: ``verdict`` of model.stick.StickVerdict, ``sha256``
    of its image as read ("": none); ``prepared`` and ``by`` from its slip; ``notes``: findings."""

    verdict: str
    image: str
    sha256: str
    prepared: str = ""
    prepared_by: str = ""
    notes: tuple[str, ...] = ()
    by: str = ""
    at: datetime | None = None
    entry: int = 0


class Turn(StrEnum):
    """Whether a rollout lets a vehicle have its version, the gravest last."""

    OPEN = "open"
    NOT_BEGUN = "not-begun"
    NOT_ITS_TURN = "not-its-turn"
    HELD = "held"
    UNTOLD = "could-not-tell"
    STOPPED = "stopped"

    @property
    def gravity(self) -> int:
        """Larger is graver."""
        return list(Turn).index(self)


@dataclass(frozen=True, slots=True)
class RolloutTurn:
    """What one rollout says of a vehicle and its target version, and why."""

    rollout: str
    target: str
    turn: Turn
    why: str


@dataclass(frozen=True, slots=True)
class FirmwareRules:
    """What catalogue and rollouts say of a visit's choice at this moment.

    ``catalogue``: SHA-256 of its file, "" while there is none. ``choice_fault``: why the choice
    does not stand any more. ``rollouts``: ids of those for this recorder model. ``turns``: of
    those that concern the chosen versions. ``…_fault``: why a file could not be read, or "".
    """

    catalogue: str = ""
    catalogue_fault: str = ""
    choice_fault: str = ""
    rollouts: tuple[str, ...] = ()
    rollout_fault: str = ""
    turns: tuple[RolloutTurn, ...] = ()


NO_RULES = FirmwareRules()
"""No catalogue and no rollouts here."""


UNREADABLE = "unreadable"
"""Stands for what was there and could not be read."""


@dataclass(frozen=True, slots=True)
class OpenedUnder:
    """What was there when a visit was opened: SHA-256 of the catalogue, ids of rollouts for its
    recorder model."""

    catalogue: str = ""
    rollouts: tuple[str, ...] = ()


NOTHING_UNDER = OpenedUnder()
"""A visit that was opened without catalogue and rollouts."""
