"""Work done that did not cure it, what is put right outside before an engine is opened, and a bare complaint."""

import dataclasses
import math

import pytest

from howdeep.assessment.facts import facts_of
from howdeep.assessment.prepared import levels_of, prepare
from howdeep.decision.ways_to_begin import outside_first
from howdeep.errors import HowdeepError
from howdeep.files.plain_yaml import dump
from howdeep.job.read import open_text
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.where import shipped_cases
from howdeep.logic.evaluate import evaluate_all
from howdeep.model.terms import RUNGS
from howdeep.show.doubts import doubt_lines
from howdeep.work.rules import rules_for

from .places import ROOT


def job_of(shop, engine="tarn-30", **fields):
    return open_text(
        dump({"howdeep_job": 1, "engine": engine, **fields}), "made-up job", ROOT, shop.knowledge, shop.folders
    )


SMOKES = {"complaint": "smokes", "runs": "yes", "smoke_any": "yes", "smoke_pulling": "blue_heavy", "oil_use": "worse"}


def test_what_done_work_cures_has_the_odds_that_the_cure_failed(shop):
    """With one cause and its evidence the odds are the base odds times the share of cures that fail."""
    before = shop.assess(job_of(shop), checks=False, flips=False)
    after = shop.assess(job_of(shop, done=["re_ring"]), checks=False, flips=False)
    cured = [name for name, item in shop.knowledge.causes.items() if "re_ring" in item.cured_by]
    was = {belief.cause: belief.posterior for belief in before.beliefs}
    assert "worn_rings" in cured
    for belief in after.beliefs:
        share = shop.knowledge.settings.cure_fails if belief.cause in cured else 1.0
        odds = was[belief.cause] / (1 - was[belief.cause]) * share
        assert belief.posterior == pytest.approx(odds / (1 + odds), abs=1e-9), belief.cause


def test_the_way_to_the_odds_tells_the_work_done(shop):
    told = shop.assess(job_of(shop, answers=SMOKES, done=["re_ring", "hone_bores"]), checks=False, flips=False)
    rings = next(belief for belief in told.beliefs if belief.cause == "worn_rings")
    steps = [step for step in rings.steps if step.label in ("re_ring", "hone_bores")]
    assert [step.decibans for step in steps] == [pytest.approx(10 * math.log10(shop.knowledge.settings.cure_fails))]
    assert sum(step.decibans for step in rings.steps) == pytest.approx(
        10 * math.log10(rings.posterior / (1 - rings.posterior)), abs=1e-6
    )


def test_a_cure_is_not_done_twice_for_the_depth_alone(shop):
    """Points that were just renewed are not renewed again with the tune-up; the oil that a lifted head needs is."""
    answers = {"complaint": "no_power", "runs": "yes", "power": "down_some"}
    plain = shop.assess(job_of(shop, answers=answers), checks=False, flips=False)
    again = shop.assess(
        job_of(shop, answers=answers, done=["service_points", "renew_head_gasket"]), checks=False, flips=False
    )

    def work(answer, rung):
        return {item.operation for item in answer.works[rung].items if not item.if_found}

    assert "service_points" in work(plain, "tune_up") and "service_points" not in work(again, "tune_up")
    assert again.decision.line("tune_up").price < plain.decision.line("tune_up").price
    assert "renew_head_gasket" in work(again, "top_end")  # the head comes off again


def test_an_operation_that_is_none_is_named_at_its_place(shop):
    with pytest.raises(HowdeepError) as caught:
        job_of(shop, done=["re_ring", "re_rign"])
    assert "re_rign" in str(caught.value) and "re_ring" in str(caught.value)


@pytest.mark.parametrize("complaint", ["wont_start", "smokes", "knocks", "coolant_loss", "leaks"])
def test_a_bare_complaint_is_asked_about_and_never_waits(shop, complaint):
    told = shop.assess(job_of(shop, answers={"complaint": complaint}), flips=False)
    assert told.decision.kind == "check_first" and told.checks


def test_an_engine_to_be_looked_over_with_nothing_wrong_can_wait(shop):
    told = shop.assess(job_of(shop, answers={"complaint": "check_over"}), flips=False)
    assert told.decision.kind == "can_wait"


@pytest.mark.parametrize(
    ("answers", "readings", "cure"),
    [
        (
            {"cranking_sound": "slow", "oil_light_gauge_hot_idle": "zero"},
            {"terminals_look": "bad", "cable_drop": "0.6 V", "oil_gauge_check": "gauge_true"},
            "clean_replace_cables",
        ),
        (
            {
                "start_cold": "long",
                "stood": "years",
                "fuel_age": "years",
                "coolant_use": "lots",
                "misfire": "one_steady",
            },
            {"fuel_sample": "stale_gum"},
            "drain_refill_fuel",
        ),
        (
            {"start_cold": "long", "fuel_age": "years", "oil_gauge_cold": "zero", "leak_rear": "drips"},
            {"fuel_sample": "stale_gum", "battery_rest": "6.3 V"},
            "drain_refill_fuel",
        ),
    ],
)
def test_what_is_likely_outside_is_put_right_before_anything_is_opened(shop, answers, readings, cure):
    """Green terminals are cleaned and gummy fuel drained before a head is lifted for a second trouble."""
    told = shop.assess(
        job_of(shop, "brockwell-4", answers={"complaint": "hard_start", "runs": "yes", **answers}, readings=readings),
        flips=False,
    )
    work = {item.operation for item in told.works[told.decision.job].items if not item.if_found}
    assert told.decision.afterwards == "begin_with" and cure in work
    assert told.decision.rung in ("outside", "tune_up")
    assert told.decision.line(told.decision.job).price <= max(look.price for look in told.decision.looks) + 10


def test_no_engine_is_opened_without_a_suspect_inside(shop):
    """Every fifth worked case, whatever it answers in the end."""
    looks = 0
    for path in sorted(shipped_cases().glob("*.yaml"))[::5]:
        job = shop.open_job(path)
        told = shop.assess(job, checks=False, flips=False)
        if told.decision.afterwards != "look_inside" or not told.decision.look:
            continue
        looks += 1
        built = engine_facts(job.engine)
        need, _ = levels_of(shop.knowledge, rules_for(shop.knowledge, job.engine, built), built)
        assert (
            max(belief.hand for belief in told.beliefs if RUNGS.index(need[belief.cause]) > RUNGS.index("tune_up"))
            >= 0.15
        ), path.stem
    assert looks >= 3


def test_what_a_complaint_is_about_is_asked_of_every_complaint(shop):
    """A question of each, put to the customer or tried at the counter; only looking over has none."""
    knowledge = shop.knowledge
    complaints = set(knowledge.observations["complaint"].answers)
    assert set(knowledge.settings.spoken_of) == complaints - set(knowledge.settings.looked_over["complaint"])
    for names in knowledge.settings.spoken_of.values():
        assert all(knowledge.observations[name].kind == "choice" for name in names)
        assert knowledge.observations[names[0]].moment == "talk"


def test_a_complaint_that_was_not_asked_about_comes_before_what_else_was_noticed(shop):
    """Lost coolant is asked after although a misfire was told; answered, also with "don't know", it is not any more."""
    answers = {"complaint": "coolant_loss", "runs": "yes", "misfire": "all_now_and_then", "start_hot": "hard"}
    told = shop.assess(job_of(shop, answers=answers), flips=False)
    assert told.decision.kind == "check_first" and told.checks[0].check == "coolant_use" and told.checks[0].first_look
    for answer in ("some", "unknown"):
        asked = shop.assess(job_of(shop, answers={**answers, "coolant_use": answer}), flips=False)
        assert asked.checks[0].check != "coolant_use"


def test_what_was_read_of_a_part_renewed_since_does_not_count(shop):
    """The check of the old thermostat neither accuses the new one nor must be cured; the answer says so."""
    fields = {
        "answers": {"complaint": "overheats", "runs": "yes", "overheats": "always"},
        "readings": {"thermostat_check": "stuck_shut"},
    }
    before = shop.assess(job_of(shop, **fields), checks=False, flips=False)
    after = shop.assess(job_of(shop, **fields, done=["renew_thermostat"]), checks=False, flips=False)
    unread = shop.assess(job_of(shop, answers=fields["answers"], done=["renew_thermostat"]), checks=False, flips=False)

    def hand(answer):
        return next(item.hand for item in answer.beliefs if item.cause == "thermostat_stuck_shut")

    assert hand(before) > 0.9
    assert hand(after) == pytest.approx(hand(unread), abs=1e-9)
    assert "thermostat_seen_shut" not in after.counted.present
    assert after.decision.job == unread.decision.job
    told = [line.told for line in doubt_lines(shop.knowledge, after)]
    assert any("left out, for the work done since cures just that" in line for line in told)
    assert not any("work done since" in line.told for line in doubt_lines(shop.knowledge, before))
    assert not any("work done since" in line.told for line in doubt_lines(shop.knowledge, unread))


def test_what_was_read_of_several_faults_stays(shop):
    """A cylinder that reads low still does after the clearances were set: more than that work cures shows so."""
    fields = {
        "answers": {"complaint": "misfires", "runs": "yes", "misfire": "one_steady"},
        "readings": {"compression_by_hand": {1: "strong", 2: "weak", 3: "strong", 4: "strong"}},
    }
    after = shop.assess(job_of(shop, **fields, done=["set_valve_clearance"]), checks=False, flips=False)
    assert "felt_weak_on_one" in after.counted.present


@pytest.mark.parametrize(
    ("readings", "done", "stays"),
    [
        ({"timing_mark": "late"}, "set_timing", False),  # others bring it too, and the work sets just that
        ({"lash_check": "some_tight"}, "set_valve_clearance", False),
        ({"timing_mark": "late"}, "set_valve_clearance", True),
    ],
)
def test_what_others_bring_too_is_left_out_where_the_work_sets_just_that(shop, readings, done, stays):
    fields = {"answers": {"complaint": "no_power", "runs": "yes", "power": "down_some"}, "readings": readings}
    before = set(shop.assess(job_of(shop, **fields), checks=False, flips=False).counted.present)
    after = set(shop.assess(job_of(shop, **fields, done=[done]), checks=False, flips=False).counted.present)
    assert before - after == (set() if stays else before - {"low_power"}) and before - {"low_power"}


def test_what_is_likely_outside_comes_first_though_nobody_knows_what_the_machine_is_worth(shop):
    knowledge = shop.knowledge
    job = shop.open_job(shipped_cases() / "hot_with_rust_in_the_water_and_a_rap_is_cooled_before_it_is_opened.yaml")
    facts, _ = facts_of(knowledge, job)
    ready = prepare(knowledge, job, facts, evaluate_all(knowledge, facts.values), shop.prices, steps=False)
    for stop in (ready.decision.stop, None):
        decision = dataclasses.replace(ready.decision, stop=stop)
        line = outside_first(knowledge.settings.deciding, ready.problem, decision, ready.case, None)
        assert line is not None and line.rung in ("outside", "tune_up")
