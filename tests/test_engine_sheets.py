"""The engine sheets of the rule base: whole, consistent, plausible, and every one built differently."""

import dataclasses
import math
import re
from decimal import Decimal
from itertools import combinations

import pytest

from howdeep.knowledge.engine_facts import count_of, engine_facts
from howdeep.knowledge.engines import find, load_engine, sheet_ids
from howdeep.knowledge.where import shipped_rules
from howdeep.logic.applicability import applies
from howdeep.model.engine import Fit
from howdeep.model.quantity import parse

FOLDERS = [shipped_rules()]
SHEETS = {name: load_engine(find(name, FOLDERS)) for name in sheet_ids(FOLDERS)}
EXPECTED = {"brockwell-4", "tarn-30", "pell-2", "dunmore-d4", "skerry-6", "pell-1"}

# Sound orders of a four-stroke with evenly spaced throws (common practice); a twin may fire in either order.
ORDERS = {1: {(1,)}, 2: {(1, 2)}, 4: {(1, 3, 4, 2), (1, 2, 4, 3)}, 6: {(1, 5, 3, 6, 2, 4)}}

# Tensile stress areas in square inches (unified threads) and square millimetres (ISO coarse); proof stress in psi (SAE
# grades) and MPa (ISO classes). From memory of the common tables.
AREA_IN = {
    "3/8-24": 0.0878,
    "3/8-16": 0.0775,
    "7/16-14": 0.1063,
    "7/16-20": 0.1187,
    "1/2-13": 0.1419,
    "1/2-20": 0.1599,
    "9/16-12": 0.182,
}
AREA_MM = {"M10": 58.0, "M12": 84.3, "M14": 115.0}
PROOF_PSI = {"5": 85_000, "8": 120_000}
PROOF_MPA = {"8.8": 600, "10.9": 830}

# Atmosphere, psi (US Standard Atmosphere 1976).
ATMOSPHERE = 14.696


def inches(text):
    return parse(text, unit="in").to("in")


@pytest.fixture(params=sorted(SHEETS))
def engine(request):
    return SHEETS[request.param]


def fits(engine):
    for item in dataclasses.fields(engine):
        value = getattr(engine, item.name)
        if isinstance(value, Fit):
            yield item.name, value


def test_the_six_sheets_are_there_and_say_that_they_are_invented():
    assert set(SHEETS) == EXPECTED
    for name, engine in SHEETS.items():
        assert "invented engine of an invented maker" in engine.note, name
        assert engine.source, name


def test_each_sheet_is_built_differently_from_every_other():
    for one, other in combinations(sorted(SHEETS), 2):
        a, b = engine_facts(SHEETS[one]), engine_facts(SHEETS[other])
        assert sum(a[key] != b[key] for key in a) >= 6, (one, other)


def test_the_six_sheets_cover_what_decides_the_scope():
    built = [sheet.build for sheet in SHEETS.values()]
    for field, words in {
        "bores": {"wet_sleeves", "dry_sleeves", "in_block"},
        "bearings": {"inserts", "babbitt"},
        "layout": {"side_valve", "overhead_valve"},
        "frame": {"in_frame", "is_frame", "bench"},
        "rear_seal": {"rope", "lip", "slinger"},
        "rear_seal_needs": {"pan_off", "split", "engine_out"},
        "oiling": {"pressure", "splash", "part_splash"},
        "volts": {"6", "12", "none"},
        "fuel": {"petrol", "diesel"},
        "guides": {"pressed", "integral"},
        "seats": {"inserted", "cast"},
        "mains_in_frame": {"yes", "no"},
        "pan_in_frame": {"yes", "no"},
        "hand_crank": {"yes", "no"},
        "use": {"farm", "marine", "stationary", "light_vehicle"},
    }.items():
        assert {getattr(build, field) for build in built} == words, field


def test_build_words_do_not_contradict_each_other(engine):
    build = engine.build
    assert (build.ignition == "none") == (build.fuel == "diesel")
    assert (build.carburettor == "none") == (build.fuel == "diesel")
    assert (build.volts == "none") <= (build.electric_start == "no")
    assert build.electric_start == "yes" or build.hand_crank == "yes"
    assert build.mains_in_frame == "no" or build.pan_in_frame == "yes"
    assert build.oiling != "splash" or build.oil_gauge == "no"
    assert build.oiling != "splash" or not engine.oil_pressure_idle.low
    assert (build.bores == "wet_sleeves") == bool(engine.sleeve_protrusion.low)
    assert build.cooling == "pump" or not engine.cap_pressure
    assert bool(engine.points_gap.low) == (build.fuel == "petrol")


def test_firing_orders_are_those_of_a_four_stroke(engine):
    assert engine.firing_order in ORDERS[engine.build.cylinders]


def test_every_band_runs_from_low_to_high_and_wear_lies_outside_it(engine):
    smaller_is_worn = {
        "cranking_compression",
        "spring_load",
        "cam_lift",
        "cam_lift_exhaust",
        "oil_pressure_idle",
        "oil_pressure_speed",
        "sleeve_protrusion",
    }
    units = {
        "cranking_compression": "psi",
        "spring_load": "lbf",
        "oil_pressure_idle": "psi",
        "oil_pressure_speed": "psi",
    }
    for name, fit in fits(engine):
        unit = units.get(name, "in")
        low, high, wear = (parse(text, unit=unit).to(unit) if text else None for text in (fit.low, fit.high, fit.wear))
        assert (low is None) == (high is None), name
        if low is not None:
            assert low < high, name
        if wear is None or low is None or name == "bore":
            continue
        assert wear <= low if name in smaller_is_worn else wear > high, name


def test_journals_clearances_and_undersizes_belong_together(engine):
    for kind in ("crankpins", "mains"):
        journal = getattr(engine, kind)
        low, high = inches(journal.size.low), inches(journal.size.high)
        assert 0 < high - low <= 0.0012, kind
        if journal.size.wear:
            assert low - 0.004 <= inches(journal.size.wear) < low, kind
        clearance = inches(journal.clearance.low), inches(journal.clearance.high), inches(journal.clearance.wear)
        assert clearance[0] < clearance[1] < clearance[2], kind
        # About 0.001 in an inch of journal (magazine quoting a bearing maker's guide): the band holds it, loosely.
        assert 0.35 * low / 1000 <= clearance[0] and clearance[1] <= 2.2 * low / 1000, kind
        steps = [inches(text) for text in journal.undersizes]
        if not steps:
            continue
        assert steps == sorted(set(steps)), kind
        # A crankshaft is ground no more than 0.040 in under (TM 5-3431-205-15; TM 10-3930-671-24).
        assert steps[-1] <= 0.0401, kind
        if journal.smallest:
            assert high - steps[-1] >= inches(journal.smallest) - 1e-9, kind
            assert low - steps[-1] - inches(journal.smallest) < 0.012, kind


def test_pistons_fit_their_bores(engine):
    if not engine.piston_skirt:
        return
    skirt = inches(engine.piston_skirt)
    loosest, closest = inches(engine.bore.high) - skirt, inches(engine.bore.low) - skirt
    low, high = inches(engine.piston_clearance.low), inches(engine.piston_clearance.high)
    assert low - 0.0008 <= closest and loosest <= high + 0.0008


def test_ring_gaps_are_at_least_four_thousandths_an_inch_of_bore(engine):
    # 0.004 in per inch of bore (engine-shop knowledge page, trade practice).
    low = inches(engine.ring_gap.low)
    assert 0.98 * 0.004 <= low / inches(engine.bore.low) <= 0.006
    assert inches(engine.ring_gap.high) <= 1.6 * low


def test_cranking_compression_agrees_with_the_ratio(engine):
    # A reading cannot be computed from the ratio, but it stays below r ** 1.3 and above half of r ** 1.2.
    ratio = engine.compression_ratio
    low, high = (parse(getattr(engine.cranking_compression, part), unit="psi").to("psi") for part in ("low", "high"))
    assert high < ATMOSPHERE * (ratio**1.3 - 1)
    assert low > 0.5 * ATMOSPHERE * (ratio**1.2 - 1)
    assert (ratio > 14) == (engine.build.fuel == "diesel")


def test_the_old_twin_has_a_low_ratio_and_is_splash_oiled():
    assert SHEETS["pell-2"].compression_ratio == 4.6
    assert SHEETS["pell-2"].build.oiling == "splash"


def test_sizes_reserved_for_other_engines_are_not_used(engine):
    journals = [fit for kind in ("crankpins", "mains") for fit in (getattr(engine, kind).size,)]
    for fit in journals:
        assert not (
            math.isclose(inches(fit.low), 1.498, abs_tol=6e-4) or math.isclose(inches(fit.high), 1.499, abs_tol=6e-4)
        )
    if engine.piston_skirt:
        assert not math.isclose(inches(engine.piston_skirt), 2.625, abs_tol=1e-3)
    gap = inches(engine.ring_gap.low), inches(engine.ring_gap.high)
    assert not (math.isclose(gap[0], 0.007, abs_tol=1e-3) and math.isclose(gap[1], 0.017, abs_tol=1e-3))


def graded_torques():
    return [
        (sheet, name, torque)
        for sheet, engine in SHEETS.items()
        for name, torque in engine.torques.items()
        if torque.grade
    ]


@pytest.mark.parametrize(
    ("sheet", "name", "torque"), graded_torques(), ids=lambda item: item if isinstance(item, str) else ""
)
def test_a_tightening_figure_stretches_its_bolt_to_three_quarters_of_proof(sheet, name, torque):
    # T = K D F, K 0.15 to 0.20 oiled, F = 75 % of proof load (tutorial quoting Shigley, Machinery's Handbook, Marks).
    value = parse(torque.value, unit="ft-lb")
    if torque.size in AREA_IN:
        top, bottom = (int(part) for part in torque.size.split("-")[0].split("/"))
        force, diameter = 0.75 * PROOF_PSI[torque.grade] * AREA_IN[torque.size], top / bottom / 12
        actual = value.to("ft-lb")
    else:
        force = 0.75 * PROOF_MPA[torque.grade] * AREA_MM[torque.size]
        diameter, actual = int(torque.size[1:]) / 1000, value.to("Nm")
    assert 0.15 * diameter * force <= actual <= 0.20 * diameter * force


def test_stages_rise_to_the_figure(engine):
    for name, torque in engine.torques.items():
        stages = [parse(text, unit="ft-lb").to("ft-lb") for text in torque.stages]
        assert stages == sorted(stages), name
        if stages:
            assert stages[-1] == pytest.approx(parse(torque.value, unit="ft-lb").to("ft-lb")), name


def test_fasteners_are_as_many_as_the_engine_has(engine):
    assert engine.torques["rod"].count == 2 * count_of(engine, "crankpin")
    assert engine.torques["main"].count % count_of(engine, "main") == 0
    assert engine.torques["head"].count >= 2 * engine.build.cylinders


def test_hours_belong_to_work_that_this_engine_can_have(engine, shipped):
    facts = engine_facts(engine)
    for name, hours in engine.hours.items():
        assert name in shipped.operations, name
        assert applies(shipped.operations[name], facts), name
        assert 0 < hours < 40, name


def test_a_fitted_replacement_costs_more_than_the_running_machine_is_worth(engine):
    assert re.fullmatch(r"\d+\.\d\d", engine.value_running) and re.fullmatch(r"\d+\.\d\d", engine.replacement)
    assert Decimal(engine.replacement) > Decimal(engine.value_running) > 1000


def test_lash_state_and_fluids_are_given(engine):
    assert engine.lash_state in ("hot", "cold")
    assert 0.004 < inches(engine.lash_inlet) <= inches(engine.lash_exhaust) < 0.025
    assert set(engine.fluids) >= {"oil", "coolant"}


def test_pell_2_leaves_figures_to_the_general_limits():
    engine = SHEETS["pell-2"]
    silent = ["bore_taper", "bore_out_of_round", "piston_skirt", "head_flatness", "valve_margin", "spring_length"]
    assert all(not getattr(engine, name) for name in silent)
    assert not engine.bore.wear and not engine.crankpins.out_of_round and not engine.end_play.low
    assert all(not getattr(engine, name).low for name in ("ring_side", "valve_stem_inlet", "valve_stem_exhaust"))


def test_general_limits_stand_in_for_every_figure_that_pell_2_is_silent_on(shipped):
    for name in (
        "bore_wear_per_inch",
        "bore_taper_per_inch",
        "bore_out_of_round",
        "piston_clearance_low_per_inch",
        "piston_clearance_high_per_inch",
        "ring_side_low",
        "ring_side_high",
        "ring_side_wear",
        "journal_out_of_round_per_inch",
        "journal_taper",
        "head_warp_across",
        "head_warp_along",
        "guide_clearance_inlet_most",
        "guide_clearance_exhaust_most",
        "end_play_low",
        "end_play_high",
        "valve_margin",
        "valve_seat_width_low",
        "valve_seat_width_high",
        "valve_seat_width_most",
        "cam_lobe_short",
        "spring_load_percent",
    ):
        assert shipped.limits[name].value > 0, name
