"""Leakage, vacuum, electrics, oil, cooling, blow-by and valve clearance."""

from __future__ import annotations

from math import pi

import pytest
from fluids.compressible import P_critical_flow
from fluids.safety_valve import API520_A_g
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.model.engine import Fit
from howdeep.readings import atmosphere, leakage, pressures, vacuum
from howdeep.readings.figures import Figure
from howdeep.readings.judged import Known, grade_of
from tests.bench_readings import engine, facts, knowledge, remarks
from tests.published import cited, published

FOUR = engine()
TWELVE = engine({"volts": "12"})


# --- leakage ---


@published("ac-43-13-1b", "para 8-14b(5)(i): more than 25 % of 80 psi is 60/80")
def test_sixty_of_eighty_is_the_suspect_mark():
    assert leakage.percent(80, 60) == pytest.approx(25.0)
    assert knowledge().limits["leakage_suspect_percent"].value == 25
    assert leakage.held_at(25) == pytest.approx(60)


@pytest.mark.parametrize(
    ("bore", "diameter"),
    [
        cited("ac-43-13-1b", "para 8-14: bore below 5 in", 3.5, 0.040),
        cited("ac-43-13-1b", "para 8-14: bore of 5 in and over", 5.0, 0.060),
        cited("faasteam-2011-11", "a 5.125 in bore", 5.125, 0.060),
        cited("faasteam-2011-11", "less than 5 in", 4.99, 0.040),
    ],
)
def test_the_orifice_goes_by_the_bore(bore, diameter):
    assert leakage.orifice_in(bore) == diameter


@published("choked-flow-tutorial", "80 psi is choked for outlets below 35.3 psi")
def test_air_chokes_where_the_tutorial_says():
    outlet = (80 + 14.7) * leakage.CRITICAL - 14.7
    assert outlet == pytest.approx(35.3, abs=0.1)
    assert P_critical_flow(1.0, 1.4) == pytest.approx(leakage.CRITICAL, rel=1e-6)


@pytest.mark.parametrize(("supply", "held"), [(80, 75), (80, 60), (80, 40), (100, 30), (20, 19)])
def test_the_flow_agrees_with_a_relief_valve_standard(supply, held):
    """The fluids library sizes openings for gas by API 520: the same opening for the same flow."""
    up, down = (psi * atmosphere.PSI + atmosphere.P0 for psi in (supply, held))
    flux = leakage.mass_flux(up, down)
    molar = 8314.462618 / atmosphere.GAS
    area = API520_A_g(m=1.0, T=293.15, Z=1.0, MW=molar, k=1.4, P1=up, P2=down, Kd=1.0, Kb=1.0, Kc=1.0)
    assert 1.0 / flux == pytest.approx(area, rel=0.005)


def test_the_leak_passes_what_the_orifice_passes():
    found = leakage.leak_area(80, 60, 3.5)
    flow = found.effective_mm2 * 1e-6 * leakage.mass_flux(60 * atmosphere.PSI + atmosphere.P0, atmosphere.P0) * 1000
    assert flow == pytest.approx(found.flow_g_s, rel=1e-9)
    orifice = pi / 4 * (0.040 * 25.4) ** 2
    assert 0.5 * orifice < found.effective_mm2 < orifice  # with 60 of 80 held the leak is a little under the orifice


@settings(max_examples=40, deadline=None)
@given(st.floats(1, 78), st.floats(0.5, 20))
def test_a_larger_loss_is_a_larger_hole(held, less):
    lower = max(0.5, held - less)
    if lower < held:
        assert leakage.leak_area(80, lower, 3.5).effective_mm2 > leakage.leak_area(80, held, 3.5).effective_mm2


def test_a_pair_that_cannot_be_is_refused():
    for pair in ((80, 85), (0, 0), (80, -1)):
        with pytest.raises(HowdeepError):
            leakage.percent(*pair)
    with pytest.raises(HowdeepError, match="no size"):
        leakage.leak_area(80, 80, 3.5)
    with pytest.raises(HowdeepError):
        leakage.orifice_in(0)


def test_losses_are_graded_cylinder_by_cylinder():
    """5-10 good, to 20 fair, to 30 poor (trade practice, no single scale is agreed)."""
    found = facts(FOUR, {"leakage": [8, 15, 27, 60]})
    assert found.values["leakage.grade"] == ("good", "fair", "poor", "bad")
    assert found.values["leakage.percent"] == (8, 15, 27, 60)
    assert "25 %" in found.reductions["leakage.grade"].how


@pytest.mark.parametrize(
    ("heard", "word"),
    [
        cited("tm-5-3805-260-24", "air at the exhaust outlet", "exhaust", "exhaust valve"),
        cited("tm-5-3805-260-24", "air at the air cleaner", "inlet", "inlet valve"),
    ],
)
def test_the_air_is_followed_to_where_it_is_heard(heard, word):
    assert word in leakage.path(heard)
    assert leakage.path("nothing") == ""


# --- vacuum ---


@published("od1001", "lesson 3, p. 87: about 20 in Hg, steady")
def test_twenty_inches_is_normal():
    assert facts(FOUR, {"vacuum_level": 20.0}).values["vacuum.level"] == "normal"


@published("od1001", "lesson 3, p. 87: Denver reads about 5 in Hg less")
def test_fifteen_inches_in_denver_is_normal():
    found = facts(FOUR, {"vacuum_level": 15.0}, altitude="5000 ft")
    assert found.values["vacuum.corrected"] == pytest.approx(20.0, abs=0.1)
    assert found.values["vacuum.level"] == "normal"
    assert facts(FOUR, {"vacuum_level": 15.0}).values["vacuum.level"] == "low"


@published("tm-9-4910-677-14p", "1 in per 1000 ft")
def test_the_correction_is_an_inch_a_thousand_feet_where_people_live():
    limit = knowledge().limits["vacuum_per_1000_ft"].value
    for feet in (1000, 2000, 3000, 4000):
        assert vacuum.to_sea_level(0, feet) == pytest.approx(limit * feet / 1000, abs=0.15)


@pytest.mark.parametrize(
    ("reading", "word"),
    [
        cited("vacuum-picture-chart", "normal 17 to 21", 17.0, "normal"),
        cited("vacuum-picture-chart", "normal 17 to 21", 21.0, "normal"),
        cited("vacuum-picture-chart", "8 to 14: valve timing", 13.0, "low"),
        cited("vacuum-picture-chart", "below 5: manifold or carburettor gasket", 4.0, "very_low"),
        cited("od1001", "p. 89: floats 12 to 16 in", 14.0, "low"),
    ],
)
def test_charted_readings_get_the_charts_word(reading, word):
    assert facts(FOUR, {"vacuum_level": reading}).values["vacuum.level"] == word


def test_a_vacuum_deeper_than_the_air_is_heavy_is_questioned():
    found = facts(FOUR, {"vacuum_level": 27.0}, altitude="6000 ft")
    assert remarks(found, "questioned", "vacuum_level")
    assert "vacuum.level" not in found.values and "vacuum_level" not in found.values


# --- electrics: six volts, twelve volts, and a starting handle are all ordinary (common practice) ---


def test_a_good_six_volt_battery_is_good_and_not_called_flat():
    found = facts(FOUR, {"battery_rest": 6.3, "battery_cranking": 5.0})
    assert found.values["cranking.rest"] == "good" and found.values["cranking.under_load"] == "good"


def test_the_same_volts_on_a_twelve_volt_system_are_questioned():
    found = facts(TWELVE, {"battery_rest": 6.3})
    assert remarks(found, "questioned", "battery_rest") and "cranking.rest" not in found.values


def test_twelve_volts_on_a_six_volt_sheet_are_questioned():
    found = facts(FOUR, {"battery_rest": 12.5})
    assert "changed to 12 volts" in remarks(found, "questioned", "battery_rest")[0].text


@published("tm-5-3895-383-24", "problem 29: under 8 V on a 12 V system is low")
def test_under_eight_volts_while_cranking_is_very_low():
    assert facts(TWELVE, {"battery_rest": 12.5, "battery_cranking": 7.9}).values["cranking.under_load"] == "very_low"


@published("tm-5-3820-256-24-4", "cranking circuit: joint drop")
def test_a_joint_may_drop_a_tenth_of_a_volt():
    assert knowledge().limits["cable_drop_joint"].value == 0.1
    assert facts(FOUR, {"cable_drop": 0.1}).values["cranking.cable"] == "good"
    assert facts(FOUR, {"cable_drop": 0.4}).values["cranking.cable"] == "high_drop"


def test_more_volts_while_cranking_than_at_rest_are_questioned():
    found = facts(TWELVE, {"battery_rest": 11.0, "battery_cranking": 12.4})
    assert remarks(found, "questioned", "battery_cranking") and "cranking.under_load" not in found.values


def test_charging_is_judged_by_the_system():
    assert facts(FOUR, {"charge_volts": 7.1}).values["charging.state"] == "good"
    assert facts(FOUR, {"charge_volts": 8.2}).values["charging.state"] == "over"
    assert facts(TWELVE, {"charge_volts": 12.6}).values["charging.state"] == "low"


def test_a_magneto_engine_without_battery_has_no_battery_words():
    bare = engine({"volts": "none", "ignition": "magneto", "electric_start": "no"})
    found = facts(bare, {"battery_rest": 12.0})
    assert not any(name.startswith(("cranking.", "charging.")) for name in found.values)


def test_cranking_speed_goes_by_the_sheet_first():
    sheet = engine(cranking_rpm="200 rpm")
    slow, general = facts(sheet, {"cranking_rpm": 140}), facts(FOUR, {"cranking_rpm": 140})
    assert slow.values["cranking.speed"] == "slow" and slow.reductions["cranking.speed"].basis == "engine sheet"
    assert general.values["cranking.speed"] == "good"
    assert general.reductions["cranking.speed"].basis == "general limit cranking_rpm_petrol"


@settings(max_examples=40, deadline=None)
@given(st.floats(0, 14), st.floats(0, 5))
def test_fewer_volts_never_get_a_better_word(volts, less):
    words, rule = ("good", "low", "flat"), knowledge().reduced["cranking.rest"].grade
    marks = {name: Known(Figure(value, "V", ""), "") for name, value in (("good", 12.4), ("flat", 12.0))}
    one, two = (grade_of(rule, item, marks) for item in (volts, volts - less))
    assert words.index(two) >= words.index(one)


# --- oil, cooling, breather ---


@pytest.mark.parametrize(
    ("idle", "speed", "idle_word", "speed_word"),
    [
        cited("tm-10-3930-623-12", "daily check: at least 7 psi idle, 20 psi governed", 9, 25, "good", "good"),
        cited("tm-10-3930-623-12", "daily check: below 7 psi idle", 4, 12, "low", "low"),
        cited("tm-5-3810-294-34", "Table 1-4: 15 psi idle, 55 psi at speed", 15, 55, "good", "good"),
    ],
)
def test_oil_pressure_is_judged_by_a_general_limit_where_the_sheet_is_silent(idle, speed, idle_word, speed_word):
    found = facts(FOUR, {"oil_pressure_idle": idle, "oil_pressure_speed": speed})
    assert (found.values["oil_pressure.idle"], found.values["oil_pressure.speed"]) == (idle_word, speed_word)
    assert found.reductions["oil_pressure.idle"].basis == "general limit oil_pressure_idle_least"


def test_the_sheets_oil_pressure_goes_first():
    sheet = engine(oil_pressure_idle=Fit("10 psi", "20 psi", "5 psi"))
    found = facts(sheet, {"oil_pressure_idle": 6.5})
    assert found.values["oil_pressure.idle"] == "good" and found.reductions["oil_pressure.idle"].basis == "engine sheet"
    assert facts(sheet, {"oil_pressure_idle": 60}).values["oil_pressure.idle"] == "high"
    assert facts(sheet, {"oil_pressure_idle": 0}).values["oil_pressure.idle"] == "none"


def test_a_part_splash_engine_is_healthy_at_a_few_psi():
    """Splash or part-splash oiling shows a few psi, or has no gauge, in good health (memory)."""
    found = facts(engine({"oiling": "part_splash"}), {"oil_pressure_idle": 4, "oil_pressure_speed": 6})
    assert found.values["oil_pressure.idle"] == "good" and found.values["oil_pressure.speed"] == "good"


def test_a_splash_oiled_engine_has_no_oil_pressure_to_judge():
    found = facts(engine({"oiling": "splash"}), {"oil_pressure_idle": 2})
    assert remarks(found, "refused", "oil_pressure_idle")
    assert "oil_pressure.idle" not in found.values and "oil_pressure_idle" not in found.values


def test_a_pressure_at_the_limit_asks_for_another_gauge():
    assert remarks(facts(FOUR, {"oil_pressure_idle": 7.4}), "too close to call", "oil_pressure_idle")


@published("tm-5-3805-291-23-1", "0012 00: 3 psi over the cap, steady for 5 minutes")
def test_the_cooling_system_is_tested_three_psi_over_its_cap():
    capped = engine(cap_pressure="7 psi")
    found = facts(capped, {"coolant_pressure_test": 0.0})
    assert found.values["cooling.holds_pressure"] == "yes"
    assert "test pressure is 10 psi" in found.reductions["cooling.holds_pressure"].how
    assert facts(capped, {"coolant_pressure_test": 3.0}).values["cooling.holds_pressure"] == "no"


@published("tm-9-2815-255-24", "para 3-6: five minutes times twelve")
def test_blow_by_is_brought_to_the_hour():
    assert pressures.blow_by_per_hour(225 / 12, 5) == pytest.approx(225)


def test_blow_by_is_judged_by_the_size_of_the_engine():
    small = engine({"cylinders": 1})
    swept = pi / 4 * 3.0005**2 * 4
    assert facts(small, {"blow_by": 30}).values["blow_by.state"] == "high"
    assert facts(FOUR, {"blow_by": 30}).values["blow_by.state"] == "good"
    assert f"{swept:.0f} cubic inches" in facts(small, {"blow_by": 30}).reductions["blow_by.state"].how


# --- valve clearance ---


def test_lash_is_judged_by_the_sheet_valve_by_valve():
    sheet = engine(lash_inlet="0.010 in", lash_exhaust="0.30 mm", lash_state="hot")
    found = facts(sheet, {"lash_inlet_measured": [0.010, 0.004, 0.016, 0.012], "lash_exhaust_measured": [0.012] * 4})
    assert found.values["lash.inlet"] == ("right", "tight", "loose", "right")
    assert set(found.values["lash.exhaust"]) == {"right"}
    assert "hot" in found.reductions["lash.inlet"].how


def test_lash_without_a_figure_is_kept_and_not_judged():
    found = facts(FOUR, {"lash_inlet_measured": [0.010] * 4})
    assert "lash.inlet" not in found.values and remarks(found, "conditions not recorded", "lash_inlet_measured")


def test_a_lash_ten_times_too_wide_is_questioned_with_the_decimal_named():
    sheet = engine(lash_inlet="0.010 in")
    told = remarks(
        facts(sheet, {"lash_inlet_measured": [0.14, 0.010, 0.010, 0.010]}), "questioned", "lash_inlet_measured"
    )
    assert told and "decimal" in told[0].text


def test_the_lash_of_a_worn_through_follower_gapes_and_is_not_questioned():
    """A follower worn through or a screw backed off shows 0.080 to 0.100 in; an eighth is believed (judgement)."""
    found = facts(engine(lash_inlet="0.010 in"), {"lash_inlet_measured": [0.080, 0.100, 0.125, 0.010]})
    assert found.values["lash.inlet"] == ("gapes", "gapes", "gapes", "right")
    assert not remarks(found, "questioned", "lash_inlet_measured")


@pytest.mark.parametrize(
    ("flow", "speed", "word"),
    [
        cited("tm-9-2815-255-24", "para 3-6, p. 3-19: up to 225 ft3/h", 220, 2000, "good"),
        cited("tm-9-2815-255-24", "para 3-6, p. 3-19: above 225 ft3/h", 230, 2000, "high"),
    ],
)
def test_the_makers_blow_by_is_judged_as_printed(flow, speed, word):
    sheet = engine(blow_by="225 ft3/h", blow_by_rpm="2000 rpm")
    found = facts(sheet, {"blow_by": flow, "blow_by_speed": speed})
    assert found.values["blow_by.state"] == word and found.reductions["blow_by.state"].basis == "engine sheet"


def test_blow_by_goes_with_the_speed_of_the_test():
    """Arithmetic: what passes the pistons goes with the air they draw, rpm / 2 x displacement."""
    sheet = engine(blow_by="225 ft3/h", blow_by_rpm="2000 rpm")
    assert facts(sheet, {"blow_by": 130, "blow_by_speed": 1000}).values["blow_by.state"] == "high"
    assert facts(sheet, {"blow_by": 130, "blow_by_speed": 2000}).values["blow_by.state"] == "good"
    assert facts(sheet, {"blow_by": 130}).values["blow_by.state"] == "good"
    slow, fast = (
        facts(engine(), {"blow_by": 70, "blow_by_speed": rpm}).values["blow_by.state"] for rpm in (1000, 2500)
    )
    assert (slow, fast) == ("high", "good")
