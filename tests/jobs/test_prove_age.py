"""Footage of another time does not prove that the recorder records now."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from asfound.jobs.prove_age import with_age
from asfound.model.finding import Proof, ProofVerdict, Recording

CHANGED = datetime(2026, 11, 25, 21, 0, tzinfo=UTC)
NOW = CHANGED + timedelta(minutes=30)


def proof(start: datetime | None) -> Proof:
    one = Recording("a.mp4", 1, "h264", 640, 360, 15.0, 20.0, 5e5, start, ())
    return Proof(ProofVerdict.RECORDS, (one,))


@pytest.mark.parametrize(
    ("start", "says"),
    [
        (CHANGED + timedelta(minutes=1), ""),
        (CHANGED - timedelta(minutes=1), ""),
        (CHANGED - timedelta(hours=1), "before the recorder was last changed"),
        (CHANGED - timedelta(days=30), "before the recorder was last changed"),
        (NOW + timedelta(hours=1), "in the future"),
        (None, "cannot be told"),
    ],
)
def test_only_footage_since_the_change_counts(start: datetime | None, says: str) -> None:
    aged = with_age(proof(start), CHANGED, NOW)
    if says:
        assert aged.verdict is ProofVerdict.UNCLEAR
        assert says in aged.recordings[0].unclear[0]
    else:
        assert aged == proof(start)


def test_where_nothing_was_changed_any_earlier_footage_counts() -> None:
    assert with_age(proof(CHANGED - timedelta(days=3)), None, NOW).verdict is ProofVerdict.RECORDS
    assert with_age(proof(None), None, NOW).verdict is ProofVerdict.RECORDS
