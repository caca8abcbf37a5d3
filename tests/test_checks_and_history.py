"""The checks of the shipped rule base, what an engine's life says of the odds, and contradicting answers."""

import itertools

import pytest

from howdeep.decision.open_checks import expanded, open_checks
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.logic.evaluate import evaluate
from howdeep.model.condition import facts_read, findings_read, walk
from howdeep.model.truth import Truth
from howdeep.rulecheck.worlds import PRESENT, Vocabulary


def truth(condition, facts, limits):
    return evaluate(condition, facts, {}, limits)


# --- checks and their outcomes ---


def test_a_check_never_bears_the_name_of_a_question(shipped):
    assert not shipped.checks.keys() & shipped.observations.keys()
    assert len(shipped.checks) >= 15


@pytest.mark.parametrize("count", [3, 4, 6])
def test_the_outcomes_of_every_check_exclude_each_other(shipped, count):
    facts = {**shipped.reduced, **shipped.observations}
    for name, check in shipped.checks.items():
        laid = {}
        for answer, outcome in check.outcomes.items():
            laid[answer] = {
                fact: expanded(pattern, count if facts[fact].each else 0) for fact, pattern in outcome.facts.items()
            }
            assert None not in laid[answer].values(), (name, answer)
        for first, second in itertools.combinations(laid, 2):
            shared = laid[first].keys() & laid[second].keys()
            assert any(laid[first][fact] != laid[second][fact] for fact in shared), (name, first, second)


def test_the_facts_of_an_outcome_come_from_the_observations_of_its_check(shipped):
    for name, check in shipped.checks.items():
        for answer, outcome in check.outcomes.items():
            for fact in outcome.facts:
                sources = shipped.reduced[fact].taken_from if fact in shipped.reduced else (fact,)
                assert sources and set(sources) <= set(check.observations), (name, answer, fact)


def test_every_check_tells_a_sound_outcome_from_at_least_one_other(shipped):
    for name, check in shipped.checks.items():
        assert len(check.outcomes) >= 2, name
        titles = [outcome.title for outcome in check.outcomes.values()]
        assert len(set(titles)) == len(titles), name
        assert check.because and check.source and check.minutes > 0, name
        assert check.minutes <= sum(shipped.observations[item].minutes for item in check.observations) + 5, name


def test_the_compression_outcomes_cover_the_classic_answers(shipped):
    # TM 10-3930-618-20 para 2-12 and Whitman 1920: oil brings it up - rings; no change - valves;
    # two neighbours together - the gasket between them (common practice)
    outcomes = {name: outcome.facts for name, outcome in shipped.checks["compression_test"].outcomes.items()}
    seen = {
        (tuple(sorted(facts["compression.level"].items())), facts.get("compression.wet_answer"))
        for facts in outcomes.values()
    }
    for level in ((("each", "low"),), (("one", "low"), ("others", "normal"))):
        assert {(level, "up"), (level, "unmoved")} <= seen
    assert ((("neighbours", "very_low"), ("others", "normal")), "unmoved") in seen
    assert ((("each", "normal"),), None) in seen


def test_every_compression_outcome_can_be_read_on_a_gauge(shipped, limits):
    low, very_low, high = (limits[f"compression_{word}_percent"] / 100 for word in ("low", "very_low", "high"))
    bands = {"very_low": (0.02, very_low), "low": (very_low, low), "normal": (low, high), "high": (high, 1.6)}
    for check in ("compression_test", "compression_dry_test"):
        for name, outcome in shipped.checks[check].outcomes.items():
            words = set(outcome.facts["compression.level"].values())
            order = [word for word in bands if word in words]
            worst, best = bands[order[0]], bands[order[-1]]
            ratio = outcome.facts["compression.lowest_to_highest"] / 100
            assert worst[0] / best[1] < ratio < min(1.0, worst[1] / best[0]), (check, name)
            is_low = bool(words & {"low", "very_low"})
            assert (outcome.facts.get("compression.wet_answer") is not None) == (is_low and check == "compression_test")


def open_on(shipped, engine, facts=(), made=()):
    return {check.check: check for check in open_checks(shipped, engine, dict(facts), frozenset(made))}


def test_the_compression_test_of_a_diesel_is_the_dry_one(shipped, engines):
    offered = open_on(shipped, engines["dunmore-d4"])
    assert "compression_dry_test" in offered and "compression_test" not in offered
    assert "test_throttle_open" not in offered["compression_dry_test"].observations
    assert "compression_test" in open_on(shipped, engines["brockwell-4"])


def test_checks_for_what_an_engine_does_not_have_are_not_offered(shipped, engines):
    diesel, stationary = open_on(shipped, engines["dunmore-d4"]), open_on(shipped, engines["pell-2"])
    assert not {"vacuum_test", "spark_test", "noise_source_test", "compression_test"} & diesel.keys()
    assert (
        not {
            "battery_test",
            "starting_circuit_test",
            "charging_test",
            "oil_pressure_test",
            "coolant_hold_test",
            "voltage_drop_test",
        }
        & stationary.keys()
    )
    assert {"leakage_test", "lash_measurement", "cranking_speed_test"} <= diesel.keys() & stationary.keys()


def test_conditions_left_over_are_no_check(shipped, engines):
    made = {"compression_dry", "compression_wet", "leakage", "leakage_heard"}
    offered = open_on(shipped, engines["brockwell-4"], made=made)
    assert not {"compression_test", "compression_dry_test", "leakage_test"} & offered.keys()


def test_a_test_that_would_be_wrong_now_is_not_offered(shipped, engines):
    facts = {"test_battery_good": "no"}
    offered = open_on(shipped, engines["brockwell-4"], facts, facts)
    assert "compression_test" not in offered and "leakage_test" in offered


def test_one_cylinder_has_no_neighbours(shipped, engines):
    offered = open_on(shipped, engines["pell-1"])
    outcomes = {outcome.answer for outcome in offered["compression_dry_test"].outcomes}
    assert {"even_and_good", "all_low", "all_very_low"} <= outcomes
    assert not {"one_low", "neighbours_low", "all_but_one_low"} & outcomes


# --- history ---


def test_the_life_of_an_engine_speaks_both_ways_and_in_measure(shipped):
    assert len(shipped.history) >= 20
    shifts = [shift for rule in shipped.history.values() for shift in rule.shifts.values()]
    assert any(shift < 0 for shift in shifts) and any(shift > 0 for shift in shifts)
    assert all(shift and -20 <= shift <= 20 for shift in shifts)
    for name, rule in shipped.history.items():
        assert rule.shifts and rule.because and rule.source, name


def test_a_sign_that_a_finding_tells_is_not_counted_again_as_history(shipped):
    for name, rule in shipped.history.items():
        asked = {fact for fact in facts_read(rule.when) if not fact.startswith("engine.")}
        for other, finding in shipped.findings.items():
            read = facts_read(finding.when)
            if asked and read and read <= asked and not findings_read(finding.when):
                twice = rule.shifts.keys() & {cause for cause, word in finding.explained_by.items() if word != "never"}
                assert not twice, (name, other, sorted(twice))


def priors(shop, tmp_path, engine, answers):
    lines = "\n".join(f"  {name}: {value}" for name, value in answers.items())
    path = tmp_path / "job.yaml"
    told = f"answers:\n{lines}\n" if answers else ""
    path.write_text(f"howdeep_job: 1\nengine: {engine}\n{told}", encoding="utf-8")
    answer = shop.assess(shop.open_job(path), checks=False, flips=False)
    return {belief.cause: belief.prior for belief in answer.beliefs}


@pytest.mark.parametrize(
    ("engine", "answers", "up", "down"),
    [
        ("brockwell-4", {"hours_since_overhaul": "over_2000"}, ["worn_rings", "worn_bores", "worn_rod_bearings"], []),
        (
            "brockwell-4",
            {"hours_since_overhaul": "under_500"},
            ["glazed_bores"],
            ["worn_rings", "worn_bores", "worn_guides"],
        ),
        ("brockwell-4", {"stood": "years"}, ["stuck_rings", "sticking_valve", "seized_engine", "stale_fuel"], []),
        ("tarn-30", {"overheated_before": "badly"}, ["warped_head", "head_gasket_coolant", "cracked_head"], []),
        ("tarn-30", {"ran_low_oil": "yes"}, ["worn_rod_bearings", "scored_bores"], []),
        ("tarn-30", {"frozen_or_flooded": "yes"}, ["cracked_block"], []),
        ("dunmore-d4", {"ether_habit": "yes"}, ["broken_ring_or_piston", "failed_cold_aid"], []),
        ("dunmore-d4", {"work_load": "light"}, ["glazed_bores"], ["worn_rod_bearings"]),
        ("brockwell-4", {"dust": "dusty"}, ["worn_rings", "worn_bores"], []),
        ("brockwell-4", {"fuel_age": "fresh"}, [], ["stale_fuel"]),
        (
            "brockwell-4",
            {"recent_work": "ignition", "rebuilt_smoke_since": "yes"},
            ["late_timing", "cracked_cap_leads"],
            ["worn_rings"],
        ),
        (
            "tarn-30",
            {"recent_work": "head", "rebuilt_smoke_since": "yes"},
            ["tight_valve_clearance", "warped_head"],
            ["carbon_build_up"],
        ),
    ],
)
def test_what_happened_to_it_moves_the_odds_the_right_way(shop, tmp_path, engine, answers, up, down):
    before, after = priors(shop, tmp_path, engine, {}), priors(shop, tmp_path, engine, answers)
    for cause in up:
        assert after[cause] > before[cause], cause
    for cause in down:
        assert after[cause] < before[cause], cause


def test_recent_work_that_the_trouble_does_not_follow_blames_nobody(shop, tmp_path):
    before = priors(shop, tmp_path, "brockwell-4", {})
    after = priors(shop, tmp_path, "brockwell-4", {"recent_work": "ignition", "rebuilt_smoke_since": "no"})
    assert after["late_timing"] == before["late_timing"]


# --- contradictions ---


def present(shipped, limits, facts):
    return {name for name, item in shipped.contradictions.items() if truth(item.when, facts, limits) is Truth.PRESENT}


def test_every_contradiction_can_be_given_by_somebody(shipped):
    vocabulary = Vocabulary(shipped)
    assert len(shipped.contradictions) >= 15
    for name, item in shipped.contradictions.items():
        space = vocabulary.space(item.when, as_given=True)
        assert space.any(space.truth(item.when) == PRESENT), name


@pytest.mark.parametrize(
    ("facts", "name"),
    [
        ({"smoke_any": "no", "smoke_pulling": "blue_heavy"}, "no_smoke_at_all_yet_a_colour"),
        ({"complaint": "smokes", "smoke_any": "no"}, "no_smoke_yet_smokes"),
        ({"runs": "yes", "start_cold": "never", "start_hot": "never"}, "never_starts_at_all_yet_runs"),
        ({"runs": "no", "start_hot": "easy"}, "does_not_run_yet_starts_easily"),
        (
            {"oil_gauge_check": "gauge_true", "oil_light_gauge_hot_idle": "zero", "oil_pressure_idle": 40.0},
            "gauge_zero_yet_pressure_measured",
        ),
        ({"turns_over": "stuck", "runs": "yes"}, "stuck_yet_runs"),
        ({"turns_over": "stuck", "compression_dry": (90.0, None, 80.0, None)}, "stuck_yet_has_compression"),
        ({"warms_up": "never_warm", "overheats": "always"}, "never_warm_yet_overheats"),
        ({"oil_use": "none", "smoke_pulling": "blue_heavy"}, "no_oil_used_yet_thick_blue"),
        (
            {"misfire": "none", "cylinder_balance": ("drops", "no_change", "drops", "drops")},
            "runs_even_yet_a_cylinder_is_dead",
        ),
        ({"fuel_age": "fresh", "fuel_sample": "stale_gum"}, "fresh_fuel_yet_gum"),
        ({"engine.volts": "12", "test_battery_good": "yes", "battery_cranking": 7.0}, "good_battery_yet_cranks_flat"),
    ],
)
def test_answers_that_cannot_both_be_true_are_put_back(shipped, limits, facts, name):
    assert name in present(shipped, limits, facts)


def test_a_worn_but_honest_engine_contradicts_itself_nowhere(shipped, limits, engines):
    facts = {
        **engine_facts(engines["brockwell-4"]),
        "complaint": "smokes",
        "runs": "yes",
        "turns_over": "yes",
        "start_cold": "long",
        "start_hot": "easy",
        "smoke_any": "yes",
        "smoke_start": "blue_long",
        "smoke_idle": "blue",
        "smoke_pulling": "blue_heavy",
        "oil_use": "worse",
        "oil_level": "low",
        "oil_gauge_cold": "good",
        "oil_light_gauge_hot_idle": "low",
        "oil_gauge_speed": "low",
        "misfire": "none",
        "power": "down_some",
        "warms_up": "normal",
        "overheats": "no",
        "coolant_use": "none",
        "leak_water_pump": "dry",
        "noise": "none",
        "dipstick_blows": "yes",
        "breather_fumes": "puffs_heavy",
        "test_battery_good": "yes",
        "battery_cranking": 5.3,
        "compression_dry": (58.0, 61.0, 55.0, 60.0),
    }
    assert not present(shipped, limits, facts)


def test_contradictions_are_about_what_was_said_and_read_not_about_conclusions(shipped):
    for name, item in shipped.contradictions.items():
        for part in walk(item.when):
            assert not hasattr(part, "finding"), name
        for fact in facts_read(item.when):
            assert fact in shipped.observations or fact.startswith("engine."), (name, fact)
