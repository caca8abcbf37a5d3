"""The kind of answer found with as few checks worked out as it hangs on is that of the whole ranking."""

import dataclasses
from decimal import Decimal

import pytest

from howdeep.assessment import next_checks
from howdeep.assessment.assess import assess_for_kind, with_checks
from howdeep.assessment.next_checks import NextChecks
from howdeep.beliefs.posteriors import posteriors_after
from howdeep.decision import information_gain
from howdeep.knowledge.where import shipped_cases
from howdeep.model.checked import CheckValue, OutcomeValue
from howdeep.pricing.money import cents
from howdeep.quote.build import build_quote
from howdeep.quote.estimate import estimate_of
from howdeep.quote.first_steps import first_steps, worth_making
from howdeep.show.estimate_words import page_of
from howdeep.show.words import takes

from .pages import CASE

CASES = (
    "a_boat_engine_that_passes_gas_is_worn_whatever_the_air_it_breathes",
    "a_dry_generator_bearing_pulls_a_small_engine_down_at_idle",
    "a_radiator_with_cold_spots_is_not_a_head_gasket",
    "a_worn_wet_sleeve_over_pitted_lands_is_no_longer_a_refresh",
    "fuel_that_runs_into_the_sump_is_stopped_and_drained_first",
    "said_never_to_start_and_to_be_rebuilt_yet_it_works_daily_on_old_hours",
    "worn_rings_guides_and_mains_of_one_tractor_are_one_refresh",
)


@pytest.fixture(scope="module")
def jobs(shop):
    """Seven worked cases, one in sixty of them all."""
    return [shop.open_job(shipped_cases() / f"{name}.yaml") for name in CASES]


@pytest.fixture(scope="module")
def half_told(shop, jobs):
    """Four of them with half of the talk, as the page meets them."""
    made = []
    for job in jobs[::2]:
        talk = [name for name in job.values if shop.knowledge.observations[name].moment == "talk"]
        made.append(dataclasses.replace(job, values={name: job.values[name] for name in talk[: len(talk) // 2 + 1]}))
    return made


def test_the_kind_is_that_of_the_whole_ranking_and_the_ranking_can_follow(shop, jobs, half_told):
    later = 0
    for job in (*jobs, *half_told):
        whole, (found, open_now) = shop.assess(job, flips=False), shop.assess_for_kind(job)
        assert found.decision == whole.decision, job.path
        if open_now is not None:
            later, found = later + 1, with_checks(found, open_now)
        assert (found.checks, found.plan, found.plan_minutes) == (whole.checks, whole.plan, whole.plan_minutes)
    assert later > 4, "most kinds hang on no ranking"


PAYING = (
    "a_tap_jarred_shut_is_opened_before_anything_is_taken_off",
    "a_radiator_with_cold_spots_is_not_a_head_gasket",
    "a_spark_that_comes_back_with_the_switch_wire_off_leaves_the_magneto_alone",
    "slow_cranking_under_nine_and_a_half_volts_is_the_battery",
    "a_broken_ring_and_a_cracked_crown_spoil_one_wet_sleeve",
)


def test_whether_a_check_pays_is_what_the_whole_ranking_says(shop, jobs, half_told, monkeypatch):
    """Told by the wanted checks alone where these settle it, each way; by the ranking where they do not."""
    pays, quick, seen = NextChecks.pays, next_checks.surely_pays, []

    def told(*given, **options):
        seen.append(quick(*given, **options))
        return seen[-1]

    def compared(open_now):
        answer = pays(open_now)
        assert answer == any(check.net > 0 for check in open_now.ranking.checks)
        return answer

    monkeypatch.setattr(NextChecks, "pays", compared)
    monkeypatch.setattr(next_checks, "surely_pays", told)
    paying = [shop.open_job(shipped_cases() / f"{name}.yaml") for name in PAYING]
    for job in (*jobs, *half_told, *paying, *(third_told(shop, job) for job in paying)):
        shop.assess_for_kind(job)
    assert {True, False, None} <= set(seen)


def third_told(shop, job):
    """A job with the first third of what was told, at least one answer."""
    talk = [name for name in job.values if shop.knowledge.observations[name].moment == "talk"]
    return dataclasses.replace(job, values={name: job.values[name] for name in talk[: max(1, len(talk) // 3)]})


def test_a_kind_that_hangs_on_one_telling_check_works_out_few(shop, half_told, monkeypatch):
    """Columns of the elimination that were worked out, beside those of the whole ranking."""
    wide = []
    monkeypatch.setattr(
        information_gain,
        "posteriors_after",
        lambda evidence, factors, nobody: wide.append(factors.shape[-1]) or posteriors_after(evidence, factors, nobody),
    )
    job = next(job for job in half_told if shop.assess_for_kind(job)[1] is not None)
    wide.clear()
    assess_for_kind(shop.knowledge, job, shop.prices)
    few = sum(wide)
    wide.clear()
    shop.assess(job, flips=False)
    assert few < sum(wide) / 3


def test_an_oil_sample_costs_its_bottle_and_comes_after_what_answers_today(shop):
    job = shop.open_job(shipped_cases() / "a_radiator_topped_up_daily_under_a_dripping_pump_wants_a_pump.yaml")
    told = {name: value for name, value in job.values.items() if name not in ("leak_water_pump", "oil_look")}
    answer = shop.assess(dataclasses.replace(job, values=told), flips=False)
    names = [check.check for check in answer.checks]
    sample = answer.checks[names.index("oil_sample")]
    labour = Decimal(shop.prices.labour_rate) * Decimal(repr(sample.minutes)) / 60
    assert sample.cost == labour.quantize(Decimal("0.01")) + Decimal(shop.prices.parts["oil_sample_kit"])
    assert sample.days > 0 and all(check.days for check in answer.checks[names.index("oil_sample") :])
    paper = first_steps(shop.knowledge, dataclasses.replace(answer, checks=(sample,)), shop.prices)
    assert paper.checks[0].amount == sample.cost and paper.checks[0].used and paper.checks[0].days == sample.days
    unpriced = {name: text for name, text in shop.prices.parts.items() if name != "oil_sample_kit"}
    lacking = first_steps(
        shop.knowledge, dataclasses.replace(answer, checks=(sample,)), dataclasses.replace(shop.prices, parts=unpriced)
    )
    assert "no price yet" in lacking.checks[0].used[0] and "no price yet" not in paper.checks[0].used[0]


def made_up_check(shop, name, leads=(), setup=None):
    """A check worth making of an observation or a check of the rules, whose outcomes lead there."""
    entry = shop.knowledge.checks.get(name) or shop.knowledge.observations[name]
    seen = getattr(entry, "observations", (name,))
    minutes, of = entry.minutes, shop.knowledge.observations[seen[0]]
    outcomes = tuple(OutcomeValue(f"Seen {count}", str(count), 0.5, to) for count, to in enumerate(leads))
    one = Decimal(1)
    return CheckValue(name, entry.title, seen, minutes, "none", setup or of.setup, one, one, one, 0.5, outcomes, 1.0)


def test_of_checks_that_look_at_the_same_thing_one_is_named_and_charged_by_the_minutes_that_are_printed(shop, assessed):
    answer = assessed[CASE.stem]
    names = ("lash_check", "valve_gear_check", "lash_measurement", "air_cleaner_look", "plug_look")
    checks = tuple(made_up_check(shop, name, ("check_first", "check_first")) for name in names)
    told = dataclasses.replace(answer, checks=checks)
    kept = [check.check for check in worth_making(shop.knowledge, told)]
    assert kept == ["lash_check", "air_cleaner_look", "plug_look"]
    again = made_up_check(shop, "valve_motion", setup=checks[0].setup)
    odd = dataclasses.replace(again, minutes=35.0)
    first = first_steps(shop.knowledge, dataclasses.replace(answer, checks=(checks[0], odd)), shop.prices)
    second = first.checks[1]
    assert second.set_up and takes(second.minutes, 0) == "18 min"
    assert second.amount == cents(Decimal(shop.prices.labour_rate) * 18 / 60)


def test_a_paper_says_that_a_check_can_change_the_advice_only_where_one_can(shop, assessed):
    answer = assessed[CASE.stem]
    said = {}
    for leads in ((), ("promise top_end",), ("check_first", "promise top_end")):
        pair = (
            made_up_check(shop, "air_cleaner_look", leads),
            made_up_check(shop, "plug_look", ("check_first", "check_first") if len(leads) == 2 else leads),
        )
        told = dataclasses.replace(answer, checks=pair)
        quote = build_quote(shop.knowledge, told, shop.prices)
        estimate = estimate_of(shop.knowledge, told, quote, shop.prices, shop.settings)
        said[leads] = page_of(estimate).block("first").lines
    assert "can change" not in said[()][0] and "part the suspects" in said[()][0]
    assert said[("promise top_end",)][0].startswith("Each can change what we advise")
    assert said[("check_first", "promise top_end")][0].startswith("Some can change")
    assert "Before a promise these are made as well" in said[()][1]
