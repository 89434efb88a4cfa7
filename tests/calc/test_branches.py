"""Branches of a log: which one counts, told from the set of entries alone."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.branches import branches
from asfound.model.journal import Entry, chain_fault, next_entry

T0 = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)


def grown(before: tuple[Entry, ...], *kinds: str, by: str = "ada") -> tuple[Entry, ...]:
    for kind in kinds:
        before = (*before, next_entry(before, "v", T0, by, kind, {}))
    return before


@given(
    st.lists(st.tuples(st.integers(0, 30), st.sampled_from(["noted", "closed"])), max_size=12),
    st.randoms(use_true_random=False),
)
def test_branches_are_whole_chains_and_order_says_nothing(
    growth: list[tuple[int, str]], chance: object
) -> None:
    chains = [grown((), "opened")]
    for number, (place, kind) in enumerate(growth):
        chains.append(grown(chains[place % len(chains)], kind, by=f"p{number}"))
    entries = list({entry.hash: entry for chain in chains for entry in chain}.values())
    made = branches(entries)
    chance.shuffle(entries)  # type: ignore[attr-defined]  # (hypothesis gives a random.Random)
    assert branches(entries) == made == branches([*entries, *entries])
    assert all(chain_fault(chain) is None for chain in made)
    assert {entry.hash for chain in made for entry in chain} == {entry.hash for entry in entries}
    longest = max(len(chain) for chain in made)
    closed = [chain for chain in made if any(entry.kind == "closed" for entry in chain)]
    best = max(len(chain) for chain in closed) if closed else longest
    assert len(made[0]) == best


def test_closed_comes_first_then_the_longer_then_the_smaller_hash() -> None:
    start = grown((), "opened")
    closed = grown(start, "closed")
    longer = grown(start, "noted", "noted")
    assert branches((*closed, *longer)) == (closed, longer)
    signed = sorted((grown(closed, "signed", by=by) for by in "abc"), key=lambda one: one[-1].hash)
    assert branches([entry for one in reversed(signed) for entry in one]) == tuple(signed)


def test_what_lacks_its_beginning_is_refused() -> None:
    chain = grown((), "opened", "noted", "noted")
    with pytest.raises(ValueError, match="continues one that is not there"):
        branches(chain[1:])
    assert branches(()) == ()
