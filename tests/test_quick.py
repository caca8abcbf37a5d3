"""The bare conclusions are those of the whole answer."""

import dataclasses

import pytest

from howdeep.assessment.quick import odds_of, quick_answer
from howdeep.cases.run import case_files
from howdeep.knowledge.where import shipped_cases

CASES = case_files(shipped_cases())[::45]


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_odds_and_best_job_are_those_of_the_whole_answer(shop, path):
    job = shop.open_job(path)
    whole = shop.assess(job, checks=False, flips=False)
    odds = {belief.cause: belief.posterior for belief in whole.beliefs}
    quick = quick_answer(shop.knowledge, job, shop.prices)
    assert odds_of(shop.knowledge, job) == pytest.approx(odds, abs=1e-12)
    assert quick.odds == pytest.approx(odds, abs=1e-12)
    assert quick.enough == pytest.approx({line.rung: line.enough for line in whole.decision.ladder}, abs=1e-12)


def test_what_was_done_already_counts_in_the_odds_too(shop):
    job = shop.open_job(CASES[0])
    tried = dataclasses.replace(job, job=dataclasses.replace(job.job, done=("charge_or_replace_battery",)))
    whole = {belief.cause: belief.posterior for belief in shop.assess(tried, checks=False, flips=False).beliefs}
    assert odds_of(shop.knowledge, tried) == pytest.approx(whole, abs=1e-12)
    assert odds_of(shop.knowledge, tried)["weak_battery"] < odds_of(shop.knowledge, job)["weak_battery"]
