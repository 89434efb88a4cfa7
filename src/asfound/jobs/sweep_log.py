"""One log through filter and sweep: what every setting would have done, along each direction."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from asfound.calc.even_samples import Evener, Floats, Piece, Ticks
from asfound.calc.motion_filters import NO_FILTER, Filter
from asfound.calc.trigger_grid import Settings, Tally, spans_of
from asfound.calc.trigger_sweep import Spans, State
from asfound.model.drive_log import Acceleration, Label
from asfound.model.trigger import Direction
from asfound.ports.sweeps import Sweeps

AHEAD_S = 0.5
"""What a backward filter sees of the samples after a stretch; a channel class forgets sooner."""
STRETCH_S = 4.0
MOST_ROWS = 1 << 16

Blocks = Callable[[], Iterator[Acceleration]]


@dataclass(frozen=True, slots=True, eq=False)
class Mount:
    """``rest_ms2`` (3,) is taken away, then rows of ``axes`` (3, 3) are forward, left and up, or
    whatever ``directions`` makes of them."""

    axes: Floats
    rest_ms2: Floats
    directions: tuple[Direction, ...]


@dataclass(frozen=True, slots=True, eq=False)
class SweepLog:
    """``blocks`` of a log [unit / ``scale`` = m/s²], on ``ticks``; parts end at ``cuts_s``;
    ``labels`` in the order of their beginnings, each wider by ``around_s`` either way."""

    blocks: Blocks
    scale: float
    ticks: Ticks
    mount: Mount
    filter: Filter
    settings: Settings
    both_ways: bool = False
    cuts_s: tuple[float, ...] = ()
    labels: tuple[Label, ...] = ()
    around_s: float = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """What each direction did between two cuts; ``labels`` are the numbers of those in it."""

    tallies: Mapping[Direction, Tally]
    labels: tuple[int, ...]


def sweep_log(request: SweepLog, *, sweeps: Sweeps) -> tuple[Part, ...]:
    """A part between each two cuts, in order; those without samples have 0 hours."""
    run = _Run(request, sweeps)
    evener = Evener(request.ticks)
    for block in request.blocks():
        for begin in range(0, len(block), MOST_ROWS):
            rows = slice(begin, begin + MOST_ROWS)
            for piece in evener.feed(block.times_s[rows], block.xyz_ms2[rows]):
                run.take(piece, _turned(piece.xyz, request.scale, request.mount))
    return run.made()


def _turned(xyz: Floats, scale: float, mount: Mount) -> Floats:
    """(3, n): along each of the mount's axes. Written out: a matrix product may round otherwise in
    blocks of another size."""
    x, y, z = (xyz[:, n] * scale - mount.rest_ms2[n] for n in range(3))
    return np.stack([axis[0] * x + axis[1] * y + axis[2] * z for axis in mount.axes])


@dataclass
class _Forward:
    """A filter that runs on, whatever the blocks."""

    filter: Filter
    sweeps: Sweeps
    memory: list[Floats] = field(default_factory=list)

    def feed(self, y: Floats, fresh: bool) -> Floats:
        """(3, n) filtered."""
        if len(self.filter.sections) == 0:
            return y
        if fresh or not self.memory:
            self.memory = [self.filter.settled() * x[0] for x in y]
        made = np.empty(y.shape)
        for x, memory, out in zip(y, self.memory, made, strict=True):
            self.sweeps.run_sections(x, self.filter.sections, memory, out)
        return made


class Both:
    """Forward, then backward in stretches of their own, counted from where a log begins or goes on
    after a gap: whatever the blocks."""

    def __init__(self, one_way: Filter, rate_hz: float, sweeps: Sweeps) -> None:
        self.forward = _Forward(one_way, sweeps)
        self.stretch = max(1, round(STRETCH_S * rate_hz))
        self.ahead = max(1, round(AHEAD_S * rate_hz))
        self.held = np.empty((3, 0))

    def feed(self, y: Floats, fresh: bool) -> Floats:
        """As many stretches of (3, n) as can be told by now."""
        self.held = np.concatenate([self.held, self.forward.feed(y, fresh)], axis=1)
        made = [np.empty((3, 0))]
        while self.held.shape[1] >= self.stretch + self.ahead:
            made.append(self._back(self.held[:, : self.stretch + self.ahead])[:, : self.stretch])
            self.held = self.held[:, self.stretch :]
        return np.concatenate(made, axis=1)

    def rest(self) -> Floats:
        """What was held, at a gap or the end."""
        held, self.held = self.held, np.empty((3, 0))
        return self._back(held) if held.shape[1] else held

    def _back(self, y: Floats) -> Floats:
        back = _Forward(self.forward.filter, self.forward.sweeps)
        return back.feed(np.ascontiguousarray(y[:, ::-1]), True)[:, ::-1]


class _Run:
    """The state of one log's sweep."""

    def __init__(self, request: SweepLog, sweeps: Sweeps) -> None:
        ticks, settings = request.ticks, request.settings
        self.request, self.sweeps = request, sweeps
        self.needs, self.hold = settings.needs(ticks.rate_hz), settings.hold(ticks.rate_hz)
        self.levels = settings.levels()
        self.cuts = [ticks.number(at) for at in request.cuts_s]
        self.marked, self.numbers = _by_part(request, self.cuts)
        self.parts: list[Part] = []
        self.end = 0
        self.both = Both(request.filter, ticks.rate_hz, sweeps) if request.both_ways else None
        self.once = _Forward(NO_FILTER if request.both_ways else request.filter, sweeps)
        self._begin()

    def _begin(self) -> None:
        at = len(self.parts)
        self.spans: Spans = spans_of(self.marked[at])
        self.states: dict[Direction, State] = {
            direction: self.request.settings.new_state(len(self.marked[at]))
            for direction in self.request.mount.directions
        }
        self.seen = 0

    def take(self, piece: Piece, y: Floats) -> None:
        """Samples along the vehicle's axes (3, n) in place of those of ``piece``."""
        if piece.fresh:
            self._flush()
            self._shut()
            self.end = piece.first
        if self.both is None:
            self._sweep(self.once.feed(y, piece.fresh))
        else:
            self._sweep(self.both.feed(y, piece.fresh))

    def made(self) -> tuple[Part, ...]:
        """All parts, when the log is over."""
        self._flush()
        while len(self.parts) <= len(self.cuts):
            self._part()
        return tuple(self.parts)

    def _flush(self) -> None:
        if self.both is not None:
            self._sweep(self.both.rest())

    def _sweep(self, y: Floats) -> None:
        while y.shape[1]:
            at = len(self.parts)
            room = self.cuts[at] - self.end if at < len(self.cuts) else y.shape[1]
            if room <= 0:
                self._part()
                continue
            now, y = y[:, :room], y[:, room:]
            for direction, state in self.states.items():
                along = np.ascontiguousarray(_along(direction, now))
                self.sweeps.sweep(
                    along, self.end, self.levels, self.needs, self.hold, state, self.spans
                )
            self.end += now.shape[1]
            self.seen += now.shape[1]

    def _shut(self) -> None:
        for state in self.states.values():
            self.sweeps.shut(self.end, self.needs, self.hold, state, self.spans)

    def _part(self) -> None:
        self._shut()
        hours = self.seen / self.request.ticks.rate_hz / 3600
        tallies = {direction: Tally.of(state, hours) for direction, state in self.states.items()}
        self.parts.append(Part(tallies, tuple(self.numbers[len(self.parts)])))
        if len(self.parts) <= len(self.cuts):
            self._begin()


def _along(direction: Direction, y: Floats) -> Floats:
    if direction is Direction.LEVEL:
        return np.asarray(np.hypot(y[0], y[1]))
    if direction is Direction.TOTAL:
        return np.asarray(np.sqrt((y * y).sum(axis=0)))
    return np.asarray(
        y[(Direction.FORWARD, Direction.SIDEWAYS, Direction.UPRIGHT).index(direction)]
    )


def _by_part(
    request: SweepLog, cuts: Sequence[int]
) -> tuple[list[list[tuple[int, int]]], list[list[int]]]:
    """Marked spans of each part, in samples, and the numbers of their labels."""
    ticks = request.ticks
    marked: list[list[tuple[int, int]]] = [[] for _ in range(len(cuts) + 1)]
    numbers: list[list[int]] = [[] for _ in range(len(cuts) + 1)]
    for number, label in enumerate(request.labels):
        first = ticks.number(label.start_s - request.around_s)
        last = ticks.number(label.end_s + request.around_s)
        part = int(np.searchsorted(np.array(cuts), ticks.number(label.start_s), side="right"))
        marked[part].append((first, last))
        numbers[part].append(number)
    return marked, numbers
