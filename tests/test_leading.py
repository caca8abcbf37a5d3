"""Which causes are told first, and what is said of a scope beside its chance of being enough."""

import dataclasses

import pytest

from howdeep.knowledge.where import shipped_cases
from howdeep.show.interview_text import verdict_lines
from howdeep.show.leading import TELLING, leading, unmoved
from howdeep.show.words import every_words, one_in, percent


@pytest.fixture(scope="module")
def answer(shop):
    path = shipped_cases() / "boiling_within_minutes_with_a_hot_bottom_hose_wants_a_thermostat.yaml"
    return shop.assess(shop.open_job(path), checks=False, flips=False)


def test_causes_that_nothing_speaks_for_are_told_apart_from_those_that_something_does(answer):
    first, others = leading(answer, 6), unmoved(answer, 4)
    assert first[0].cause == "thermostat_stuck_shut" and len(first) > 1
    assert all(belief.hand >= 0.02 for belief in first)
    assert [belief.hand for belief in first] == sorted((belief.hand for belief in first), reverse=True)
    assert others and all(belief.posterior <= belief.prior * 1.001 for belief in others)
    assert not any(step.decibans > TELLING for belief in others for step in belief.steps if step.kind != "base")
    assert not {belief.cause for belief in first} & {belief.cause for belief in others}
    assert [belief.posterior for belief in others] == sorted((belief.posterior for belief in others), reverse=True)


def test_a_cause_that_is_sure_anyway_leads_though_nothing_raised_it(answer):
    sure = dataclasses.replace(answer.beliefs[0], prior=0.999, posterior=0.99)
    told = dataclasses.replace(answer, beliefs=(sure, *answer.beliefs[1:]))
    assert leading(told, 6)[0] == sure


def test_a_cause_that_a_sign_or_its_history_speaks_for_is_not_said_to_have_nothing_for_it(shop):
    path = shipped_cases() / "worn_rings_behind_a_weak_battery_are_still_worn_rings.yaml"
    told = shop.assess(shop.open_job(path), checks=False, flips=False)
    bores = next(belief for belief in told.beliefs if belief.cause == "worn_bores")
    spoken = next(step for step in bores.steps if step.label == "wet_test_brings_it_up")
    assert spoken.decibans > TELLING
    fallen = dataclasses.replace(bores, posterior=bores.prior / 2)  # as if more spoke against it
    told = dataclasses.replace(told, beliefs=tuple(fallen if item is bores else item for item in told.beliefs))
    assert fallen in leading(told, len(told.beliefs)) and fallen not in unmoved(told, len(told.beliefs))
    silent = dataclasses.replace(fallen, steps=bores.steps[:1], hand=0.0)
    told = dataclasses.replace(told, beliefs=tuple(silent if item is fallen else item for item in told.beliefs))
    assert silent not in leading(told, len(told.beliefs)) and silent in unmoved(told, len(told.beliefs))


def test_the_last_seat_is_that_of_what_the_depth_hangs_on_where_none_of_the_likelier_ones_needs_it(shop):
    path = shipped_cases() / "worn_rings_behind_a_weak_battery_are_still_worn_rings.yaml"
    answer = shop.assess(shop.open_job(path), checks=False, flips=False)
    order = leading(answer, 9)
    assert len(order) > 4

    def told(*depth_by):
        decision = dataclasses.replace(answer.decision, depth_by=tuple(cause.cause for cause in depth_by))
        return leading(dataclasses.replace(answer, decision=decision), 3)

    assert told() == order[:3] == told(order[1], order[4])
    assert told(order[4], order[3]) == (*order[:2], order[4])
    assert told(unmoved(answer, 1)[0]) == order[:3], "what nothing speaks for takes no seat"


def test_the_depth_of_a_job_is_named_by_what_only_it_cures(shop):
    path = shipped_cases() / "a_charred_rope_is_renewed_with_the_pan_down.yaml"
    told = shop.assess(shop.open_job(path), checks=False, flips=False)
    assert told.decision.rung == "refresh" and told.decision.depth_by[0] == "rear_main_seal"
    outside = shipped_cases() / "a_grinding_starter_is_not_an_engine_job.yaml"
    assert shop.assess(shop.open_job(outside), checks=False, flips=False).decision.depth_by == ()


def test_while_nothing_has_shown_the_likeliest_lead_and_none_is_told_apart(answer):
    base = tuple(dataclasses.replace(belief, posterior=belief.prior, hand=0.0, steps=()) for belief in answer.beliefs)
    told = dataclasses.replace(answer, beliefs=base)
    assert leading(told, 6) == base[:6] and len(base) > 6
    assert unmoved(told, 4) == ()


def test_that_no_fault_at_all_is_left_is_told_where_it_says_less_than_being_enough(answer):
    line = next(line for line in answer.decision.ladder if line.rung == answer.decision.rung)
    assert line.enough > line.every + 0.3
    assert "noticed or not: <1 %." in every_words(0.5, 0.003)
    assert f"{100 * line.every:.0f} %" in every_words(line.enough, line.every)
    assert every_words(0.89, 0.80) == "" and every_words(0.5, None) == ""


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.0002, "less than 1 in 1000"),
        (0.01, "about 1 in 100"),
        (0.5, "about an even chance"),
        (0.4, "about 2 in 5"),
        (0.29, "about 3 in 10"),
        (0.85, "about 6 in 7"),
        (0.9989, "more than 99 in 100"),
    ],
)
def test_odds_are_said_in_counts_that_a_person_can_picture(chance, said):
    assert one_in(chance) == said


class Seat:
    """What the live verdict reads of a desk."""

    def __init__(self, shop, answer, part="bench"):
        self.shop, self.knowledge, self.answer, self.moved, self.part = shop, shop.knowledge, answer, None, part


def test_the_live_verdict_tells_what_a_scope_does_for_what_was_noticed_and_says_when_nothing_was(shop, answer):
    now = " ".join(" ".join(verdict_lines(Seat(shop, answer), short=True)).split())
    enough = answer.decision.line(answer.decision.job).enough
    assert f"enough {percent(enough)}; thermostat stuck shut {percent(answer.beliefs[0].hand)}" in now
    assert now.startswith("now: this can be promised: outside work")
    talk = " ".join(" ".join(verdict_lines(Seat(shop, answer, "talk"), short=True)).split())
    assert talk.startswith("now: as it stands: outside work") and "promised" not in talk  # no check was weighed yet
    nothing = dataclasses.replace(answer, counted=dataclasses.replace(answer.counted, present=()))
    assert "  now: nothing has shown yet" in list(verdict_lines(Seat(shop, nothing), short=True))
