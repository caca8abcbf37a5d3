"""Parts, machining, prices, labour, cautions and limits of the work side of the rule base."""

import re
from decimal import Decimal

import pytest

from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.engines import find, load_engine, sheet_ids
from howdeep.knowledge.where import shipped_rules
from howdeep.model.terms import RUNGS
from howdeep.pricing.lines import price_work
from howdeep.pricing.read import example_prices, load_prices
from howdeep.work.rules import work_rules
from howdeep.work.select import hours_of, work_at

FOLDERS = [shipped_rules()]
SHEETS = {name: load_engine(find(name, FOLDERS)) for name in sheet_ids(FOLDERS)}


@pytest.fixture(params=sorted(SHEETS))
def engine(request):
    return SHEETS[request.param]


@pytest.fixture(scope="module")
def prices(shipped):
    return load_prices(example_prices(), shipped, sheet_ids(FOLDERS))


def work(shipped, engine, rung):
    rules = work_rules(shipped, engine_facts(engine))
    return work_at(shipped, rules, engine, engine_facts(engine), {}, dict.fromkeys(rules.cures, 0.01), rung)


def sure(found):
    return {item.operation for item in found.items if not item.if_found}


# --- parts, machining, prices ---


def test_every_part_and_machine_operation_is_called_for_and_priced(shipped, prices):
    used = {
        kind: {name for operation in shipped.operations.values() for name in getattr(operation, kind)}
        for kind in ("parts", "machine")
    }
    sets = {name for name, part in shipped.parts.items() if part.contains}  # set against the single ones by price
    assert sets and all(set(shipped.parts[name].contains) <= used["parts"] for name in sets)
    assert used["parts"] | sets == set(shipped.parts) == set(prices.parts) and not used["parts"] & sets
    excused = {name for name, item in shipped.machining.items() if "unused" in item.excuse}
    assert used["machine"] | excused == set(shipped.machining) == set(prices.machine)
    assert not used["machine"] & excused
    for text in (*prices.parts.values(), *prices.machine.values()):
        assert Decimal(text) > 0


def test_money_in_the_example_list_is_text_and_its_shop_is_invented():
    text = example_prices().read_text(encoding="utf-8")
    assert re.findall(r"(?m)^\s+[a-z_]+: \d+\.\d\d$", text) == []
    assert "invented" in text.splitlines()[1].lower()


@pytest.mark.parametrize(
    ("low", "name", "high"),
    [
        # Ratios to boring and honing one cylinder, from memory of the trade.
        (1.5, "hot_tank_block", 3),
        (1, "crack_test_block", 2),
        (2.5, "fit_repair_sleeve", 4),
        (2, "grind_main_journals", 3.5),
        (1, "polish_crank", 1),
        (2, "pour_rod", 3),
        (12, "pour_line_bore_mains", 25),
        (0.3, "fit_guide", 0.5),
        (0.5, "fit_seat_insert", 0.9),
        (1.5, "surface_head", 2.5),
        (1.5, "stitch_block_crack", 3),
        (0.6, "resize_rod", 1),
        (4, "align_bore_mains", 6.1),
        (1, "injector_test_set", 1.5),
        (10, "pump_overhaul", 20),
        (6, "magneto_rebuild", 12),
    ],
)
def test_machining_prices_stand_in_proportion_to_boring_a_cylinder(prices, low, name, high):
    ratio = Decimal(prices.machine[name]) / Decimal(prices.machine["bore_and_hone"])
    assert Decimal(str(low)) <= ratio <= Decimal(str(high))


def hours(shipped, engine, *names):
    return sum(hours_of(shipped.operations[name], name, engine) for name in names)


HEAD_AND_PAN = ("remove_refit_head", "decarbonise", "remove_refit_pan", "re_ring", "hone_bores")


@pytest.mark.parametrize(
    ("engine_id", "operations", "low", "high"),
    [
        # Relative effort, four-cylinder petrol; plugs, points, timing and clearances = 1. From memory of the trade.
        ("brockwell-4", ("remove_refit_head",), 1.5, 4),
        ("tarn-30", ("remove_refit_head",), 2.5, 4),
        ("brockwell-4", ("remove_refit_head", "valve_job"), 5, 8),
        ("tarn-30", ("remove_refit_head", "valve_job"), 4, 6),
        ("brockwell-4", ("overhaul_carburettor",), 1, 2),
        ("brockwell-4", ("remove_refit_pan", "take_up_rod_bearings", "take_up_main_bearings"), 4, 7),
        ("brockwell-4", (*HEAD_AND_PAN, "take_up_rod_bearings"), 10, 14),
        ("tarn-30", (*HEAD_AND_PAN, "renew_rod_bearings"), 10, 14),
        (
            "tarn-30",
            (
                *HEAD_AND_PAN[:-1],
                "renew_rod_bearings",
                "renew_pistons",
                "renew_sleeves",
                "fit_wet_sleeves",
                "roll_in_main_bearings",
            ),
            14,
            20,
        ),
        ("brockwell-4", ("first_start_run_in",), 1.5, 3),
        ("brockwell-4", ("repair_broken_stud",), 0.5, 2),
    ],
)
def test_labour_stands_in_proportion_to_a_minor_tune_up(shipped, engine_id, operations, low, high):
    engine = SHEETS[engine_id]
    unit = hours(shipped, engine, "service_plugs", "service_points", "set_timing", "set_valve_clearance")
    assert low <= hours(shipped, engine, *operations) / unit <= high


@pytest.mark.parametrize("engine_id", ["brockwell-4", "tarn-30"])
def test_a_bare_rebuild_takes_twenty_to_thirty_eight_tune_ups_beside_getting_the_engine_out(shipped, engine_id):
    engine = SHEETS[engine_id]
    unit = hours(shipped, engine, "service_plugs", "service_points", "set_timing", "set_valve_clearance")
    names = sure(work(shipped, engine, "rebuild")) - {"remove_refit_engine"}
    assert 20 <= hours(shipped, engine, *sorted(names)) / unit <= 38


def test_each_rung_costs_more_than_the_one_above_it(shipped, prices, engine):
    totals = []
    for rung in RUNGS[:-1]:
        priced = price_work(work(shipped, engine, rung), shipped, engine, "x", prices)
        assert not priced.missing
        totals.append(priced.total)
    assert totals == sorted(totals)
    assert totals[0] < totals[1] < totals[2] and totals[3] < totals[4]


# --- cautions ---


@pytest.mark.parametrize(
    ("caution", "words"),
    [
        ("asbestos", r"[Cc]lutch dust|scraped? wet|gasket off wet|Gasket and lagging wet|Old dust wet"),
        ("lifting_splitting", r"[Ss]tands under|sling|machine is split"),
        ("springs_under_load", r"[Cc]ollets into a dish|spring let down"),
        ("fuel_vapour", r"[Dd]rain into closed metal cans|tank tap shut|Soak, then blow each passage"),
        ("high_pressure_injection", r"at the injectors last|opening pressure, spray"),
        ("stuck_engine_force", r"never the starter"),
        ("molten_metal", r"[Pp]oured? (?:alike|and bored)|booked weeks ahead"),
        ("hot_coolant", r"Drain block|Drain radiator|drain below the housing"),
        ("used_oil", r"Drain (?:warm|hot)"),
        ("lead_deposits", r"crowns|ring of carbon|Reface valves"),
        ("solvents", r"hot-tanked|Descale"),
    ],
)
def test_the_caution_stands_on_the_operation_whose_steps_hold_the_danger(shipped, caution, words):
    hits = [
        name
        for name, operation in shipped.operations.items()
        if re.search(words, " ".join(step.text for step in operation.steps))
    ]
    assert hits, words
    for name in hits:
        assert caution in shipped.operations[name].cautions, (name, caution)


def test_every_caution_is_shown_before_some_work_and_says_what_to_do(shipped):
    shown = {name for operation in shipped.operations.values() for name in operation.cautions}
    shown |= {name for observation in shipped.observations.values() for name in observation.cautions}
    for name, caution in shipped.cautions.items():
        assert name in shown, name
        assert len(caution.text) > 120 and caution.source, name


def test_cautions_that_were_read_in_a_law_or_study_name_it(shipped):
    # EPA 2007, 29 CFR 1910.1001 and 1910.242(b), HSE (GB), Occup Environ Med 1999;56:429, NIOSH/Michigan FACE.
    for name in ("asbestos", "compressed_air_cleaning", "lead_deposits", "used_oil", "lifting_splitting"):
        assert any(source.standing == "published" for source in shipped.cautions[name].source), name


# --- limits ---


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("bore_wear_per_inch", 0.001),  # TM 10-3930-647-14&P, wear-limit table, and the next six
        ("bore_taper_per_inch", 0.0005),
        ("piston_wear_per_inch", 0.0005),
        ("bearing_clearance_over_high_per_inch", 0.0005),
        ("journal_out_of_round_per_inch", 0.0004),
        ("end_play_over_high", 0.005),
        ("ring_hours_renew", 50),
        ("head_warp_across", 0.003),  # TM 9-4940-549-14&P, p. 12-14
        ("head_warp_along", 0.005),
        ("leakage_suspect_percent", 25),  # AC 43.13-1B, para 8-14b(5)(i)
        ("compression_below_average_percent", 20),  # TM 1-1500-204-23-1, compression test
        ("vacuum_normal", 20),  # OD1001, lesson 3, p. 87
        ("vacuum_per_1000_ft", 1),
        ("coolant_test_over_cap", 3),  # TM 5-3805-291-23-1
        ("coolant_test_minutes", 5),
        ("battery_cranking_12", 9.6),  # TM 10-3930-671-24, page F-299
        ("valve_seat_runout", 0.002),  # TM 10-3930-243-34
        ("journal_regrind_most", 0.040),  # TM 5-3431-205-15; TM 10-3930-671-24
        ("rod_twist_over_4_in", 0.002),  # TM 10-3930-671-24
    ],
)
def test_general_limits_are_the_published_ones_and_say_so(shipped, name, value):
    limit = shipped.limits[name]
    assert limit.value == value
    assert any(source.standing == "published" for source in limit.source)


def test_bands_of_general_limits_run_from_low_to_high(shipped):
    for low, high in (
        ("piston_clearance_low_per_inch", "piston_clearance_high_per_inch"),
        ("piston_clearance_high_per_inch", "piston_clearance_wear_per_inch"),
        ("ring_gap_per_inch", "ring_gap_high_per_inch"),
        ("ring_side_low", "ring_side_high"),
        ("bearing_clearance_low_per_inch", "bearing_clearance_high_per_inch"),
        ("end_play_low", "end_play_high"),
        ("compression_very_low_percent", "compression_low_percent"),
        ("leakage_good_percent", "leakage_fair_percent"),
        ("leakage_fair_percent", "leakage_bad_percent"),
        ("battery_cranking_very_low_6", "battery_cranking_6"),
        ("charge_low_12", "charge_high_12"),
    ):
        assert shipped.limits[low].value < shipped.limits[high].value, low
