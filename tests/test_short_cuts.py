"""Short cuts of the what-if questions give what the whole way gives."""

import dataclasses

import numpy as np
import pytest
from howdeep.decision.joints import evidence_under
from howdeep.decision.setting import SUMMED_EXACTLY, coefficients_of
from howdeep.decision.then import counted_change, rungs_if

from howdeep.assess import prepare
from howdeep.cases import case_files
from howdeep.decision.ladder import cheapest
from howdeep.decision.whatif import known_of
from howdeep.facts import facts_of, moved_facts_of, plain_answers
from howdeep.knowledge.where import shipped_cases
from howdeep.reasoning.condition import evaluate_all
from howdeep.reasoning.elimination import evidence_of, on_network
from howdeep.reasoning.messages import sums_of
from howdeep.reasoning.network import with_words

PATHS = case_files(shipped_cases())[::15]


def turned(knowledge, job):
    """(question, other answer) of every given choice."""
    for name, value in sorted(job.values.items()):
        item = knowledge.observations[name]
        if item.kind == "choice" and not item.each and item.moment != "teardown":
            yield from ((name, answer) for answer in item.answers if answer != value)


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_an_answer_that_nothing_hangs_on_is_exchanged_as_if_all_were_read_again(shop, path):
    job = shop.open_job(path)
    facts, _ = facts_of(shop.knowledge, job)
    moved = moved_facts_of(shop.knowledge, job, facts)
    for name, answer in turned(shop.knowledge, job):
        again = facts_of(shop.knowledge, dataclasses.replace(job, values={**job.values, name: answer}))[0].values
        then = {**facts.values, **moved({name: answer})}
        assert {fact: value for fact, value in then.items() if value is not None} == dict(again), (name, answer)


def test_the_short_cut_is_taken_for_most_questions_and_never_for_a_reading(shop):
    plain = plain_answers(shop.knowledge)
    choices = {name for name, item in shop.knowledge.observations.items() if item.kind == "choice"}
    assert plain < choices and len(plain) > len(choices) / 2
    assert "smoke_any" not in plain and "test_engine_warm" not in plain


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_answers_turned_together_lead_where_each_leads_alone(shop, path):
    job = shop.open_job(path)
    facts, _ = facts_of(shop.knowledge, job)
    findings = evaluate_all(shop.knowledge, facts.values)
    setting = prepare(shop.knowledge, job, facts, findings, shop.prices, steps=False).setting
    if setting.estimated or setting.evidence.plan.width > SUMMED_EXACTLY:
        return  # nothing is turned there: `find_flips` leaves it out
    known = known_of(shop.knowledge, setting.network, facts.values, findings)
    changes = [counted_change(known, {name: answer}) for name, answer in turned(shop.knowledge, job)]
    changes = changes[:: 1 if setting.evidence.plan.width < 11 else 6]
    assert changes
    together, coefficients = rungs_if(setting, changes), coefficients_of(setting)
    for change in changes:
        under = evidence_under(setting.evidence, change)
        fresh = dataclasses.replace(evidence_of(under.network, under.present, under.absent), odds=under.odds)
        sums, _, _ = sums_of(fresh, setting.ladder.allowed)
        assert together[change] == cheapest(coefficients @ sums)


def test_other_words_on_the_same_links_give_the_evidence_that_is_made_anew(shop):
    job = shop.open_job(PATHS[0])
    facts, _ = facts_of(shop.knowledge, job)
    ready = prepare(shop.knowledge, job, facts, evaluate_all(shop.knowledge, facts.values), shop.prices, steps=False)
    evidence, settings = ready.setting.evidence, shop.knowledge.settings
    words = {**settings.words, "usually": 0.7}
    network = with_words(ready.network, dataclasses.replace(settings, words=words))
    short, anew = on_network(evidence, network), evidence_of(network, evidence.present, evidence.absent)
    assert not np.array_equal(short.odds, evidence.odds)
    np.testing.assert_allclose(short.odds, anew.odds, rtol=1e-12)
    assert short.log_scale == pytest.approx(anew.log_scale, rel=1e-12)
    allowed = ready.setting.ladder.allowed
    np.testing.assert_allclose(sums_of(short, allowed)[0], sums_of(anew, allowed)[0], rtol=1e-9)
