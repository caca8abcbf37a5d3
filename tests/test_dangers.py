"""What forbids running is said, stands above the rest, and nothing is asked of the engine that it must not do."""

import dataclasses
import re

import pytest
import yaml

from howdeep.assessment.facts import facts_of
from howdeep.assessment.prepared import prepare
from howdeep.cases.run import case_files
from howdeep.decision.first_looks import first_looks
from howdeep.decision.open_checks import open_checks
from howdeep.decision.running import NOTHING, Forbidden, forbidden_by, may_be_made, takes
from howdeep.knowledge.where import shipped_cases
from howdeep.logic.evaluate import evaluate_all
from howdeep.model.condition import FactTest, walk
from howdeep.model.results import Danger
from howdeep.model.truth import Truth

from .places import ROOT
from .sampling import some

FINDING = Danger("findings", "oil_milky", 1.0, "Water in the oil.")
LOCKED = dataclasses.replace(FINDING, subject="plug_wet_coolant", cranking=True)


@pytest.fixture(scope="module")
def base(shop):
    return shop.knowledge


def opened(shop, name):
    return shop.open_job(shipped_cases() / f"{name}.yaml")


def test_every_cause_says_what_running_on_does_and_what_happens():
    written = {}
    for path in sorted((ROOT / "rules" / "causes").glob("*.yaml")):
        written.update(yaml.safe_load(path.read_text(encoding="utf-8")))
    assert len(written) >= 80
    assert [name for name, item in written.items() if "run_on" not in item] == []
    assert [name for name, item in written.items() if len(item.get("wait", "").split()) < 5] == []


def test_what_is_harmless_is_called_so_of_few_and_what_is_dangerous_of_few(base):
    """A cause that ruins the engine or hurts people is not to be found among those that can wait."""
    harmless = {name for name, item in base.causes.items() if item.run_on == "harmless"}
    dangerous = {name for name, item in base.causes.items() if item.run_on == "dangerous"}
    assert harmless and dangerous and len(harmless) + len(dangerous) < len(base.causes) / 4
    alarming = re.compile(r"ruin|seize|explode|through the (side of the )?block|do not run|destroy", re.IGNORECASE)
    assert [name for name in harmless if alarming.search(base.causes[name].wait)] == []
    grave = re.compile(r"ruin|break|bend|burn|destroy|explode|kill|do not", re.IGNORECASE)
    assert [name for name in dangerous if not grave.search(base.causes[name].wait)] == []


def test_what_is_made_on_a_running_engine_says_so(base):
    """The words of set-up and condition agree with what the engine is said to do."""
    running = re.compile(r"running|engine hot|engine then started")
    silent = [
        name for name, item in base.observations.items() if running.search(item.setup) and takes(base, name) != "runs"
    ]
    assert silent == []
    for name, item in base.observations.items():
        warm = item.valid_when is not None and any(
            isinstance(part, FactTest) and part.fact == "test_engine_warm" for part in walk(item.valid_when)
        )
        assert not warm or takes(base, name) == "runs", name
        if item.moment == "teardown":
            assert takes(base, name) == "", name
    assert takes(base, "battery_test") == "cranks" and takes(base, "turns_by_hand") == ""
    assert takes(base, "leakage_heard") == "" and takes(base, "compression_test") == "runs"


def test_a_danger_forbids_running_and_only_where_it_says_so_cranking():
    assert forbidden_by(()).does == frozenset()
    assert forbidden_by((FINDING,)).does == {"runs"}
    assert forbidden_by((FINDING, LOCKED)).does == {"runs", "cranks"}


def test_what_one_danger_allows_for_some_seconds_every_danger_must_allow():
    gauge = dataclasses.replace(FINDING, for_seconds=("oil_gauge_check", "noise"))
    assert forbidden_by((gauge,)).but_for == {"oil_gauge_check", "noise"}
    assert forbidden_by((gauge, dataclasses.replace(gauge, for_seconds=("noise",)))).but_for == {"noise"}
    assert forbidden_by((gauge, LOCKED)).but_for == frozenset()
    forbidden = forbidden_by((gauge,))
    assert not forbidden.keeps_from("oil_gauge_check", "runs") and forbidden.keeps_from("vacuum_level", "runs")


def test_what_may_be_made_is_kept_in_order(base):
    names = ("oil_pressure_test", "turns_by_hand", "battery_test", "oil_cooler_test")
    runs, both = frozenset({"runs"}), frozenset({"runs", "cranks"})
    assert may_be_made(base, names, NOTHING) == names
    assert may_be_made(base, names, Forbidden(runs)) == names[1:]
    assert may_be_made(base, names, Forbidden(both)) == ("turns_by_hand", "oil_cooler_test")
    every = frozenset(base.checks["oil_pressure_test"].observations)
    assert may_be_made(base, names, Forbidden(runs, every)) == names
    assert may_be_made(base, names, Forbidden(runs, every - {"oil_pressure_idle"})) == names[1:]


def test_over_all_worked_cases_no_check_and_no_test_before_the_work_does_what_a_danger_forbids(shop, base):
    seen = dangers = barred = 0
    for path in some(case_files(shipped_cases()), 3):
        job = shop.open_job(path)
        facts, _ = facts_of(base, job)
        findings = evaluate_all(base, facts.values)
        if not any(base.findings[name].forbids_running for name, truth in findings.items() if truth is Truth.PRESENT):
            continue
        seen += 1
        ready = prepare(base, job, facts, findings, shop.prices, steps=False)
        forbidden = forbidden_by(ready.decision.dangers)
        if not forbidden.does:
            continue
        dangers += 1
        made = frozenset(job.values) | job.unknown
        offered = open_checks(base, job.engine, facts.values, made, forbidden)
        assert [
            check.check
            for check in offered
            if any(forbidden.keeps_from(name, takes(base, name)) for name in check.observations)
        ] == [], path.stem
        barred += len(open_checks(base, job.engine, facts.values, made)) - len(offered)
        for work in ready.works.values():
            assert [name for name in work.before if may_be_made(base, (name,), forbidden) == ()] == [], path.stem
    assert seen >= 10 and dangers >= 10 and barred >= 100


@pytest.mark.parametrize(
    ("name", "kept_out"),
    [
        ("cream_in_the_oil_of_a_boat_lets_nobody_start_it", {"runs"}),
        ("a_stuck_tractor_is_neither_towed_nor_jerked", {"runs", "cranks"}),
    ],
)
def test_the_whole_answer_offers_nothing_forbidden(shop, base, name, kept_out):
    answer = shop.assess(opened(shop, name), flips=False)
    assert answer.decision.kind == "do_not_run"
    assert answer.checks
    assert [check.check for check in answer.checks if takes(base, check.check) in kept_out] == []


def test_a_danger_that_was_shown_not_to_be_one_is_lifted(shop, base):
    job = opened(shop, "a_thudding_engine_with_a_dead_needle_is_carried_in")
    answer = shop.assess(job, checks=False, flips=False)
    assert [item.subject for item in answer.decision.dangers] == ["knock_with_a_dead_needle"]
    mended = dataclasses.replace(job, values={**job.values, "oil_gauge_check": "gauge_false"})
    assert shop.assess(mended, checks=False, flips=False).decision.dangers == ()
    for finding in base.findings.values():
        assert not (set(finding.lifted_by) - base.findings.keys())


def test_an_engine_that_stands_open_is_not_told_not_to_run_but_its_danger_is_said(shop):
    job = opened(shop, "glitter_in_the_oil_is_looked_at_before_another_mile")
    standing = dataclasses.replace(job, values={**job.values, "pan_debris": "white_metal"})
    decision = shop.assess(standing, flips=False).decision
    assert decision.opened and decision.kind != "do_not_run"
    assert {"oil_metal", "white_metal_in_the_pan"} <= {item.subject for item in decision.dangers}


def test_every_complaint_has_its_first_look(base):
    named = {
        word
        for look in base.first_looks.values()
        for part in walk(look.when)
        if isinstance(part, FactTest) and part.fact == "complaint"
        for word in part.one_of
    }
    assert set(base.observations["complaint"].answers) - named == set()


@pytest.mark.parametrize(
    ("told", "first"),
    [
        (
            {"complaint": "hard_start", "cranking_sound": "slow", "start_cold": "long", "engine.fuel": "petrol"},
            "battery_test",
        ),
        ({"complaint": "hard_start", "start_cold": "long", "engine.fuel": "petrol"}, "plug_look"),
        ({"complaint": "wont_start", "runs": "no", "engine.fuel": "diesel"}, "fuel_and_switch_look"),
        (
            {"complaint": "stuck", "turns_over": "stuck", "cranking_sound": "click", "engine.fuel": "petrol"},
            "turns_by_hand",
        ),
        ({"complaint": "misfires", "misfire": "one_steady", "engine.fuel": "diesel"}, "injector_cutout"),
        ({"complaint": "knocks", "noise": "knock_deep", "oil_look": "milky"}, "coolant_hold_test"),
    ],
)
def test_first_looks_stand_in_the_order_of_danger_complaint_and_the_rest(base, told, first):
    findings = evaluate_all(base, told)
    dangers = [
        name for name, truth in findings.items() if truth is Truth.PRESENT and base.findings[name].forbids_running
    ]
    assert first_looks(base, told, findings, dangers)[0] == first


def test_what_comes_after_another_first_look_comes_after_all_of_it(base):
    told = {"complaint": "hard_start", "cranking_sound": "slow", "start_cold": "long", "engine.fuel": "petrol"}
    order = first_looks(base, told, evaluate_all(base, told), ())
    battery = [order.index(name) for name in base.first_looks["cranks_slowly"].checks]
    start = [
        order.index(name)
        for name in base.first_looks["hard_to_start"].checks
        if name not in base.first_looks["cranks_slowly"].checks
    ]
    assert max(battery) < min(start)


def test_a_first_look_is_made_before_anything_is_opened_and_names_each_check_once(base):
    for look in base.first_looks.values():
        moments = {
            base.observations[item].moment
            for name in look.checks
            for item in (base.checks[name].observations if name in base.checks else (name,))
        }
        assert "teardown" not in moments and len(set(look.checks)) == len(look.checks)
