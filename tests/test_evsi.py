"""The value of checks against all worlds and published decision trees."""

from __future__ import annotations

import itertools
from decimal import Decimal

import numpy as np
import pytest
from howdeep.decision.checks import rank_checks
from howdeep.decision.setting import setting_of
from howdeep.decision.value import perfect_information, sample_information

from howdeep.decision import checks as module
from howdeep.decision.ladder import Terms
from howdeep.decision.whatif import findings_if, known_of
from howdeep.model.knowledge import RUNGS, Check, History, Outcome
from howdeep.reasoning.condition import evaluate_all

from .made_up import ENGINE, PRICES, cause, finding, is_, knowledge_of, line, question, random_knowledge, reason
from .small_worlds import AllWorlds, cost_table, network, random_levels

MONEY = (180.0, 520.0, 1350.0, 2700.0, 4800.0, 6200.0)
TERMS = Terms(1.15, 150.0, 0.0)
DEAR = Terms(1.15, 1500.0, 0.0)
"""A comeback that hurts: the deeper rung is worth taking at a lower chance."""


def decided(knowledge, answers, need, seen, engine=ENGINE, money=MONEY, terms=TERMS):
    _, _, counted, net = reason(knowledge, answers, engine)
    levels = ({c: RUNGS[n] for c, n in zip(net.causes, need, strict=True)},
              {c: RUNGS[n] for c, n in zip(net.causes, seen, strict=True)})
    return setting_of(net, counted, *levels, {r: None if p is None else Decimal(str(p)) for r, p in
                                                  zip(RUNGS, money, strict=True)}, terms)


def rank(knowledge, answers, need, seen, engine=ENGINE, prices=PRICES, money=MONEY, terms=TERMS, **more):
    facts, findings, _, _ = reason(knowledge, answers, engine)
    setting = decided(knowledge, answers, need, seen, engine, money, terms)
    return setting, rank_checks(setting, knowledge, engine, facts, findings, frozenset(answers), prices, **more)


def some_answers(rng, knowledge, chance=0.5):
    return {name: item_answers[int(rng.integers(len(item_answers)))]
            for name, item in knowledge.observations.items()
            if name != "o0" and rng.random() < chance and (item_answers := list(item.answers))}


@pytest.mark.parametrize("seed", range(40))
def test_the_value_of_every_check_is_that_of_all_worlds(seed):
    rng = np.random.default_rng(seed)
    knowledge = random_knowledge(rng, lines=0)
    need, seen = random_levels(rng, 6)
    setting, ranking = rank(knowledge, some_answers(rng, knowledge), need, seen)
    net, worlds = setting.network, AllWorlds(setting.network)
    weight = worlds.weight(setting.evidence.present, setting.evidence.absent)
    weight = weight / weight.sum()
    costs = cost_table(worlds, need, seen, MONEY, TERMS)
    now = costs @ weight
    assert ranking.checks
    perfect = (now[setting.rung] - costs.min(axis=0) @ weight)
    assert float(ranking.perfect) == pytest.approx(perfect, abs=0.006)
    for check in ranking.checks:
        gain = 0.0
        for outcome in check.outcomes:
            truths = {f"f{check.check[1:]}{a}": a == outcome.answer for a in ("a", "b")
                      if f"f{check.check[1:]}{a}" in net.findings}
            seen_ = [net.findings.index(name) for name, truth in truths.items() if truth]
            unseen = [net.findings.index(name) for name, truth in truths.items() if not truth]
            joint = weight * np.prod(1 - worlds.unseen[:, seen_], axis=1) * np.prod(worlds.unseen[:, unseen], axis=1)
            after = costs @ joint
            assert outcome.chance == pytest.approx(joint.sum(), rel=1e-9)
            assert outcome.leads_to == RUNGS[int(np.argmin(np.round(after / joint.sum(), 2)))]
            gain += after[setting.rung] - after.min()
        assert float(check.gain) == pytest.approx(gain, abs=0.006)
        assert 0 <= check.gain <= ranking.perfect
        assert check.covered == pytest.approx(sum(o.chance for o in check.outcomes), rel=1e-9)
        assert check.cost == Decimal(str(check.minutes))  # 60 an hour
        assert check.net == check.gain - check.cost
    nets = [check.net for check in ranking.checks]
    assert nets == sorted(nets, reverse=True)
    assert ranking.quote_now == (nets[0] <= 0)


@pytest.mark.parametrize("seed", range(60))
def test_with_lines_of_evidence_a_value_is_never_negative_and_never_above_perfect_information(seed):
    rng = np.random.default_rng(1000 + seed)
    knowledge = random_knowledge(rng, lines=3)
    need, seen = random_levels(rng, 6)
    answers = some_answers(rng, knowledge)
    setting, ranking = rank(knowledge, answers, need, seen)
    for check in ranking.checks:
        assert 0 <= check.gain <= ranking.perfect
        assert sum(outcome.chance for outcome in check.outcomes) <= 1 + 1e-9
        for outcome in check.outcomes:
            # what it leads to is what the tool says once the answer is given
            then = decided(knowledge, {**answers, check.check: outcome.answer}, need, seen)
            assert RUNGS[then.rung] == outcome.leads_to


def two_level(**more):
    """One deep cause, one shallow; a vague complaint answered, a telling test still open."""
    return knowledge_of(
        causes={"battery": cause("common"), "rings": cause("very common")},
        observations={"start": question("hard", "easy"), "volts": question("low", "good", minutes=2.0), **more},
        findings={"hard": finding(is_("start", "hard"), "never", battery="usually", rings="nearly always"),
                  "low_volts": finding(is_("volts", "low"), "rarely", battery="nearly always")})


def test_a_cheap_test_that_unmasks_the_shallow_fault_comes_first():
    _, ranking = rank(two_level(other=question("x", "y")), {"start": "hard"}, (0, 3), (0, 3), terms=DEAR)
    assert ranking.checks[0].check == "volts"
    assert ranking.checks[0].net > 0
    assert {o.answer: o.leads_to for o in ranking.checks[0].outcomes}["low"] == "outside"
    other = next(check for check in ranking.checks if check.check == "other")
    assert other.gain == 0  # it draws no finding
    assert [outcome.chance for outcome in other.outcomes] == [0.5, 0.5]
    assert other.covered == 1.0


def test_in_a_line_the_outcomes_first_second_and_neither_leave_nothing_out():
    knowledge = knowledge_of(
        causes={"c": cause()}, observations={"o": question("much", "some", "none")},
        findings={"f1": finding(is_("o", "much"), "rarely", c="usually"),
                  "f2": finding(is_("o", "much", "some"), "sometimes", c="nearly always")},
        lines={"l": line("f1", "f2")})
    setting, ranking = rank(knowledge, {}, (3,), (3,))
    chances = {outcome.answer: outcome.chance for outcome in ranking.checks[0].outcomes}
    worlds = AllWorlds(setting.network)
    p1, p2 = ((worlds.p * (1 - worlds.unseen[:, i])).sum() for i in (0, 1))
    both = (worlds.p * (1 - worlds.unseen[:, 0]) * (1 - worlds.unseen[:, 1])).sum()
    assert chances["much"] == pytest.approx(p1)
    assert chances["some"] == pytest.approx(p2 - both)
    assert sum(chances.values()) == pytest.approx(1.0)


def test_a_more_telling_sign_takes_the_place_of_the_one_that_counted():
    knowledge = knowledge_of(
        causes={"c": cause(), "d": cause()}, observations={"o": question("yes", "no"), "p": question("yes", "no")},
        findings={"strong": finding(is_("o", "yes"), "never", c="usually"),
                  "weak": finding(is_("p", "yes"), "sometimes", c="usually", d="usually")},
        lines={"l": line("strong", "weak")})
    need, seen = (3, 0), (3, 0)
    setting, ranking = rank(knowledge, {"p": "yes"}, need, seen)
    yes = next(outcome for outcome in ranking.checks[0].outcomes if outcome.answer == "yes")
    worlds = AllWorlds(setting.network)
    with_weak = worlds.weight((1,))
    assert setting.network.findings == ("strong", "weak")
    assert yes.chance == pytest.approx(worlds.weight((0, 1)).sum() / with_weak.sum())
    after = cost_table(worlds, need, seen, MONEY, TERMS) @ worlds.weight((0,)) / worlds.weight((0,)).sum()
    gain = yes.chance * (after[setting.rung] - after.min())
    assert float(ranking.checks[0].gain) == pytest.approx(min(gain, float(ranking.perfect)), abs=0.006)


def test_answers_that_say_the_same_share_one_chance_and_one_value():
    one = two_level()
    many = two_level(volts=question("low", "good", "splendid", minutes=2.0))
    (_, first), (_, second) = (rank(k, {"start": "hard"}, (0, 4), (0, 3)) for k in (one, many))
    assert first.checks[0].gain == second.checks[0].gain
    split = {outcome.answer: outcome.chance for outcome in second.checks[0].outcomes}
    assert split["good"] == split["splendid"]
    assert sum(split.values()) == pytest.approx(1.0)


def test_what_was_made_does_not_apply_has_no_ground_or_cannot_be_done_is_not_offered():
    knowledge = two_level(
        diesel=question("x", "y", applies=is_("engine.fuel", "diesel")),
        after=question("x", "y", follows=is_("volts", "low")),
        lost=question("x", "y", follows=is_("start", "easy")),
        running=question("x", "y", needs=is_("start", "easy")),
        invalid=question("x", "y", valid_when=is_("start", "easy")),
        maybe=question("x", "y", needs=is_("volts", "good")),
        inside=question("x", "y", moment="teardown"))
    _, ranking = rank(knowledge, {"start": "hard"}, (0, 4), (0, 3))
    assert sorted(check.check for check in ranking.checks) == ["maybe", "volts"]


def test_per_cylinder_outcomes_are_laid_out_on_the_engine():
    knowledge = knowledge_of(
        causes={"valve": cause(), "rings": cause(), "gasket": cause()},
        observations={"dry": question("high", "low", each="cylinder", minutes=10.0)},
        findings={"all_low": finding(is_("dry", "low", cylinders="every"), "rarely", rings="usually"),
                  "pair_low": finding(is_("dry", "low", cylinders="neighbours"), "rarely", gasket="usually"),
                  "some_low": finding(is_("dry", "low", cylinders="any"), "rarely", valve="usually", rings="usually",
                                      gasket="usually")},
        checks={"compression": Check(
            title="Compression", observations=("dry",), minutes=15.0, because="", source=(), outcomes={
                "even": Outcome("all good", {"dry": {"each": "high"}}),
                "one": Outcome("one low", {"dry": {"one": "low", "others": "high"}}),
                "pair": Outcome("two neighbours low", {"dry": {"neighbours": "low", "others": "high"}}),
                "all": Outcome("all low", {"dry": {"each": "low"}})})})
    _, ranking = rank(knowledge, {}, (2, 3, 2), (2, 2, 2))
    values = {check.check: check for check in ranking.checks}
    assert values["compression"].minutes == 15.0
    assert values["compression"].observations == ("dry",)
    assert [o.answer for o in values["dry"].outcomes] == ["every high", "every low", "one low"]
    assert {o.answer for o in values["compression"].outcomes} == {"even", "one", "pair", "all"}
    assert values["compression"].gain >= values["dry"].gain  # it tells more outcomes apart


def test_a_bundle_partly_made_keeps_the_outcomes_that_agree_and_the_minutes_left():
    knowledge = knowledge_of(
        causes={"rings": cause(), "valve": cause()},
        observations={"dry": question("high", "low", minutes=20.0), "wet": question("rises", "stays", minutes=8.0)},
        findings={"low": finding(is_("dry", "low"), "rarely", rings="usually", valve="usually"),
                  "rises": finding(is_("wet", "rises"), "rarely", rings="usually")},
        checks={"both": Check("Dry then wet", ("dry", "wet"), {
            "sound": Outcome("high", {"dry": "high", "wet": "stays"}),
            "rings": Outcome("low, rises", {"dry": "low", "wet": "rises"}),
            "valve": Outcome("low, stays", {"dry": "low", "wet": "stays"})}, 25.0, "", ())})
    _, ranking = rank(knowledge, {"dry": "low"}, (3, 2), (3, 2))
    bundle = next(check for check in ranking.checks if check.check == "both")
    assert [outcome.answer for outcome in bundle.outcomes] == ["rings", "valve"]
    assert bundle.observations == ("wet",)
    assert bundle.minutes == 8.0


def test_a_number_is_asked_by_the_figures_that_findings_compare_it_with():
    from howdeep.model.condition import FactTest
    from howdeep.model.knowledge import Observation

    volts = Observation(title="Volts cranking", ask="?", moment="test", group="g", kind="number", unit="V",
                        range=(0, 16))
    knowledge = knowledge_of(
        causes={"battery": cause(), "rings": cause("very common")},
        observations={"start": question("hard", "easy"), "volts": volts},
        findings={"hard": finding(is_("start", "hard"), "never", battery="usually", rings="nearly always"),
                  "flat": finding(FactTest("volts", bounds=(("below", 9.6),)), "rarely", battery="nearly always")})
    _, ranking = rank(knowledge, {"start": "hard"}, (0, 3), (0, 3), terms=DEAR)
    assert [outcome.answer for outcome in ranking.checks[0].outcomes] == ["below 9.6 V", "above 9.6 V"]
    assert ranking.checks[0].gain > 0


def test_questions_of_history_have_no_chance_in_the_model_and_so_no_value():
    knowledge = two_level(stood=question("years", "no"))
    told = History("Stood for years", is_("stood", "years"), {"battery": 8.0}, "", ())
    knowledge = knowledge_of(causes=knowledge.causes, observations=knowledge.observations, findings=knowledge.findings,
                             history={"stood": told})
    _, ranking = rank(knowledge, {"start": "hard"}, (0, 4), (0, 3))
    assert next(check for check in ranking.checks if check.check == "stood").gain == 0


def test_without_prices_no_check_can_be_weighed():
    _, ranking = rank(two_level(), {"start": "hard"}, (0, 4), (0, 3), money=(None,) * 6)
    assert ranking.checks == ()


def test_where_perfect_information_would_not_pay_nothing_is_worked_out():
    setting, ranking = rank(two_level(), {"start": "hard"}, (0, 0), (0, 0), all_checks=False)
    assert ranking.checks == ()
    assert ranking.quote_now
    assert ranking.perfect <= Decimal("2.00")


def test_risk_is_paid_for():
    plain, risky = two_level(), two_level(volts=question("low", "good", minutes=2.0, risk="some"))
    (_, first), (_, second) = (rank(k, {"start": "hard"}, (0, 4), (0, 3)) for k in (plain, risky))
    assert second.checks[0].cost == first.checks[0].cost + 5


@pytest.mark.parametrize("seed", range(10))
def test_many_newly_present_findings_and_signed_sums_agree(seed, monkeypatch):
    from howdeep.decision import joints

    rng = np.random.default_rng(seed)
    observations = {"o0": question("a", "none"), "o1": question("a", "none")}
    words = ("rarely", "sometimes", "half the time", "usually")
    findings = {f"f{i}": finding(is_(f"o{i % 2}", "a"), "rarely", **{f"c{j}": words[int(rng.integers(4))]
                                 for j in range(5) if rng.random() < 0.5 or j == i % 5}) for i in range(8)}
    knowledge = knowledge_of(causes={f"c{j}": cause() for j in range(5)}, observations=observations, findings=findings)
    need, seen = random_levels(rng, 5)
    _, fresh = rank(knowledge, {"o1": "a"}, need, seen)
    monkeypatch.setattr(joints, "MOST_SIGNED", 9)
    _, signed = rank(knowledge, {"o1": "a"}, need, seen)
    assert fresh.checks == signed.checks or all(
        abs(a.gain - b.gain) <= Decimal("0.01") for a, b in zip(fresh.checks, signed.checks, strict=True))


def test_sampled_values_come_close_and_say_that_they_are_estimated(monkeypatch):
    rng = np.random.default_rng(5)
    knowledge = random_knowledge(rng, lines=2)
    need, seen = random_levels(rng, 6)
    answers = some_answers(rng, knowledge)
    _, exact = rank(knowledge, answers, need, seen)
    monkeypatch.setattr(module, "SUMMED_EXACTLY", -1)
    _, rough = rank(knowledge, answers, need, seen)
    assert rough.estimated
    assert not exact.estimated
    by_id = {check.check: check for check in exact.checks}
    for check in rough.checks:
        assert float(check.gain) == pytest.approx(float(by_id[check.check].gain), abs=25)


@pytest.mark.parametrize("seed", range(15))
def test_a_what_if_settles_the_findings_that_the_whole_rule_base_would(seed):
    rng = np.random.default_rng(seed)
    knowledge = random_knowledge(rng, lines=1)
    answers = some_answers(rng, knowledge)
    facts, findings, _, net = reason(knowledge, answers)
    known = known_of(knowledge, net, facts, findings)
    for name, item in knowledge.observations.items():
        for answer in [*item.answers, None]:
            whole = evaluate_all(knowledge, {**facts, name: answer})
            assert {**findings, **findings_if(known, {name: answer})} == whole


@pytest.mark.parametrize(("sheet", "seed"), [("brockwell-4", 1), ("dunmore-d4", 2), ("pell-2", 3)])
def test_on_the_shipped_rules_every_answer_leads_where_the_tool_says_it_would(shipped, sheet, seed):
    from howdeep.decision.ladder import ladder_of
    from howdeep.knowledge.engine_facts import engine_facts
    from howdeep.knowledge.engines import load_engine
    from howdeep.knowledge.where import shipped_rules
    from howdeep.reasoning.construction import applies

    engine = load_engine(shipped_rules() / "engines" / f"{sheet}.yaml")
    built = engine_facts(engine)
    rng = np.random.default_rng(seed)
    asked = [name for name, item in shipped.observations.items() if item.moment == "talk" and item.kind == "choice"
             and not item.each and applies(item, built) and item.follows is None]
    answers = {str(name): str(rng.choice(list(shipped.observations[name].answers)))
               for name in rng.choice(asked, size=12, replace=False)}
    _, _, _, net = reason(shipped, answers, engine)
    need, seen = random_levels(rng, len(net.causes))
    assert ladder_of(net.causes, *({c: RUNGS[n] for c, n in zip(net.causes, part, strict=True)}
                                   for part in (need, seen))).columns <= 63
    _, ranking = rank(shipped, answers, need, seen, engine, terms=DEAR)
    assert len(ranking.checks) > 40
    looked = 0
    for check in ranking.checks:
        assert 0 <= check.gain <= ranking.perfect
        assert sum(outcome.chance for outcome in check.outcomes) <= 1 + 1e-9
        item = shipped.observations.get(check.check)
        for outcome in check.outcomes if item is not None and item.kind == "choice" and not item.each else ():
            then = decided(shipped, {**answers, check.check: outcome.answer}, need, seen, engine, terms=DEAR)
            assert RUNGS[then.rung] == outcome.leads_to
            looked += 1
    assert looked > 80


# Published decision trees. One unknown state, a test for it, and two or three choices with their payoffs (costs here).

def test_samuelson_and_marks_oil_test_is_worth_20_and_perfect_information_120():
    # D1, Samuelson & Marks, Managerial Economics, ch. 13, fig. 13.2: oil .4; good test .5 -> oil .6; bad -> .2
    # P(good | oil) = .5 x .6 / .4 = .75, P(good | dry) = .5 x .4 / .6 = 1/3
    net = network([0.4], [[1 - (1 - 0.75) / (1 - 1 / 3)]], [1 / 3])
    worlds = AllWorlds(net)  # worlds: dry, oil
    costs = -np.array([[0.0, 0.0], [-200.0, 600.0]])  # do not drill, drill
    prior = worlds.weight()
    good, bad = worlds.weight((0,)), worlds.weight((), (0,))
    assert good.sum() == pytest.approx(0.5)
    assert good[1] / good.sum() == pytest.approx(0.6)
    assert -(costs @ prior)[1] == pytest.approx(120)
    assert -(costs @ good)[1] / good.sum() == pytest.approx(280)
    assert -(costs @ bad)[1] / bad.sum() == pytest.approx(-40)
    assert sample_information(np.array([costs @ good, costs @ bad]), 1) == pytest.approx(20)
    assert perfect_information(costs, prior, 1) == pytest.approx(120)


def test_published_payoff_tables_have_the_printed_value_of_perfect_information():
    # D2, lecture slides: EMV 680 / 590 / 500, with perfect information 1030, EVPI 350
    payoff, chance = np.array([[1500, 300, -800], [900, 600, -200], [500, 500, 500]]), np.array([0.5, 0.3, 0.2])
    assert (payoff @ chance).tolist() == pytest.approx([680, 590, 500])
    assert perfect_information(-payoff.astype(float), chance, 0) == pytest.approx(350)
    # D3, lecture slides (third option misprinted 20, it is 22): EMV 42 / 44 / 22, EVPI 28
    payoff, chance = np.array([[50, 30], [100, -40], [30, 10]]), np.array([0.6, 0.4])
    assert (payoff @ chance).tolist() == pytest.approx([42, 44, 22])
    assert perfect_information(-payoff.astype(float), chance, 1) == pytest.approx(28)


def test_a_published_test_that_is_not_worth_buying_is_not_bought():
    # D5, decision-tree exercise solutions (SIUE): P(O) .3, P(P|O) .9, P(P|not O) .3 -> P(P) .48, P(O|P) .56,
    # P(not O|not P) .94. Payoffs are not printed in what was read; whatever they are, a choice that is best after
    # either result makes the test worth nothing.
    net = network([0.3], [[1 - (1 - 0.9) / (1 - 0.3)]], [0.3])
    worlds = AllWorlds(net)
    positive, negative = worlds.weight((0,)), worlds.weight((), (0,))
    assert positive.sum() == pytest.approx(0.48)
    assert positive[1] / positive.sum() == pytest.approx(0.5625)
    assert negative[0] / negative.sum() == pytest.approx(0.94, abs=0.005)
    costs = -np.array([[0.0, 0.0], [187.0 - 100, 187.0 + 100 * 7 / 3]])
    joint = np.array([costs @ positive, costs @ negative])
    assert sample_information(joint, 1) == 0.0


@pytest.mark.parametrize(("costs", "states"), list(itertools.product(
    ([[1.0, 5.0], [3.0, 2.0]], [[4.0, 4.0], [9.0, 0.0]]), ([0.5, 0.5], [0.01, 0.99]))))
def test_information_is_never_worth_less_than_nothing(costs, states):
    # D7, property of the expected value of perfect information
    costs, states = np.array(costs), np.array(states)
    best = int((costs @ states).argmin())
    assert perfect_information(costs, states, best) >= 0
