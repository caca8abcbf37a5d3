"""An engine that stands open: what was seen itself outweighs signs, closing it is paid for, holds come too late."""

import dataclasses

import numpy as np
import pytest

from howdeep.assessment.facts import facts_of
from howdeep.assessment.prepared import holds_of, opened_by, prepare
from howdeep.assessment.quick import without_teardown
from howdeep.beliefs.frames import network_of
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.where import shipped_cases
from howdeep.logic.evaluate import evaluate_all
from howdeep.model.terms import RUNGS
from howdeep.quote.build import build_quote
from howdeep.work.rules import rules_for

LIMITS = "guides_springs_and_head_within_a_hair_of_their_limits_are_measured_again"
CRACK = "a_jacket_cracked_under_sound_walls_ends_a_diesel_of_little_worth"


def ready(shop, job):
    facts, _ = facts_of(shop.knowledge, job)
    return prepare(shop.knowledge, job, facts, evaluate_all(shop.knowledge, facts.values), shop.prices, steps=False)


def opened(shop, name):
    return shop.open_job(shipped_cases() / f"{name}.yaml")


def test_what_stands_open_is_put_together_again_at_every_rung_but_another_engine(shop):
    job = opened(shop, LIMITS)
    closed = without_teardown(shop.knowledge, job)
    before, after = ready(shop, closed), ready(shop, job)
    assert before.decision.opened == () and "remove_refit_head" in after.decision.opened
    for rung in RUNGS[:-1]:
        work = {item.operation for item in after.works[rung].items if not item.if_found}
        assert set(after.decision.opened) <= work, rung
    assert "remove_refit_head" not in {item.operation for item in before.works["outside"].items if not item.if_found}
    assert "remove_refit_head" not in {item.operation for item in after.works["replace"].items if not item.if_found}
    outside = {rung.rung: rung.price for rung in after.decision.ladder}["outside"]
    assert outside > {rung.rung: rung.price for rung in before.decision.ladder}["outside"]


def test_the_quote_says_why_the_head_is_put_back(shop):
    answer = shop.assess(opened(shop, LIMITS), flips=False)
    quote = build_quote(shop.knowledge, answer, shop.prices, "outside")
    line = next(line for line in quote.lines if line.subject == "remove_refit_head")
    assert "stands open" in line.why
    assert quote.subtotal == next(rung.price for rung in answer.decision.ladder if rung.rung == "outside")


def test_only_what_this_engine_has_stands_open(shop):
    job = opened(shop, LIMITS)
    rules = rules_for(shop.knowledge, job.engine, engine_facts(job.engine))
    assert set(opened_by(shop.knowledge, job, rules)) <= set(rules.rungs)


def test_a_hold_comes_too_late_once_the_engine_is_open(shop):
    job = opened(shop, "a_boiled_head_that_bowed_lets_two_neighbours_blow_into_each_other")
    states = {}
    for name, one in (("open", job), ("shut", without_teardown(shop.knowledge, job))):
        facts, _ = facts_of(shop.knowledge, one)
        findings = evaluate_all(shop.knowledge, facts.values)
        states[name] = {hold.hold: hold.state for hold in holds_of(shop.knowledge, one, facts.values, findings)}
    assert "stands" not in states["open"].values()
    late = {name for name, state in states["open"].items() if state == "too late"}
    assert late and {states["shut"].get(name, "stands") for name in late} == {"stands"}


def test_clearances_measured_clear_the_hold_that_asks_for_them(shop):
    name = "lash_before_a_compression_verdict"
    job = opened(shop, "seventy_eight_pounds_on_every_cylinder_at_sea_level_is_low")
    left = {key: value for key, value in job.values.items() if not key.startswith("lash")}
    count = job.engine.build.cylinders

    def state(values):
        one = dataclasses.replace(job, values=values)
        facts, _ = facts_of(shop.knowledge, one)
        findings = evaluate_all(shop.knowledge, facts.values)
        return {hold.hold: hold.state for hold in holds_of(shop.knowledge, one, facts.values, findings)}[name]

    assert state(left) == "stands"
    assert state({**left, "lash_exhaust_measured": (0.015,) * count}) == "cleared"


def test_a_fault_seen_itself_is_hardly_ever_mistaken(shop):
    knowledge, settings = shop.knowledge, shop.knowledge.settings
    job = opened(shop, CRACK)
    network = network_of(knowledge, engine_facts(job.engine), {}, {})
    number, row = network.number(), {name: index for index, name in enumerate(network.causes)}
    (seen, answer), (sign, _) = number["spring_measured_weak"], number["blue_after_overrun"]
    assert knowledge.findings["spring_measured_weak"].direct and not knowledge.findings["blue_after_overrun"].direct
    measured, told = network.nodes[seen], network.nodes[sign]
    draws = np.diff(measured.at_most[:, row["weak_valve_spring"]], axis=1)
    shown = settings.direct_shown * (1 - settings.direct_mistaken)
    assert draws[:, answer - 1] == pytest.approx(shown)  # of a slight fault as of a marked one
    assert 1 - measured.misread[0] == pytest.approx(settings.direct_mistaken)
    assert 1 - measured.normal[0] < 2e-6 and 1 - measured.unlisted[0] < 2e-6
    assert 1 - told.misread[0] == pytest.approx(settings.misread["word"] * settings.invented["word"])
    tried = network.nodes[number["thermostat_seen_shut"][0]]  # in the hand, but nothing is open: more is misread there
    assert knowledge.findings["thermostat_seen_shut"].direct
    assert 1 - tried.misread[0] == pytest.approx(settings.misread["look"] * settings.seen_open)


def test_what_is_direct_on_the_open_engine_is_never_seen_without_its_causes(shop):
    for name, finding in shop.knowledge.findings.items():
        assert not finding.direct or finding.otherwise == "never", name


def test_a_replacement_engine_brings_its_own_seals_and_oil(shop):
    operations = {"renew_front_seal", "cure_oil_leaks", "clear_breather", "correct_oil"}
    assert all(shop.knowledge.operations[operation].comes_with_engine for operation in operations)
    for path in sorted(shipped_cases().glob("a_b*.yaml")):
        work = ready(shop, shop.open_job(path)).works["replace"]
        assert not operations & {item.operation for item in work.items if not item.if_found}, path.stem


def test_no_check_that_needs_the_engine_whole_is_offered_once_it_is_open(shop):
    job = opened(shop, LIMITS)
    answers = {
        name: shop.assess(one, flips=False)
        for name, one in (("open", job), ("shut", without_teardown(shop.knowledge, job)))
    }
    needing = {
        name: {
            check.check
            for check in answer.checks
            for item in check.observations
            if shop.knowledge.observations[item].needs is not None
        }
        for name, answer in answers.items()
    }
    assert needing["open"] == set() and needing["shut"]
    assert answers["open"].checks, "questions and checks of parts are still offered"
