"""Rules that lead from measured voltages to likely causes: data, read from a file."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ReadingPlace:
    """One reading that can be taken, or one thing that can be known: ``title`` says between what
    and what, ``when`` in which state, ``short`` names it in a line. ``given``: not measured but
    known (a data sheet, the leads). ``system`` 0: on every vehicle, else only on one of so many
    volts."""

    id: str
    title: str
    when: str
    short: str
    given: bool = False
    system: int = 0


@dataclass(frozen=True, slots=True)
class Condition:
    """A voltage, ``of`` less all of ``minus``, against limits.

    ``share_of``: as a share of that reading. ``scaled``: limits are those of a 12 V vehicle and
    twice as much on 24 V. ``either_way``: without its sign. At least one of ``below`` and ``above``
    [V, or 1 of a share].
    """

    of: str
    minus: tuple[str, ...] = ()
    share_of: str = ""
    below: float | None = None
    above: float | None = None
    scaled: bool = True
    either_way: bool = False

    @property
    def readings(self) -> tuple[str, ...]:
        """Every reading that it takes."""
        return (self.of, *self.minus, *((self.share_of,) if self.share_of else ()))


@dataclass(frozen=True, slots=True)
class VoltageRule:
    """When all of ``when`` hold, ``says`` speaks for ``cause`` with ``weight`` (below 0:
    against)."""

    id: str
    cause: str
    when: tuple[Condition, ...]
    weight: int
    says: str
    source: str
    system: int = 0


@dataclass(frozen=True, slots=True)
class VoltageCause:
    """A cause, and what to do next."""

    id: str
    title: str
    advice: str


@dataclass(frozen=True, slots=True)
class VoltageRules:
    """The whole file, each by id in the file's order."""

    readings: dict[str, ReadingPlace]
    causes: dict[str, VoltageCause]
    rules: tuple[VoltageRule, ...]
