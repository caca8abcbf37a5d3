"""What would move the recommendation: fresh runs at every flip point, every open and every given answer."""

from __future__ import annotations

import dataclasses
from decimal import Decimal

import numpy as np
import pytest
from howdeep.decision.checks import rank_checks
from howdeep.decision.decide import decision_of
from howdeep.decision.flips import find_flips
from howdeep.decision.money_flips import money_flips
from howdeep.decision.numbers import every_number
from howdeep.decision.sensitivity import tipping_points, word_flips
from howdeep.decision.setting import setting_of, with_costs

from howdeep.decision.ladder import Terms
from howdeep.decision.plan import bench_plan
from howdeep.model.knowledge import RUNGS, History
from howdeep.model.results import CheckValue
from howdeep.reasoning.beliefs import believe
from howdeep.reasoning.network import with_words

from .made_up import ENGINE, PRICES, SETTINGS, is_, question, random_knowledge, reason
from .small_worlds import random_levels

MONEY = dict(zip(RUNGS, map(Decimal, ("180", "520", "1350", "2700", "4800", "6200")), strict=True))
TERMS = Terms(1.15, 900.0, 50.0)


def situation(seed, lines=2, questions=7, chance=0.6):
    """A knowledge, answers, levels and the decision on them."""
    rng = np.random.default_rng(seed)
    knowledge = random_knowledge(rng, causes=6, questions=questions, lines=lines)
    answers = {name: list(item.answers)[int(rng.integers(len(item.answers)))]
               for name, item in knowledge.observations.items() if rng.random() < chance}
    need, seen = random_levels(rng, 6)
    return knowledge, answers, need, seen, decided(knowledge, answers, need, seen)


def decided(knowledge, answers, need, seen, terms=TERMS, money=MONEY):
    facts, findings, counted, net = reason(knowledge, answers)
    return setting_of(net, counted, {c: RUNGS[n] for c, n in zip(net.causes, need, strict=True)},
                      {c: RUNGS[n] for c, n in zip(net.causes, seen, strict=True)}, money, terms)


def again(setting, network):
    return setting_of(network, setting.counted, {c: RUNGS[n] for c, n in zip(network.causes, setting.ladder.need,
                                                                            strict=True)},
                      {c: RUNGS[n] for c, n in zip(network.causes, setting.ladder.seen, strict=True)},
                      MONEY, setting.terms)


def moved(network, named, x):
    """The network with the number so named set to x."""
    if " " not in named:
        prior = network.prior.copy()
        prior[network.causes.index(named)] = x
        return dataclasses.replace(network, prior=prior)
    subject, _, cause = named.partition(" given ")
    if cause:
        q = network.q.copy()
        q[network.causes.index(cause), network.findings.index(subject)] = x
        return dataclasses.replace(network, q=q)
    leak = network.leak.copy()
    leak[network.findings.index(subject.removesuffix(" otherwise"))] = x
    return dataclasses.replace(network, leak=leak)


def test_a_fresh_run_at_every_flip_point_finds_the_two_rungs_tied_and_leads_at_the_ends_as_stated():
    kinds = {}
    for seed in range(60):
        knowledge, _, _, _, setting = situation(seed)
        for point in tipping_points(setting, knowledge):
            numbers, number = point.numbers, point.number
            named, low, high = numbers.subject(number), numbers.low[number], numbers.high[number]
            there = again(setting, moved(setting.network, named, point.at))
            assert there.expected[point.to] == pytest.approx(there.expected[setting.rung], rel=1e-9)
            assert there.expected[setting.rung] == pytest.approx(np.nanmin(there.expected), rel=1e-9)
            assert low <= point.at <= high
            for end, lead in ((low, point.lead_low), (high, point.lead_high)):
                costs = again(setting, moved(setting.network, named, end)).expected
                assert lead == pytest.approx(costs[setting.rung] - np.delete(costs, setting.rung).min(), abs=1e-6)
            kind = named.split()[1] if " " in named else numbers.kind(number)
            kinds[kind] = kinds.get(kind, 0) + 1
    assert set(kinds) == {"prior", "given", "otherwise"}
    assert sum(kinds.values()) > 60


def test_where_no_flip_point_is_named_one_word_either_way_moves_nothing():
    from howdeep.reasoning.messages import messages_of

    for seed in range(12):
        knowledge, _, _, _, setting = situation(seed)
        named = {point.number for point in tipping_points(setting, knowledge)}
        messages = messages_of(setting.evidence, setting.ladder.allowed)
        numbers = every_number(setting, knowledge, messages)
        assert named < set(range(len(numbers.value)))
        for number in set(range(len(numbers.value))) - named:
            for end in (numbers.low[number], numbers.high[number]):
                costs = again(setting, moved(setting.network, numbers.subject(number), end)).expected
                assert costs[setting.rung] <= np.nanmin(costs) + 1e-6


def test_a_word_is_named_exactly_where_half_a_step_of_it_moves_the_recommendation():
    named = 0
    for seed in range(25):
        knowledge, _, _, _, setting = situation(seed)
        flips = {(flip.subject, flip.at): flip.to for flip in word_flips(setting, knowledge)}
        named += len(flips)
        for (word, at), to in flips.items():
            value = float(at.removesuffix(" %")) / 100
            network = with_words(setting.network, dataclasses.replace(SETTINGS, words={**SETTINGS.words, word: value}))
            costs = again(setting, network).expected
            assert costs[RUNGS.index(to)] == pytest.approx(np.nanmin(costs), rel=2e-2)
    assert named


def test_at_the_charge_and_the_labour_rate_named_the_rungs_tie():
    found = {"comeback charge": 0, "labour rate": 0}
    labour = dict(zip(RUNGS, (100.0, 250.0, 700.0, 1300.0, 2500.0, 0.0), strict=True))
    for seed in range(60):
        _, _, _, _, setting = situation(seed)
        for flip in money_flips(setting, labour, 60.0):
            found[flip.subject] += 1
            x = float(flip.at)
            if flip.subject == "comeback charge":
                there = with_costs(setting, terms=Terms(1.15, x, 50.0))
            else:
                there = with_costs(setting, prices=tuple(p + labour[r] * (x / 60 - 1) for p, r in
                                                         zip(setting.prices, RUNGS, strict=True)))
            assert there.expected[RUNGS.index(flip.to)] == pytest.approx(there.expected[setting.rung], abs=0.5)
            assert max(flip.low, flip.high) > 0
    assert all(found.values())


@pytest.mark.parametrize("seed", range(25))
def test_every_given_answer_named_as_decisive_is_and_no_other_is(seed):
    knowledge, answers, need, seen, setting = situation(seed)
    facts, findings, _, _ = reason(knowledge, answers)
    flips = find_flips(setting, knowledge, facts, findings, answers, None)
    named = {(flip.subject, flip.at): flip.to for flip in flips if flip.kind == "answer"}
    for name, given in answers.items():
        for other in knowledge.observations[name].answers:
            if other != given:
                rung = RUNGS[decided(knowledge, {**answers, name: other}, need, seen).rung]
                assert named.get((name, other), RUNGS[setting.rung]) == rung


@pytest.mark.parametrize("seed", range(10))
def test_open_answers_named_as_decisive_are_and_history_answers_too(seed):
    knowledge, answers, need, seen, _ = situation(seed, chance=0.4)
    history = {"h": History("a claim", is_("stood", "years"), {"c0": 12.0, "c1": -9.0}, "", ())}
    knowledge = dataclasses.replace(knowledge, history=history,
                                    observations={**knowledge.observations, "stood": question("years", "no")})
    setting = decided(knowledge, answers, need, seen)
    facts, findings, _, _ = reason(knowledge, answers)
    ranking = rank_checks(setting, knowledge, ENGINE, facts, findings, frozenset(answers), PRICES)
    for flip in find_flips(setting, knowledge, facts, findings, answers, ranking):
        if flip.kind == "open":
            answer = next(o.answer for check in ranking.checks if check.check == flip.subject for o in check.outcomes
                          if o.title == flip.at)
            then = decided(knowledge, {**answers, flip.subject: answer}, need, seen)
            assert RUNGS[then.rung] == flip.to != RUNGS[setting.rung]
    stood = next(check for check in ranking.checks if check.check == "stood")
    for outcome in stood.outcomes:
        assert outcome.leads_to == RUNGS[decided(knowledge, {**answers, "stood": outcome.answer}, need, seen).rung]


def test_facts_that_follow_from_other_facts_are_worked_out_again_where_asked():
    knowledge, answers, need, seen, setting = situation(3)
    facts, findings, _, _ = reason(knowledge, answers)
    asked = []

    def moved_by(new):
        asked.append(dict(new))
        return dict(new)

    plain = find_flips(setting, knowledge, facts, findings, answers, None)
    assert find_flips(setting, knowledge, facts, findings, answers, None, moved_by=moved_by) == plain
    assert asked


def test_without_prices_nothing_is_said_to_flip():
    knowledge, answers, need, seen, _ = situation(1)
    setting = decided(knowledge, answers, need, seen, money=dict.fromkeys(RUNGS))
    facts, findings, _, _ = reason(knowledge, answers)
    assert find_flips(setting, knowledge, facts, findings, answers, None) == ()


def value(check, net, *, risk="none", setup="", moment="test", minutes=5.0, observations=None):
    return CheckValue(check, check, observations or (check,), minutes, risk, setup, Decimal(net) + 1, Decimal(1),
                      Decimal(net), (), 1.0, moment)


def test_the_bench_plan_asks_first_then_groups_by_set_up_safe_ones_first():
    plan = bench_plan([value("leak_down", 90, risk="some", setup="air line"), value("spark", 20, setup="plugs out"),
                       value("compression", 50, setup="plugs out", minutes=20.0), value("smoke", 5, moment="talk"),
                       value("useless", -1), value("exhaust", 10, setup="engine running", risk="slight")])
    assert plan.steps == (("", ("smoke",)), ("plugs out", ("compression", "spark")), ("engine running", ("exhaust",)),
                          ("air line", ("leak_down",)))
    assert plan.minutes == 40.0


def test_of_checks_that_share_an_observation_only_the_most_worthwhile_is_planned():
    plan = bench_plan([value("dry_and_wet", 40, observations=("dry", "wet")), value("dry", 30)])
    assert plan.steps == (("", ("dry_and_wet",)),)


def everything(knowledge, answers, need, seen):
    """Beliefs, decision, ranking and flips of one situation."""
    facts, findings, counted, net = reason(knowledge, answers)
    setting = decided(knowledge, answers, need, seen)
    ranking = rank_checks(setting, knowledge, ENGINE, facts, findings, frozenset(answers), PRICES)
    beliefs = believe(net, counted)
    return (beliefs, decision_of(setting, beliefs.odds()), ranking,
            find_flips(setting, knowledge, facts, findings, answers, ranking))


def turned_round(mapping):
    return dict(reversed(mapping.items()))


@pytest.mark.parametrize("seed", range(8))
def test_the_order_in_which_answers_and_rules_are_written_changes_no_byte(seed):
    knowledge, answers, need, seen, _ = situation(seed)
    other = dataclasses.replace(knowledge, findings={
        name: dataclasses.replace(item, explained_by=turned_round(item.explained_by))
        for name, item in reversed(knowledge.findings.items())},
        lines=turned_round(knowledge.lines), causes=turned_round(knowledge.causes),
        observations=turned_round(knowledge.observations))
    again_ = everything(other, turned_round(answers), need, seen)
    assert repr(again_) == repr(everything(knowledge, answers, need, seen))


@pytest.mark.parametrize("seed", range(8))
def test_other_ids_change_no_printed_figure(seed):
    knowledge, answers, need, seen, _ = situation(seed, lines=0)
    names = sorted(knowledge.causes)
    renamed = {name: f"x{9 - number}" for number, name in enumerate(names)}
    other = dataclasses.replace(
        knowledge, causes=dict(sorted((renamed[name], item) for name, item in knowledge.causes.items())),
        findings={f"z{999 - number}": dataclasses.replace(
            item, explained_by={renamed[cause]: word for cause, word in item.explained_by.items()})
            for number, (name, item) in enumerate(knowledge.findings.items())})
    other = dataclasses.replace(other, findings=dict(sorted(other.findings.items())))
    here = everything(knowledge, answers, need, seen)
    there = everything(other, answers, need[::-1], seen[::-1])
    assert {renamed[name]: round(odds, 9) for name, odds in here[0].odds().items()} == {
        name: round(odds, 9) for name, odds in there[0].odds().items()}
    lines = [[(line.rung, line.price, line.growth, line.comeback, line.expected, round(line.enough, 9))
              for line in result[1].ladder] for result in (here, there)]
    assert lines[0] == lines[1]
    assert [(check.check, check.net) for check in here[2].checks] == [(check.check, check.net) for check in
                                                                      there[2].checks]
