"""Everything that firmware, rollouts and sticks name by an id has its words."""

from __future__ import annotations

from asfound.jobs.rollout_changes import Change, Effect
from asfound.model.rollout import Decision, Outcome
from asfound.model.stick import StickFault, StickVerdict
from asfound.web.stick_words import CHANGES, DECISIONS, EFFECTS, FAULTS, OUTCOMES, VERDICTS


def test_every_id_has_its_words() -> None:
    assert set(FAULTS) == set(StickFault) and set(VERDICTS) == set(StickVerdict)
    assert set(DECISIONS) == set(Decision) and set(OUTCOMES) == set(Outcome)
    assert set(CHANGES) == set(Change) and set(EFFECTS) == set(Effect)
