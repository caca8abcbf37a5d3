"""Estimates where exact sums would take too long, held against exact sums where these can still be had."""

from __future__ import annotations

import numpy as np
import pytest

from howdeep.beliefs import believe as believe_module
from howdeep.beliefs.believe import believe
from howdeep.beliefs.gibbs import CHAINS, draw_worlds, sampled
from howdeep.beliefs.posteriors import posteriors_of
from howdeep.decision import problem as problem_module
from howdeep.decision.ladder import LEVELS, Terms
from howdeep.decision.problem import problem_of
from howdeep.model.terms import RUNGS

from .made_up_networks import evidence

WITHIN = 5 * np.sqrt(0.25 / CHAINS)
"""Five standard errors of a share over independent chains; the sweeps kept of each chain only make it better."""


@pytest.mark.parametrize("seed", range(8))
def test_estimated_odds_and_hands_are_near_the_exact_ones(seed):
    given = evidence(np.random.default_rng(seed), causes=12, questions=12)
    exact, rough = posteriors_of(given), sampled(given)
    for name in ("present", "marked", "hand", "hand_noticed"):
        apart = np.abs(getattr(exact, name)[:, 0] - getattr(rough, name)[:, 0])
        assert apart.max() < WITHIN and apart.mean() < WITHIN / 5, name
    assert np.array_equal(draw_worlds(given).degrees, draw_worlds(given).degrees)


def test_beyond_the_exact_width_the_answer_is_labelled_as_an_estimate_and_told_without_steps(monkeypatch):
    given = evidence(np.random.default_rng(1), causes=10, questions=10)
    exact = believe(given)
    assert not exact.estimated
    monkeypatch.setattr(believe_module, "MOST_EXACT", given.width - 1)
    rough = believe(given)
    assert rough.estimated and all(belief.steps == () for belief in rough.causes)
    assert rough.odds() == pytest.approx(exact.odds(), abs=WITHIN)


@pytest.mark.parametrize("seed", range(4))
def test_estimated_chances_and_costs_are_near_the_exact_ones_and_say_so(monkeypatch, seed):
    rng = np.random.default_rng(seed)
    given = evidence(rng, causes=8, questions=8)
    need, seen = ({cause: RUNGS[int(rng.integers(LEVELS))] for cause in given.network.causes} for _ in range(2))
    prices = (180.0, 520.0, 1350.0, 2700.0, 4800.0, 6200.0)
    terms = Terms(1.15, 300.0, 90.0, 40.0, 5000.0)
    exact = problem_of(given, need, seen, prices, (), terms)
    monkeypatch.setattr(problem_module, "MOST_EXACT", -1)
    rough = problem_of(given, need, seen, prices, (), terms)
    assert rough.estimated and not exact.estimated
    for one, other in zip(exact.weighed, rough.weighed, strict=True):
        assert other.enough == pytest.approx(one.enough, abs=WITHIN)
        assert other.expected == pytest.approx(one.expected, rel=0.15)
    assert rough.every == pytest.approx(exact.every, abs=WITHIN)
