"""The findings, holds and causes of the outside systems: starting, ignition, fuel, cooling, oil, breathing, exhaust."""

import pytest

from howdeep.logic.evaluate import evaluate, evaluate_all
from howdeep.model.condition import facts_read, findings_read
from howdeep.model.truth import Truth

from .conftest import findings_in
from .outside_signs import DIRECT_LOOKS, FIRES, HOLDS, INTERMEDIATE, LOOK_ALIKES, QUIET, SOUND

FILES = (
    "starting",
    "cranking",
    "ignition",
    "plugs",
    "fuel",
    "diesel",
    "cooling",
    "cooling_checks",
    "oil",
    "oil_pressure",
    "breathing",
    "exhaust",
    "running",
    "power",
    "controls",
)
SYSTEMS = ("starting", "ignition", "fuel", "cooling", "lubrication", "breathing", "exhaust")
SILENCING = ("lies_open",)
"""They speak for no fault: they say why another sign says nothing."""


@pytest.fixture(scope="module")
def own(shipped):
    """Id -> finding of the outside systems."""
    return findings_in(shipped, FILES)


def truth(finding, facts):
    return evaluate(finding.when, facts, {}, {})


def standing_signs(knowledge, hold, facts):
    return evaluate(knowledge.holds[hold].when, facts, evaluate_all(knowledge, facts), {})


def test_every_finding_of_the_outside_systems_has_a_case(own):
    assert sorted(own) == sorted(FIRES)
    assert len(own) >= 70


@pytest.mark.parametrize("name", sorted(FIRES))
def test_a_finding_fires_on_its_sign(own, name):
    assert truth(own[name], FIRES[name]) is Truth.PRESENT


@pytest.mark.parametrize("name", sorted(FIRES))
def test_a_finding_keeps_quiet_on_a_sound_engine(own, name):
    assert truth(own[name], SOUND) is Truth.ABSENT


@pytest.mark.parametrize("name", sorted(QUIET))
def test_a_finding_keeps_quiet_on_a_sign_like_its_own(own, name):
    assert truth(own[name], QUIET[name]) is Truth.ABSENT


@pytest.mark.parametrize("name", sorted(FIRES))
def test_a_finding_is_unknown_where_nothing_was_looked_at(own, name):
    assert truth(own[name], {}) is Truth.UNKNOWN
    rest = {fact: value for fact, value in SOUND.items() if fact not in facts_read(own[name].when)}
    assert truth(own[name], rest) is Truth.UNKNOWN


def test_the_sound_engine_answers_with_answers_there_are(shipped):
    for fact, value in SOUND.items():
        shape = shipped.observations.get(fact) or shipped.reduced[fact]
        for word in value if isinstance(value, tuple) else (value,):
            assert word in shape.answers, fact


def test_a_cylinder_not_looked_at_does_not_clear_the_others(own):
    assert truth(own["plug_wet_coolant"], {"plug_look": ("normal", None, "normal", "normal")}) is Truth.UNKNOWN
    assert truth(own["plugs_all_sooty"], {"plug_look": ("sooty_dry", None, "sooty_dry", "sooty_dry")}) is Truth.UNKNOWN
    assert truth(own["plug_wet_coolant"], {"plug_look": (None, "wet_coolant", None, None)}) is Truth.PRESENT


def test_every_finding_has_rivals_or_is_a_direct_look(own, shipped):
    for name, finding in own.items():
        if name in SILENCING:
            assert not finding.explained_by and finding.covers, name
        elif name in INTERMEDIATE:
            assert not finding.explained_by and any(name in findings_read(hold.when) for hold in shipped.holds.values())
        elif name in DIRECT_LOOKS or finding.direct:
            assert finding.explained_by, name
        else:
            assert len(finding.explained_by) >= 2, name


def test_every_direct_look_reads_one_check(own, shipped):
    for name in DIRECT_LOOKS:
        facts = facts_read(own[name].when)
        assert len(facts) == 1, name


def test_every_outside_cause_can_be_told_by_two_findings(shipped):
    for cause, item in shipped.causes.items():
        if item.system not in SYSTEMS:
            continue
        telling = [
            name
            for name, finding in shipped.findings.items()
            if finding.explained_by.get(cause) in ("half the time", "usually", "nearly always")
        ]
        assert len(telling) >= 2, cause


def test_every_cause_and_finding_says_why(own, shipped):
    for name, finding in own.items():
        assert len(finding.because) > 60 and len(finding.fooled_by) > 20, name
        assert finding.because != finding.title
    for name, cause in shipped.causes.items():
        if cause.system in SYSTEMS:
            assert len(cause.plain) > 50 and len(cause.because) > 80 and len(cause.wait) > 30, name


def test_deep_wear_stands_behind_the_signs_that_outside_faults_copy(own):
    """Explaining away needs both: the cheap fault and the wear that it looks like."""
    for finding, cheap, deep in [
        ("hard_cold_start", "weak_battery", "worn_rings"),
        ("dipstick_blows_oil", "blocked_breather", "stuck_rings"),
        ("heavy_breathing", "blocked_breather", "worn_bores"),
        ("gauge_low_hot_idle", "false_oil_gauge", "worn_main_bearings"),
        ("low_power", "blocked_exhaust", "worn_rings"),
        ("overheats_pulling", "late_timing", "head_gasket_coolant"),
        ("oil_milky", "thermostat_missing_open", "cracked_block"),
        ("coolant_oily", "oil_cooler_leak", "cracked_head"),
        ("misfire_one_steady", "cracked_cap_leads", "burnt_exhaust_valve"),
        ("plugs_oily_all", "oil_bath_overfilled", "worn_rings"),
    ]:
        assert cheap in own[finding].explained_by and deep in own[finding].explained_by, finding


@pytest.mark.parametrize("row", range(1, 23))
def test_every_look_alike_row_has_its_hold(shipped, row):
    for hold, check, _ in LOOK_ALIKES[row]:
        assert shipped.holds[hold].check == check


@pytest.mark.parametrize(("hold", "check", "facts"), HOLDS, ids=[hold for hold, _, _ in HOLDS])
def test_a_hold_speaks_on_its_sign_and_not_on_a_sound_engine(shipped, hold, check, facts):
    assert shipped.holds[hold].check == check
    assert standing_signs(shipped, hold, facts) is Truth.PRESENT
    assert standing_signs(shipped, hold, SOUND) is Truth.ABSENT
    assert standing_signs(shipped, hold, {}) is Truth.UNKNOWN


def test_every_hold_is_told_here(shipped):
    assert sorted(shipped.holds) == sorted(hold for hold, _, _ in HOLDS)


def test_no_hold_lets_a_deeper_promise_than_a_tune_up_pass(shipped):
    assert {hold.above for hold in shipped.holds.values()} == {"outside", "tune_up"}


def test_a_hold_is_never_cleared_by_the_sign_that_raised_it(shipped):
    """Where one answer both raises and clears a hold, it could never stand; the level read is the one exception."""
    for hold, check, facts in HOLDS:
        assert check not in facts, hold
