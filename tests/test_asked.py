"""What is asked, in which order, and what it is worth: nothing that this engine cannot answer as it stands."""

import dataclasses

import numpy as np
import pytest

from howdeep.assessment.assess import worths_of
from howdeep.assessment.facts import facts_of
from howdeep.assessment.prepared import prepare
from howdeep.beliefs.evidence import evidence_of
from howdeep.beliefs.frames import network_of
from howdeep.beliefs.posteriors import believed
from howdeep.beliefs.signs import signs_of
from howdeep.decision.askable import askable
from howdeep.decision.running import Forbidden
from howdeep.interview.flow import flow
from howdeep.interview.match_words import spoken_of
from howdeep.interview.own_words import complaints_offered
from howdeep.interview.session import worked_out
from howdeep.job import write
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.logic.evaluate import evaluate, evaluate_all
from howdeep.model.truth import Truth
from howdeep.work.job_network import brought_in

SMOKES = {
    "complaint": "smokes",
    "complaint_also": "uses_oil",
    "runs": "yes",
    "smoke_pulling": "blue_heavy",
    "oil_use": "worse",
    "smoke_start": "blue_long",
    "smoke_idle": "blue",
    "hours_since_overhaul": "over_2000",
}
BARN = {
    "complaint": "stood",
    "complaint_also": "nothing",
    "runs": "no",
    "stood": "years",
    "turns_over": "yes",
    "fuel_age": "years",
    "kept": "open",
}


@pytest.fixture(scope="module")
def opened(shop, tmp_path_factory):
    folder = tmp_path_factory.mktemp("jobs")

    def made(engine, **answers):
        path = folder / f"{engine}.yaml"
        path.unlink(missing_ok=True)
        write.create(path, write.new_job(engine))
        return dataclasses.replace(shop.open_job(path), values=dict(sorted(answers.items())))

    return made


def talked(shop, job, script, most=60):
    """Questions in the order in which they are asked, until the talk ends by itself; what the script lacks is not
    known."""
    values, unknown, asked, last = {}, set(), [], ""
    while len(asked) < most:
        here = dataclasses.replace(job, values=dict(sorted(values.items())), unknown=frozenset(unknown))
        answer = worked_out(shop, here, "talk")
        state = flow(shop.knowledge, here, answer, last)
        if state.next is None:
            return asked
        last = state.next.observation
        asked.append(last)
        can = askable(shop.knowledge, here.engine, answer.facts.values, frozenset(values) | unknown)
        assert can.now(last), last
        if last in script:
            values[last] = script[last]
        else:
            unknown.add(last)
    raise AssertionError("the talk did not end")


def test_a_smoking_tractor_is_asked_about_its_smoke_first_and_never_whether_it_smokes(shop, opened):
    asked = talked(shop, opened("tarn-30"), SMOKES)
    assert asked[:2] == ["complaint", "complaint_also"]
    assert {"smoke_pulling", "smoke_idle", "smoke_start", "oil_use"} <= set(asked[2:7])
    assert not {"smoke_any", "runs"} & set(asked) and {"hours_since_overhaul", "recent_work"} <= set(asked)
    assert len(asked) <= 14


def test_a_barn_engine_is_not_asked_what_it_did_when_it_ran(shop, opened):
    asked = talked(shop, opened("brockwell-4"), BARN)
    assert {"stood", "turns_over", "fuel_age"} <= set(asked[:9])
    assert not {
        "oil_light_gauge_hot_idle",
        "oil_gauge_speed",
        "oil_gauge_cold",
        "power",
        "start_hot",
        "start_cold",
        "idle_speed",
        "governed_speed",
        "noise",
        "breather_fumes",
        "overheats",
        "oil_use",
    } & set(asked)
    assert len(asked) <= 16


def test_a_stuck_engine_is_not_asked_how_it_cranks_or_fires(shop, opened):
    asked = talked(shop, opened("brockwell-4"), {"complaint": "stuck", "complaint_also": "nothing", "stood": "years"})
    assert not {"cranking_sound", "fires_at_all", "turns_over", "runs", "start_cold"} & set(asked)


@pytest.mark.parametrize("engine", ["brockwell-4", "dunmore-d4", "pell-1", "skerry-6"])
@pytest.mark.parametrize("answers", [{}, BARN, {"complaint": "stuck"}, SMOKES, {"runs": "no"}])
def test_what_can_be_asked_applies_has_its_ground_and_what_it_needs(shop, opened, engine, answers):
    job = opened(engine, **answers)
    answer = shop.assess(job, checks=False, flips=False)
    facts, knowledge = answer.facts.values, shop.knowledge
    names = set(askable(knowledge, job.engine, facts, job.values).names())
    assert names == set(answer.not_asked) and names
    for name in names:
        item = knowledge.observations[name]
        assert item.moment != "teardown" and name not in job.values
        assert item.applies is None or evaluate(item.applies, engine_facts(job.engine), {}, {}) is Truth.PRESENT
        assert item.follows is None or evaluate(item.follows, facts, {}, {}) is Truth.PRESENT
        assert item.needs is None or evaluate(item.needs, facts, {}, {}) is not Truth.ABSENT


def test_an_engine_that_stands_open_is_not_cranked_and_what_a_danger_forbids_is_not_asked(shop, opened):
    job = opened("brockwell-4", runs="yes", bore_look=("sound",) * 4)
    facts = shop.assess(job, checks=False, flips=False).facts.values
    closed = askable(shop.knowledge, job.engine, facts, {"runs"})
    opened_up = askable(shop.knowledge, job.engine, facts, job.values)
    assert closed.now("compression_dry") and not opened_up.now("compression_dry")
    assert closed.now("lash_inlet_measured") and not opened_up.now("lash_inlet_measured")
    assert opened_up.now("fuel_sample") and not opened_up.now("vacuum_level")
    right = askable(shop.knowledge, job.engine, {**facts, "lash_check": "right"}, {"runs"})
    assert not right.now("lash_inlet_measured")  # what else it needs still counts
    forbidden = askable(shop.knowledge, job.engine, facts, {"runs"}, Forbidden(frozenset({"runs", "cranks"})))
    assert not forbidden.now("compression_dry") and not forbidden.now("vacuum_level")


def of_question(shop, job, name):
    """(worths, evidence and facts of the job) as the talk works them out."""
    facts, _ = facts_of(shop.knowledge, job)
    findings = evaluate_all(shop.knowledge, facts.values)
    ready = prepare(shop.knowledge, job, facts, findings, shop.prices, steps=False)
    worths = {item.observation: item for item in worths_of(shop.knowledge, job, facts, findings, ready, shop.prices)}
    return worths[name], believed(ready.evidence).hand[:, 0], ready.network


def evidence_with(shop, job, name, answer):
    """What would count if one more answer were given, worked out from the beginning."""
    job = dataclasses.replace(job, values=dict(sorted({**job.values, name: answer}.items())))
    facts, _ = facts_of(shop.knowledge, job)
    findings = evaluate_all(shop.knowledge, facts.values)
    network = network_of(shop.knowledge, engine_facts(job.engine), facts.values, findings)
    signs = signs_of(network, shop.knowledge, facts.values, findings)
    return evidence_of(network, signs.signs, brought_in=brought_in(shop.knowledge, facts))


def hands_with(shop, job, name, answer):
    """[causes] the hands if one more answer were given."""
    return believed(evidence_with(shop, job, name, answer)).hand[:, 0]


def evidence_ratio(shop, job, name, answer):
    """How likely an answer is by the two sums of the evidence, with it and without it, given that somebody is behind
    what was noticed before it."""
    before = evidence_with(shop, job, "complaint", job.values["complaint"])
    after = evidence_with(shop, job, name, answer)
    told = {axis.sign.node for axis in before.axes}
    axes = tuple(dataclasses.replace(axis, must_go=axis.must_go and axis.sign.node in told) for axis in after.axes)
    with_it, without = believed(dataclasses.replace(after, axes=axes)), believed(before)
    left = (1 - with_it.nobody) / (1 - without.nobody)
    sums = with_it.sums.mantissa[0] / without.sums.mantissa[0] * 2.0 ** (with_it.sums.power - without.sums.power)
    return float(sums * left)


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("hours_since_overhaul", ("under_500", "500_2000", "over_2000", "never_known")),
        ("dust", ("dusty",)),
        ("ran_low_oil", ("yes",)),
        ("oil_use", ("none", "little")),
        ("breather_fumes", ("none",)),
        ("misfire", ("none",)),
    ],
)
def test_what_history_and_a_sound_answer_move_is_what_the_job_with_it_says(shop, opened, name, told):
    job = opened("tarn-30", complaint="smokes", runs="yes", smoke_pulling="blue_heavy")
    worth, before = of_question(shop, job, name)[:2]
    moved = {item.answer: item.moved for item in worth.answers}
    assert max(moved.values()) > 0.005
    for answer in told:
        after = hands_with(shop, job, name, answer)
        assert moved[answer] == pytest.approx(np.abs(after - before).sum() / 2, abs=1e-6), answer


@pytest.mark.parametrize(
    ("name", "answer"),
    [("oil_use", "worse"), ("breather_fumes", "puffs_heavy"), ("power", "surges"), ("hunting", "yes")],
)
def test_the_chance_of_a_telling_answer_is_how_much_likelier_it_makes_the_evidence(shop, opened, name, answer):
    job = opened("tarn-30", complaint="smokes", runs="yes", smoke_pulling="blue_heavy")
    worth = of_question(shop, job, name)[0]
    chance = next(item.chance for item in worth.answers if item.answer == answer)
    assert chance == pytest.approx(evidence_ratio(shop, job, name, answer), rel=0.02)
    assert sum(item.chance for item in worth.answers) == pytest.approx(1, abs=0.02)


def test_the_worth_is_the_one_sum_that_it_is_said_to_be(shop, opened):
    job = opened("tarn-30", complaint="smokes", runs="yes", smoke_pulling="blue_heavy")
    rate = float(shop.prices.labour_rate.split()[-1])
    for name in ("hours_since_overhaul", "oil_look", "smoke_idle"):
        worth = of_question(shop, job, name)[0]
        assert worth.alike == (name == "hours_since_overhaul")
        hours = sum(
            item.chance * (item.moved + 0.1 * abs(item.bill) / rate + (0.3 if item.danger else 0) + 0.5 * item.nearer)
            for item in worth.answers
        )
        if name == "oil_look":  # metal or water in it would bring up a question of its own, which is worth something
            assert 60 * hours < worth.worth < 1.01 * 60 * hours
        else:
            assert worth.worth == pytest.approx(60 * hours)
    assert any(item.danger for item in of_question(shop, job, "oil_look")[0].answers if item.answer == "milky")


def test_the_complaint_steers_what_is_worth_asking(shop, opened):
    best = {}
    for complaint, answers in {
        "knocks": {"noise": "knock_sharp"},
        "overheats": {"overheats": "pulling"},
        "hard_start": {"start_cold": "long"},
    }.items():
        job = opened("tarn-30", complaint=complaint, runs="yes", **answers)
        worths = worked_out(shop, job, "talk").questions
        best[complaint] = {item.observation for item in worths[:6]}
    assert {"noise_when", "oil_light_gauge_hot_idle"} & best["knocks"]
    assert {"coolant_use", "coolant_bubbles", "warms_up"} & best["overheats"]
    assert {"cranking_sound", "start_needs", "start_hot"} & best["hard_start"]
    assert not best["knocks"] & {"start_needs", "start_hot"}


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ("it smokes blue and uses oil", {"smokes", "uses_oil"}),
        ("boils over on the hill", {"overheats"}),
        ("has not run for six years, want it going again", {"stood"}),
        ("seized solid, sat in the rain", {"stuck"}),
        ("leaks oil at the back", {"leaks"}),
        ("loses water", {"coolant_loss"}),
        ("been sitting in the barn six years", {"stood"}),
        ("it has no pull any more", {"no_power"}),
    ],
)
def test_the_customers_words_lead_to_complaints_to_be_confirmed(shipped, words, wanted):
    assert wanted <= set(complaints_offered(shipped, words))


def test_words_that_say_nothing_lead_nowhere_and_clear_ones_to_their_question(shipped):
    assert complaints_offered(shipped, "the green one from Tuesday") == () == spoken_of(shipped, "")
    assert "oil_use" in spoken_of(shipped, "it uses oil")
