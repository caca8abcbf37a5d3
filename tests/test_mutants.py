"""Mutants: each changes one thing, and what is skipped as unchanged is unchanged."""

import random
import sys

import numpy as np
import pytest

from howdeep.assessment.facts import contradictions_in, facts_of
from howdeep.assessment.prepared import prepare
from howdeep.decision.answer_kind import with_kind
from howdeep.knowledge.where import shipped_cases
from howdeep.logic.evaluate import evaluate, evaluate_all
from howdeep.model.truth import Truth

from .places import ROOT
from .sampling import WHOLE

sys.path.insert(0, str(ROOT / "bench"))
from hypothetical import Questions, row_of
from mutants import HOLDS, LINKS, ODDS, READINGS, RULES, WORK, mutants
from probes import _says, answer_of, probes_of, seen, share_work


@pytest.fixture(scope="module")
def cases(shop):
    return probes_of(shop, shipped_cases(), 0, 1, every=1 if WHOLE else 12)[0]


@pytest.fixture(scope="module")
def all_mutants(shipped):
    return list(mutants(shipped))


def test_every_mutant_has_a_name_of_its_own_and_changes_the_rule_base(shipped, all_mutants):
    assert len({mutant.id for mutant in all_mutants}) == len(all_mutants) > 5000
    for mutant in random.Random(1).sample(all_mutants, 100):
        assert mutant.make(shipped) != shipped, mutant.id


def test_the_same_rule_base_gives_the_same_mutants(shipped, all_mutants):
    assert [mutant.id for mutant in mutants(shipped)] == [mutant.id for mutant in all_mutants]


@pytest.mark.parametrize("touches", [LINKS, ODDS, RULES, READINGS, WORK, HOLDS])
def test_a_probe_passed_over_as_unchanged_is_unchanged(shop, cases, all_mutants, touches):
    draw = random.Random(touches)
    chosen = draw.sample([mutant for mutant in all_mutants if mutant.touches == touches], 2)
    for mutant in chosen:
        changed = mutant.make(shop.knowledge)
        share_work(shop.knowledge, changed, mutant)
        for probe in draw.sample(cases, 2):
            quick = answer_of(shop, probe, mutant, changed)
            quick = probe.answer if quick is None else quick
            fresh = mutant.make(shop.knowledge)  # nothing shared, nothing passed over
            facts = facts_of(fresh, probe.job)[0]
            findings = evaluate_all(fresh, facts.values)
            ready = prepare(fresh, probe.job, facts, findings, shop.prices, steps=_says(probe.expect), surprises=False)
            assert quick.beliefs == ready.beliefs.causes, (mutant.id, probe.name)
            decision = with_kind(fresh, ready.problem, ready.decision, ready.case, ())
            assert quick.decision == decision, (mutant.id, probe.name)
            assert quick.conclusions.findings == findings, (mutant.id, probe.name)
            assert quick.works == ready.works, (mutant.id, probe.name)
            assert quick.contradictions == contradictions_in(fresh, probe.job), (mutant.id, probe.name)


def test_the_answer_by_the_pure_evaluator_is_the_answer(shop, cases):
    for probe in cases[:: 12 if WHOLE else 3]:
        answer = shop.assess(probe.job, checks=False, flips=False)
        assert seen(answer) == seen(probe.answer), probe.name


def test_random_jobs_drop_a_question_whose_ground_is_gone(shop, shipped):
    engine = shop.open_job(min(shipped_cases().glob("*.yaml"))).engine
    columns, given = Questions(shipped, engine).block(4000, np.random.default_rng(1))
    limits = {key: limit.value for key, limit in shipped.limits.items()}
    dropped = 0
    for number in range(0, 4000, 20):
        facts, raw = row_of(columns, number), row_of(given, number)
        for name in raw:
            item = shipped.observations.get(name)
            if item is None or item.follows is None:
                continue
            if evaluate(item.follows, facts, {}, limits) is Truth.ABSENT:
                implied = {
                    word
                    for other in shipped.observations.values()
                    for answers in other.implies.values()
                    for key, word in answers.items()
                    if key == name
                }
                assert name not in facts or facts[name] in implied, name
                dropped += 1
    assert dropped > 50
