"""Rollouts: where each stands, and every vehicle of one."""

from __future__ import annotations

from datetime import datetime

from fastapi import APIRouter
from pydantic import BaseModel

from asfound.jobs.rollout_outcomes import VehicleOutcome
from asfound.web.context import Asked
from asfound.web.view_rollout import rollout_lines, rollout_view

router = APIRouter(prefix="/rollouts", tags=["firmware"])


class RolloutLineOut(BaseModel):
    """A rollout; ``error`` where its file is wrong, then the rest is empty."""

    name: str
    id: str
    map: str
    target: str
    decision: str
    why: str
    wave: int | None
    done: bool
    error: str


class RuleOut(BaseModel):
    """What the stop rule alone says, with its figures (docs/rollout.md)."""

    name: str
    decision: str
    judged: int
    failed: int
    untold: int
    lower: float
    upper: float
    ratio: float
    go_on_at: float
    stop_at: float
    pilot_needed: int


class VehicleOut(BaseModel):
    """A vehicle: installed version by a visit ("": fleet file), its ``wave`` (0: pilot; null: it
    had the version before)."""

    number: str
    firmware: str
    visit: str
    wave: int | None
    outcome: str | None
    why: str
    since: datetime | None
    until: datetime | None

    @classmethod
    def of(cls, one: VehicleOutcome, wave: int | None) -> VehicleOut:
        """From the job's outcome."""
        return cls(
            number=one.vehicle.number, firmware=one.firmware, visit=one.visit, wave=wave,
            outcome=one.outcome.value if one.outcome is not None else None, why=one.why,
            since=one.since, until=one.until,
        )  # fmt: skip


class OutOfStepOut(BaseModel):
    """A vehicle that somebody has to look at."""

    number: str
    why: str


class RolloutOut(BaseModel):
    """One rollout with every vehicle; ``unsure``: those whose hardware is not known."""

    name: str
    id: str
    map: str
    target: str
    decision: str
    why: str
    rule: RuleOut
    wave: int
    done: bool
    next: list[str]
    vehicles: list[VehicleOut]
    unsure: list[str]
    out_of_step: list[OutOfStepOut]


@router.get("")
def rollouts(here: Asked) -> list[RolloutLineOut]:
    """Every rollout of the home folder."""
    made = []
    for line in rollout_lines(here.services):
        agreed, standing = line.rollout, line.standing
        made.append(
            RolloutLineOut(
                name=line.name,
                id=agreed.id if agreed else "",
                map=agreed.map_id if agreed else "",
                target=agreed.target if agreed else "",
                decision=standing.decision.value if standing else "",
                why=standing.why if standing else "",
                wave=standing.wave if standing else None,
                done=standing.done if standing else False,
                error=line.error,
            )
        )
    return made


@router.get("/{name}")
def one(here: Asked, name: str) -> RolloutOut:
    """One rollout."""
    view = rollout_view(name, here.services)
    agreed, standing, ruled = view.rollout, view.standing, view.standing.ruled
    waves = {each.vehicle.number: row.number for row in view.waves for each in row.vehicles}
    return RolloutOut(
        name=view.name,
        id=agreed.id,
        map=agreed.map_id,
        target=agreed.target,
        decision=standing.decision.value,
        why=standing.why,
        rule=RuleOut(
            name=agreed.limits.rule, decision=ruled.decision.value, judged=ruled.judged,
            failed=ruled.failed, untold=ruled.untold, lower=ruled.lower, upper=ruled.upper,
            ratio=ruled.ratio, go_on_at=ruled.go_on_at, stop_at=ruled.stop_at,
            pilot_needed=standing.pilot_needed,
        ),
        wave=standing.wave,
        done=standing.done,
        next=[each.number for each in standing.next],
        vehicles=[VehicleOut.of(x, waves.get(x.vehicle.number)) for x in standing.vehicles],
        unsure=[each.number for each in standing.unsure],
        out_of_step=[OutOfStepOut(number=x.vehicle.number, why=x.why) for x in view.out_of_step],
    )  # fmt: skip
