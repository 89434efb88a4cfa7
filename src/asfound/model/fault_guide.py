"""A fault guide: causes, symptoms and checks, and how often which goes with which."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from asfound.errors import NotFound

OTHER = "something-else"
"""The cause that every guide has: none of those listed."""
UNCLEAR = "could-not-tell"
"""The outcome that every check has: it says nothing, and is passed over."""
YES, NO = "yes", "no"
"""The outcomes of a symptom."""


@dataclass(frozen=True, slots=True)
class Cause:
    """One root cause. ``share`` [1] of the faults met, all causes together 1; ``minutes`` to repair
    it and see that it helped; ``cautions``: ids of texts in data/cautions.toml."""

    id: str
    title: str
    share: float
    minutes: float
    repair: str
    cautions: tuple[str, ...] = ()
    source: str = ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a check can show."""

    id: str
    title: str


@dataclass(frozen=True, slots=True)
class Question:
    """A check, or a symptom (whose outcomes are YES and NO).

    ``minutes`` where it is done, ways and tools apart; ``place`` and ``tools`` are ids of the guide
    ("": anywhere). ``usual``: chance [1] of each outcome for a cause that ``given`` does not name.
    """

    id: str
    title: str
    how: str
    minutes: float
    place: str
    tools: tuple[str, ...]
    outcomes: tuple[Outcome, ...]
    usual: tuple[float, ...]
    given: Mapping[str, tuple[float, ...]]
    cautions: tuple[str, ...] = ()
    source: str = ""

    @property
    def is_symptom(self) -> bool:
        """Whether it is a symptom: there or not there."""
        return tuple(item.id for item in self.outcomes) == (YES, NO)

    def row(self, cause: str) -> tuple[float, ...]:
        """Chance [1] of each outcome when ``cause`` it is."""
        return self.given.get(cause, self.usual)

    def index(self, outcome: str) -> int:
        """The number of an outcome. Raises NotFound."""
        for number, item in enumerate(self.outcomes):
            if item.id == outcome:
                return number
        known = ", ".join((*(item.id for item in self.outcomes), UNCLEAR))
        raise NotFound(f"{self.id} has no outcome {outcome!r}; it has {known}")

    def told(self, outcome: str) -> str:
        """An outcome in words. Raises NotFound."""
        return "could not tell" if outcome == UNCLEAR else self.outcomes[self.index(outcome)].title


@dataclass(frozen=True, slots=True)
class Reach:
    """A place or a tool, and the minutes that it takes to get there or to fetch it."""

    id: str
    title: str
    minutes: float


@dataclass(frozen=True)
class FaultGuide:
    """Everything that is known of faults before the first closed visit.

    ``visits`` and ``trials``: how many visits the shares of causes weigh, and how many trials the
    chances of outcomes weigh, against what is counted. The last cause is OTHER.
    """

    id: str
    title: str
    source: str
    visits: float
    trials: float
    causes: tuple[Cause, ...]
    symptoms: tuple[Question, ...]
    checks: tuple[Question, ...]
    places: tuple[Reach, ...] = ()
    tools: tuple[Reach, ...] = ()
    _at: Mapping[str, Question] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        known = {item.id: item for item in (*self.symptoms, *self.checks)}
        object.__setattr__(self, "_at", known)

    @property
    def questions(self) -> tuple[Question, ...]:
        """Symptoms, then checks."""
        return (*self.symptoms, *self.checks)

    def has(self, question: str) -> bool:
        """Whether a symptom or check has this id."""
        return question in self._at

    def question(self, question: str) -> Question:
        """A symptom or check by its id. Raises NotFound."""
        if question not in self._at:
            raise NotFound(f"no symptom or check {question!r}; `asfound fault list` shows them")
        return self._at[question]

    def cause(self, cause: str) -> Cause:
        """A cause by its id. Raises NotFound."""
        for item in self.causes:
            if item.id == cause:
                return item
        raise NotFound(f"no cause {cause!r}; `asfound fault list` shows them")

    def minutes_for(self, question: Question, place: str, tools: Collection[str]) -> float:
        """Minutes of a check for somebody at ``place`` with ``tools`` at hand, ways and fetching
        counted."""
        way = {item.id: item.minutes for item in self.places}
        fetch = {item.id: item.minutes for item in self.tools}
        there = 0.0 if question.place in ("", place) else way[question.place]
        return question.minutes + there + sum(fetch[t] for t in question.tools if t not in tools)
