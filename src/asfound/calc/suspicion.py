"""Where pictures have to be decoded: what packet sizes and key pictures alone cannot settle.

A picture that repeats the one before takes next to nothing in the file: black, one colour, a stuck
or a strongly compressed still picture show in the sizes before anything is decoded. Limits were
chosen on own coding trials (docs/proof.md): between live key pictures of H.264, H.265 and MPEG-4
part 2 the median picture of a moving scene took 3 to 25 % of its key picture's bytes, that of a
stuck one 0.1 to 1.2 %.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asfound.calc.still_pairs import Tells
from asfound.calc.stillness import KEY_CHANGE

QUIET_SHARE = 0.015
"""A picture of at most this share of its key picture's bytes repeats the one before."""
QUIET_BYTES = 64
"""... and so does one of at most so many bytes: headers alone take about 30."""
SKIPPED_BYTES = 0.15
"""Bytes that a repeated 16 x 16 block takes in codecs that code each (MPEG-4 part 2: one bit)."""
MENDING, MENDING_S = 2, 0.6
"""Pictures after a key picture may be large for so long though nothing changes, the first so many
of any size: a coder mends a coarse key picture."""
BURST_SHARE = 0.6
"""A picture of this share of its key picture's bytes shows another scene."""
STEADY_SHARE = 0.05
"""Pictures of one stuck source, each coded by itself, differ by no more in size."""
WINDOW_S = 0.6
"""Sizes are judged by their median over this long: a burned-in clock changes once a second."""
SUSPECT_S = 1.5
"""Quiet for this long is looked at; faults last 2 s."""
SOME_S = 0.5
"""Quiet for this long makes the key pictures on either side worth decoding."""
ONSET_S = 0.6
"""How a scene came to stand still shows in so many seconds before and after."""
LONG_GROUP_S = 4.5
"""Between key pictures farther apart than this everything is decoded."""
STILL_KEYS_S = 2.0
"""While a scene stands still and sizes show nothing, a key picture is decoded this often."""
KEYS_ALIKE = 1.1
"""Key pictures of one still scene differ by no more than this factor in size."""
NEW_SHARE = 0.02
"""A picture that leans on earlier and later ones and takes this share of its key picture's bytes
shows something new (own trials at constant bit rate: live 2.6 to 25 %, stuck 0.5 to 0.7 %)."""
SPENDS = 3.5
"""A group's pictures take on average so many times what the median one does, which leans on both
sides: in own trials at constant bit rate 3.8 to 29 where one picture is refined, still scenes that
are alive 0.8 to 2.7, once 4."""
RATE_CHANGE = 2.0
"""Pictures that take this many times more or less than before: the scene is another one."""


@dataclass(frozen=True, slots=True)
class Traits:
    """One group by its packets: when it begins and ends [s], how long it is quiet from its start,
    to its end and at longest [s], whether all of it is, the bytes of its median picture and of
    its key picture. ``burst``: a picture inside its quiet end takes more than quiet ones do;
    ``late_bytes``: mean bytes of the pictures of its last third; ``both_ways``: median bytes of
    those of them that are shown before one that comes earlier in the file (0: few or none);
    ``mean``: mean bytes of all but the key picture.

    Where every picture is a key picture (``intra``) nothing is quiet; ``steady`` then says that
    all its pictures are of one size, as a stuck one's are."""

    start_s: float
    end_s: float
    lead_s: float
    tail_s: float
    longest_s: float
    whole: bool
    typical: float
    key_bytes: int = 0
    intra: bool = False
    steady: bool = False
    burst: bool = False
    late_bytes: float = 0.0
    both_ways: float = 0.0
    mean: float = 0.0

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return self.end_s - self.start_s


@dataclass(frozen=True, slots=True)
class Key:
    """A group's key picture. ``decoded``: it was; then ``empty`` is 1 where it is black, 2 where
    it is one colour, else 0. ``beside``: the key picture before was decoded as well; then
    ``change`` is the mean difference to it [code values] and ``tells`` what the two tell."""

    decoded: bool
    empty: int = 0
    beside: bool = False
    change: float = np.inf
    tells: Tells = Tells.NOTHING

    @property
    def similar(self) -> bool:
        """It may show the same still scene as the key picture before."""
        return self.beside and (self.change <= KEY_CHANGE or self.tells is Tells.STUCK)

    @property
    def may_be_stuck(self) -> bool:
        """It shows the same still scene, and nothing tells that the scene is alive."""
        return self.similar and self.tells is not Tells.ALIVE


@dataclass(frozen=True, slots=True)
class Seen:
    """A group with its key picture; ``suspect``: it may be damaged, or its key did not decode;
    ``regular``: the next key picture comes when it is due, not because the scene changed;
    ``fell``: its pictures take much less room than those of the group before; ``known``: sizes
    tell all of it; ``vouched``: pictures like these were seen to carry new noise not long ago."""

    traits: Traits
    key: Key
    suspect: bool
    regular: bool = False
    fell: bool = False
    known: bool = False
    vouched: bool = False

    @property
    def begins_quiet(self) -> bool:
        """It moves, then repeats one picture up to a next key picture of the same scene."""
        return self.regular and self.traits.lead_s == 0.0 < self.traits.tail_s

    @property
    def ends_quiet(self) -> bool:
        """It repeats its key picture, then moves."""
        return self.traits.tail_s == 0.0 < self.traits.lead_s == self.traits.longest_s


def quiet_bytes(key_bytes: int, blocks: int) -> float:
    """Most bytes of a picture that repeats the one before; ``blocks`` of 16 x 16 are coded each
    by itself (0: runs of repeated blocks cost nothing)."""
    return max(QUIET_SHARE * key_bytes, QUIET_BYTES, SKIPPED_BYTES * blocks)


def traits_of(
    seconds: NDArray[np.float64], sizes: NDArray[np.int64], keys: int, end_s: float, blocks: int
) -> Traits:
    """Traits of a group; ``seconds`` and ``sizes`` (n) in order of decoding, the key first;
    ``keys`` of the n pictures are key pictures."""
    start, key = float(seconds[0]), int(sizes[0])
    others = sizes[1:].astype(np.float64)
    typical = float(np.median(others)) if len(others) else float(sizes[0])
    if keys > 1 and 2 * keys > len(sizes):
        steady = float(sizes.max() - sizes.min()) <= STEADY_SHARE * typical
        return Traits(start, end_s, 0.0, 0.0, 0.0, False, typical, key, True, steady)
    if len(others) < 3:
        return Traits(start, end_s, 0.0, 0.0, 0.0, False, typical, key)
    times = np.append(np.sort(seconds)[1:], end_s)
    step = max((end_s - start) / len(sizes), 1e-3)
    width = min(len(others), max(3, round(WINDOW_S / step))) | 1
    edge = np.ones(width // 2)
    padded = np.concatenate((edge * others[0], others, edge * others[-1]))
    windows = np.lib.stride_tricks.sliding_window_view(padded, width)
    # The middle one of an odd number: as np.median, many times faster.
    smooth = np.partition(windows, width // 2, axis=1)[:, width // 2]
    limit = quiet_bytes(key, blocks)
    quiet = (smooth <= limit) & (others < BURST_SHARE * key)
    _let_mend(quiet, others >= BURST_SHARE * key, step)
    late = float(others[-max(1, len(others) // 3) :].mean())
    both_ways, mean = _both_ways(seconds, sizes), float(others.mean())
    if quiet.all():
        length = end_s - start
        return Traits(
            start, end_s, length, length, length, True, typical, key,
            burst=bool((others[MENDING:] > limit).any()), late_bytes=late, both_ways=both_ways,
            mean=mean,
        )  # fmt: skip
    loud = np.flatnonzero(~quiet)
    lead = float(times[loud[0]] - start) if loud[0] else 0.0
    tail = float(end_s - times[loud[-1] + 1]) if loud[-1] + 1 < len(quiet) else 0.0
    between = times[loud[1:]] - times[loud[:-1] + 1]
    longest = max(lead, tail, float(between.max(initial=0.0)))
    inside = others[loud[-1] + 1 + MENDING :]
    return Traits(
        start, end_s, lead, tail, longest, False, typical, key,
        burst=bool((inside > limit).any()), late_bytes=late, both_ways=both_ways, mean=mean,
    )  # fmt: skip


def _both_ways(seconds: NDArray[np.float64], sizes: NDArray[np.int64]) -> float:
    """Median bytes of pictures that lean on earlier and later ones, in a group's last third."""
    ahead = seconds < np.maximum.accumulate(seconds)
    late = np.arange(len(sizes)) >= len(sizes) * 2 // 3
    chosen = sizes[ahead & late]
    return float(np.median(chosen)) if 3 * len(chosen) >= late.sum() else 0.0


def _let_mend(quiet: NDArray[np.bool_], bursts: NDArray[np.bool_], step: float) -> None:
    """Count as quiet what the coder mends after the key picture, if it is quiet from there on."""
    loud = int(np.argmax(quiet)) if quiet.any() else len(quiet)
    again = np.flatnonzero(~quiet[loud:])
    lasts = int(again[0]) if len(again) else len(quiet) - loud
    mends = loud * step <= MENDING_S + step / 2 and not bursts[MENDING:loud].any()
    if mends and lasts > 2 * loud:
        quiet[:loud] = True


def key_wanted(before: Seen | None, traits: Traits, since_s: float, most_s: float) -> bool:
    """Should a group's key picture be decoded? ``before``: the group before it; ``since_s``:
    seconds since the last key picture that was decoded, ``most_s`` of them are let pass."""
    if before is None or since_s >= most_s or traits.intra:
        return True
    if before.key.empty or before.key.may_be_stuck or before.fell:
        return True
    small, large = sorted((before.traits.key_bytes, traits.key_bytes))
    alike = large <= KEYS_ALIKE * small
    if alike and before.key.similar and before.traits.whole and traits.whole:
        return since_s >= STILL_KEYS_S  # parked and alive until now
    noisy = carries_noise(before.traits, traits.key_bytes)
    noisy = noisy and carries_noise(traits, before.traits.key_bytes)
    if max(before.traits.longest_s, traits.longest_s) >= (SUSPECT_S if noisy else SOME_S):
        return True
    low, high = sorted((before.traits.typical, traits.typical))
    return high > RATE_CHANGE * low


def falls(before: Traits, traits: Traits) -> bool:
    """Do pictures take much less room than those of the group before?"""
    return traits.typical * RATE_CHANGE < before.typical


def carries_noise(between: Traits, next_bytes: int) -> bool:
    """Do sizes show already that pictures differ? What lies between two pictures of one stuck
    source, and leans on both, has nothing new in it. ``next_bytes``: of the next key picture."""
    new = between.both_ways >= NEW_SHARE * max(between.key_bytes, next_bytes)
    return new and not refines(between)


def refines(between: Traits) -> bool:
    """Do sizes look as if one picture was refined: what leans on one side takes room, what leans
    on both has nothing new? Key pictures that differ are no sign of life then."""
    spends = between.late_bytes >= QUIET_SHARE * between.key_bytes
    return spends and between.both_ways > 0 and between.mean >= SPENDS * between.typical


def need(groups: Sequence[Seen], at: int, quiet_before_s: float) -> bool:
    """Whether what lies between key picture ``at`` and the next has to be decoded.

    ``groups``: a few in a row, at least one on either side and two after ``at`` where there are
    any; ``quiet_before_s``: how long it was quiet right before it.
    """
    this = groups[at]
    following = groups[at + 1] if at + 1 < len(groups) else None
    if this.suspect or this.traits.seconds > LONG_GROUP_S:
        return True
    if this.known:
        return False
    if this.key.empty or (following is not None and following.key.empty):
        return _need_of_empty(this, following)
    if refines(this.traits) and not this.vouched:
        return True
    if following is not None and following.key.similar:
        return _need_of_still(groups, at)
    return _need_of_other(groups, at, quiet_before_s)


def _need_of_empty(this: Seen, following: Seen | None) -> bool:
    """Black or one colour at its start, its end, or both."""
    quiet = this.traits.whole
    after = 0 if following is None else following.key.empty
    if this.key.empty and after in (0, this.key.empty):
        return not (quiet or (after == 0 and this.ends_quiet))
    if not this.key.empty and following is not None:
        # A key picture out of turn marks the change itself.
        begins = this.begins_quiet and not this.traits.burst
        sharp = this.traits.tail_s == 0.0 or begins or not this.regular
        return not (sharp and following.traits.whole and not this.traits.whole)
    return True


def _need_of_still(groups: Sequence[Seen], at: int) -> bool:
    """Between two key pictures of one still scene."""
    traits, tells = groups[at].traits, groups[at + 1].key.tells
    if traits.whole:
        before = groups[at - 1].traits if at else None
        fresh = before is not None and not before.whole and before.tail_s < ONSET_S
        later = groups[at + 2].key if at + 2 < len(groups) else None
        lives = later is not None and later.similar and later.tells is Tells.ALIVE
        # A key picture out of turn ends another scene, which may have begun within.
        return not groups[at].regular or (fresh and tells is Tells.NOTHING and not lives)
    if tells is Tells.ALIVE or (tells is Tells.NOTHING and groups[at].vouched):
        beside = [groups[at].key, *(group.key for group in groups[at + 2 : at + 3])]
        edge = any(key.may_be_stuck for key in beside) and traits.longest_s > 0
        return edge or traits.longest_s >= SUSPECT_S
    return tells is not Tells.STUCK or not traits.steady


def _need_of_other(groups: Sequence[Seen], at: int, quiet_before_s: float) -> bool:
    """Between two key pictures that differ, or of which one was not decoded."""
    this = groups[at]
    following = groups[at + 1] if at + 1 < len(groups) else None
    later = groups[at + 2] if at + 2 < len(groups) else None
    # That key pictures of two scenes differ tells nothing.
    told_before = this.key.tells if this.key.similar else Tells.NOTHING
    told_after = later.key.tells if later is not None and later.key.similar else Tells.NOTHING
    traits = this.traits
    if traits.whole and following is not None and not following.key.decoded:
        return False  # key_wanted let it pass: alive until now, and still
    if following is None and traits.whole:
        return this.key.decoded and not this.key.similar
    if told_after is Tells.STUCK and this.begins_quiet and not this.key.may_be_stuck:
        return not groups[at + 1].traits.whole  # sizes tell where it begins
    if told_before is Tells.STUCK and this.ends_quiet and told_after is not Tells.STUCK:
        return False  # ... and where it ends
    if this.key.may_be_stuck or (later is not None and later.key.may_be_stuck):
        return True  # it begins or ends in here
    if traits.whole:
        return True
    if traits.longest_s >= SUSPECT_S:
        return True
    if _still_ends(groups, at, quiet_before_s) and told_before is not Tells.ALIVE:
        return True
    # A scene that is alive right after it came to rest was not stuck before.
    return _still_begins(groups, at) and told_after is not Tells.ALIVE


def _still_ends(groups: Sequence[Seen], at: int, quiet_before_s: float) -> bool:
    """Was it quiet for long, up to soon after its start?"""
    this = groups[at]
    if at and groups[at - 1].key.empty and groups[at - 1].traits.whole:
        quiet_before_s = 0.0  # that was one colour
    return this.traits.lead_s > 0 and quiet_before_s + this.traits.lead_s >= SUSPECT_S


def _still_begins(groups: Sequence[Seen], at: int) -> bool:
    """Is it quiet for long, from soon before its end?"""
    following, later = (groups[n] if n < len(groups) else None for n in (at + 1, at + 2))
    ahead = _quiet_from(groups, at + 1)
    if following is not None and later is not None and following.traits.burst and later.key.empty:
        ahead = 0.0  # one colour comes with the burst
    begins = groups[at].traits.tail_s + ahead >= SUSPECT_S and ahead > 0
    if following is not None and _early(following.traits):
        # How it came to stand still shows in the last pictures before the key picture.
        begins |= following.traits.tail_s + _quiet_from(groups, at + 2) >= SUSPECT_S
    return begins


def _early(traits: Traits) -> bool:
    """Does it turn quiet soon after its start?"""
    return not traits.whole and 0 < traits.tail_s >= traits.seconds - ONSET_S


def _quiet_from(groups: Sequence[Seen], at: int) -> float:
    """Seconds that are quiet from the start of group ``at`` on."""
    total = 0.0
    for group in groups[at:]:
        total += group.traits.lead_s
        if not group.traits.whole:
            break
    return total
