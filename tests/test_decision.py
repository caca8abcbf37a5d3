"""The decision against the literal growth of every job in every world."""

from __future__ import annotations

import dataclasses
from decimal import Decimal

import numpy as np
import pytest
from howdeep.decision.decide import decide
from howdeep.decision.setting import setting_of

from howdeep.decision import setting as setting_module
from howdeep.decision.ladder import Terms, cheapest, ladder_of
from howdeep.decision.worth import worth_of
from howdeep.model.knowledge import RUNGS
from howdeep.model.results import CostLine, Counted
from howdeep.reasoning import sampling
from howdeep.reasoning.beliefs import believe

from .small_worlds import AllWorlds, cost_table, network, random_evidence, random_levels, random_network

PRICES = (180.0, 520.0, 1350.0, 2700.0, 4800.0, 6200.0)
TERMS = Terms(1.15, 500.0, 90.0, 40.0)


def levels(causes, need, seen):
    return ({cause: RUNGS[n] for cause, n in zip(causes, need, strict=True)},
            {cause: RUNGS[n] for cause, n in zip(causes, seen, strict=True)})


def money(prices):
    return {rung: None if price is None else Decimal(str(price)) for rung, price in zip(RUNGS, prices, strict=True)}


def counted(net, present, absent):
    return Counted(tuple(net.findings[i] for i in present), tuple(net.findings[i] for i in absent), {})


@pytest.mark.parametrize("seed", range(60))
def test_expected_cost_and_chance_of_enough_are_those_of_the_literal_growth_of_every_job(seed):
    rng = np.random.default_rng(seed)
    net = random_network(rng, 8, 7)
    worlds = AllWorlds(net)
    need, seen = random_levels(rng, 8)
    present, absent, _ = random_evidence(rng, net)
    prices = tuple(np.cumsum(rng.uniform(50, 2000, 6))) if seed % 3 else PRICES[::-1]  # also prices that fall
    terms = Terms(*(float(rng.uniform(*span)) for span in ((0.8, 1.6), (0, 3000), (0, 500), (0, 200))))
    share = worlds.weight(present, absent)
    share = share / share.sum()
    setting = setting_of(net, counted(net, present, absent), *levels(net.causes, need, seen), money(prices), terms)
    exact = cost_table(worlds, need, seen, [float(Decimal(str(p))) for p in prices], terms) @ share
    deepest = np.array([max((need[c] for c in range(8) if world[c]), default=0) for world in worlds.x])
    assert np.allclose(setting.expected, exact, rtol=1e-11, atol=1e-9)
    assert np.allclose(setting.enough, [share[deepest <= rung].sum() for rung in range(6)], atol=1e-12)
    assert setting.states.sum() == pytest.approx(1.0, abs=1e-12)
    assert (setting.states > -1e-12).all()
    assert setting.ladder.columns <= 63
    assert setting.rung == cheapest(exact)


@pytest.mark.parametrize("estimated", (False, True), ids=("summed", "drawn"))
@pytest.mark.parametrize("seed", range(10))
def test_what_was_noticed_is_cured_where_no_cause_that_shows_a_present_finding_is_left(monkeypatch, seed, estimated):
    if estimated:
        monkeypatch.setattr(setting_module, "MOST_EXACT", -1)
    rng = np.random.default_rng(seed)
    net = random_network(rng, 8, 7)
    worlds = AllWorlds(net)
    need, seen = random_levels(rng, 8)
    present, absent, rest = random_evidence(rng, net)
    told = counted(net, present, absent)
    shadowed = rest[:1] if present else ()  # present, but another finding of its line counts in its place
    told = dataclasses.replace(told, shown_too=tuple(net.findings[i] for i in shadowed))
    share = worlds.weight(present, absent)
    share = share / share.sum()
    setting = setting_of(net, told, *levels(net.causes, need, seen), money(PRICES), TERMS)
    behind = [cause for cause in range(8) if any(net.q[cause, finding] for finding in (*present, *shadowed))]
    for rung in range(6):
        left = worlds.x[:, [cause for cause in behind if need[cause] > rung]].any(axis=1)
        exact = share[~left].sum() if present else setting.enough[rung]
        assert setting.noticed[rung] == pytest.approx(exact, abs=0.03 if estimated else 1e-12)
    assert setting.estimated == estimated and (setting.noticed >= setting.enough - 1e-9).all()


def test_all_63_columns_appear_where_causes_of_every_kind_are_possible():
    pairs = [(seen, need) for need in range(6) for seen in range(need + 1)]
    names = tuple(f"c{i:02}" for i in range(len(pairs)))
    ladder = ladder_of(names, {name: RUNGS[n] for name, (_, n) in zip(names, pairs, strict=True)},
                       {name: RUNGS[s] for name, (s, _) in zip(names, pairs, strict=True)})
    assert ladder.columns == 63
    assert len(ladder.states) == 63


def test_a_job_grows_past_a_level_that_a_newly_opened_cause_blocks():
    # c00 is seen outside and cured at the top end; c01 is seen only there and needs a rebuild
    net = network([0.5, 0.5], np.zeros((2, 1)), [0.1])
    setting = setting_of(net, Counted((), (), {}), *levels(net.causes, (2, 4), (0, 2)), money(PRICES), Terms(1.0, 0.0))
    # worlds none, c00, c01, both: from outside they end at 0, 2, 0 (and come back for 4), 4
    assert setting.expected[0] == pytest.approx((180 + 1350 + (180 + 4800) + 4800) / 4)


def decision(setting_prices=PRICES, prior=(0.3, 0.4), need=(3, 1), seen=(3, 0), **named):
    net = network(prior, [[0.8], [0.0]], [0.05])
    seen_ = counted(net, (0,), ())
    odds = believe(net, seen_).odds()
    return decide(net, seen_, *levels(net.causes, need, seen), money(setting_prices), TERMS, odds, **named)


def test_the_recommended_rung_costs_least_and_the_parts_of_every_line_add_up():
    answer = decision(currency="USD")
    best = next(line for line in answer.ladder if line.rung == answer.rung)
    assert all(best.expected <= line.expected for line in answer.ladder)
    second = min(line.expected for line in answer.ladder if line.rung != answer.rung)
    assert answer.wins_by == second - best.expected
    assert next(line.expected for line in answer.ladder if line.rung == answer.runner_up) == second
    assert all(line.price + line.growth + line.comeback == line.expected for line in answer.ladder)
    assert [line.rung for line in answer.ladder] == list(RUNGS)
    assert RUNGS.index(answer.shallowest) <= RUNGS.index(answer.rung) <= RUNGS.index(answer.deepest)


def test_of_rungs_that_cost_the_same_the_shallower_is_recommended():
    assert cheapest(np.array([5.0, 3.004, 3.0049, 3.0, 9.0, np.nan])) == 1
    assert cheapest(np.array([np.nan, 3.006, 3.0049, 3.0, 9.0, np.nan])) == 2


def test_without_prices_a_threshold_stands_in_and_the_answer_is_provisional():
    answer = decision((None,) * 6, missing=("a price list",))
    assert answer.provisional
    assert answer.wins_by is None
    enough = {line.rung: line.enough for line in answer.ladder}
    assert enough[answer.rung] >= 0.8
    assert all(enough[rung] < 0.8 for rung in RUNGS[: RUNGS.index(answer.rung)])
    assert all(line.expected is None for line in answer.ladder)
    assert answer.missing == ("a price list",)


def test_a_missing_price_for_another_engine_hinders_nothing_unless_a_cause_needs_one():
    answer = decision((*PRICES[:5], None))
    assert not answer.provisional
    assert answer.ladder[5].expected is None
    assert decision((*PRICES[:5], None), need=(5, 1)).provisional


def test_causes_that_a_rung_does_not_cure_are_named_likeliest_first():
    answer = decision()
    odds = dict(answer.ladder[0].not_cured)
    assert list(odds) == sorted(odds, key=lambda name: -odds[name])
    assert set(odds) == {"c00", "c01"}
    assert [name for name, _ in answer.ladder[1].not_cured] == ["c00"]
    assert answer.ladder[3].not_cured == ()


@pytest.mark.parametrize(("value", "said", "worth"), [
    ("900", "beyond repair by the figures alone", ("beyond repair",)),
    ("4600", "% of the USD 4,600", ("ask the owner",)),
    ("90000", "% of the USD 90,000", ("worth it",)),
    (None, "", ()),
])
def test_the_cost_is_compared_with_what_the_machine_is_worth(value, said, worth):
    answer = decision(currency="USD", value_running=None if value is None else Decimal(value))
    assert said in answer.beyond
    assert bool(answer.beyond) == bool(said)
    assert answer.worth == worth


def test_a_first_step_within_the_value_that_may_lead_beyond_it_is_asked_about_and_not_condemned():
    line = CostLine("outside", 0.4, 0.9, Decimal(300), Decimal(700), Decimal(1000), Decimal(2000))
    verdicts, said = worth_of(line, "USD", Decimal(1500), None)
    assert verdicts == ("ask the owner",) and "This work costs USD 300;" in said and "beyond repair" not in said
    verdicts, said = worth_of(line, "USD", Decimal(299), Decimal(1900))
    assert verdicts == ("beyond repair", "replacement costs less")
    assert "costs USD 300, USD 2,000 expected in the end" in said
    assert worth_of(line, "USD", Decimal(4001), Decimal(2001))[0] == ("worth it",)


def test_a_cheaper_replacement_engine_is_pointed_out():
    answer = decision(currency="USD", replacement=Decimal(100))
    assert "which is less" in answer.beyond and answer.worth == ("replacement costs less",)
    assert decision(currency="USD", replacement=Decimal(100_000)).worth == ()


@pytest.mark.parametrize("seed", range(6))
def test_a_dearer_comeback_never_makes_the_recommendation_shallower(seed):
    rng = np.random.default_rng(seed)
    net = random_network(rng, 8, 7)
    need, seen = random_levels(rng, 8)
    present, absent, _ = random_evidence(rng, net)
    rungs = [setting_of(net, counted(net, present, absent), *levels(net.causes, need, seen), money(PRICES),
                        Terms(1.1, charge)).enough for charge in (0.0, 4000.0)]
    assert np.allclose(rungs[0], rungs[1])
    chosen = [setting_of(net, counted(net, present, absent), *levels(net.causes, need, seen), money(PRICES),
                         Terms(1.1, charge)) for charge in (0.0, 400.0, 4000.0, 1e6)]
    comebacks = [(s.costs.comeback[s.rung] > 0) @ s.states for s in chosen]
    assert all(later <= earlier + 1e-12 for earlier, later in zip(comebacks, comebacks[1:], strict=False))


def test_sampled_figures_come_close_to_exact_ones_and_say_that_they_are_estimated(monkeypatch):
    from howdeep.decision import setting as module

    rng = np.random.default_rng(3)
    net = random_network(rng, 12, 14, 6)
    need, seen = random_levels(rng, 12)
    given = counted(net, tuple(range(8)), (10, 11))
    exact = setting_of(net, given, *levels(net.causes, need, seen), money(PRICES), TERMS)
    monkeypatch.setattr(module, "MOST_EXACT", 0)
    monkeypatch.setattr(sampling, "BOUNDS", (3,))
    rough = setting_of(net, given, *levels(net.causes, need, seen), money(PRICES), TERMS)
    assert rough.estimated
    assert not exact.estimated
    assert np.allclose(rough.enough, exact.enough, atol=0.03)
    assert np.allclose(rough.expected, exact.expected, rtol=0.03)


def test_an_influence_diagram_of_a_general_library_finds_the_same_costs_and_choice():
    # pyAgrum 3: Shafer-Shenoy LIMID on a diagram with the rung as its only decision; CPTs from addNoisyORNet.
    import pyagrum as gum

    rng = np.random.default_rng(8)
    net = random_network(rng, 5, 5, 3)
    need, seen = (0, 1, 2, 3, 4), (0, 1, 1, 3, 2)
    prices, terms = PRICES, TERMS
    bayes, diagram = gum.BayesNet(), gum.InfluenceDiagram()
    for number, cause in enumerate(net.causes):
        bayes.add(gum.LabelizedVariable(cause, cause, 2))
        bayes.cpt(cause).fillWith([1 - net.prior[number], net.prior[number]])
        diagram.addChanceNode(gum.LabelizedVariable(cause, cause, 2))
        diagram.cpt(cause).fillWith([1 - net.prior[number], net.prior[number]])
    for number, finding in enumerate(net.findings):
        bayes.addNoisyORNet(gum.LabelizedVariable(finding, finding, 2), float(net.leak[number]))
        diagram.addChanceNode(gum.LabelizedVariable(finding, finding, 2))
        for cause in np.flatnonzero(net.q[:, number]):
            bayes.addWeightedArc(net.causes[cause], finding, float(net.q[cause, number]))
            diagram.addArc(net.causes[cause], finding)
        theirs = diagram.cpt(finding)
        table = gum.Instantiation(theirs)
        while not table.end():
            theirs.set(table, bayes.cpt(finding)[table.todict()])
            table.inc()
    diagram.addDecisionNode(gum.LabelizedVariable("rung", "rung", 6))
    diagram.addUtilityNode(gum.LabelizedVariable("cost", "cost", 1))
    for name in ("rung", *net.causes):
        diagram.addArc(name, "cost")
    worlds = AllWorlds(net)
    table = cost_table(worlds, need, seen, prices, terms)
    utility = diagram.utility("cost")
    for number, world in enumerate(worlds.x):
        for rung in range(6):
            named = {cause: int(world[c]) for c, cause in enumerate(net.causes)}
            utility[{"rung": rung, **named}] = -table[rung, number]
    for given in (((0, 2), (1,)), ((3,), (0, 4))):
        inference = gum.ShaferShenoyLIMIDInference(diagram)
        inference.setEvidence({**{net.findings[i]: 1 for i in given[0]}, **{net.findings[i]: 0 for i in given[1]}})
        inference.makeInference()
        setting = setting_of(net, counted(net, *given), *levels(net.causes, need, seen), money(prices), terms)
        assert inference.MEU()["mean"] == pytest.approx(-setting.expected.min(), rel=1e-9)
        best = inference.optimalDecision("rung").argmax()[0][0]["rung"]
        assert best == setting.rung
