"""When was it recorded? Old footage does not prove that a recorder records after the service."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from asfound.jobs.prove_checks import verdict_of
from asfound.model.finding import Proof, Recording
from asfound.model.procedure import CHANGING
from asfound.model.visit import VisitState

SLACK = timedelta(minutes=2)
"""Clocks of recorder and laptop may differ by this much; common practice, no source."""


def last_change(state: VisitState) -> datetime | None:
    """When the recorder was last changed in this visit; None when it was not."""
    changing = {step.id for step in state.procedure.steps if step.kind in CHANGING}
    return max((item.at for item in state.done if item.step in changing), default=None)


def with_age(proof: Proof, since: datetime | None, now: datetime) -> Proof:
    """``proof`` with a line in ``unclear`` for each recording that is not of the time after
    ``since`` and before ``now`` (both aware), and the verdict that follows from it."""
    recordings = tuple(
        replace(one, unclear=(*one.unclear, doubt)) if (doubt := _doubt(one, since, now)) else one
        for one in proof.recordings
    )
    verdict = verdict_of(recordings, proof.missing_channels)
    return replace(proof, recordings=recordings, verdict=verdict)


def _doubt(recording: Recording, since: datetime | None, now: datetime) -> str:
    start = recording.start
    if start is None:
        return "" if since is None else "when it was recorded cannot be told"
    if start > now + SLACK:
        return "its time lies in the future: the recorder's clock or zone is wrong"
    end = start + timedelta(seconds=recording.duration_s or 0.0)
    if since is not None and end < since - SLACK:
        return "it is from before the recorder was last changed; record again, or set the clock"
    return ""
