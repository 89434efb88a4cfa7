"""How a rollout looks on the command line and as JSON (docs/rollout.md)."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from asfound.calc.stop_rule import Ruled
from asfound.cli import output
from asfound.cli.visit_show import time_text
from asfound.jobs.rollout_changes import Changes
from asfound.jobs.rollout_outcomes import VehicleOutcome
from asfound.jobs.rollout_status import Standing
from asfound.model.menu_map import MenuMap
from asfound.model.rollout import Rollout

FORMAT = "asfound-rollout/1"


def status_data(rollout: Rollout, standing: Standing) -> dict[str, object]:
    """The documented form."""
    ruled = standing.ruled
    return {
        "format": FORMAT,
        "rollout": rollout.id,
        "target": rollout.target,
        "decision": standing.decision,
        "why": standing.why,
        "rule": {
            "name": rollout.limits.rule, "decision": ruled.decision, "judged": ruled.judged,
            "failed": ruled.failed, "untold": ruled.untold, "lower": ruled.lower,
            "upper": ruled.upper, "ratio": ruled.ratio, "go_on_at": ruled.go_on_at,
            "stop_at": ruled.stop_at, "pilot_needed": standing.pilot_needed,
        },
        "wave": standing.wave,
        "next": [one.number for one in standing.next],
        "done": standing.done,
        "unsure": [one.number for one in standing.unsure],
        "vehicles": [
            {
                "number": one.vehicle.number, "firmware": one.firmware,
                "by": one.visit or "fleet file", "outcome": one.outcome, "why": one.why,
                "since": _iso(one.since), "until": _iso(one.until),
            }
            for one in standing.vehicles
        ],
    }  # fmt: skip


def changes_data(menu_map: MenuMap, old: str, new: str, made: Changes) -> dict[str, object]:
    """The documented form."""
    return {
        "format": FORMAT,
        "map": menu_map.id,
        "from": old,
        "to": new,
        "changes": [
            {
                "change": one.change, "id": one.id, "label": one.label,
                "before": one.before, "after": one.after,
            }
            for one in made.fields
        ],
        "agreed": [
            {
                "who": one.who, "effect": one.effect, "id": one.id, "value": one.value,
                "default": one.default,
            }
            for one in made.agreed
        ],
    }  # fmt: skip


def show_status(rollout: Rollout, standing: Standing, zone: ZoneInfo) -> None:
    """Decision first, then the figures, then vehicle by vehicle."""
    wave = f"wave {standing.wave}" if standing.wave else "pilot"
    output.say(f"{standing.decision}: {standing.why}", style="bold")
    output.say(
        f"{rollout.id}: version {rollout.target} for {rollout.map_id}, {wave}; approved by "
        f"{rollout.approved_by}, {rollout.approved_on}"
    )
    output.say(rule_line(rollout, standing.ruled))
    have, need = len(standing.vehicles), standing.pilot_needed
    if not standing.ruled.failed:
        output.say(
            f"without a failure the rule says go on after {need} vehicles"
            + (f"; the fleet has {have}: it never will" if have < need else "")
        )
    output.table(
        ("vehicle", "depot", "class", "firmware", "by", "outcome", "why", "hold until"),
        [_row(one, zone) for one in standing.vehicles],
    )
    if standing.next:
        output.say(f"next: {', '.join(one.number for one in standing.next)}")
    if rollout.hardware:
        output.say(f"only for hardware {', '.join(rollout.hardware)}")
    if standing.unsure:
        numbers = ", ".join(one.number for one in standing.unsure)
        output.say(
            f"in no wave, hardware not known: {numbers}; read it off the recorder's label and put "
            "it into the fleet file"
        )


def rule_line(rollout: Rollout, ruled: Ruled) -> str:
    """The stop rule's figures in one line."""
    limits = rollout.limits
    sure = f"{limits.confidence:.0%}"
    line = (
        f"{ruled.failed} of {ruled.judged} failed, {ruled.untold} not told; one-sided {sure} "
        f"bounds {ruled.lower:.2%} and {ruled.upper:.2%} against {limits.acceptable:.2%} and "
        f"{limits.unacceptable:.2%}"
    )
    if limits.rule == "exact":
        return f"exact rule: {line}"
    return (
        f"sequential rule: ratio {ruled.ratio:.2f}, go on from {ruled.go_on_at:.2f} down, stop "
        f"from {ruled.stop_at:.2f} up; {line}"
    )


def show_changes(menu_map: MenuMap, made: Changes, who: Sequence[str]) -> None:
    """What changes, then what that does to agreed values."""
    if made.fields:
        output.table(
            ("change", "setting", "label", "before", "after"),
            [(one.change, one.id, one.label, one.before, one.after) for one in made.fields],
        )
    else:
        output.say("no setting changes", style="bold")
    if made.agreed:
        output.table(
            ("agreed for", "effect", "setting", "label", "agreed", "factory value"),
            [
                (
                    one.who,
                    one.effect,
                    one.id,
                    menu_map.field(one.id).label,
                    one.value,
                    "not known" if one.default is None else one.default,
                )
                for one in made.agreed
            ],
        )
    elif who:
        output.say(f"no agreed value is concerned: {', '.join(who)}")
    else:
        output.say("agreed values were not looked at: no fleet file; name a home folder (--home)")


def _row(one: VehicleOutcome, zone: ZoneInfo) -> tuple[str, ...]:
    fitted = one.vehicle
    return (
        fitted.number,
        fitted.depot,
        fitted.vehicle_class,
        one.firmware,
        one.visit or "fleet file",
        one.outcome or "",
        one.why,
        time_text(one.until, zone) if one.until is not None else "",
    )


def _iso(at: datetime | None) -> str | None:
    return at.isoformat() if at is not None else None
