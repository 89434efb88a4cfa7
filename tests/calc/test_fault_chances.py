"""Chances after evidence and what checks tell, against textbooks and other people's programs."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.stats import entropy
from sklearn.metrics import mutual_info_score
from sklearn.naive_bayes import BernoulliNB, CategoricalNB

from asfound.calc.count_shares import shares
from asfound.calc.fault_chances import (
    entropy_bits,
    gains_bits,
    minutes_after,
    posterior,
    repair_minutes,
)

Figures = NDArray[np.float64]


def row(*figures: float) -> Figures:
    return np.array(figures)


# --- textbooks ----------------------------------------------------------------------------


def test_the_stiff_neck_of_the_textbook() -> None:
    """Russell and Norvig, Artificial Intelligence, 3rd ed., 13.5.1 (from memory): meningitis in
    1 of 50,000, a stiff neck in 70 % of those and 1 % of all: 0.0014."""
    prior = 1 / 50_000
    well = (0.01 - 0.7 * prior) / (1 - prior)
    found = posterior(row(prior, 1 - prior), [row(0.7, well)])
    assert found[0] == pytest.approx(0.0014, abs=1e-6)


def test_the_toothache_of_the_textbook() -> None:
    """Russell and Norvig, figure 13.3 (from memory): toothache and catch are independent given the
    cavity; of the joint table, 0.108 / (0.108 + 0.016)."""
    found = posterior(row(0.2, 0.8), [row(0.6, 0.1), row(0.9, 0.2)])
    assert found[0] == pytest.approx(0.108 / (0.108 + 0.016))


def test_the_mammogram_of_the_textbook() -> None:
    """Eddy 1982, as in Gigerenzer's books (from memory): 1 %, 80 %, 9.6 %: 7.8 %."""
    found = posterior(row(0.01, 0.99), [row(0.8, 0.096)])
    assert found[0] == pytest.approx(0.078, abs=5e-4)


def test_the_tennis_of_the_textbook() -> None:
    """Mitchell, Machine Learning, 1997, 3.4 (from memory): 9 of 14 days with tennis, 0.940 bits;
    gains of outlook 0.246, humidity 0.151, wind 0.048."""
    days = row(9 / 14, 5 / 14)
    assert entropy_bits(days) == pytest.approx(0.940, abs=5e-4)
    tables = np.array([
        [[2 / 9, 4 / 9, 3 / 9], [3 / 5, 0, 2 / 5]],
        [[3 / 9, 6 / 9, 0], [4 / 5, 1 / 5, 0]],
        [[6 / 9, 3 / 9, 0], [2 / 5, 3 / 5, 0]],
    ])  # fmt: skip
    assert gains_bits(days, tables) == pytest.approx([0.2467, 0.1518, 0.0481], abs=1e-4)


def test_bits_of_coins_and_dice() -> None:
    """Shannon 1948: n like chances are log2 n bits."""
    assert entropy_bits(np.full(8, 1 / 8)) == pytest.approx(3)
    assert entropy_bits(row(0.5, 0.25, 0.125, 0.125)) == pytest.approx(1.75)
    assert entropy_bits(row(0, 1, 0)) == 0


# --- other people's programs --------------------------------------------------------------


def test_beside_a_naive_bayes_of_yes_and_no() -> None:
    """scikit-learn's BernoulliNB with Laplace's rule, fitted on counts: the same posteriors."""
    rng = np.random.default_rng(1)
    seen = rng.integers(0, 2, (200, 6))
    causes = rng.integers(0, 4, 200)
    peer = BernoulliNB(alpha=1.0).fit(seen, causes)
    prior = np.bincount(causes) / len(causes)
    # Laplace's rule is a prior of one half each that weighs two cases.
    yes = np.zeros((6, 4))
    for feature, cause in np.ndindex(6, 4):
        mine = seen[causes == cause, feature]
        counts = [int(mine.sum()), int((1 - mine).sum())]
        yes[feature, cause] = shares([0.5, 0.5], 2, counts)[0]
    for case in rng.integers(0, 2, (20, 6)):
        evidence = [yes[f] if case[f] else 1 - yes[f] for f in range(6)]
        wanted = peer.predict_proba(case[np.newaxis])[0]
        assert posterior(prior, evidence) == pytest.approx(wanted)


def test_beside_a_naive_bayes_of_several_outcomes() -> None:
    """scikit-learn's CategoricalNB."""
    rng = np.random.default_rng(2)
    seen = rng.integers(0, 3, (300, 5))
    causes = rng.integers(0, 3, 300)
    peer = CategoricalNB(alpha=0.5).fit(seen, causes)
    prior = np.exp(peer.class_log_prior_)
    for case in rng.integers(0, 3, (20, 5)):
        evidence = [np.exp(peer.feature_log_prob_[f][:, case[f]]) for f in range(5)]
        wanted = peer.predict_proba(case[np.newaxis])[0]
        assert posterior(prior, evidence) == pytest.approx(wanted)


def test_beside_a_mutual_information() -> None:
    """scikit-learn's mutual_info_score of the cases themselves, in nats."""
    rng = np.random.default_rng(3)
    causes = rng.integers(0, 5, 400)
    outcomes = np.where(rng.random(400) < 0.6, causes % 3, rng.integers(0, 3, 400))
    both = np.array([
        [(outcomes[causes == c] == o).mean() for o in range(3)] for c in range(5)
    ])  # fmt: skip
    prior = np.bincount(causes) / len(causes)
    wanted = mutual_info_score(causes, outcomes) / np.log(2)
    assert gains_bits(prior, both[np.newaxis])[0] == pytest.approx(wanted)
    assert entropy_bits(prior) == pytest.approx(float(entropy(prior, base=2)))


# --- what must hold of every guide ----------------------------------------------------------

CHANCE = st.floats(0.001, 1)


@st.composite
def guides(draw: st.DrawFn) -> tuple[Figures, Figures]:
    """A prior (C,) and tables (Q, C, O)."""
    causes, questions, outcomes = (draw(st.integers(2, high)) for high in (5, 4, 4))
    prior = np.array(draw(st.lists(CHANCE, min_size=causes, max_size=causes)))
    cells = causes * questions * outcomes
    flat = np.array(draw(st.lists(CHANCE, min_size=cells, max_size=cells)))
    tables = flat.reshape(questions, causes, outcomes)
    return prior / prior.sum(), tables / tables.sum(axis=2, keepdims=True)


@given(guides())
def test_a_gain_is_between_nothing_and_all_there_is_to_know(made: tuple[Figures, Figures]) -> None:
    prior, tables = made
    gains = gains_bits(prior, tables)
    assert (gains >= 0).all() and (gains <= entropy_bits(prior)).all()
    for number, table in enumerate(tables):
        each = prior @ table
        left = sum(
            each[o] * entropy_bits(posterior(prior, [table[:, o]])) for o in range(table.shape[1])
        )
        assert gains[number] == pytest.approx(entropy_bits(prior) - left, abs=1e-9)


@given(guides())
def test_chances_add_up_and_certain_outcomes_tell_nothing(made: tuple[Figures, Figures]) -> None:
    prior, tables = made
    assert posterior(prior, [tables[0, :, 0]]).sum() == pytest.approx(1)
    same = np.zeros((1, len(prior), 3))
    same[0, :, 1] = 1
    assert gains_bits(prior, same)[0] == pytest.approx(0, abs=1e-12)
    assert posterior(prior, [same[0, :, 1]]) == pytest.approx(prior)


@given(guides(), st.randoms())
def test_the_order_of_evidence_does_not_matter(made: tuple[Figures, Figures], shuffle) -> None:  # type: ignore[no-untyped-def]
    prior, tables = made
    seen = [table[:, 0] for table in tables]
    before = posterior(prior, seen)
    shuffle.shuffle(seen)
    assert (posterior(prior, seen) == before).all()


@given(guides(), st.lists(st.floats(0.5, 300), min_size=5, max_size=5))
def test_no_order_of_repairs_is_cheaper(
    made: tuple[Figures, Figures], minutes: list[float]
) -> None:
    """Every order tried, of up to five causes."""
    prior, _ = made
    each = np.array(minutes[: len(prior)])
    best = min(
        float(prior[list(order)] @ np.cumsum(each[list(order)]))
        for order in permutations(range(len(prior)))
    )
    assert float(repair_minutes(prior, each)) == pytest.approx(best)


@given(guides())
def test_a_check_that_costs_nothing_never_costs_minutes(made: tuple[Figures, Figures]) -> None:
    prior, tables = made
    minutes = np.arange(1.0, len(prior) + 1)
    now = float(repair_minutes(prior, minutes))
    assert (minutes_after(prior, tables, minutes) <= now + 1e-9).all()


def test_nothing_fits_is_said() -> None:
    with pytest.raises(ValueError, match="no cause is left"):
        posterior(row(0.5, 0.5), [row(0, 1), row(1, 0)])
