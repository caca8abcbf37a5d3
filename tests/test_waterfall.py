"""How the way from base odds to posterior odds is told: it sums exactly, and a question speaks once."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from howdeep.assessment.facts import facts_of
from howdeep.beliefs import waterfall as module
from howdeep.beliefs.believe import believe
from howdeep.beliefs.evidence import evidence_of
from howdeep.beliefs.waterfall import strength, telling_order
from howdeep.cases.run import case_files
from howdeep.decision.ladder import NOBODY
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.where import shipped_cases
from howdeep.model.causes import History
from howdeep.model.truth import Truth

from .literal_worlds import ways_of
from .made_up import cause, finding, is_, knowledge_of, line, question, reason
from .made_up_networks import evidence, summed


def decibans(p):
    return 10 * math.log10(p / (1 - p))


def odds_given(network, signs, number) -> float:
    """Decibans of a cause given some signs, by enumeration."""
    whole, absent = summed(network, tuple(signs)), summed(network, tuple(signs), off=(number,))
    return 10 * math.log10((whole - absent) / absent)


@pytest.mark.parametrize("seed", range(20))
def test_steps_sum_to_the_posterior_and_every_figure_is_that_of_all_worlds(seed):
    given = evidence(np.random.default_rng(seed), causes=4, questions=6)
    network = given.network
    order = [given.axes[axis].sign for axis in telling_order(given)]
    sound = [sign for sign in given.signs if not sign.answer]
    label = {sign: network.nodes[sign.node].findings[sign.answer - 1] for sign in order}
    for belief in believe(given).causes:
        number = network.causes.index(belief.cause)
        assert sum(step.decibans for step in belief.steps) == pytest.approx(decibans(belief.posterior), abs=1e-9)
        assert belief.steps[0].label == "base"
        assert belief.steps[0].decibans == pytest.approx(decibans(network.base[number]), abs=1e-9)
        told = [step for step in belief.steps if step.kind == "present"]
        assert [step.label for step in told] == [
            name for name in map(label.get, order) if name in [step.label for step in told]
        ]
        at = sum(step.decibans for step in belief.steps if step.kind != "present")
        assert at == pytest.approx(odds_given(network, sound, number), abs=1e-8)
        for step in told:  # each running sum is what is believed given what was told so far
            at += step.decibans
            place = next(place for place, sign in enumerate(order) if label[sign] == step.label)
            assert at == pytest.approx(odds_given(network, [*sound, *order[: place + 1]], number), abs=1e-8)
            alone = odds_given(network, [order[place]], number) - decibans(network.prior[number])
            assert step.alone == pytest.approx(alone, abs=1e-8)


@pytest.mark.parametrize("seed", range(20))
def test_what_it_was_brought_in_for_has_somebody_behind_it_and_the_steps_still_sum(seed, monkeypatch):
    rng = np.random.default_rng(seed)
    plain = evidence(rng, causes=4, questions=6)
    network, signs = plain.network, plain.signs
    given = evidence_of(network, signs, brought_in=True)
    need = [1] * len(network.causes)
    ways = [way for way in ways_of(network, signs, need) if way.most > NOBODY or not given.brought_in]
    whole = sum(way.weight for way in ways)
    for widest in (module.WIDEST, -1):
        monkeypatch.setattr(module, "WIDEST", widest)
        for belief in believe(given).causes:
            number = network.causes.index(belief.cause)
            there = sum(way.weight for way in ways if number in way.present)
            assert belief.posterior == pytest.approx(there / whole, abs=1e-9)
            assert sum(step.decibans for step in belief.steps) == pytest.approx(decibans(belief.posterior), abs=1e-7)


@pytest.mark.parametrize("seed", range(20))
def test_signs_too_tangled_to_be_taken_in_one_by_one_still_sum(seed, monkeypatch):
    given = evidence(np.random.default_rng(seed), causes=4, questions=6)
    apart = believe(given).causes
    monkeypatch.setattr(module, "WIDEST", -1)
    for one, other in zip(apart, believe(given).causes, strict=True):
        assert one.posterior == other.posterior and one.steps[0] == other.steps[0]
        assert sum(step.decibans for step in other.steps) == pytest.approx(decibans(one.posterior), abs=1e-9)


@pytest.mark.parametrize("path", case_files(shipped_cases())[::8], ids=lambda path: path.stem)
def test_a_question_speaks_once_and_only_of_causes_it_has_to_do_with(shop, path):
    knowledge = shop.knowledge
    answer = shop.assess(shop.open_job(path), checks=False, flips=False)
    asked = {name: frozenset(finding.explained_by) for name, finding in knowledge.findings.items()}
    for belief in answer.beliefs:
        assert not belief.steps or sum(step.decibans for step in belief.steps) == pytest.approx(
            decibans(belief.posterior), abs=1e-6
        )
        labels = [step.label for step in belief.steps]
        assert len(labels) == len(set(labels)), belief.cause
        for step in belief.steps:
            if step.kind == "absent":
                assert belief.cause in asked[step.label], (belief.cause, step.label)
                assert step.decibans < 0 and answer.conclusions.findings[step.label] is Truth.ABSENT
            elif step.kind == "present" and step.label != module.BROUGHT_IN:
                assert answer.conclusions.findings[step.label] is Truth.PRESENT
            elif step.kind == "history":
                assert belief.cause in knowledge.history[step.label].shifts
    facts, _ = facts_of(knowledge, answer.job)
    told = {**engine_facts(answer.job.engine), **facts.values}
    assert all(
        told.get(fact) is not None
        for name in answer.counted.absent
        for fact in _only_fact(knowledge.findings[name].when)
    )


def _only_fact(condition) -> tuple[str, ...]:
    """The fact of a finding over one answer; it cannot be denied unless that answer was given."""
    return (condition.fact,) if hasattr(condition, "fact") else ()


def test_one_sound_answer_denies_every_answer_of_its_question_though_they_stand_in_one_line():
    base = knowledge_of(
        causes={"head": cause("rare"), "deck": cause("rare")},
        observations={"flat": question("good", "close", "beyond", worsens=("good", "close", "beyond"))},
        findings={
            "near": finding(is_("flat", "close"), "rarely", head="half the time"),
            "beyond": finding(is_("flat", "beyond"), "never", head="half the time"),
        },
        lines={"l": line("beyond", "near")},
    )
    _, _, signs, network = reason(base, {"flat": "good"})
    assert [sign.denies for sign in signs.signs] == [(1, 2)]
    assert signs.absent == ("beyond", "near") and signs.already == {}
    node = network.nodes[signs.signs[0].node]
    given = evidence_of(network, signs.signs)
    assert given.sound[0][:, 1] == pytest.approx(node.at_most[:, network.causes.index("head"), 0])


def engine_that_stood(**history):
    return knowledge_of(
        causes={"battery": cause("common"), "rings": cause("uncommon")},
        observations={
            "start": question("easy", "hard", worsens=("easy", "hard")),
            "volts": question("good", "low", worsens=("good", "low")),
            "stood": question("years", "no"),
        },
        findings={
            "hard_start": finding(is_("start", "hard"), "rarely", battery="usually", rings="half the time"),
            "flat": finding(is_("volts", "low"), "rarely", battery="nearly always"),
        },
        history={
            "long_stood": History("It stood for years", is_("stood", "years"), {"battery": 6.0, "rings": 4.0}, "", ()),
            **history,
        },
    )


def believed(knowledge, answers):
    _, _, signs, network = reason(knowledge, answers)
    return {belief.cause: belief for belief in believe(evidence_of(network, signs.signs)).causes}


def test_history_that_holds_shifts_the_base_odds_by_its_decibans_and_is_told_as_a_step():
    rings = believed(engine_that_stood(), {"stood": "years"})["rings"]
    assert [step.label for step in rings.steps] == ["base", "long_stood"]
    assert rings.steps[0].decibans == pytest.approx(decibans(0.04))
    assert rings.steps[1].decibans == pytest.approx(4.0)
    assert rings.prior == pytest.approx(rings.posterior)
    assert decibans(rings.prior) == pytest.approx(decibans(0.04) + 4)
    assert believed(engine_that_stood(), {"stood": "no"})["rings"].posterior == pytest.approx(0.04)
    unknown = believed(engine_that_stood(), {"start": "hard"})["rings"]
    assert unknown.prior == pytest.approx(0.04) and all(step.kind != "history" for step in unknown.steps)


def test_odds_never_reach_0_or_1_and_the_steps_still_sum():
    flood = {
        f"h{i}": History("a claim", is_("stood", "years"), {"battery": 40.0, "rings": -60.0}, "", ()) for i in range(3)
    }
    for belief in believed(engine_that_stood(**flood), {"stood": "years", "volts": "low"}).values():
        assert 0 < belief.posterior < 1
        assert sum(step.decibans for step in belief.steps) == pytest.approx(decibans(belief.posterior), abs=1e-6)


def test_the_test_is_told_before_the_complaint_and_names_who_takes_the_blame():
    before = believed(engine_that_stood(), {"start": "hard"})["rings"]
    rings = believed(engine_that_stood(), {"start": "hard", "volts": "low"})["rings"]
    assert [step.label for step in rings.steps] == ["base", "hard_start"]
    assert rings.posterior < before.posterior
    step = rings.steps[1]
    assert step.decibans < step.alone - 0.5
    assert step.explained_by == ("battery",)


def test_misreading_weakens_every_sign():
    knowledge = engine_that_stood()
    careful = dataclasses.replace(
        knowledge,
        settings=dataclasses.replace(knowledge.settings, misread=dict.fromkeys(knowledge.settings.misread, 0.0)),
    )
    sure, plain = (believed(base, {"volts": "low"})["battery"].posterior for base in (careful, knowledge))
    assert plain < sure
    denied = [believed(base, {"volts": "good"})["battery"].posterior for base in (careful, knowledge)]
    assert denied[0] < denied[1]


def test_a_cause_that_the_engine_cannot_have_has_no_odds():
    knowledge = engine_that_stood()
    knowledge = knowledge_of(
        causes={**knowledge.causes, "glow": cause(applies=is_("engine.fuel", "diesel"))},
        observations=knowledge.observations,
        findings={**knowledge.findings, "smoke": finding(is_("volts", "low"), glow="usually")},
    )
    assert set(believed(knowledge, {"volts": "low"})) == {"battery", "rings"}


def test_without_evidence_a_cause_keeps_its_prior():
    for belief in believed(engine_that_stood(), {}).values():
        assert belief.posterior == pytest.approx(belief.prior, rel=1e-12) and belief.hand == 0


@pytest.mark.parametrize(
    ("step", "word"),
    [
        (0.0, "nothing"),
        (3.0, "barely"),
        (-7.0, "substantial"),
        (12.0, "strong"),
        (-17.0, "very strong"),
        (25.0, "decisive"),
    ],
)
def test_strength_in_words_follows_half_units_of_log10(step, word):
    # Jeffreys, Theory of Probability, app. B: grades at 10^(1/2), 10, 10^(3/2) and 100
    assert strength(step) == word
