"""What a customer's word is worth where a promise is near, and what the bench asks and passes over because of it."""

import dataclasses
import io

import numpy as np
import pytest
from rich.console import Console

from howdeep.assessment.assess import assess_for_kind
from howdeep.decision.question_value import Reach
from howdeep.interview.first_asked import asked_first
from howdeep.interview.flow import HELD, PROMISES, flow
from howdeep.interview.session import worked_out
from howdeep.job import write
from howdeep.terminal.interview import run

from .places import ROOT

BATTERY = ROOT / "cases" / "an_engine_nobody_knows_that_cranks_at_eight_volts_is_a_battery.yaml"
GAUGE = ROOT / "cases" / "a_gauge_at_nought_over_good_pressure_that_falls_with_speed_and_oil_that_grows.yaml"
FLAKES = ROOT / "cases" / "a_rumble_with_falling_pressure_and_bright_flakes_is_the_mains.yaml"
CUSTOMER = ("misfire", "noise", "oil_use", "power", "smoke_any")


def without(shop, path, names, unknown=()):
    """A worked case without some of its answers."""
    job = shop.open_job(path)
    values = {name: value for name, value in job.values.items() if name not in {*names, *unknown}}
    return job, dataclasses.replace(job, values=values, unknown=job.unknown | frozenset(unknown))


def test_the_way_to_a_promise_is_shared_by_what_the_job_leaves():
    """Two faults of which the job cures one: .5 is enough, the shop promises from .8 on."""
    reach = Reach(np.array([True, False]), 0.5, 0.8, 0.25)
    before = np.array([0.4, 0.9])
    after = np.array([[0.1, 0.9], [0.04, 0.9], [0.4, 0.1], [0.28, 0.9], [0.38, 0.9]])
    # enough grows with 1 - hand of what is left: .75, .8, .5, .6, .5167
    assert reach.share(before, after) == pytest.approx([0.25 / 0.3, 1.0, 0.0, 0.1 / 0.3, 0.0])
    assert not reach.share(before, before[None, :]).any()
    assert not Reach(reach.left, 0.9, 0.8, 0.25).share(before, after).any()  # it can be promised already


def test_what_an_answer_is_said_to_bring_is_what_the_whole_answer_says(shop):
    whole, job = without(shop, BATTERY, CUSTOMER)
    answer = worked_out(shop, job, "bench")
    line = answer.decision.line(answer.decision.job)
    assert answer.decision.kind == "begin_with" and line.enough < answer.decision.floor
    worths = {item.observation: item for item in answer.questions}
    for name in ("misfire", "power"):
        told = next(item for item in worths[name].answers if item.answer == whole.values[name])
        with_it = dataclasses.replace(job, values={**job.values, name: whole.values[name]})
        after = assess_for_kind(shop.knowledge, with_it, shop.prices)[0].decision
        true = (after.line(answer.decision.job).enough - line.enough) / (answer.decision.floor - line.enough)
        assert told.nearer == pytest.approx(min(true, 1.0), abs=0.35), name
        assert worths[name].promised == pytest.approx(30 * worths[name].carries)


def test_the_bench_asks_the_customer_where_his_word_likely_carries_it_to_a_promise(shop):
    _, job = without(shop, BATTERY, CUSTOMER)
    state = flow(shop.knowledge, job, worked_out(shop, job, "bench"), bench=True)
    assert state.next.reason == PROMISES and state.next.observation in CUSTOMER
    # whoever does not know, or has put it off, is not asked again
    _, job = without(shop, BATTERY, (), CUSTOMER)
    state = flow(shop.knowledge, job, worked_out(shop, job, "bench"), bench=True)
    assert not set(CUSTOMER) & {question.observation for question in state.worth_asking}


def test_nothing_is_brought_nearer_while_it_must_not_be_run(shop):
    _, job = without(shop, GAUGE, ("power", "leak_rear", "oil_grade"))
    answer = worked_out(shop, job, "talk")
    assert answer.decision.dangers and not any(item.promised for item in answer.questions)


def test_a_look_that_only_the_counter_makes_is_asked_before_the_talk_ends(shop):
    _, job = without(shop, FLAKES, ("oil_grade",))
    asked = flow(shop.knowledge, job, worked_out(shop, job, "talk")).worth_asking
    assert asked[-1].observation == "oil_grade" and asked[-1].reason == HELD


def test_a_card_that_was_not_made_for_one_reading_is_passed_over_for_the_next(shop):
    tests = ("battery_rest", "battery_cranking", "cable_drop")
    _, job = without(shop, BATTERY, tests)
    state = flow(shop.knowledge, job, worked_out(shop, job, "bench"), bench=True)
    assert [item.observation for item in state.worth_asking if item.reason != PROMISES][:3] == list(tests)
    job = dataclasses.replace(job, unknown=job.unknown | {"battery_rest"})
    state = flow(shop.knowledge, job, worked_out(shop, job, "bench"), "battery_rest", bench=True)
    order = [item.observation for item in state.worth_asking]
    assert order.index("battery_cranking") > len(order) / 2


def test_the_bench_ends_by_itself_where_it_has_brought_a_promise(shop, tmp_path):
    path = tmp_path / "job.yaml"
    answers = {"runs": "yes", "turns_over": "yes", "start_cold": "long", "start_hot": "easy", "cranking_sound": "slow"}
    readings = {"battery_rest": "12.1 V", "battery_cranking": "8.1 V", "cable_drop": "0.06 V", "turns_by_hand": "free"}
    write.create(
        path,
        write.new_job(
            "tarn-30",
            answers={"complaint": "hard_start", "complaint_also": "nothing", **answers},
            readings={**readings, "charge_volts": "14.1 V"},
        ),
    )
    out, left = io.StringIO(), iter(["e", "g", "1", "1", "1", "1", "1", "1", "m", "q"])

    def ask(prompt):
        out.write(prompt)
        return next(left)

    desk = run(shop, path, Console(file=out, width=80, height=60, color_system=None), ask)
    bench = out.getvalue().split("g = go to the bench")[1]
    assert "a word from the customer: it could carry this to a promise" in bench
    assert desk.answer.decision.kind == "promise" and "That is the bench for now." in bench
    # there are still checks that part suspects, and m goes on with them
    assert bench.count("-- Bench: ") >= 1 and "worth making in all" in bench.split("m = more: ")[-1]


def test_a_check_that_parts_much_comes_before_a_word_from_the_customer(shop):
    """A starter that only thumps on a good battery: nobody is asked for his oil before the switch is measured."""
    path = ROOT / "cases" / "full_voltage_at_its_own_terminal_leaves_the_starter.yaml"
    whole = shop.open_job(path)
    known = ("complaint", "turns_over", "cranking_sound", "battery_rest")
    job = dataclasses.replace(whole, values={name: whole.values[name] for name in known})
    answer = worked_out(shop, job, "bench")
    assert max(belief.hand for belief in answer.beliefs) < shop.knowledge.settings.asking.found
    assert max(check.parts for check in answer.checks) >= shop.knowledge.settings.asking.parts_first
    asked = flow(shop.knowledge, job, answer, bench=True).worth_asking
    assert asked and all(shop.knowledge.observations[item.observation].moment == "test" for item in asked)


def test_a_check_that_was_begun_is_finished_before_the_customer_is_asked(shop):
    _, job = without(shop, BATTERY, (*CUSTOMER, "cable_drop"))
    answer = worked_out(shop, job, "bench")
    assert flow(shop.knowledge, job, answer, bench=True).next.reason == PROMISES
    assert flow(shop.knowledge, job, answer, "battery_cranking", bench=True).next.observation == "cable_drop"


def test_while_nothing_has_shown_the_order_of_the_trade_is_asked_and_then_what_would_likely_show_something(
    shop, tmp_path
):
    path = tmp_path / "job.yaml"
    values = {"complaint": "uses_oil", "complaint_also": "nothing", "runs": "yes", "oil_use": "little"}
    write.create(path, write.new_job("tarn-30", answers=values))
    job = shop.open_job(path)
    answer = worked_out(shop, job, "talk")
    assert not answer.counted.present
    asked = [item.observation for item in flow(shop.knowledge, job, answer).worth_asking]
    trade = asked_first(shop.knowledge, answer.facts.values, answer.conclusions.findings)
    assert asked[:3] == [name for name in trade if name in asked][:3] and len(asked) > 5
    worths = {item.observation: item for item in answer.questions}
    assert worths["noise"].worth > worths["recent_work"].worth  # a noise would be a sign, work is none
