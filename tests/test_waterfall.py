"""Which findings count, and how the way from base odds to posterior odds is told."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.model.knowledge import History
from howdeep.model.results import Counted
from howdeep.model.truth import Truth
from howdeep.reasoning import waterfall as module
from howdeep.reasoning.beliefs import believe
from howdeep.reasoning.counted import count, stories
from howdeep.reasoning.waterfall import strength

from .made_up import cause, finding, is_, knowledge_of, line, question, reason
from .small_worlds import AllWorlds, random_evidence, random_network

P, A, U = Truth.PRESENT, Truth.ABSENT, Truth.UNKNOWN


def decibans(p):
    return 10 * math.log10(p / (1 - p))


def counted_in(truths, **lines):
    knowledge = knowledge_of(causes={"c": cause()}, lines={name: line(*items) for name, items in lines.items()},
                             findings={name: finding(is_("o", name), c="usually") for name in truths})
    return count(stories(knowledge), truths)


def test_in_a_line_the_first_present_finding_counts_and_the_others_are_already_counted():
    assert counted_in({"a": A, "b": P, "c": P, "d": U}, l=("a", "b", "c", "d")) == Counted(
        ("b",), (), {"a": "b", "c": "b"}, ("c",))


def test_where_none_of_a_line_is_present_the_first_absent_one_counts():
    assert counted_in({"a": U, "b": A, "c": A}, l=("a", "b", "c")) == Counted((), ("b",), {"c": "b"})


def test_findings_in_no_line_all_count_and_unknown_ones_never():
    assert counted_in({"a": P, "b": A, "c": U}) == Counted(("a",), ("b",), {})


def test_a_finding_in_two_lines_counts_unless_one_that_counts_stands_before_it_in_one_of_them():
    # g stands before f in the second line, so f is out; with f out, the first line is told by a
    lines = {"l1": ("f", "a"), "l2": ("g", "f")}
    assert counted_in({"f": P, "a": P, "g": P}, **lines) == Counted(("a", "g"), (), {"f": "g"}, ("f",))
    # with g unknown, f tells both stories
    assert counted_in({"f": P, "a": P, "g": U}, **lines) == Counted(("f",), (), {"a": "f"}, ("a",))


def test_lines_that_contradict_each_other_are_settled_by_the_first():
    assert counted_in({"f": P, "g": P}, l1=("f", "g"), l2=("g", "f")) == Counted(("f",), (), {"g": "f"}, ("g",))


def test_an_intermediate_conclusion_never_counts():
    knowledge = knowledge_of(causes={"c": cause()}, lines={"l": line("a", "b")},
                             findings={"a": finding(is_("o", "x")), "b": finding(is_("o", "y"), c="usually")})
    assert count(stories(knowledge), {"a": P, "b": P}) == Counted(("b",), (), {})


@given(st.integers(0, 100_000))
@settings(max_examples=60, deadline=None)
def test_no_two_findings_of_a_line_count_together_and_every_one_left_out_has_one_in_its_place(seed):
    rng = np.random.default_rng(seed)
    names = [f"f{i}" for i in range(9)]
    lines = {f"l{i}": tuple(names[int(j)] for j in rng.choice(9, size=int(rng.integers(2, 5)), replace=False))
             for i in range(4)}
    truths = {name: (P, A, U)[int(rng.integers(3))] for name in names}
    answer = counted_in(truths, **lines)
    taken = {*answer.present, *answer.absent}
    for items in lines.values():
        assert len(taken & set(items)) <= 1
    known = {name for name in names if truths[name] is not U}
    assert taken | set(answer.already) == known
    assert not taken & set(answer.already)
    for left_out, instead in answer.already.items():
        assert instead in taken
        assert any({left_out, instead} <= set(items) for items in lines.values())
    shuffled = {name: truths[name] for name in names[::-1]}
    assert counted_in(shuffled, **dict(reversed(lines.items()))) == answer


@pytest.mark.parametrize("seed", range(25))
def test_steps_sum_to_the_posterior_and_each_says_alone_what_it_would(seed):
    rng = np.random.default_rng(seed)
    net = random_network(rng, 8, 9)
    worlds = AllWorlds(net)
    present, absent, _ = random_evidence(rng, net)
    given_ = Counted(tuple(net.findings[i] for i in present), tuple(net.findings[i] for i in absent), {})
    for belief in believe(net, given_).causes:
        number = net.causes.index(belief.cause)
        assert sum(step.decibans for step in belief.steps) == pytest.approx(decibans(belief.posterior), abs=1e-9)
        assert belief.steps[0].label == "base"
        for step in belief.steps:
            if step.kind in ("present", "absent"):
                one = [net.findings.index(step.label)]
                alone = worlds.posteriors(one) if step.kind == "present" else worlds.posteriors((), one)
                assert step.alone == pytest.approx(decibans(alone[number]) - decibans(net.prior[number]), abs=1e-8)
        # in the order told, each running sum is the posterior given what was told so far
        order = [net.findings[i] for i in module.telling_order(net, present)]
        told = [step.label for step in belief.steps if step.kind == "present"]
        assert told == [name for name in order if name in told]
        if told:
            upto = [net.findings.index(name) for name in order[: order.index(told[0]) + 1]]
            running = sum(step.decibans for step in belief.steps
                          if step.kind != "present" or step.label == told[0])
            assert running == pytest.approx(decibans(worlds.posteriors(upto, absent)[number]), abs=1e-8)


def engine_that_stood(**history):
    return knowledge_of(
        causes={"battery": cause("common"), "rings": cause("uncommon")},
        observations={"start": question("hard", "easy"), "volts": question("low", "good"),
                      "stood": question("years", "no")},
        findings={"hard_start": finding(is_("start", "hard"), "rarely", battery="usually", rings="half the time"),
                  "flat": finding(is_("volts", "low"), "rarely", battery="nearly always")},
        history={"long_stood": History("It stood for years", is_("stood", "years"), {"battery": 6.0, "rings": 4.0},
                                       "", ()), **history})


def test_history_that_holds_shifts_the_base_odds_by_its_decibans_and_is_told_as_a_step():
    _, _, counted, net = reason(engine_that_stood(), {"stood": "years"})
    answer = believe(net, counted)
    rings = next(belief for belief in answer.causes if belief.cause == "rings")
    assert [step.label for step in rings.steps] == ["base", "long_stood"]
    assert rings.steps[0].decibans == pytest.approx(decibans(0.04))
    assert rings.steps[1].decibans == pytest.approx(4.0)
    assert rings.prior == pytest.approx(rings.posterior)
    assert decibans(rings.prior) == pytest.approx(decibans(0.04) + 4)
    _, _, counted, net = reason(engine_that_stood(), {"stood": "no"})
    assert believe(net, counted).odds()["rings"] == pytest.approx(0.04)


def test_history_unknown_says_nothing():
    _, _, counted, net = reason(engine_that_stood(), {"start": "hard"})
    assert net.history == ()
    assert (net.prior == net.base).all()


def test_odds_never_reach_0_or_1_and_the_steps_still_sum():
    flood = {f"h{i}": History("a claim", is_("stood", "years"), {"battery": 40.0, "rings": -60.0}, "", ())
             for i in range(3)}
    _, _, counted, net = reason(engine_that_stood(**flood), {"stood": "years", "volts": "low"})
    for belief in believe(net, counted).causes:
        assert 0 < belief.posterior < 1
        assert sum(step.decibans for step in belief.steps) == pytest.approx(decibans(belief.posterior), abs=1e-6)


def test_the_test_is_told_before_the_complaint_and_names_who_takes_the_blame():
    _, _, counted, net = reason(engine_that_stood(), {"start": "hard", "volts": "low"})
    rings = next(belief for belief in believe(net, counted).causes if belief.cause == "rings")
    assert [step.label for step in rings.steps] == ["base", "hard_start"]
    step = rings.steps[1]
    assert step.decibans < 2.5 < step.alone
    assert step.explained_by == ("battery",)


def test_misreading_weakens_every_finding():
    import dataclasses

    from .made_up import SETTINGS

    knowledge = engine_that_stood()
    careful = dataclasses.replace(knowledge, settings=dataclasses.replace(SETTINGS, misread=0.0))
    odds = []
    for base in (knowledge, careful):
        _, _, counted, net = reason(base, {"volts": "low"})
        odds.append(believe(net, counted).odds()["battery"])
        assert net.q[0, net.findings.index("flat")] == pytest.approx(0.95 * (1 - base.settings.misread))
        assert net.leak[net.findings.index("flat")] == pytest.approx(1 - 0.95 * (1 - base.settings.misread))
    assert odds[0] < odds[1]


def test_a_cause_that_the_engine_cannot_have_has_no_odds():
    knowledge = engine_that_stood()
    knowledge = knowledge_of(causes={**knowledge.causes, "glow": cause(applies=is_("engine.fuel", "diesel"))},
                             observations=knowledge.observations,
                             findings={**knowledge.findings, "smoke": finding(is_("volts", "low"), glow="usually")})
    _, _, counted, net = reason(knowledge, {"volts": "low"})
    assert net.causes == ("battery", "rings")
    assert "smoke" in counted.present


def test_beyond_the_telling_width_present_findings_are_told_together(monkeypatch):
    rng = np.random.default_rng(2)
    net = random_network(rng, 8, 9)
    given_ = Counted(net.findings[:6], net.findings[6:], {})
    apart = believe(net, given_).causes
    monkeypatch.setattr(module, "WIDEST", 0)
    together = believe(net, given_).causes
    for one, other in zip(apart, together, strict=True):
        assert sum(s.decibans for s in one.steps) == pytest.approx(sum(s.decibans for s in other.steps), abs=1e-9)
        assert [s.label for s in other.steps if s.kind == "present"] in ([], [module.TOGETHER])


@pytest.mark.parametrize(("step", "word"), [(0.0, "nothing"), (3.0, "barely"), (-7.0, "substantial"), (12.0, "strong"),
                                            (-17.0, "very strong"), (25.0, "decisive")])
def test_strength_in_words_follows_half_units_of_log10(step, word):
    # Jeffreys, Theory of Probability, app. B: grades at 10^(1/2), 10, 10^(3/2) and 100
    assert strength(step) == word
