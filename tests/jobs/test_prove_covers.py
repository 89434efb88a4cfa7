"""A cover before the lens stands still; whether the picture behind it is stuck cannot be told
(common practice, no source)."""

from __future__ import annotations

from asfound.jobs.prove_pictures import explained, open_below_covers
from asfound.model.finding import Finding, Kind


def found(kind: Kind, start: float, end: float, measured: float = 1.0) -> Finding:
    return Finding(kind, start, end, measured, 0.5, "share", "own", "", "")


def test_a_stuck_picture_under_a_whole_cover_is_open() -> None:
    black, stuck = found(Kind.BLACK, 0, 4), found(Kind.FROZEN, 10, 20)
    kept, doubts = open_below_covers([black, stuck], [found(Kind.COVERED, 9, 21)])
    assert kept == [black]
    assert doubts == ["10.0 to 20.0 s: nothing is seen, so that a stuck picture cannot be told"]


def test_beside_a_cover_or_under_part_of_one_it_stands() -> None:
    stuck = found(Kind.FROZEN, 10, 20)
    for seen in ([], [found(Kind.COVERED, 0, 12)], [found(Kind.COVERED, 9, 21, 0.4)]):
        assert open_below_covers([stuck], seen) == ([stuck], [])


def test_of_a_stuck_picture_no_part_is_covered() -> None:
    """All of it stays the same, so that a part that does tells nothing."""
    stuck = [found(Kind.FROZEN, 10, 20)]
    assert explained(found(Kind.COVERED, 9, 21, 0.4), stuck)
    assert not explained(found(Kind.COVERED, 0, 12, 0.4), stuck)
    assert not explained(found(Kind.COVERED, 9, 21), stuck)
    assert not explained(found(Kind.BLURRED, 9, 21), stuck)
