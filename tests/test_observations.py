"""The questions of the shipped rule base: asked well, offered only where they make sense, wrong tests told apart."""

import itertools
import re

import pytest

from howdeep.interview.match_words import match_words
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.logic.applicability import applies
from howdeep.logic.evaluate import evaluate
from howdeep.model.condition import facts_read
from howdeep.model.quantity import QuantityError, parse
from howdeep.model.truth import Truth

JARGON = ("tdc", "btdc", "compression ratio", "stoich", "bleed-down", "crosshatch", "journal", "leak-down")
RUNNING = (
    "engine hot and running",
    "vacuum gauge on, engine hot and idling",
    "cooling system cold, engine then started",
    "gauge on a tee in the oil gallery, engine hot",
)


def of_moment(shipped, *moments):
    return {name: item for name, item in shipped.observations.items() if item.moment in moments}


def truth(condition, facts, limits):
    return evaluate(condition, facts, {}, limits)


# --- how questions are asked ---


def test_there_are_questions_enough_to_talk_and_to_test(shipped):
    assert len(of_moment(shipped, "talk")) >= 55
    assert len(of_moment(shipped, "talk", "test")) >= 75
    assert len(of_moment(shipped, "teardown")) >= 35


def test_every_choice_has_answers_that_a_person_can_tell_apart(shipped):
    for name, item in shipped.observations.items():
        if item.kind == "choice":
            assert len(item.answers) >= 2, name
            wordings = [wording.strip().lower() for wording in item.answers.values()]
            assert all(wordings) and len(set(wordings)) == len(wordings), name
            assert "unknown" not in item.answers, name


def test_an_order_from_sound_to_worst_names_answers_once_each(shipped):
    for name, item in shipped.observations.items():
        assert len(set(item.worsens)) == len(item.worsens), name
        assert set(item.worsens) <= set(item.answers), name
        assert len(item.worsens) != 1, name


def test_what_is_asked_at_the_counter_is_a_question_without_shop_words(shipped):
    for name, item in of_moment(shipped, "talk").items():
        assert "?" in item.ask and len(item.ask) <= 160, name
        told = f"{item.ask} {' '.join(item.answers.values())}".lower()
        assert not [word for word in JARGON if re.search(rf"\b{re.escape(word)}\b", told)], name


def test_titles_are_short_and_no_two_are_the_same(shipped):
    titles = [item.title for item in shipped.observations.values()]
    assert len(set(titles)) == len(titles)
    assert max(map(len, titles)) <= 60


def test_no_phrase_is_lost_among_the_others_and_nearly_all_lead_home_first(shipped):
    first = every = 0
    for name, item in of_moment(shipped, "talk").items():
        assert len(item.phrases) >= 3, name
        for phrase in item.phrases:
            found = [match.observation for match in match_words(shipped, phrase)]
            assert name in found, (name, phrase)
            first += found[0] == name
            every += 1
    assert first / every > 0.95


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ("She lays a blue trail up the hill and I carry a can of oil", {"oil_use", "smoke_pulling"}),
        ("Milky oil, and the radiator is always low", {"coolant_use", "oil_look"}),
        ("Won't start since they put new points in", {"complaint", "recent_work"}),
        ("Sat in the field for years, now it is locked solid", {"stood", "turns_over"}),
        ("Starts on ether only and the starter drags", {"cranking_sound", "start_needs"}),
        ("Oil light flickers when hot and there is a deep knock under load", {"noise", "oil_light_gauge_hot_idle"}),
        ("Grandad's tractor has not run since he died, fuel in it is ten years old", {"fuel_age", "runs"}),
        ("It kicked the handle out of my hand twice", {"kicks_back"}),
        ("There is white smoke and it smells sweet, and I keep filling the radiator", {"coolant_use", "smoke_smell"}),
        ("Only a click when I push the button", {"cranking_sound"}),
        (
            "Runs fine for half an hour then dies and will not restart until it has cooled",
            {"start_hot", "stops_itself"},
        ),
        ("Bangs in the exhaust going downhill", {"backfire"}),
        ("Oil drips out of the hole under the clutch housing", {"leak_rear"}),
        ("The needle goes into the red when I am ploughing", {"overheats"}),
        ("A puff of blue when I start it, then it is clean", {"smoke_start"}),
        ("It blows the dipstick out and fumes come from the filler", {"breather_fumes", "dipstick_blows"}),
        ("The governor keeps surging", {"hunting"}),
        ("One cylinder is not firing", {"misfire"}),
        ("My boat engine makes black smoke and has no power", {"power"}),
        ("tappets are noisy", {"noise"}),
        ("Somebody poured stop leak into it last year", {"stop_leak_used"}),
        ("The engine was under water in the flood", {"frozen_or_flooded"}),
        ("It rattles like marbles when I open it up", {"pinking"}),
        ("Petrol drips off the carburettor on to the floor", {"leak_fuel"}),
        ("Ever since the rebuild it has been smoking", {"rebuilt_smoke_since"}),
        ("Bubbles coming up in the radiator", {"coolant_bubbles"}),
        ("Piston slap in the morning, quiet when warm", {"noise"}),
        ("I ran it with no oil in it", {"ran_low_oil"}),
        ("A film of oil floats on top of the water in the radiator", {"coolant_look"}),
        ("It keeps running when I switch off", {"runs_on"}),
    ],
)
def test_a_sentence_that_is_no_phrase_of_the_rule_base_leads_to_its_subjects(shipped, words, wanted):
    assert words.lower() not in {phrase for item in shipped.observations.values() for phrase in item.phrases}
    assert wanted <= {match.observation for match in match_words(shipped, words, most=8)}


def test_conditions_of_a_test_stand_in_a_group_of_their_own(shipped):
    noted = {name for name, item in shipped.observations.items() if item.group == "test_conditions"}
    assert {"test_engine_warm", "test_throttle_open", "test_plugs_out", "test_battery_good"} <= noted
    read = {fact for item in shipped.observations.values() if item.valid_when for fact in facts_read(item.valid_when)}
    assert noted <= read


# --- numbers ---


def test_every_number_has_a_unit_that_cannot_be_confused(shipped):
    for name, item in shipped.observations.items():
        if item.kind != "number":
            continue
        low, high = item.range
        assert low < high, name
        if item.unit in ("in", "psi", "inHg", "lbf", "ft3/h"):
            assert not item.bare, name
            with pytest.raises(QuantityError):
                parse(str((low + high) / 2), unit=item.unit, bare=item.bare)


def test_a_millimetre_written_for_a_bore_is_the_same_bore(shipped):
    bore = shipped.observations["bore_size"]
    assert (bore.rows, bore.columns) == (("top", "middle", "bottom"), ("thrust", "pin"))
    assert parse("82.55 mm", unit=bore.unit).to(bore.unit) == pytest.approx(3.25)
    for name in ("crankpin_size", "main_size"):
        assert (shipped.observations[name].rows, shipped.observations[name].columns) == (("front", "rear"), ("a", "b"))


# --- grounds ---


def test_follow_ups_hang_on_questions_that_exist_and_never_in_a_circle(shipped):
    grounds = {name: facts_read(item.follows) for name, item in shipped.observations.items() if item.follows}
    assert len(grounds) >= 8
    for name, facts in grounds.items():
        assert facts <= shipped.observations.keys(), name
    for name in grounds:
        trail, fringe = set(), [name]
        while fringe:
            for ground in grounds.get(fringe.pop(), ()):
                assert ground != name, f"{name} hangs on itself"
                if ground not in trail:
                    trail.add(ground)
                    fringe.append(ground)


def test_every_ground_can_be_given_and_can_be_taken_away(shipped, limits):
    for name, item in shipped.observations.items():
        if item.follows is None:
            continue
        facts = sorted(facts_read(item.follows))
        seen = {
            truth(item.follows, dict(zip(facts, values, strict=True)), limits)
            for values in itertools.product(*(shipped.observations[fact].answers for fact in facts))
        }
        assert {Truth.PRESENT, Truth.ABSENT} <= seen, name


@pytest.mark.parametrize(
    ("question", "ground", "opens", "shuts"),
    [
        ("smoke_start", "smoke_any", "yes", "no"),
        ("smoke_pulling", "smoke_any", "yes", "no"),
        ("noise_when", "noise", "knock_deep", "none"),
        ("fires_at_all", "runs", "no", "yes"),
        ("rebuilt_smoke_since", "recent_work", "head", "none"),
    ],
)
def test_a_follow_up_is_asked_only_on_its_ground(shipped, limits, question, ground, opens, shuts):
    follows = shipped.observations[question].follows
    assert truth(follows, {ground: opens}, limits) is Truth.PRESENT
    assert truth(follows, {ground: shuts}, limits) is Truth.ABSENT


# --- checks at the bench ---


def test_every_check_says_how_it_is_done_how_long_it_takes_and_where_it_comes_from(shipped):
    for name, item in of_moment(shipped, "test", "teardown").items():
        assert len(item.procedure) >= 80, name
        assert item.minutes > 0, name
        assert item.source, name
        assert item.setup, name


def test_procedures_are_written_once_each(shipped):
    told = [item.procedure for item in of_moment(shipped, "test", "teardown").values()]
    assert len(set(told)) == len(told)


def test_what_needs_a_running_engine_is_not_offered_on_a_dead_one(shipped, limits):
    for name, item in of_moment(shipped, "test").items():
        if item.setup in RUNNING and name != "timing_mark":  # timing can be set with a test light, standing
            assert item.needs is not None, name
            assert truth(item.needs, {"runs": "no", "engine.fuel": "petrol"}, limits) is Truth.ABSENT, name
            assert truth(item.needs, {"engine.fuel": "petrol"}, limits) is not Truth.ABSENT, name


def test_what_needs_cranking_is_not_offered_on_a_stuck_engine(shipped, limits):
    for name in ("compression_dry", "compression_wet", "battery_cranking", "cranking_rpm", "cable_drop"):
        facts = {"turns_over": "stuck", "engine.fuel": "petrol"}
        assert truth(shipped.observations[name].needs, facts, limits) is Truth.ABSENT, name


@pytest.mark.parametrize(
    ("caution", "names"),
    [
        ("compressed_air_turns_engine", ["leakage", "leakage_heard"]),
        ("high_pressure_injection", ["injector_cutout", "injector_test", "bleed_diesel"]),
        ("hot_coolant", ["coolant_pressure_test", "combustion_gas_test", "cap_check", "radiator_flow", "coolant_look"]),
        ("fuel_vapour", ["compression_dry", "fuel_flow", "fuel_sample", "spark", "manifold_wet_test", "leak_fuel"]),
        ("battery_gas", ["battery_rest", "battery_cranking"]),
        ("hydraulic_lock", ["turns_by_hand", "compression_wet"]),
        ("kickback", ["impulse_click", "kicks_back", "turns_by_hand"]),
        ("asbestos", ["head_gasket_look", "rear_seal_look", "head_flatness_along"]),
        ("lead_deposits", ["valve_look", "piston_look"]),
        ("carbon_monoxide", ["exhaust_check", "vacuum_level", "oil_pressure_idle", "blow_by"]),
        ("broken_fastener", ["studs_broken", "exhaust_check"]),
    ],
)
def test_the_caution_stands_on_the_step_that_can_hurt(shipped, caution, names):
    assert caution in shipped.cautions
    for name in names:
        assert caution in shipped.observations[name].cautions, name


def test_whatever_is_done_on_a_running_engine_warns_of_what_turns(shipped):
    for name, item in shipped.observations.items():
        if item.setup in RUNNING:
            assert "spinning_parts" in item.cautions, name


# --- kinds of engine ---


@pytest.mark.parametrize(
    ("engine", "asked", "not_asked"),
    [
        (
            "dunmore-d4",
            ["injector_cutout", "bleed_diesel", "cold_aid_check", "oil_cooler_test"],
            [
                "spark",
                "points_look",
                "plug_look",
                "vacuum_level",
                "choke_check",
                "pinking",
                "backfire",
                "impulse_click",
                "shims_left",
                "sleeve_lands",
            ],
        ),
        (
            "pell-2",
            ["impulse_click", "spark", "plug_look"],
            [
                "battery_rest",
                "battery_cranking",
                "cable_drop",
                "charge_volts",
                "cranking_sound",
                "oil_pressure_idle",
                "coolant_pressure_test",
                "belt_pump_check",
                "thermostat_check",
                "push_rods",
                "injector_test",
                "test_battery_good",
            ],
        ),
        (
            "tarn-30",
            ["sleeve_lands", "sleeve_protrusion_measured", "push_rods", "coolant_pressure_test"],
            ["shims_left", "cold_aid_check", "injector_cutout"],
        ),
        (
            "brockwell-4",
            ["shims_left", "battery_cranking", "timing_mark"],
            ["push_rods", "sleeve_lands", "bleed_diesel", "caps_look"],
        ),
    ],
)
def test_only_what_the_engine_has_is_asked_about(shipped, engines, engine, asked, not_asked):
    built = engine_facts(engines[engine])
    for name in asked:
        assert applies(shipped.observations[name], built), name
    for name in not_asked:
        assert not applies(shipped.observations[name], built), name


def test_every_engine_sheet_leaves_questions_enough(shipped, engines):
    for name, engine in engines.items():
        built = engine_facts(engine)
        assert sum(applies(item, built) for item in of_moment(shipped, "talk").values()) >= 40, name
        assert sum(applies(item, built) for item in of_moment(shipped, "test").values()) >= 25, name


# --- a wrong test misleads ---

RIGHT = {
    "test_engine_warm": "yes",
    "test_throttle_open": "yes",
    "test_plugs_out": "all",
    "test_battery_good": "yes",
    "test_gauge_known": "yes",
    "compression_strokes": 6.0,
}


@pytest.mark.parametrize(
    ("condition", "wrong"),
    [
        ("test_engine_warm", "no"),
        ("test_throttle_open", "no"),
        ("test_plugs_out", "one"),
        ("test_battery_good", "no"),
        ("test_gauge_known", "no"),
        ("compression_strokes", 2.0),
    ],
)
def test_one_condition_missed_makes_a_compression_test_wrong(shipped, limits, engines, condition, wrong):
    # TM 10-3930-647-14&P para 4-40: warm, throttle and choke wide open, good battery;
    # TM 1-1500-204-23-1 step 8: enough revolutions before the reading is true
    built = engine_facts(engines["brockwell-4"])
    for name in ("compression_dry", "compression_wet"):
        valid = shipped.observations[name].valid_when
        assert truth(valid, {**built, **RIGHT}, limits) is Truth.PRESENT
        assert truth(valid, {**built, **RIGHT, condition: wrong}, limits) is Truth.ABSENT
        unrecorded = {fact: value for fact, value in RIGHT.items() if fact != condition}
        assert truth(valid, {**built, **unrecorded}, limits) is Truth.UNKNOWN


def test_an_engine_without_starter_needs_no_battery_for_its_compression_test(shipped, limits, engines):
    built = engine_facts(engines["pell-2"])
    no_battery = {fact: value for fact, value in RIGHT.items() if fact != "test_battery_good"}
    assert truth(shipped.observations["compression_dry"].valid_when, {**built, **no_battery}, limits) is Truth.PRESENT


def test_a_wet_test_is_not_offered_on_a_diesel_and_draws_nothing_there(shipped, limits, engines):
    wet, built = shipped.observations["compression_wet"], engine_facts(engines["dunmore-d4"])
    assert applies(wet, built)  # a reading somebody took is accepted and refused with its reason
    assert truth(wet.needs, built, limits) is Truth.ABSENT
    assert truth(wet.valid_when, {**built, **RIGHT}, limits) is Truth.ABSENT
    assert truth(wet.needs, engine_facts(engines["tarn-30"]), limits) is not Truth.ABSENT


def test_a_cold_engine_makes_no_valid_leakage_vacuum_or_oil_pressure(shipped, limits):
    for name in (
        "leakage",
        "vacuum_level",
        "vacuum_pattern",
        "vacuum_snap",
        "oil_pressure_idle",
        "oil_pressure_speed",
        "blow_by",
    ):
        valid = shipped.observations[name].valid_when
        assert truth(valid, {"test_engine_warm": "no", "test_gauge_known": "yes"}, limits) is Truth.ABSENT, name
        assert truth(valid, {"test_engine_warm": "yes", "test_gauge_known": "yes"}, limits) is Truth.PRESENT, name


# --- the published way of testing ---


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("leakage", ["80 psi", "20 psi", "top dead centre", "quarter"]),  # AC 43.13-1B para 8-14b(5)
        ("coolant_pressure_test", ["3 psi over", "five minutes"]),  # TM 5-3805-291-23-1, 0012 00
        ("battery_cranking", ["fifteen seconds", "9.6 V"]),  # TM 10-3930-671-24, F-299
        ("vacuum_snap", ["2 in", "25"]),  # OD1001 lesson 3 LE2, p. 87
        ("blow_by", ["five minutes", "twelve times"]),  # TM 9-2815-255-24 para 3-6
        ("head_flatness_across", ["between each pair of cylinders"]),  # TM 9-4940-549-14&P p. 12-14 step 12
        ("ring_gap_measured", ["bottom"]),  # TM 10-3930-653-14&P p. 76: gap measured at the bottom of the bore
        ("cable_drop", ["earth side", "while a helper reads", "tenth of a volt"]),  # TM 5-3820-256-24-4, p. 7
        ("noise_belt_off", ["every belt"]),  # TM 55-1905-223-24-3 para 2-13: drive belts off first
        ("injector_cutout", ["one pipe nut"]),  # TM 5-3805-260-24, p. 135: loosen line nuts one at a time
        ("compression_wet", ["petrol engines only", "same number of strokes"]),  # TM 10-3930-618-20, para 2-12
    ],
)
def test_a_published_test_is_done_as_it_was_published(shipped, name, words):
    told = f"{shipped.observations[name].ask} {shipped.observations[name].procedure}".lower()
    for word in words:
        assert word.lower() in told, (name, word)


def test_figures_told_in_a_procedure_are_the_figures_of_the_rule_base(shipped, limits):
    told = shipped.observations
    assert f"{limits['battery_cranking_12']:g} V" in told["battery_cranking"].procedure
    assert limits["coolant_test_over_cap"] == 3 and limits["coolant_test_minutes"] == 5
    assert limits["leakage_suspect_percent"] == 25  # 60 held of 80: "80 in and 60 held is a loss of a quarter"
    assert "80 in and 60 held" in told["leakage"].procedure
    assert limits["compression_least_strokes"] == 5 and "five or more" in told["compression_dry"].procedure


def test_a_pressure_fall_from_eighty_to_sixty_is_taken_as_a_quarter(shipped):
    # AC 43.13-1B para 8-14b(5)(i): loss over 25 % of 80 psi, that is below 60/80
    from howdeep.job.values import value_of

    faults = []
    value = value_of(
        shipped.observations["leakage"], ["80/60", "80/74", "12 percent", 30], 4, lambda *fault: faults.append(fault)
    )
    assert not faults
    assert value == pytest.approx((25.0, 7.5, 12.0, 30.0))


# --- reduced facts ---


def test_reduced_facts_name_words_and_their_order(shipped):
    for name, item in shipped.reduced.items():
        if item.kind == "choice":
            assert len(item.answers) >= 2 or name.startswith("size."), name
            assert set(item.worsens) <= set(item.answers), name
        else:
            assert not item.answers, name
