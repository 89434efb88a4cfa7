"""What was seen of one row, counted, and the guess that it leads to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from asfound.calc.draft_shapes import mended
from asfound.calc.draft_spelling import Spelling, spellings
from asfound.model.draft import Sample
from asfound.model.kinds import DateLayout, FieldType

OPEN_LENGTH, HOST_LENGTH = 64, 120
"""Characters: how long a text may be cannot be seen, so that a draft allows a long one."""


@dataclass(frozen=True, slots=True)
class Habits:
    """How this recorder's menu writes values, learned from all its pages.

    ``lamps``: switches have a lamp or tick box. ``stepped``: marks stand round every value that
    can be stepped. ``padded``: addresses are filled up with zeros. ``layout``: of dates.
    """

    lamps: bool = False
    stepped: bool = False
    padded: bool = False
    layout: DateLayout | None = None


@dataclass(frozen=True, slots=True)
class Evidence:
    """All that was seen of one row: its label, its values, and the running clocks beside them.
    ``pooled``: values of rows with like labels are among them."""

    label: str
    samples: tuple[Sample, ...]
    clocks: tuple[str, ...] = ()
    pooled: bool = False


@dataclass(frozen=True, slots=True)
class Guess:
    """A type; ``unsure`` names what is not certain ("type", "options", "range", "length"), and
    ``check`` says in one line what to look at. ``volatile``: it runs by itself."""

    type: FieldType
    unsure: tuple[str, ...] = ()
    check: str = ""
    volatile: bool = False


@dataclass(frozen=True, slots=True)
class Seen:
    """The evidence, counted."""

    label: str
    values: tuple[Spelling, ...]
    blanks: int
    lamp: float
    stepped: float
    faded: float
    bar: float
    habits: Habits
    pooled: bool
    clocks: frozenset[str] = field(default_factory=frozenset)

    @property
    def texts(self) -> tuple[str, ...]:
        """The values, most frequent first."""
        return tuple(value.text for value in self.values)

    @property
    def count(self) -> int:
        """How many values were seen in all."""
        return sum(value.count for value in self.values)

    def share(self, fits: Callable[[str], bool]) -> float:
        """The share of the values, by how often they were seen, that fit."""
        return sum(value.count for value in self.values if fits(value.text)) / self.count


def counted(evidence: Evidence, habits: Habits) -> Seen:
    """The evidence with equal values counted together."""
    told = [sample for sample in evidence.samples if sample.text]
    clear = [sample for sample in evidence.samples if not sample.hidden]
    values = spellings([mended(sample.text) for sample in told])
    size = max(len(told), 1)
    return Seen(
        evidence.label,
        values,
        sum(not sample.text and not sample.bar for sample in clear),
        sum(sample.lamp for sample in told) / size,
        sum(sample.stepped for sample in told) / size,
        sum(sample.faded for sample in evidence.samples) / max(len(evidence.samples), 1),
        sum(sample.bar for sample in evidence.samples) / max(len(evidence.samples), 1),
        habits,
        evidence.pooled,
        frozenset(evidence.clocks),
    )
