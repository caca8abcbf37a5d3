"""Odds of worked cases in a general library: pyAgrum's MAX aggregator over one latent child a cause and question."""

from __future__ import annotations

import numpy as np
import pytest

from howdeep.assessment.facts import facts_of
from howdeep.assessment.prepared import prepare
from howdeep.beliefs.posteriors import posteriors_of
from howdeep.cases.run import case_files
from howdeep.knowledge.where import shipped_cases
from howdeep.logic.evaluate import evaluate_all

from . import pyagrum_max
from .made_up_networks import evidence
from .sampling import WHOLE

CASES = 20 if WHOLE else 3
WIDEST, LARGEST = 5, 420
"""Wider evidence, or more variables than this, takes the library minutes."""


def small_cases(shop):
    """(case, evidence) of worked cases that the library can take, one in three of them, until there are enough."""
    for path in case_files(shipped_cases())[:: 3 if WHOLE else 12]:
        job = shop.open_job(path)
        facts, _ = facts_of(shop.knowledge, job)
        findings = evaluate_all(shop.knowledge, facts.values)
        given = prepare(shop.knowledge, job, facts, findings, None, steps=False).evidence
        few = given.width <= WIDEST and len(given.axes) > 1
        if few and pyagrum_max.bayes_net(given, every=False)[0].size() <= LARGEST:
            yield path.stem, given


def test_worked_cases_have_the_odds_that_a_general_library_gives(shop):
    tried = 0
    for case, given in small_cases(shop):
        ours = posteriors_of(given)
        theirs = pyagrum_max.posteriors(given, every=False)
        assert len(theirs) > 5, case
        for number, cause in enumerate(given.network.causes):
            if cause in theirs:
                here = (ours.present[number, 0], ours.marked[number, 0])
                assert here == pytest.approx(theirs[cause], abs=1e-9), (case, cause)
        tried += 1
        if tried == CASES:
            return
    raise AssertionError(f"only {tried} worked cases are small enough")


@pytest.mark.parametrize("seed", range(10))
def test_made_up_networks_with_readings_near_an_edge_have_the_same_odds_too(seed):
    given = evidence(np.random.default_rng(seed), causes=6, questions=7)
    ours = posteriors_of(given)
    theirs = pyagrum_max.posteriors(given)
    for number, cause in enumerate(given.network.causes):
        if cause in theirs:
            here = (ours.present[number, 0], ours.marked[number, 0])
            assert here == pytest.approx(theirs[cause], abs=1e-9)
