"""Operations, scopes and assembly steps of the rule base, held on every engine sheet."""

import itertools
import re

import pytest

from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.engines import find, load_engine, sheet_ids
from howdeep.knowledge.where import shipped_rules
from howdeep.logic.applicability import applies, rung_on, steps_on
from howdeep.logic.evaluate import evaluate
from howdeep.model.terms import RUNGS
from howdeep.model.truth import Truth
from howdeep.quote.sheet_figures import figure_text, filled
from howdeep.work.rules import work_rules
from howdeep.work.select import work_at

FOLDERS = [shipped_rules()]
SHEETS = {name: load_engine(find(name, FOLDERS)) for name in sheet_ids(FOLDERS)}
PLACEHOLDER = re.compile(r"\{([^{}]*)\}")

# Work of a shallower rung that a deeper one does in another way.
DONE_OTHERWISE = {
    "start_and_prove": "first_start_run_in",
    "roll_in_main_bearings": "renew_main_bearings_out",
    "renew_rear_seal_in_frame": "renew_rear_seal",
    "renew_rear_seal_by_split": "renew_rear_seal",
    "reseat_plugs_injectors": "service_plugs",
    "hone_bores": "rebore",
    "soak_rings": "re_ring",
    "ease_valves_in_place": "valve_job",
    "renew_front_seal": "renew_timing_gears",
    "renew_clutch_by_split": "renew_clutch_pilot",
    "dress_journal": "renew_crankshaft",
}


@pytest.fixture(params=sorted(SHEETS))
def engine(request):
    return SHEETS[request.param]


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
        brings = [other for other in shipped.operations.values() if name in other.brings and other.hours > 0]
        assert operation.hours > 0 or name == "replace_engine" or brings, name


@pytest.mark.parametrize(
    ("name", "engine_id", "rung"),
    [
        ("re_ring", "brockwell-4", "refresh"),
        ("re_ring", "dunmore-d4", "rebuild"),  # its pan does not come off in the frame
        ("remove_refit_pan", "dunmore-d4", "rebuild"),
        ("renew_sleeves", "tarn-30", "refresh"),  # a wet sleeve drops in: new bores in the frame
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
    ],
)
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
            assert names & {"hone_bores", "rebore", "renew_sleeves"}, rung
            assert {"valve_job", "remove_refit_pan"} <= names, rung
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
            found = work(shipped, SHEETS[name], rung, odds=dict.fromkeys(shipped.causes, 0.9))
            assert "compression_wet" not in (*found.before, *found.after)


def test_checks_of_the_work_make_sense_on_the_engine(shipped, engine):
    facts = engine_facts(engine)
    for rung in RUNGS:
        found = work(shipped, engine, rung, odds=dict.fromkeys(shipped.causes, 0.9))
        for name in (*found.before, *found.during, *found.after):
            if name in shipped.observations:
                assert applies(shipped.observations[name], facts), name


def test_teardown_findings_call_for_their_own_work(shipped):
    tarn, brockwell, skerry = SHEETS["tarn-30"], SHEETS["brockwell-4"], SHEETS["skerry-6"]
    for engine, rung, facts, operation in (
        (brockwell, "top_end", {"studs_broken": "several"}, "repair_broken_stud"),
        (brockwell, "top_end", {"valve_look": ("good", "recessed", "good", "good")}, "fit_seat_inserts"),
        (brockwell, "top_end", {"margin.exhaust_verdict": ("good", "beyond", "good", "good")}, "renew_valves"),
        (brockwell, "top_end", {"margin.inlet_verdict": ("good", "beyond", "good", "good")}, "renew_inlet_valves"),
        (
            brockwell,
            "rebuild",
            {"bore.next_oversize": ("left", "none", "left", "left"), "bore.verdict": ("beyond",) * 4},
            "sleeve_block",
        ),
        (
            brockwell,
            "rebuild",
            {"bore.next_oversize": ("none",) * 4, "bore.verdict": ("beyond",) * 4},
            "sleeve_every_bore",
        ),
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


def test_exhaust_valves_that_were_looked_at_and_measured_sound_are_kept(shipped):
    brockwell, burnt = SHEETS["brockwell-4"], {"burnt_exhaust_valve": 0.9}
    sound = {"valve_look": ("good",) * 4, "margin.exhaust_verdict": ("good", "usable", "good", "good")}
    assert "renew_valves" in sure(work(shipped, brockwell, "top_end", odds=burnt))
    kept = sure(work(shipped, brockwell, "top_end", odds=burnt, facts=sound))
    assert {"keep_valves", "valve_job"} <= kept and "renew_valves" not in kept
    for doubt in (
        {"valve_look": ("good", "burnt", "good", "good")},
        {"margin.exhaust_verdict": ("good", "too_close", "good", "good")},
        {"margin.exhaust_verdict": ("good", None, "good", "good")},
    ):
        names = sure(work(shipped, brockwell, "top_end", odds=burnt, facts=sound | doubt))
        assert "renew_valves" in names and "keep_valves" not in names, doubt


def test_a_block_past_its_last_oversize_is_not_bored_again(shipped):
    brockwell, worn = SHEETS["brockwell-4"], {"worn_bores": 0.95}
    beyond = {"bore.verdict": ("beyond",) * 4}
    past = sure(work(shipped, brockwell, "rebuild", odds=worn, facts=beyond | {"bore.next_oversize": ("none",) * 4}))
    assert "sleeve_every_bore" in past and not past & {"rebore", "sleeve_block"}
    one = sure(
        work(
            shipped,
            brockwell,
            "rebuild",
            odds=worn,
            facts=beyond | {"bore.next_oversize": ("left", "none", "left", "left")},
        )
    )
    assert {"rebore", "sleeve_block"} <= one and "sleeve_every_bore" not in one
    left = sure(work(shipped, brockwell, "rebuild", odds=worn, facts=beyond | {"bore.next_oversize": ("left",) * 4}))
    assert "rebore" in left and not left & {"sleeve_every_bore", "sleeve_block"}
    # Bored to the last size and still good: nothing is sleeved for that alone.
    good = sure(
        work(
            shipped,
            brockwell,
            "rebuild",
            facts={"bore.verdict": ("good",) * 4, "bore_look": ("good",) * 4, "bore.next_oversize": ("none",) * 4},
        )
    )
    assert not good & {"rebore", "sleeve_every_bore", "sleeve_block"}


# --- scopes ---


@pytest.mark.parametrize("odds", [0.0, 0.9], ids=["nothing believed", "everything believed"])
def test_a_deeper_scope_holds_all_the_work_of_a_shallower_one(shipped, engine, odds):
    everything = dict.fromkeys(shipped.causes, odds)
    ladder = [sure(work(shipped, engine, rung, odds=everything)) for rung in RUNGS[:-1]]
    for shallow, deep in itertools.pairwise(ladder):
        missing = {name for name in shallow - deep if DONE_OTHERWISE.get(name) not in deep}
        assert missing == set()


def test_every_scope_says_what_it_opens_and_what_it_leaves(shipped):
    assert set(shipped.scopes) == set(RUNGS)
    for name, scope in shipped.scopes.items():
        assert scope.plain and scope.opens and scope.does_not, name
        assert "compression_retest" in scope.always or name == "outside", name


def test_a_replacement_engine_leaves_only_outside_work_and_proof(shipped, engine):
    names = sure(work(shipped, engine, "replace", odds=dict.fromkeys(shipped.causes, 0.9)))
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
    "pell-2": {
        "bore_taper",
        "bore_out_of_round",
        "cam_lift",
        "cap_pressure",
        "crankpins.out_of_round",
        "crankpins.smallest",
        "deck_flatness",
        "end_play",
        "head_flatness",
        "mains.smallest",
        "mains.undersizes",
        "pin_clearance",
        "piston_clearance",
        "ring_side",
        "seat_width",
        "spring_length",
        "spring_load",
        "torques.cover",
        "torques.flywheel",
        "torques.manifold",
        "torques.pan",
        "torques.plug",
        "torques.pulley",
        "valve_margin",
        "valve_stem_exhaust",
        "valve_stem_inlet",
    },
    "skerry-6": set(),
    "tarn-30": set(),
}


def test_figures_in_the_steps_are_in_the_engine_sheet_or_known_not_to_be(shipped):
    for name, engine in SHEETS.items():
        facts = engine_facts(engine)
        silent = {
            match
            for operation in shipped.operations.values()
            if applies(operation, facts)
            for step in operation.steps
            if step.when is None or evaluate(step.when, facts, {}, {}) is Truth.PRESENT
            for match in PLACEHOLDER.findall(step.text)
            if not match.startswith("limits.") and figure_text(engine, match) is None
        }
        assert silent == NOT_GIVEN[name], name


def test_each_figure_in_a_step_is_a_field_that_some_sheet_fills_or_a_general_limit(shipped):
    for operation_id, operation in shipped.operations.items():
        for step in operation.steps:
            for match in PLACEHOLDER.findall(step.text):
                if match.startswith("limits."):
                    assert match.removeprefix("limits.") in shipped.limits, (operation_id, match)
                else:
                    assert any(figure_text(engine, match) for engine in SHEETS.values()), (operation_id, match)


def test_a_general_limit_in_a_step_is_put_in_with_its_unit_and_leaves_no_blank(shipped):
    words = "Over {limits.rod_twist_over_4_in}, or {limits.bore_wear_per_inch}."
    step = filled(words, SHEETS["tarn-30"], shipped.limits)
    assert step.text == "Over 0.002 in, or 0.001 in per inch of bore."
    assert not step.blank


def test_a_figure_of_the_maker_is_put_in_with_a_blank_for_the_one_that_was_set(shipped):
    step = filled("To {torques.head}.", SHEETS["tarn-30"], shipped.limits)
    assert step.text == "To 70 ft-lb, in stages of 25 ft-lb, 50 ft-lb, 70 ft-lb, threads oiled."
    assert step.blank


def test_figures_of_the_exhausts_stand_beside_those_of_the_inlets():
    assert figure_text(SHEETS["skerry-6"], "cam_lift") == (
        "0.225 in to 0.231 in, renew below 0.216 in, exhaust 0.219 in to 0.225 in, renew below 0.210 in"
    )
    assert figure_text(SHEETS["tarn-30"], "cam_lift") == "0.262 in to 0.268 in, renew below 0.252 in"


@pytest.mark.parametrize(
    ("name", "figures"),
    [
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
    ],
)
def test_a_step_that_needs_a_figure_names_it(shipped, name, figures):
    text = " ".join(step.text for step in shipped.operations[name].steps)
    assert figures <= set(PLACEHOLDER.findall(text))


def test_tightening_goes_from_the_middle_outward_and_loosening_the_other_way(shipped):
    text = " ".join(step.text for step in shipped.operations["remove_refit_head"].steps)
    assert "from the middle outward" in text and "from the ends inward" in text
    assert text.index("from the ends inward") < text.index("from the middle outward")


def test_a_sheet_prints_no_step_of_another_kind_of_engine(shipped):
    """A step that only some engines have says so by its condition, not by words that the mechanic has to skip."""
    operation = shipped.operations["valve_job"]
    printed = {name: [text for _, text in steps_on(operation, engine_facts(engine))] for name, engine in SHEETS.items()}
    for name, engine in SHEETS.items():
        side_valve = engine.build.layout == "side_valve"
        assert any("Tip ground back" in text for text in printed[name]) == side_valve, name
    begun = re.compile(r"^(?:Side-valve|Splash engines|Hand-cranked engines|Diesel|Petrol|White metal): ")
    assert not [step.text for item in shipped.operations.values() for step in item.steps if begun.match(step.text)]
