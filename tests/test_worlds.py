"""Worlds drawn from the evidence: exact draws against enumeration, the sampler beyond against the exact sums."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from howdeep.beliefs import worlds as module
from howdeep.beliefs.evidence import evidence_of
from howdeep.beliefs.posteriors import believed, posteriors_of
from howdeep.beliefs.worlds import worlds_given

from .literal_worlds import NOBODY, ways_of
from .made_up_networks import chance_of, evidence, ladder_of, worlds

DRAWS = 40_000


def joint(given) -> dict[tuple[int, ...], float]:
    """Degrees of all causes -> probability given the evidence, by enumeration."""
    weights = {}
    for degrees, chance in worlds(given.network):
        for sign in given.signs:
            node = given.network.nodes[sign.node]
            chance *= chance_of(
                node,
                sign,
                [
                    node.normal,
                    node.unlisted,
                    node.misread,
                    *(ladder_of(node, cause, degree) for cause, degree in enumerate(degrees)),
                ],
            )
        weights[degrees] = chance
    whole = sum(weights.values())
    return {degrees: weight / whole for degrees, weight in weights.items()}


@pytest.mark.parametrize("seed", range(12))
def test_draws_come_from_the_joint_distribution_of_all_worlds(seed):
    given = evidence(np.random.default_rng(seed), causes=4, questions=6)
    drawn = worlds_given(given, DRAWS).degrees
    expected = joint(given)
    found = Counter(map(tuple, drawn.tolist()))
    assert found.keys() <= expected.keys()
    for degrees, chance in expected.items():  # five standard errors: one in two million is passed by chance
        assert found[degrees] / DRAWS == pytest.approx(chance, abs=5 * np.sqrt(chance / DRAWS) + 1 / DRAWS), degrees
    again = worlds_given(given, DRAWS).degrees
    assert np.array_equal(drawn, again)


@pytest.mark.parametrize("seed", range(8))
def test_where_it_was_brought_in_somebody_is_behind_it_in_every_world(seed):
    plain = evidence(np.random.default_rng(seed), causes=4, questions=6)
    given = evidence_of(plain.network, plain.signs, brought_in=True)
    ways = ways_of(plain.network, plain.signs, [1] * 4)
    left = [way for way in ways if way.most > NOBODY or not given.brought_in]
    whole, expected = sum(way.weight for way in left), Counter()
    for way in left:
        expected[way.present] += way.weight / whole
    found = Counter(frozenset(np.flatnonzero(row).tolist()) for row in worlds_given(given, DRAWS).present)
    assert found.total() == DRAWS
    for present in expected | found:  # the draws are weighed, so that they tell a little less than as many
        chance = expected[present]
        assert found[present] / DRAWS == pytest.approx(chance, abs=9 * np.sqrt(chance / DRAWS) + 3 / DRAWS), present
    if given.brought_in:
        assert sum(way.weight for way in ways) - whole == pytest.approx(believed(given).nobody, abs=1e-9)


def test_shares_of_wide_evidence_are_its_odds():
    given = evidence(np.random.default_rng(3), causes=25, questions=24)
    assert given.width >= 8
    drawn = worlds_given(given, DRAWS)
    exact = posteriors_of(given)
    limit = 5 * np.sqrt(0.25 / DRAWS)
    assert np.abs(drawn.present.mean(axis=0) - exact.present[:, 0]).max() < limit
    assert np.abs((drawn.degrees == 2).mean(axis=0) - exact.marked[:, 0]).max() < limit


def test_beyond_the_exact_width_the_sampler_stands_in(monkeypatch):
    given = evidence(np.random.default_rng(5), causes=10, questions=10)
    exact = posteriors_of(given).present[:, 0]
    monkeypatch.setattr(module, "MOST_EXACT", given.width - 1)
    drawn = worlds_given(given, 5_000).degrees
    assert len(drawn) == 5_000
    assert np.abs((drawn > 0).mean(axis=0) - exact).max() < 0.05
