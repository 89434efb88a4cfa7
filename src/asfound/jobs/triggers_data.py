"""Recommended motion triggers in their documented form (docs/bench.md), asfound-triggers/1."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from asfound.calc.trigger_choice import Pick
from asfound.calc.trigger_grid import caught
from asfound.jobs.judge_triggers import Outcome, a_day
from asfound.jobs.tune_triggers import LogFacts, Tuned
from asfound.model.drive_log import LogFault
from asfound.model.trigger import Direction

FORMAT = "asfound-triggers/1"


def triggers_data(tuned: Tuned, left_out: Sequence[LogFault] = ()) -> dict[str, Any]:
    """All of it; numbers are plain, what is not known is null."""
    request, settings = tuned.request, tuned.request.settings
    return {
        "format": FORMAT,
        "hours": round(tuned.hours, 6),
        "hours_a_day": request.hours_a_day,
        "budget_a_day": request.budget_a_day,
        "hold_off_s": settings.hold_off_s,
        "logs": [_log(one) for one in tuned.logs],
        "triggers": [
            {
                "direction": trigger.direction.value,
                "threshold_g": trigger.threshold_g,
                "duration_s": trigger.duration_s,
                **_alone(tuned, pick),
            }
            for trigger, pick in zip(tuned.triggers, tuned.picks, strict=True)
        ],
        "whole": _outcome(tuned.whole, request.hours_a_day),
        "judged": {
            "parts": tuned.judged.parts,
            "certain_enough": tuned.judged.testable,
            **_outcome(tuned.judged.outcome, request.hours_a_day),
        }
        if tuned.judged.parts
        else None,
        "fixed_0.4_g": tuned.fixed and _outcome(tuned.fixed, request.hours_a_day),
        "labels": _labels(tuned),
        "grid": {
            "thresholds_g": list(settings.thresholds_g),
            "durations_s": list(settings.durations_s),
            "directions": {
                direction.value: {
                    "events": tally.events.tolist(),
                    "outside": tally.outside.tolist(),
                    "caught": caught(tally.best, len(settings.thresholds_g)).tolist(),
                }
                for direction, tally in tuned.tallies.items()
            },
        },
        "left_out": [{"where": fault.where, "what": fault.what} for fault in left_out],
        "findings": [
            {
                "kind": one.kind.value,
                "measured": one.measured,
                "limit": one.limit,
                "note": one.note,
            }
            for one in tuned.findings
        ],
    }


def _log(one: LogFacts) -> dict[str, Any]:
    survey, mounted = one.survey, one.mounted
    up, forward = mounted.up, mounted.forward
    return {
        "file": one.name,
        "samples": survey.samples,
        "start_s": survey.start_s,
        "end_s": survey.end_s,
        "rate_hz": survey.ticks.rate_hz,
        "hours": round(survey.hours, 6),
        "gaps": survey.gaps,
        "ms2_a_unit": mounted.scale,
        "gravity_included": mounted.gravity,
        "filter": one.filter.name,
        "up": up and [round(float(each), 5) for each in up.axis],
        "up_error_deg": up and round(up.error_deg, 2),
        "forward": forward and [round(float(each), 5) for each in forward.axis],
        "forward_error_deg": forward and round(forward.error_deg, 2),
        "receiver_lag_s": forward and round(forward.lag_s, 2),
        "notes": list(mounted.notes),
        "left_out": one.left_out,
        "faults": [{"where": fault.where, "what": fault.what} for fault in one.faults],
    }


def _alone(tuned: Tuned, pick: Pick) -> dict[str, Any]:
    tally = tuned.tallies[pick.direction]
    events = int(tally.events[pick.level - 1, pick.d])
    return {
        "events": events,
        "outside": int(tally.outside[pick.level - 1, pick.d]),
        "events_a_day": list(a_day(events, tally.hours, tuned.request.hours_a_day)),
        "caught": int((tally.best[:, pick.d] >= pick.level).sum()),
    }


def _outcome(one: Outcome, hours_a_day: float) -> dict[str, Any]:
    labelled = one.labels > 0
    return {
        "hours": round(one.hours, 6),
        "labels": one.labels,
        "caught": one.caught,
        "events": one.events,
        "outside": one.outside,
        "recall": one.recall,
        "recall_95": list(one.recall_limits()) if labelled else None,
        "precision": one.precision,
        "precision_95": list(one.precision_limits()) if labelled else None,
        "events_a_day": list(a_day(one.events, one.hours, hours_a_day)),
        "outside_a_day": list(a_day(one.outside, one.hours, hours_a_day)),
    }


def _labels(tuned: Tuned) -> list[dict[str, Any]]:
    made = []
    for n, (at, label) in enumerate(tuned.labels):
        by = [
            pick.direction.value
            for pick in tuned.picks
            if tuned.tallies[pick.direction].best[n, pick.d] >= pick.level
        ]
        made.append(
            {
                "file": tuned.logs[at].name,
                "start_s": label.start_s,
                "end_s": label.end_s,
                "kind": label.kind,
                "caught_by": by,
                "caught_up_to_g": {
                    direction.value: _up_to(tuned, direction, n) for direction in tuned.tallies
                },
            }
        )
    return made


def _up_to(tuned: Tuned, direction: Direction, label: int) -> list[float]:
    """The highest threshold that catches a label, for each duration; 0: none does."""
    steps = (0.0, *tuned.request.settings.thresholds_g)
    return [steps[int(level)] for level in tuned.tallies[direction].best[label]]
