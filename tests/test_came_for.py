"""What an engine was brought in for: its own chance, and what is believed of a word that nobody asked for."""

import dataclasses

import numpy as np
import pytest

from howdeep.beliefs.evidence import evidence_of
from howdeep.beliefs.frames import asked_about, complained_of, frame_of
from howdeep.beliefs.speakers import invented_besides, invented_of
from howdeep.decision.answer_kind import _came_for
from howdeep.decision.ladder import LEVELS, NOBODY
from howdeep.decision.problem import problem_of
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.engines import load_engine
from howdeep.knowledge.where import shipped_rules
from howdeep.model.decided import JobLine
from howdeep.model.odds import odds_words
from howdeep.model.terms import RUNGS

from .literal_worlds import ways_of
from .test_covers import assessed
from .test_problem import NEAR, tried


@pytest.mark.parametrize("seed", range(60))
def test_the_chance_that_it_goes_away_is_that_of_every_draw(seed):
    """In a network in which all else that was noticed need not go."""
    case, rng = tried(seed), np.random.default_rng(seed + 1_000)
    evidence, shop = case.problem.evidence, case.shop
    network = evidence.network
    about = frozenset(reading for node in network.nodes for reading in node.readings if rng.random() < 0.5)
    levels = (
        {name: RUNGS[level] for name, level in zip(network.causes, given, strict=True)}
        for given in (shop.need, shop.seen)
    )
    targeted = [item.job for item in case.problem.weighed[LEVELS:]]
    problem = problem_of(evidence, *levels, shop.prices, targeted, case.problem.terms, about=about)
    own = [axis.must_go and bool(network.nodes[axis.sign.node].readings & about) for axis in evidence.axes]
    if not any(own) or own == [axis.must_go for axis in evidence.axes]:
        assert all(item.came_for is None for item in problem.weighed)
        return
    narrow = dataclasses.replace(
        network,
        nodes=tuple(
            node if node.readings & about else dataclasses.replace(node, sorts=("discriminator",) * len(node.sorts))
            for node in network.nodes
        ),
    )
    ways = ways_of(narrow, case.signs, shop.need)
    for rung in range(LEVELS):
        expected = sum(way.weight for way in ways if way.most <= rung)
        assert problem.weighed[rung].came_for == pytest.approx(expected, **NEAR)
        assert problem.weighed[rung].came_for >= problem.weighed[rung].enough - 1e-9
    left = [NOBODY if name in case.cured else level for name, level in zip(network.causes, shop.need, strict=True)]
    expected = sum(way.weight for way in ways_of(narrow, case.signs, left) if way.most == NOBODY)
    assert problem.weighed[LEVELS].came_for == pytest.approx(expected, **NEAR)


def test_where_it_was_brought_in_something_is_behind_it():
    """That nobody is behind anything that was noticed is ruled out, and its chance taken off this one as well."""
    case = tried(3)
    evidence = evidence_of(case.problem.evidence.network, case.signs, brought_in=True)
    assert evidence.brought_in
    levels = (
        {name: RUNGS[level] for name, level in zip(evidence.network.causes, given, strict=True)}
        for given in (case.shop.need, case.shop.seen)
    )
    about = frozenset(next(evidence.network.nodes[axis.sign.node].readings for axis in evidence.axes if axis.must_go))
    problem = problem_of(evidence, *levels, case.shop.prices, [], case.problem.terms, about=about)
    nobody = problem.nobody
    if problem.weighed[0].came_for is None:
        pytest.fail("the made-up network of this seed has more than one sign that must go")
    narrow = dataclasses.replace(
        evidence.network,
        nodes=tuple(
            node if node.readings & about else dataclasses.replace(node, sorts=("discriminator",) * len(node.sorts))
            for node in evidence.network.nodes
        ),
    )
    ways = ways_of(narrow, case.signs, case.shop.need)
    for rung in range(LEVELS):
        free = sum(way.weight for way in ways if way.most <= rung)
        assert problem.weighed[rung].came_for == pytest.approx((free - nobody) / (1 - nobody), **NEAR)


def test_the_questions_about_a_complaint_hold_those_that_go_into_detail(shop):
    about = complained_of(shop.knowledge, {"complaint": "knocks"})
    assert {"noise", "noise_when", "noise_speed"} <= about and "oil_use" not in about
    both = complained_of(shop.knowledge, {"complaint": "knocks", "complaint_also": "uses_oil"})
    assert both > about and "oil_use" in both
    assert complained_of(shop.knowledge, {"complaint": "check_over"}) is None
    assert complained_of(shop.knowledge, {"runs": "yes"}) is None


def test_what_he_came_for_is_believed_sooner_than_what_he_is_only_asked(shop):
    base = shop.knowledge
    share = base.settings.invented["word"]
    about = complained_of(base, {"complaint": "knocks"})
    assert invented_of(base, ["noise"], about) == share < invented_of(base, ["oil_use"], about) == 1.0
    facts = engine_facts(load_engine(shipped_rules() / "engines" / "brockwell-4.yaml"))
    frames = {word: frame_of(base, facts, complained_of(base, {"complaint": word})) for word in ("knocks", "uses_oil")}
    assert frames["knocks"] is frame_of(base, facts, about), "made once for each complaint"

    def mistaken(word, question):
        node = next(node for node in frames[word].nodes if node.readings == {question})
        return float(1 - node.misread[0])

    assert mistaken("knocks", "noise") == pytest.approx(share * mistaken("uses_oil", "noise"), rel=0.2)
    assert mistaken("uses_oil", "oil_use") == pytest.approx(share * mistaken("knocks", "oil_use"), rel=0.2)


def test_a_frame_of_a_complaint_is_what_each_question_is_for_it(shop):
    """Questions are shared by complaints; those that read more than the complaint is about are made for it."""
    base = shop.knowledge
    facts = engine_facts(load_engine(shipped_rules() / "engines" / "dunmore-d4.yaml"))
    whole = frame_of(base, facts)
    mixed = 0
    for word in base.settings.spoken_of:
        about = complained_of(base, {"complaint": word})
        frame = frame_of(base, facts, about)
        for node, plain in zip(frame.nodes, whole.nodes, strict=True):
            wanted = asked_about(base, plain, about)
            assert node.misread == pytest.approx(wanted.misread, abs=0), (word, node.findings)
            assert node.question == plain.question and node.at_most is plain.at_most
            mixed += bool(node.readings & about) and not node.readings <= about
    assert mixed > 5
    for number in range(80):
        frame_of(base, facts, frozenset({f"made up {number}"}))
    assert frame_of(base, facts, about) is not frame, "only those asked of lately are kept"


def test_a_knock_that_was_asked_for_accuses_less_than_one_that_was_complained_of(shop):
    told = {"runs": "yes", "noise": "knock_deep", "start_cold": "long"}
    hands = {
        word: {belief.cause: belief.hand for belief in assessed(shop, "skerry-6", {"complaint": word, **told}).beliefs}
        for word in ("knocks", "hard_start")
    }
    assert hands["hard_start"]["worn_main_bearings"] < hands["knocks"]["worn_main_bearings"]


def test_two_answers_of_which_one_may_be_any_of_several_take_two_mistakes(shop):
    node = next(
        node
        for node in frame_of(
            shop.knowledge, engine_facts(load_engine(shipped_rules() / "engines" / "dunmore-d4.yaml"))
        ).nodes
        if "coolant_goes_up_the_pipe" in node.findings
    )
    misread, share = shop.knowledge.settings.misread, shop.knowledge.settings.invented["word"]
    assert invented_besides(shop.knowledge, node.question) <= max(misread["word"] * share, misread["look"])


def test_cheap_work_that_likely_cures_the_complaint_comes_before_a_look_inside(shop):
    """A starved engine with a light tap inside: the fuel is cleared first, and the estimate says both chances."""
    answers = {
        "complaint": "no_power",
        "runs": "yes",
        "power": "surges",
        "oil_use": "worse",
        "smoke_any": "yes",
        "smoke_pulling": "blue_heavy",
        "breather_fumes": "puffs_heavy",
    }
    answer = assessed(shop, "tarn-30", answers, {"fuel_flow": "weak", "choke_check": "free", "spark": "strong"})
    line = answer.decision.line(answer.decision.job)
    assert answer.decision.afterwards == "begin_with" and line.rung in ("outside", "tune_up")
    assert line.came_for > 0.5 > line.enough
    assert any("brought in for" in sentence for sentence in answer.decision.because)


def test_a_complaint_that_no_answer_bears_out_yet_is_asked_about_first(shop):
    told = {"complaint": "hard_start", "runs": "yes", "start_hot": "easy"}
    silent = assessed(shop, "skerry-6", {**told, "noise": "knock_deep"}, checks=True)
    assert silent.decision.then == "check_first" and "shows in no answer yet" in silent.decision.because[0]
    assert silent.checks[0].check == "start_cold"
    borne_out = assessed(shop, "skerry-6", {**told, "noise": "knock_deep", "start_cold": "long"}, checks=True)
    assert "shows in no answer yet" not in borne_out.decision.because[0]


def test_a_leak_that_shows_at_the_pan_is_not_denied_by_dry_covers(shop):
    wet = {"complaint": "leaks", "runs": "yes", "leak_pan": "drips"}
    dry = dict.fromkeys(("leak_cover", "leak_front", "leak_rear", "leak_head_joint"), "dry")
    alone, beside = (
        {belief.cause: belief.hand for belief in assessed(shop, "brockwell-4", told).beliefs}
        for told in (wet, {**wet, **dry})
    )
    assert beside["external_oil_leak"] >= alone["external_oil_leak"]
    assert beside["front_crank_seal"] < alone["front_crank_seal"], "its one place is dry"
    nowhere = assessed(shop, "brockwell-4", {"complaint": "no_power", "runs": "yes", "leak_pan": "dry", **dry})
    before = next(belief for belief in nowhere.beliefs if belief.cause == "external_oil_leak")
    assert before.posterior < 0.6 * before.prior, "dry all over speaks against it"


@pytest.mark.parametrize(
    ("chance", "said"), [(0.42, "though"), (0.46, "about even"), (0.7, "is likely"), (0.9, "very likely")]
)
def test_why_cheap_work_comes_first_is_said_in_the_words_of_the_scale(chance, said):
    line = JobLine("outside", "outside", True, 0.12, None, None, None, None, came_for=chance)
    assert said in _came_for(line) and odds_words(chance) in _came_for(line)
