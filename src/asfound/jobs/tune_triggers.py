"""Motion triggers from real drives: what each setting would have done, which to take, how sure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from asfound.calc.log_survey import Survey, Surveyor
from asfound.calc.motion_filters import NO_FILTER, Filter, butterworth, channel_class
from asfound.calc.plain_text import plain
from asfound.calc.trigger_choice import Pick
from asfound.calc.trigger_grid import Settings, Tally
from asfound.errors import InputError, UsageError
from asfound.jobs.judge_triggers import (
    Judged,
    Outcome,
    TriggerFault,
    TriggerFinding,
    budget_findings,
    judge,
    merged,
    outcome,
    recommend,
)
from asfound.jobs.mount_log import ALL, Mounted, Said, mount_log
from asfound.jobs.read_acceleration import AccelerationLog, Faults
from asfound.jobs.read_labels import placed
from asfound.jobs.sweep_log import Mount, Part, SweepLog, sweep_log
from asfound.model.drive_log import Label, LogFault, Track
from asfound.model.trigger import Direction, Trigger
from asfound.ports.progress import Progress, silent
from asfound.ports.sweeps import Sweeps

RATES_HZ = (8.0, 20_000.0)
USUAL_CUT_HZ = 5.0
"""What a driver does lies below, most of what a road does above (own choice, by tuning)."""
SLOW_SHARE = 0.4
"""The cut-off of logs too slow for that, as a share of their rate."""
MOST_FOLDS = 20
ENOUGH_LOGS = 3
"""So many logs are left out one by one; fewer are cut into LEAST_FOLDS parts (own choice)."""
LEAST_FOLDS = 5
CLEAR_S = 5.0
"""Between a label and a cut."""
FEW_LABELS = 30
LEFT_OUT_SHARE = 0.01
FIXED = Settings((0.4,), (1e-6,))
"""What is set without looking: one raw sample at 0.4 g along the road or across it (common
practice, no source)."""


@dataclass(frozen=True, slots=True)
class FilterAsked:
    """A causal Butterworth low-pass of ``cut_hz`` (None: as usual) and ``order``, or the channel
    class ``cfc``, both ways."""

    cut_hz: float | None = None
    order: int = 4
    cfc: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class LogAsked:
    """A log, the track of the same drive, and the labels of what was harsh in it."""

    log: AccelerationLog
    track: Track | None = None
    labels: tuple[Label, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class TuneTriggers:
    """``budget_a_day``: events on a day of ``hours_a_day`` that are accepted; None: those that
    balance best with what is caught. ``labelled``: labels were given, if for other logs."""

    logs: tuple[LogAsked, ...]
    budget_a_day: float | None
    hours_a_day: float
    settings: Settings = field(default_factory=Settings)
    filter: FilterAsked = field(default_factory=FilterAsked)
    said: Said = field(default_factory=Said)
    around_s: float = 1.0
    labels_since: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class LogFacts:
    """What a log turned out to be."""

    name: str
    survey: Survey
    mounted: Mounted
    filter: Filter
    labels: tuple[Label, ...]
    left_out: int
    faults: tuple[LogFault, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Tuned:
    """``tallies``: what each setting did along each direction, all logs together; ``picks`` what is
    recommended and ``triggers`` the same in g and s; ``whole``: what they did in these logs, all of
    which chose them; ``judged``: what triggers chosen without a part of the logs did in that part;
    ``fixed``: the rule of one raw sample at 0.4 g (None without labels). ``labels``: number of the
    log and label, in the order of the tallies."""

    request: TuneTriggers
    logs: tuple[LogFacts, ...]
    tallies: Mapping[Direction, Tally]
    labels: tuple[tuple[int, Label], ...]
    picks: tuple[Pick, ...]
    triggers: tuple[Trigger, ...]
    whole: Outcome
    judged: Judged
    fixed: Outcome | None
    findings: tuple[TriggerFinding, ...]

    @property
    def hours(self) -> float:
        """Hours of log, gaps left out."""
        return next(iter(self.tallies.values())).hours


def tune_triggers(request: TuneTriggers, *, sweeps: Sweeps, progress: Progress = silent) -> Tuned:
    """Raises UsageError (a unit or a column has to be said) and InputError (a log that is none)."""
    steps = 2 * len(request.logs)
    facts = []
    for at, asked in enumerate(request.logs):
        progress(at, steps, asked.log.name)
        facts.append(_look_at(asked, request))
    _check_labels(request, facts)
    directions = _common([one.mounted for one in facts])
    cuts = _cuts(facts)
    parts: list[tuple[int, Part]] = []
    fixed: list[tuple[int, Part]] = []
    for at, (asked, one) in enumerate(zip(request.logs, facts, strict=True)):
        progress(len(facts) + at, steps, asked.log.name)
        job = _job(asked, one, directions, request, cuts[at])
        parts += [(at, part) for part in sweep_log(job, sweeps=sweeps)]
        if any(each.labels for each in facts):
            fixed += [(at, part) for part in sweep_log(_raw(job), sweeps=sweeps)]
    progress(steps, steps, "")
    return _made(request, tuple(facts), parts, fixed)


def _made(
    request: TuneTriggers,
    facts: tuple[LogFacts, ...],
    parts: Sequence[tuple[int, Part]],
    fixed: Sequence[tuple[int, Part]],
) -> Tuned:
    settings, budget = request.settings, request.budget_a_day
    folds = _folds([part.tallies for _, part in parts])
    tallies = merged([part.tallies for _, part in parts])
    labels = tuple((at, facts[at].labels[n]) for at, part in parts for n in part.labels)
    an_hour = None if budget is None else budget / request.hours_a_day
    judged = judge(folds, settings, an_hour)
    picks = recommend(tallies, settings, an_hour, judged.testable)
    rule = None
    if labels:
        raw = merged([part.tallies for _, part in fixed])
        main = [each for each in raw if each is not Direction.UPRIGHT]
        rule = outcome([Pick(each, 1, 0) for each in main], raw)
    tuned = Tuned(
        request=request,
        logs=facts,
        tallies=tallies,
        labels=labels,
        picks=picks,
        triggers=tuple(_trigger(pick, settings) for pick in picks),
        whole=outcome(picks, tallies),
        judged=judged,
        fixed=rule,
        findings=(),
    )
    return replace(tuned, findings=tuple(_findings(tuned)))


def _trigger(pick: Pick, settings: Settings) -> Trigger:
    return Trigger(
        pick.direction, settings.thresholds_g[pick.level - 1], settings.durations_s[pick.d]
    )


def _look_at(asked: LogAsked, request: TuneTriggers) -> LogFacts:
    log, faults, surveyor = asked.log, Faults(), Surveyor()
    for block in log.blocks(faults):
        surveyor.feed(block.times_s, block.xyz_ms2)
    survey = surveyor.made()
    name = plain(log.name)
    if survey is None:
        why = f": {faults.named[0].where}: {faults.named[0].what}" if faults.named else ""
        raise InputError(f"{name}: fewer than two samples can be used{why}")
    rate = survey.ticks.rate_hz
    if not RATES_HZ[0] <= rate <= RATES_HZ[1]:
        raise InputError(
            f"{name}: {rate:g} samples a second; motion triggers are judged from {RATES_HZ[0]:g} "
            f"to {RATES_HZ[1]:g}: is its time in another unit (map time-unit=ms)?"
        )
    mounted = mount_log(log.name, survey, log.unit, request.said, asked.track)
    labels = placed(asked.labels, (survey.start_s, survey.end_s), log.name, request.labels_since)
    made = filter_for(request.filter, rate, name)
    return LogFacts(name, survey, mounted, made, labels, faults.count, tuple(faults.named))


def _check_labels(request: TuneTriggers, facts: Sequence[LogFacts]) -> None:
    given = [label for asked in request.logs for label in asked.labels]
    if given and not any(one.labels for one in facts):
        first, log = min(label.start_s for label in given), facts[0]
        raise UsageError(
            f"no label lies within the logs: the first begins at {first:.0f} s, {log.name} goes "
            f"from {log.survey.start_s:.0f} to {log.survey.end_s:.0f} s; are they of one drive?"
        )


def filter_for(asked: FilterAsked, rate_hz: float, name: str) -> Filter:
    """One pass of the filter. Raises UsageError when the log is too slow for it."""
    try:
        if asked.cfc is not None:
            return channel_class(asked.cfc, rate_hz)
        cut = min(USUAL_CUT_HZ, SLOW_SHARE * rate_hz) if asked.cut_hz is None else asked.cut_hz
        return butterworth(cut, rate_hz, asked.order)
    except ValueError as error:
        raise UsageError(f"{name}: {error}") from None


def _common(mounted: Sequence[Mounted]) -> tuple[Direction, ...]:
    """What all logs can be watched along."""
    if all(each.directions == ALL for each in mounted):
        return ALL
    if all(each.up is not None for each in mounted):
        return (Direction.LEVEL, Direction.UPRIGHT)
    return (Direction.TOTAL,)


def _job(
    asked: LogAsked,
    facts: LogFacts,
    directions: tuple[Direction, ...],
    request: TuneTriggers,
    cuts_s: tuple[float, ...],
) -> SweepLog:
    mounted = facts.mounted
    return SweepLog(
        blocks=asked.log.blocks,
        scale=mounted.scale,
        ticks=facts.survey.ticks,
        mount=Mount(mounted.axes(), mounted.rest_ms2, directions),
        filter=facts.filter,
        settings=request.settings,
        both_ways=request.filter.cfc is not None,
        cuts_s=cuts_s,
        labels=facts.labels,
        around_s=request.around_s,
    )


def _raw(job: SweepLog) -> SweepLog:
    fixed = replace(FIXED, hold_off_s=job.settings.hold_off_s)
    return replace(job, filter=NO_FILTER, both_ways=False, settings=fixed)


def _cuts(facts: Sequence[LogFacts]) -> list[tuple[float, ...]]:
    """Where each log is cut into parts that can be left out: between trips, else evenly, never
    inside a label."""
    if len(facts) >= ENOUGH_LOGS:
        return [()] * len(facts)
    wanted = -(-LEAST_FOLDS // len(facts))
    made = []
    for one in facts:
        survey = one.survey
        breaks = survey.breaks_s
        if len(breaks) + 1 < wanted:
            length = survey.end_s - survey.start_s
            breaks = tuple(survey.start_s + length * n / wanted for n in range(1, wanted))
        elif len(breaks) >= MOST_FOLDS:
            step = -(-len(breaks) // (MOST_FOLDS - 1))
            breaks = breaks[::step]
        made.append(tuple(_past_labels(at, one.labels) for at in breaks))
    return made


def _past_labels(at: float, labels: Sequence[Label]) -> float:
    for label in labels:
        if label.start_s - CLEAR_S <= at <= label.end_s + CLEAR_S:
            at = label.end_s + CLEAR_S + 1e-3
    return at


def _folds(parts: Sequence[Mapping[Direction, Tally]]) -> list[Mapping[Direction, Tally]]:
    """Parts that hold something, at most so many, those beside each other together."""
    full = [part for part in parts if next(iter(part.values())).hours > 0]
    size = -(-len(full) // MOST_FOLDS)
    return [merged(full[at : at + size]) for at in range(0, len(full), max(1, size))]


def _findings(tuned: Tuned) -> list[TriggerFinding]:
    made = []
    for one in tuned.logs:
        missing = one.mounted.notes[-1] if one.mounted.notes else ""
        if one.mounted.up is None:
            made.append(TriggerFinding(TriggerFault.UP_UNKNOWN, f"{one.name}: {missing}"))
        elif one.mounted.forward is None:
            made.append(TriggerFinding(TriggerFault.FORWARD_UNKNOWN, f"{one.name}: {missing}"))
        if one.left_out > LEFT_OUT_SHARE * one.survey.samples:
            note = f"{one.name}: {one.left_out} of its lines or samples were left out"
            share = one.left_out / (one.survey.samples + one.left_out)
            made.append(TriggerFinding(TriggerFault.LEFT_OUT, note, share, LEFT_OUT_SHARE))
    budget, judged = tuned.request.budget_a_day, tuned.judged
    if budget is not None:
        made += budget_findings(judged, tuned.whole, budget, tuned.request.hours_a_day)
    if not tuned.picks:
        note = (
            "no setting that was tried keeps the budget and catches anything; accept more, or "
            "mount the sensor firmer"
        )
        made.append(TriggerFinding(TriggerFault.NO_SETTING, note))
    if 0 < len(tuned.labels) < FEW_LABELS:
        low, high = (judged.outcome if judged.parts else tuned.whole).recall_limits()
        note = (
            f"{len(tuned.labels)} labels leave open whether {low:.0%} or {high:.0%} of such events "
            f"are caught; label {FEW_LABELS} or more"
        )
        made.append(
            TriggerFinding(TriggerFault.FEW_LABELS, note, float(len(tuned.labels)), FEW_LABELS)
        )
    return made
