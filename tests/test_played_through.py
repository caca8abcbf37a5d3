"""What a mechanic does next where a danger, an opened engine or a quick cure decides it."""

import dataclasses
from decimal import Decimal

from howdeep.knowledge.where import shipped_cases
from howdeep.show.what_next import next_lines


def answer_of(shop, name, **changed):
    job = shop.open_job(shipped_cases() / f"{name}.yaml")
    values = {**job.values, **changed}
    return shop.assess(dataclasses.replace(job, values={k: v for k, v in values.items() if v is not None}), flips=False)


def test_what_a_danger_forbids_to_be_tried_is_looked_at_from_below(shop):
    answer = answer_of(shop, "a_thud_over_a_needle_that_a_true_gauge_bears_out_is_opened_from_below")
    standing = [hold.check for hold in answer.holds if hold.state == "stands"]
    assert answer.decision.kind == "do_not_run" and "noise_belt_off" not in standing
    assert not any(check.check == "noise_belt_off" for check in answer.checks)
    assert answer.decision.then == answer.decision.afterwards == "look_inside"


def test_nobody_looks_through_a_plug_hole_with_the_head_off(shop):
    case = "a_boiled_head_that_bowed_lets_two_neighbours_blow_into_each_other"
    opened = answer_of(shop, case)
    shut = answer_of(shop, case, together_again="yes")
    assert "plug_hole_look" not in {check.check for check in opened.checks}
    assert "plug_hole_look" in {check.check for check in shut.checks}
    assert opened.decision.kind == "begin_with"


def test_an_hours_work_on_what_stands_out_is_its_own_test(shop):
    case = "a_late_mark_after_the_magneto_came_off_is_set_before_more_is_tested"
    answer = answer_of(shop, case)
    line = answer.decision.line(answer.decision.job)
    assert answer.decision.kind == "begin_with" and line.price <= Decimal(shop.prices.labour_rate)
    base = shop.knowledge
    deciding = dataclasses.replace(base.settings.deciding, quick_hours=0.1)
    hurried = dataclasses.replace(base, settings=dataclasses.replace(base.settings, deciding=deciding))
    assert answer_of(dataclasses.replace(shop, knowledge=hurried), case).decision.kind == "check_first"


def test_nothing_is_let_wait_while_nothing_is_likely_and_a_look_would_tell(shop):
    answer = answer_of(shop, "a_saw_that_sinks_below_its_speed_with_everything_else_right_wants_a_governor_spring")
    likely = shop.knowledge.settings.deciding.likely
    assert answer.decision.afterwards == "can_wait" and max(belief.hand for belief in answer.beliefs) < likely
    assert answer.decision.kind == "check_first" and answer.checks[0].check in ("accessory_turn", "throttle_look")


def test_what_reads_too_near_its_limit_is_measured_again_before_it_is_closed(shop):
    case = "an_engine_in_pieces_within_all_its_limits_is_put_together_again"
    answer = answer_of(shop, case)
    first, second = next_lines(shop.knowledge, answer)
    assert first.warns and first.text.endswith("too near a limit to call: crankpin diameter, main bearing clearance")
    assert second.text == "howdeep quote JOB"
    sound = answer_of(shop, case, crankpin_size=None, main_clearance=None)
    assert [line.text for line in next_lines(shop.knowledge, sound)] == ["howdeep quote JOB"]


def test_what_the_job_renews_anyhow_is_not_measured_again(shop):
    answer = answer_of(shop, "loose_mains_on_round_journals_are_rolled_in")
    assert any(remark.kind == "too close to call" for remark in answer.facts.remarks)
    assert not any("Measure again" in line.text for line in next_lines(shop.knowledge, answer))
