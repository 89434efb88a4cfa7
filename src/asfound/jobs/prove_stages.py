"""One stream in stages: packets first, then key pictures, then only what looks suspicious."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from asfound.calc.new_noise import (
    Between,
    Vouched,
    between_tell,
    lives_on,
    probe_wanted,
    refined_only,
    vouched_by,
)
from asfound.calc.picture_faults import (
    BAND,
    Sampler,
    Samples,
    empty_pictures,
    one_colour_share,
)
from asfound.calc.sample_pieces import joined
from asfound.calc.scene_edges import change_by_sizes, starts_anew, stays
from asfound.calc.standstill import rests_at_first
from asfound.calc.still_pairs import Tells, pair_tells
from asfound.calc.stillness import KEY_CHANGE
from asfound.calc.suspicion import (
    Key,
    Seen,
    Traits,
    carries_noise,
    falls,
    key_wanted,
    need,
    refines,
    traits_of,
)
from asfound.calc.timelines import Stands
from asfound.errors import RecordingError
from asfound.jobs.prove_gathered import PULSE, SAMPLE_S, Gathered, Way, take_sample
from asfound.ports.video import Frame, Group, StreamFacts

KEYS_APART_S = 4.0
"""While sizes show nothing, a key picture is decoded at least this often [s]."""
LIVE_CHANGE = 0.3
"""New noise makes key pictures of a live scene differ at least by so much [code values] (own
trials: 0.37 and more)."""
REGULAR = 0.95
"""A key picture that comes earlier, as a share of the longest interval, marks another scene."""
OVERDUE = 1.3
"""A key picture that comes so much later than any before it: one between may be damaged."""
MAYBE_EMPTY = 0.7
"""Share of the area within one colour's tolerance from which a picture may be empty."""
BLOCKWISE = frozenset({"mpeg4", "mpeg2video", "mpeg1video", "h263", "msmpeg4v3"})
"""Codecs in which each repeated 16 x 16 block takes room."""


@dataclass(slots=True)
class _Held:
    """A group in reach, its key picture's frame, and what is known of both."""

    group: Group
    looked: Seen
    frame: Frame | None = None
    quiet_before_s: float = 0.0
    between: Samples | None = None


class Stages:
    """Goes through the groups with a few of them in reach."""

    def __init__(self, stream: StreamFacts, way: Way, decode: bool) -> None:
        self.out = Gathered()
        self._way = way
        self._decode = decode
        blocks = -(-stream.width // 16) * -(-stream.height // 16)
        self._blocks = blocks if stream.codec in BLOCKWISE else 0
        self._sampler = Sampler()
        self._holds: list[bool] = []
        self._leads: list[float] = []
        self._trails: list[float] = []
        self._last: Frame | None = None
        self._usual_s = self._longest_s = 0.0
        self._shown_s = -KEYS_APART_S
        self._vouched: Vouched | None = None
        self._scene_bytes = 0
        self._told: list[Between] = []
        self._life_wanted = False
        self._keys = 0
        self._held: list[_Held] = []
        self._pieces: list[Samples] = []

    @property
    def seen(self) -> bool:
        """Has any picture been decoded?"""
        return self.out.decoded > 0

    def take(self, groups: Iterable[Group]) -> None:
        """Look at every group. Raises LongGroup."""
        try:
            for number, group in enumerate(groups):
                self._note(group)
                if self._decode:
                    self._take(group)
                if number % PULSE == 0:
                    self._way.pulse()
        except RecordingError as error:
            self.out.broke = str(error)
        if self._decode:
            for at in range(max(0, len(self._held) - 2), len(self._held)):
                self._settle(at)

    def _note(self, group: Group) -> None:
        out = self.out
        if group.jumped:
            out.jumps.append((float(group.seconds[0]), group.jumped))
        if group.next_s is not None:
            out.key_intervals.append((group.next_s - float(group.seconds[0])) / group.keys)
        out.pictures += len(group.seconds)
        out.last_s = max(out.last_s, float(group.seconds.max()))
        out.seconds.extend(np.sort(group.seconds).tolist())
        out.size_bytes += group.size_bytes

    def _take(self, group: Group) -> None:
        end = group.next_s
        if end is None:
            seconds = np.sort(group.seconds)
            step = float(np.median(np.diff(seconds))) if len(seconds) > 1 else 0.0
            end = float(seconds[-1]) + step
        traits = traits_of(group.seconds, group.sizes, group.keys, end, self._blocks)
        self._usual_s = max(self._usual_s, traits.seconds)
        regular = traits.seconds >= REGULAR * self._usual_s
        overdue = len(self._held) > 2 and traits.seconds >= OVERDUE * self._longest_s
        if overdue and starts_anew(group.seconds, group.sizes, end, self._longest_s):
            overdue = False
        else:
            self._longest_s = max(self._longest_s, traits.seconds)
        held = _Held(group, Seen(traits, Key(False), bool(group.suspect) or overdue, regular))
        before = self._held[-1] if self._held else None
        if before is not None:
            past = before.looked.traits
            held.looked = replace(held.looked, fell=falls(past, traits))
            whole = past.whole and past.seconds + before.quiet_before_s
            held.quiet_before_s = whole or past.tail_s
        self._held.append(held)
        since = traits.start_s - (self._last.second if self._last is not None else -1e9)
        look = None if before is None else before.looked
        # One picture's length is let pass, so that a key each 2 s is decoded each 4 s.
        if held.looked.suspect or key_wanted(look, traits, since + 0.1, KEYS_APART_S):
            self._key(held, before)
        if len(self._held) > 2:
            self._settle(len(self._held) - 3)
        if len(self._held) > 3:
            del self._held[0]

    def _key(self, held: _Held, before: _Held | None) -> None:
        """Decode a group's key picture; the one before it too, if this may need it."""
        frame = held.group.key()
        self.out.decoded += 1
        if frame is None or frame.damaged:
            held.looked = replace(held.looked, suspect=True)
            if frame is None:
                return
        skipped = before is not None and not before.looked.key.decoded
        skipped = skipped and not self._still_since() and not self._noisy_since()
        if skipped and before is not None and self._may_matter(frame):
            earlier = before.group.key()
            self.out.decoded += 1
            if earlier is not None:
                self._add(before, earlier, beside=False)
        beside = before is not None and (before.looked.key.decoded or self._still_since())
        self._add(held, frame, beside)

    def _still_since(self) -> bool:
        """Has nothing changed, as sizes say, since the key picture that was decoded last?"""
        past = [held.looked for held in self._held[:-1]]
        at = max((at for at, look in enumerate(past) if look.key.decoded), default=-1)
        return at >= 0 and all(look.traits.whole for look in past[at:])

    def _noisy_since(self) -> bool:
        """Do sizes show new noise in everything since the key picture that was decoded last?"""
        past = [held.looked for held in self._held]
        at = max((at for at, look in enumerate(past[:-1]) if look.key.decoded), default=-1)
        return at >= 0 and all(
            carries_noise(one.traits, other.traits.key_bytes) for one, other in pairwise(past[at:])
        )

    def _may_matter(self, frame: Frame) -> bool:
        """It is empty, or it looks like the last key picture that was decoded."""
        if one_colour_share(frame.luma, None) >= MAYBE_EMPTY:
            return True
        last = self._last
        if last is None or last.luma.shape != frame.luma.shape:
            return False
        apart = np.abs(frame.luma.astype(np.int16) - last.luma.astype(np.int16)).mean()
        return bool(apart <= KEY_CHANGE)

    def _add(self, held: _Held, frame: Frame, beside: bool) -> None:
        take_sample(self._sampler, frame)
        self._keys += 1
        latest = self._sampler.samples(frame.second, latest=2)
        empty = int(empty_pictures(latest)[-1])
        change, tells = np.inf, Tells.NOTHING
        if beside and len(latest.second) == 2:
            change = float(latest.key_step[-1].astype(np.float32).mean())
            tells = pair_tells(latest, 0, 1)
        key = Key(True, empty, beside, change, tells)
        traits = held.looked.traits
        past = self._held[self._held.index(held) - 1] if beside else None
        if past is not None:
            between = past.looked.traits
            # A scene that is alive joins what is still beside it, and shows that to be alive.
            if key.similar and (between.steady or tells is Tells.ALIVE):
                self._holds[-1] = tells is not Tells.NOTHING
            if probe_wanted(between, key) and self._keys > 2:
                key = replace(key, tells=self._probe(past, latest))
            elif key.similar and tells is Tells.ALIVE and refines(between):
                if not self._spends(between):
                    key = replace(key, tells=self._told_by(past, latest).tells)
            elif key.similar and tells is Tells.NOTHING and not empty and self._covered(between):
                key = replace(key, tells=Tells.ALIVE)
        at = self._held.index(held)
        past_look = self._held[at - 1].looked if at else None
        began = past_look is not None and past_look.begins_quiet
        lead = past_look.traits.tail_s if past_look is not None and began else 0.0
        if past is not None and (empty or past.looked.key.empty):
            lead = self._edge(past, held, empty, lead)
        self._holds.append(traits.whole)
        self._leads.append(lead)
        self._trails.append(traits.lead_s)
        self._scene_bytes = self._scene_bytes if empty else traits.key_bytes
        held.looked = replace(held.looked, key=key)
        self._last = frame
        due = frame.second - self._shown_s >= KEYS_APART_S - 0.1
        if frame.full is not None and (due or not key.similar):
            self._way.on_key(frame.second, frame.full, frame.limited)
            self._shown_s = frame.second

    def _edge(self, past: _Held, held: _Held, empty: int, lead: float) -> float:
        """Note what sizes tell of a group on whose sides one colour is seen; seconds before the
        key picture ``held`` that are like it (``lead``: by its own sizes)."""
        was, group, next_ = past.looked.key, past.group, held.looked.traits
        if not was.decoded or (empty and was.empty and empty != was.empty):
            return lead
        if empty and was.empty:
            past.looked = replace(past.looked, known=stays(group.sizes, self._scene_bytes))
            self._holds[-1] |= past.looked.known
            return lead
        scene = past.looked.traits.key_bytes if empty else next_.key_bytes
        at = change_by_sizes(group.seconds, group.sizes, scene, bool(empty))
        if at is None:
            return lead
        past.looked = replace(past.looked, known=True)
        if empty:
            return next_.start_s - at
        self._holds[-1], self._trails[-1] = False, at - past.looked.traits.start_s
        return 0.0

    def _covered(self, between: Traits) -> bool:
        return self._vouched is not None and self._vouched.covers(between)

    def _spends(self, between: Traits) -> bool:
        return self._vouched is not None and self._vouched.spends(between)

    def _probe(self, held: _Held, keys: Samples) -> Tells:
        """What lies between two key pictures tells, or did not long ago while sizes stay alike."""
        traits = held.looked.traits
        differ = float(keys.key_step[-1].astype(np.float32).mean())
        noisy = carries_noise(traits, int(keys.key_bytes[-1])) and differ >= LIVE_CHANGE
        if (noisy and not self._life_wanted) or self._covered(traits):
            return Tells.ALIVE
        self._usual_s = 0.0
        told = self._told_by(held, keys)
        if told.tells is Tells.NOTHING and not noisy:
            # What live pictures of the same scene change by may settle it.
            near = self._held[: self._held.index(held) + 1]
            at = lives_on([one.looked for one in near])
            self._life_wanted = at is None
            if at is not None:
                self._told_by(near[at], keys)
        elif noisy:
            self._life_wanted = False
        return Tells.ALIVE if noisy else told.tells

    def _told_by(self, held: _Held, keys: Samples) -> Between:
        """What a group's pictures tell; ``keys``: of a still scene, the last two."""
        traits, between = held.looked.traits, self._between(held)
        use = ~between.key & np.isfinite(between.step[:, 0, 0])
        change = float(np.median(keys.key_step[-1].astype(np.float32)[~BAND]))
        steps = between.step[use][:, ~BAND].astype(np.float32)
        told = between_tell(steps, between.second[use], traits, change)
        self._told.append(told)
        self._vouched = vouched_by(told, self._vouched)
        return told

    def _between(self, held: _Held) -> Samples:
        """Measures of a group's pictures and the key picture after it."""
        if held.between is None:
            sampler = Sampler()
            for frame in held.group.frames(SAMPLE_S, sound=not held.looked.suspect):
                self.out.decoded += 1
                take_sample(sampler, frame)
                if frame.damaged:
                    self.out.damaged.append(frame.second)
            held.between = sampler.samples(held.looked.traits.end_s)
        return held.between

    def _settle(self, at: int) -> None:
        """Decode what lies between two key pictures if they leave it open."""
        held = self._held[at]
        held.looked = replace(held.looked, vouched=self._spends(held.looked.traits))
        if not need([one.looked for one in self._held], at, held.quiet_before_s):
            return
        between = self._between(held)
        if not len(between.second):
            self.out.damaged.append(held.looked.traits.start_s)
        before, key = self._held[at - 1] if at else None, held.looked.key
        moved = before is not None and before.between is None and key.beside and not key.similar
        if before is not None and moved and rests_at_first(between):
            self._pieces.append(self._between(before))  # since when does it stand still?
        self._pieces.append(between)
        self._way.pulse()

    def finish(self) -> Gathered:
        """Everything in one row."""
        keys = self._sampler.samples(0.0)
        self.out.damaged = sorted(set(self.out.damaged))
        stuck = [one for one in self._told if one.tells is Tells.STUCK]
        for one in (*stuck, *refined_only(self._told)):
            self.out.stuck.append((one.traits.start_s, one.traits.end_s))
        stands = Stands(
            np.array(self._holds, np.bool_),
            np.array(self._leads, np.float64),
            np.array(self._trails, np.float64),
        )
        self.out.samples = joined(keys, stands, self._pieces)
        return self.out
