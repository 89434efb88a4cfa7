"""The clock burned into a recording's pictures: find it once, read it in a few, believe it only
where several pictures bear it out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from asfound.calc.overlay_clock import Course, course, near
from asfound.calc.overlay_place import Place
from asfound.calc.overlay_proof import Rival
from asfound.calc.overlay_text import moment_of
from asfound.jobs.prove_clock_change import with_change
from asfound.jobs.prove_clock_digits import (
    SAMPLES,
    DaysRead,
    best_reading,
    days_of,
    settled_by_samples,
)
from asfound.jobs.prove_clock_looks import (
    Footage,
    Look,
    Spot,
    find,
    read_line,
    sights,
    spot_of,
    take,
)
from asfound.model.burned_clock import DAY_S, BurnedClock, ClockState
from asfound.ports.ocr import Ocr
from asfound.ports.video import Video

CHANGE_S = 1.0
"""A jump is searched for until it lies within this many seconds."""


@dataclass(frozen=True, slots=True)
class _Reader:
    """What more pictures of one clock are taken and read with."""

    footage: Footage
    spot: Spot
    video: Video
    ocr: Ocr

    def more(self, looks: Sequence[Look], seconds: Sequence[float]) -> list[Look]:
        """``looks`` and pictures at ``seconds``, in order; those that are there already once."""
        have = {look.second for look in looks}
        wanted = sorted({second for second in seconds if second >= 0})
        shots = self.video.shots(self.footage.path, self.footage.stream, wanted, key=False)
        new = [
            read_line(shot, self.spot, self.ocr)
            for shot in shots
            if shot.second not in have and not shot.damaged
        ]
        return sorted([*looks, *new], key=lambda look: look.second)


def read_burned_clock(footage: Footage, *, video: Video, ocr: Ocr) -> BurnedClock | None:
    """The clock in the pictures against the file's own seconds; None when there is none.

    Raises RecordingError when the file cannot be opened.
    """
    shots = take(footage, video)
    places = find(shots, ocr)
    if not places:
        return None
    reader = _Reader(footage, spot_of(shots, places, ocr), video, ocr)
    looks = [read_line(shot, reader.spot, ocr) for shot in shots]
    steps = Counter(stamp.step_s for look in looks for stamp in look.stamps)
    if not steps:
        return None
    step = min(steps, key=lambda one: (-steps[one], one))
    looks, found = _followed(reader, looks, step)
    if found is None:
        return _unsettled(looks, places)
    return _settled(reader, looks, found)


def _followed(reader: _Reader, looks: list[Look], step: float) -> tuple[list[Look], Course | None]:
    """How the clock goes; where pictures disagree, more are taken beside them."""
    found = course(sights(looks, step), step)
    agree = found.agree if found is not None else ()
    odd = [at for at, look in enumerate(looks) if look.stamps and at not in agree]
    if odd:
        seconds = [look.second for look in looks]
        beside = {pair for at in odd for pair in ((at - 1, at), (at, at + 1))}
        middles = [
            (seconds[low] + seconds[high]) / 2
            for low, high in beside
            if low >= 0 and high < len(seconds) and seconds[high] - seconds[low] > CHANGE_S
        ]
        ends = [seconds[0] + 0.6, seconds[-1] - 0.6] if {0, len(looks) - 1} & set(odd) else []
        looks = reader.more(looks, [*middles, *ends])
        found = course(sights(looks, step), step)
    if found is not None and found.split is not None:
        looks = _closer(reader, looks, found)
        found = course(sights(looks, step), step) or found
    return looks, found


def _closer(reader: _Reader, looks: list[Look], found: Course) -> list[Look]:
    """More pictures around a change of the clock's course, until it is known closely."""
    split = found.split or 0
    low, high = looks[split - 1].second, looks[split].second
    while high - low > CHANGE_S:
        count = len(looks)
        looks = reader.more(looks, [(low + high) / 2])
        between = [look for look in looks if low < look.second < high]
        if len(looks) == count or not between:
            break
        if _fits_first(between[0], found):
            low = between[0].second
        else:
            high = between[0].second
    return looks


def _fits_first(look: Look, found: Course) -> bool:
    expected = (found.low + found.high) / 2 + found.rate * look.second
    return any(abs(near(s.clock_s, expected) - expected) <= 1.5 for s in look.stamps)


def _settled(reader: _Reader, looks: list[Look], found: Course) -> BurnedClock:
    """The clock as read, once its digits have been held against their rivals."""
    middle = (found.low + found.high) / 2
    whole = near(middle, DAY_S / 2) - middle
    read, rivals = best_reading(looks, found, days_of(looks, found, whole))
    clock_s = near(middle + read.moved.total_seconds(), DAY_S / 2)
    clock = BurnedClock(
        state=found.state,
        text=read.stamp.text,
        box=_box(reader.spot.places),
        clock_s=clock_s,
        within_s=(found.high - found.low) / 2,
        days=tuple(dict.fromkeys(day for _, day in read.days)),
        pictures=len(found.agree),
        looked_at=len(looks),
        rate=found.rate,
    )
    clock = with_change(clock, looks, found, read)
    for rival in rivals:
        if not _told_apart(reader, looks, found, read, rival):
            return _rivalled(clock, rival)
    return clock


def _told_apart(
    reader: _Reader, looks: list[Look], found: Course, read: DaysRead, rival: Rival
) -> bool:
    """True when the clock's own digits rule the rival out; pictures of digits that lack
    samples are taken for it."""
    sure, lacking = settled_by_samples(looks, found, read, rival)
    if not lacking or not found.rate:
        return sure
    looks = reader.more(looks, _when_shown(found, lacking, reader.footage.duration_s))
    step = read.stamp.step_s
    again = course(sights(looks, step), step)
    return again is not None and settled_by_samples(looks, again, read, rival, enlarged=True)[0]


def _when_shown(found: Course, digits: Sequence[str], length: float | None) -> list[float]:
    """Seconds of the file when the last digit of a running clock is one of ``digits``."""
    middle = (found.low + found.high) / 2
    out = []
    for digit in digits:
        first = (int(digit) + 0.5 - middle) % 10
        turns = [first + 10 * turn for turn in range(SAMPLES)]
        out += [second for second in turns if length is None or second < length]
    return out


def _rivalled(clock: BurnedClock, rival: Rival) -> BurnedClock:
    """Two ways to read it. That a clock stands still can be said whatever it says."""
    now = moment_of(clock.clock_s, clock.days[0] if clock.days else None)
    form = "%Y-%m-%d %H:%M:%S" if clock.days else "%H:%M:%S"
    shown, also = (f"{moment:{form}}" for moment in (now, now + rival.shift))
    note = f"the burned-in clock reads {shown} or {also}: a digit cannot be told for sure"
    state = clock.state if clock.state is ClockState.STANDS else ClockState.DOUBTFUL
    return replace(clock, state=state, notes=(*clock.notes, note))


def _unsettled(looks: Sequence[Look], places: Sequence[Place]) -> BurnedClock | None:
    """A clock that stands there and is not borne out; None when too little of it was read."""
    read = [stamp for look in looks for stamp in look.stamps]
    if len(read) < 2:
        return None
    note = "there is a burned-in clock, but its pictures do not agree on what it says"
    return BurnedClock(
        ClockState.DOUBTFUL, read[0].text, _box(places), float(read[0].clock_s), DAY_S / 2, (), 0,
        len(looks), notes=(note,),
    )  # fmt: skip


def _box(places: Sequence[Place]) -> tuple[int, int, int, int]:
    left, top = min(place[0] for place in places), min(place[1] for place in places)
    right, bottom = max(place[2] for place in places), max(place[3] for place in places)
    return left, top, right - left, bottom - top
