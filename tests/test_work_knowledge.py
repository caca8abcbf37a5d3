"""The work side of the rule base: operations, scopes, parts, machining, cautions, limits and the example price list."""

import re
from decimal import Decimal

import pytest

from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.engines import find, load_engine, sheet_ids
from howdeep.knowledge.where import shipped_rules
from howdeep.model.knowledge import RUNGS
from howdeep.pricing.read import example_prices, load_prices
from howdeep.quote.sheets import figure_text
from howdeep.reasoning.construction import applies, rung_on
from howdeep.work.rules import work_rules
from howdeep.work.select import hours_of, work_at

FOLDERS = [shipped_rules()]
SHEETS = {name: load_engine(find(name, FOLDERS)) for name in sheet_ids(FOLDERS)}
PLACEHOLDER = re.compile(r"\{([^{}]*)\}")

# Work of a shallower rung that a deeper one does in another way.
DONE_OTHERWISE = {
    "start_and_prove": "first_start_run_in",
    "roll_in_main_bearings": "renew_main_bearings_out",
    "renew_rear_seal_in_frame": "renew_rear_seal",
}


@pytest.fixture(params=sorted(SHEETS))
def engine(request):
    return SHEETS[request.param]


@pytest.fixture(scope="module")
def prices(shipped):
    return load_prices(example_prices(), shipped, sheet_ids(FOLDERS))


def work(shipped, engine, rung, *, odds=None, facts=None):
    rules = work_rules(shipped, engine_facts(engine))
    posteriors = {cause: (odds or {}).get(cause, 0.01) for cause in rules.cures}
    return work_at(shipped, rules, engine, {**engine_facts(engine), **(facts or {})}, {}, posteriors, rung)


def sure(found):
    return {item.operation for item in found.items if not item.if_found}


# --- operations ---


def test_every_operation_has_a_rung_on_every_engine_it_applies_to(shipped, engine):
    facts = engine_facts(engine)
    for name, operation in shipped.operations.items():
        if applies(operation, facts):
            assert rung_on(operation.rung, facts) in RUNGS, name


def test_every_operation_can_join_a_job_on_some_engine(shipped):
    alive = set()
    for engine in SHEETS.values():
        alive |= set(work_rules(shipped, engine_facts(engine)).conditions)
    assert set(shipped.operations) - alive == set()


def test_every_operation_says_what_is_done_in_full(shipped):
    for name, operation in shipped.operations.items():
        assert len(operation.steps) >= 2, name
        assert operation.plain != operation.title and operation.source, name
        assert operation.hours > 0 or name == "replace_engine", name


@pytest.mark.parametrize("name,engine_id,rung", [
    ("re_ring", "brockwell-4", "refresh"),
    ("re_ring", "dunmore-d4", "rebuild"),  # its pan does not come off in the frame
    ("remove_refit_pan", "dunmore-d4", "rebuild"),
    ("renew_sleeves", "tarn-30", "refresh"),  # trade notes 1.1: a wet sleeve is the one construction for new bores in frame
    ("renew_sleeves", "dunmore-d4", "rebuild"),
    ("renew_sleeves", "brockwell-4", None),
    ("rebore", "brockwell-4", "rebuild"),
    ("rebore", "tarn-30", None),
    ("roll_in_main_bearings", "tarn-30", "refresh"),
    ("roll_in_main_bearings", "pell-1", None),
    ("roll_in_main_bearings", "brockwell-4", None),
    ("take_up_main_bearings", "brockwell-4", "refresh"),
    ("take_up_rod_bearings", "pell-2", "refresh"),
    ("renew_main_bearings_out", "pell-1", "rebuild"),
    ("pour_bearings", "pell-2", "rebuild"),
    ("renew_rear_seal_in_frame", "brockwell-4", "refresh"),
    ("renew_rear_seal_in_frame", "tarn-30", None),
    ("renew_rear_seal", "tarn-30", "rebuild"),
    ("free_seized_engine", "tarn-30", "refresh"),
    ("free_seized_engine", "skerry-6", "rebuild"),
    ("renew_oil_pump", "pell-2", None),
    ("rebuild_magneto", "pell-2", "tune_up"),
    ("service_injectors", "skerry-6", None),
    ("resurface_head", "dunmore-d4", None),
    ("renew_push_rod", "brockwell-4", None),
])
def test_the_rung_of_an_operation_follows_from_how_the_engine_is_built(shipped, name, engine_id, rung):
    assert work_rules(shipped, engine_facts(SHEETS[engine_id])).rungs.get(name) == rung


def test_valves_of_a_side_valve_engine_are_done_on_the_block_and_the_head_stays(shipped):
    # Seats and guides of many side-valve engines are in the block (Whitman, Tractor Principles, 1920).
    for name, engine in SHEETS.items():
        found = work(shipped, engine, "top_end", odds={"burnt_exhaust_valve": 0.9})
        machined = {item for operation in sure(found) for item in shipped.operations[operation].machine}
        assert ("cut_seat_in_head" in machined) == (engine.build.layout == "overhead_valve"), name
        assert "valve_job" in sure(found), name


def test_pistons_out_means_new_rod_bearings_or_taken_up_ones(shipped, engine):
    facts = engine_facts(engine)
    rules = work_rules(shipped, facts)
    for rung in ("refresh", "rebuild"):
        names = sure(work(shipped, engine, rung))
        if "re_ring" in names:
            assert names & {"renew_rod_bearings", "take_up_rod_bearings"}, rung
            assert {"hone_bores", "valve_job", "remove_refit_pan"} <= names, rung
        assert ("re_ring" in names) == (RUNGS.index(rules.rungs["re_ring"]) <= RUNGS.index(rung)), rung


def test_a_ground_crankshaft_brings_new_bearings_of_every_kind_and_a_bare_block(shipped, engine):
    names = sure(work(shipped, engine, "rebuild", odds={"worn_crank_journals": 0.9}))
    assert {"grind_crank", "full_strip_clean", "remove_refit_engine"} <= names
    assert "polish_journals" not in names
    expected = {"babbitt": {"pour_bearings"}, "inserts": {"renew_main_bearings_out", "renew_rod_bearings"}}
    assert expected[engine.build.bearings] <= names
    assert "polish_journals" in sure(work(shipped, engine, "rebuild"))


def test_no_wet_compression_test_is_asked_for_by_work_on_a_diesel(shipped):
    # A wet test on a diesel misleads and can lock it (printed car manual, diesel compression).
    for name in ("dunmore-d4", "pell-1"):
        for rung in RUNGS:
            found = work(shipped, SHEETS[name], rung, odds={cause: 0.9 for cause in shipped.causes})
            assert "compression_wet" not in (*found.before, *found.after)


def test_checks_of_the_work_make_sense_on_the_engine(shipped, engine):
    facts = engine_facts(engine)
    for rung in RUNGS:
        found = work(shipped, engine, rung, odds={cause: 0.9 for cause in shipped.causes})
        for name in (*found.before, *found.during, *found.after):
            if name in shipped.observations:
                assert applies(shipped.observations[name], facts), name


def test_teardown_findings_call_for_their_own_work(shipped):
    tarn, brockwell, skerry = SHEETS["tarn-30"], SHEETS["brockwell-4"], SHEETS["skerry-6"]
    for engine, rung, facts, operation in (
        (brockwell, "top_end", {"studs_broken": "several"}, "repair_broken_stud"),
        (brockwell, "top_end", {"valve_look": ("good", "recessed", "good", "good")}, "fit_seat_inserts"),
        (brockwell, "refresh", {"bearing_look": ("good", "broken_up", "good", "good")}, "exchange_poured_rods"),
        (brockwell, "rebuild", {"main_bearing_look": ("good", "good", "broken_up")}, "pour_bearings"),
        (tarn, "rebuild", {"sleeve_lands": "pitted"}, "recut_sleeve_lands"),
        (tarn, "refresh", {"caps_look": "rods_filed"}, "resize_rods"),
        (skerry, "rebuild", {"main_line": "out"}, "align_bore"),
        (skerry, "rebuild", {"deck.flatness": "beyond"}, "resurface_deck"),
        (skerry, "rebuild", {"block_crack": "seat_to_bore"}, "sleeve_block"),
        (skerry, "rebuild", {"end_play_measured": 0.014}, "correct_end_float"),
    ):
        assert operation in sure(work(shipped, engine, rung, facts=facts)), operation
        assert operation not in sure(work(shipped, engine, rung)), operation


# --- scopes ---


@pytest.mark.parametrize("odds", [0.0, 0.9], ids=["nothing believed", "everything believed"])
def test_a_deeper_scope_holds_all_the_work_of_a_shallower_one(shipped, engine, odds):
    everything = {cause: odds for cause in shipped.causes}
    ladder = [sure(work(shipped, engine, rung, odds=everything)) for rung in RUNGS[:-1]]
    for shallow, deep in zip(ladder, ladder[1:], strict=False):
        missing = {name for name in shallow - deep if DONE_OTHERWISE.get(name) not in deep}
        assert missing == set()


def test_every_scope_says_what_it_opens_and_what_it_leaves(shipped):
    assert set(shipped.scopes) == set(RUNGS)
    for name, scope in shipped.scopes.items():
        assert scope.plain and scope.opens and scope.does_not, name
        assert "compression_retest" in scope.always or name == "outside", name


def test_a_replacement_engine_leaves_only_outside_work_and_proof(shipped, engine):
    names = sure(work(shipped, engine, "replace", odds={cause: 0.9 for cause in shipped.causes}))
    rules = work_rules(shipped, engine_facts(engine))
    assert "replace_engine" in names
    assert {rules.rungs[name] for name in names} <= {"outside", "replace"}


def test_every_cause_that_an_engine_can_have_is_cured_by_work_it_can_have(shipped, engine):
    assert {cause: cures for cause, cures in work_rules(shipped, engine_facts(engine)).cures.items() if not cures} == {}


# --- assembly steps ---

# Figures that the maker of an engine does not give; the sheet then leaves a blank and says so.
NOT_GIVEN = {
    "brockwell-4": {"cap_pressure"},
    "dunmore-d4": {"cap_pressure"},
    "pell-1": {"cap_pressure", "spring_load", "spring_length", "cam_lift", "torques.pulley"},
    "pell-2": {"bore_taper", "bore_out_of_round", "cam_lift", "cap_pressure", "crankpins.out_of_round", "crankpins.smallest",
               "crankpins.taper", "deck_flatness", "end_play", "head_flatness", "mains.out_of_round", "mains.smallest",
               "mains.taper", "mains.undersizes", "pin_clearance", "piston_clearance", "ring_side", "seat_width",
               "spring_length", "spring_load", "torques.cover", "torques.flywheel", "torques.manifold", "torques.pan",
               "torques.plug", "torques.pulley", "valve_margin", "valve_stem_exhaust", "valve_stem_inlet"},
    "skerry-6": set(),
    "tarn-30": {"oversizes"},
}


def test_figures_in_the_steps_are_in_the_engine_sheet_or_known_not_to_be(shipped):
    for name, engine in SHEETS.items():
        facts = engine_facts(engine)
        silent = {
            match
            for operation in shipped.operations.values() if applies(operation, facts)
            for step in operation.steps for match in PLACEHOLDER.findall(step)
            if figure_text(engine, match) is None
        }
        assert silent == NOT_GIVEN[name], name


def test_each_figure_is_a_field_that_some_sheet_fills(shipped):
    for operation_id, operation in shipped.operations.items():
        for step in operation.steps:
            for match in PLACEHOLDER.findall(step):
                assert any(figure_text(engine, match) for engine in SHEETS.values()), (operation_id, match)


@pytest.mark.parametrize("name,figures", [
    ("re_ring", {"ring_gap", "ring_side", "piston_clearance", "torques.rod"}),
    ("renew_rod_bearings", {"crankpins.clearance", "crankpins.out_of_round", "torques.rod"}),
    ("take_up_rod_bearings", {"crankpins.clearance", "torques.rod"}),
    ("renew_main_bearings_out", {"mains.clearance", "torques.main", "end_play"}),
    ("roll_in_main_bearings", {"mains.clearance", "torques.main"}),
    ("fit_wet_sleeves", {"sleeve_protrusion"}),
    ("remove_refit_head", {"torques.head", "head_flatness"}),
    ("set_valve_clearance", {"lash_inlet", "lash_exhaust"}),
    ("first_start_run_in", {"torques.head", "lash_inlet"}),
    ("oil_and_filter", {"fluids.oil"}),
])
def test_a_step_that_needs_a_figure_names_it(shipped, name, figures):
    text = " ".join(shipped.operations[name].steps)
    assert figures <= set(PLACEHOLDER.findall(text))


def test_tightening_goes_from_the_middle_outward_and_loosening_the_other_way(shipped):
    text = " ".join(shipped.operations["remove_refit_head"].steps)
    assert "from the middle outward" in text and "from the ends inward" in text
    assert text.index("from the ends inward") < text.index("from the middle outward")


# --- parts, machining, prices ---


def test_every_part_and_machine_operation_is_called_for_and_priced(shipped, prices):
    used = {kind: {name for operation in shipped.operations.values() for name in getattr(operation, kind)}
            for kind in ("parts", "machine")}
    assert used["parts"] == set(shipped.parts) == set(prices.parts)
    assert used["machine"] == set(shipped.machining) == set(prices.machine)
    for text in (*prices.parts.values(), *prices.machine.values()):
        assert Decimal(text) > 0


def test_money_in_the_example_list_is_text_and_its_shop_is_invented():
    text = example_prices().read_text(encoding="utf-8")
    assert re.findall(r"(?m)^\s+[a-z_]+: \d+\.\d\d$", text) == []
    assert "invented" in text.splitlines()[1].lower()


@pytest.mark.parametrize("low,name,high", [
    # Ratios to boring and honing one cylinder, from memory of the trade.
    (1.5, "hot_tank_block", 3), (1, "crack_test_block", 2), (2.5, "fit_repair_sleeve", 4), (4, "grind_crank", 6),
    (1, "polish_crank", 1), (2, "pour_rod", 3), (12, "pour_line_bore_mains", 25), (0.3, "fit_guide", 0.5),
    (0.5, "fit_seat_insert", 0.9), (1.5, "surface_head", 2.5), (1.5, "stitch_block_crack", 3), (0.6, "resize_rod", 1),
    (4, "align_bore_mains", 6.1), (1, "injector_test_set", 1.5), (10, "pump_overhaul", 20), (6, "magneto_rebuild", 12),
])
def test_machining_prices_stand_in_proportion_to_boring_a_cylinder(prices, low, name, high):
    ratio = Decimal(prices.machine[name]) / Decimal(prices.machine["bore_and_hone"])
    assert Decimal(str(low)) <= ratio <= Decimal(str(high))


def hours(shipped, engine, *names):
    return sum(hours_of(shipped.operations[name], name, engine) for name in names)


HEAD_AND_PAN = ("remove_refit_head", "decarbonise", "remove_refit_pan", "re_ring", "hone_bores")


@pytest.mark.parametrize("engine_id,operations,low,high", [
    # Relative effort on a four-cylinder petrol engine; a minor tune-up (plugs, points, timing, clearances) is 1. From memory.
    ("brockwell-4", ("remove_refit_head",), 1.5, 4),
    ("tarn-30", ("remove_refit_head",), 2.5, 4),
    ("brockwell-4", ("remove_refit_head", "valve_job"), 5, 8),
    ("tarn-30", ("remove_refit_head", "valve_job"), 4, 6),
    ("brockwell-4", ("overhaul_carburettor",), 1, 2),
    ("brockwell-4", ("remove_refit_pan", "take_up_rod_bearings", "take_up_main_bearings"), 4, 7),
    ("brockwell-4", (*HEAD_AND_PAN, "take_up_rod_bearings"), 10, 14),
    ("tarn-30", (*HEAD_AND_PAN, "renew_rod_bearings"), 10, 14),
    ("tarn-30", (*HEAD_AND_PAN, "renew_rod_bearings", "renew_pistons", "renew_sleeves", "fit_wet_sleeves",
                 "renew_sleeve_seals", "roll_in_main_bearings"), 14, 20),
    ("brockwell-4", ("first_start_run_in",), 1.5, 3),
    ("brockwell-4", ("repair_broken_stud",), 0.5, 2),
])
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
    from howdeep.pricing.lines import price_work

    totals = []
    for rung in RUNGS[:-1]:
        priced = price_work(work(shipped, engine, rung), shipped, engine, "x", prices)
        assert not priced.missing
        totals.append(priced.total)
    assert totals == sorted(totals)
    assert totals[0] < totals[1] < totals[2] and totals[3] < totals[4]


# --- cautions ---


@pytest.mark.parametrize("caution,words", [
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
])
def test_the_caution_stands_on_the_operation_whose_steps_hold_the_danger(shipped, caution, words):
    hits = [name for name, operation in shipped.operations.items() if re.search(words, " ".join(operation.steps))]
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


@pytest.mark.parametrize("name,value", [
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
])
def test_general_limits_are_the_published_ones_and_say_so(shipped, name, value):
    limit = shipped.limits[name]
    assert limit.value == value
    assert any(source.standing == "published" for source in limit.source)


def test_bands_of_general_limits_run_from_low_to_high(shipped):
    for low, high in (("piston_clearance_low_per_inch", "piston_clearance_high_per_inch"),
                      ("piston_clearance_high_per_inch", "piston_clearance_wear_per_inch"),
                      ("ring_gap_per_inch", "ring_gap_high_per_inch"), ("ring_side_low", "ring_side_high"),
                      ("bearing_clearance_low_per_inch", "bearing_clearance_high_per_inch"),
                      ("end_play_low", "end_play_high"), ("compression_very_low_percent", "compression_low_percent"),
                      ("leakage_good_percent", "leakage_fair_percent"), ("leakage_fair_percent", "leakage_bad_percent"),
                      ("battery_cranking_very_low_6", "battery_cranking_6"), ("charge_low_12", "charge_high_12")):
        assert shipped.limits[low].value < shipped.limits[high].value, low
