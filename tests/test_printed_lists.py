"""What published works print as causes of a sign stands among the causes of that sign here, and what they print first
leads.

Each row is one printed list or sentence; a cause is there when its word says more than never. Where the work says
"most",
"usually" or prints an order, the row asks that what it names so stands before the rest.
"""

import pytest

from howdeep.model.terms import WORDS
from howdeep.readings.figures import displacement_in3

from .bench_readings import engine
from .published import cited, published


@pytest.mark.parametrize(
    ("finding", "causes"),
    [
        cited(
            "navedtra-14264",
            "U4 L10: white smoke minutes after the start",
            "white_smoke_stays",
            ("worn_rings", "burnt_exhaust_valve", "head_gasket_coolant", "worn_injectors"),
        ),
        cited(
            "navedtra-14264",
            "U4 L10: black or grey smoke",
            "black_smoke_pulling",
            ("dirty_air_cleaner", "blocked_exhaust", "injection_timing_off", "worn_injectors", "worn_injection_pump"),
        ),
        cited(
            "od1001",
            "L4/LE2 p. 119: bluish exhaust with frequent filling up",
            "blue_pulling",
            ("worn_rings", "scored_bores", "worn_guides"),
        ),
        cited(
            "fire-engineering-1970",
            "February 1970: oil from vent tube or dipstick hole",
            "dipstick_blows_oil",
            ("blocked_breather", "worn_bores", "worn_rings", "stuck_rings", "scored_bores", "broken_ring_or_piston"),
        ),
        cited(
            "tm-9-2320-272-24-2",
            "table 4-1 item 8: coolant in the oil",
            "oil_milky",
            ("head_gasket_coolant", "cracked_head", "cracked_liner", "cracked_block", "oil_cooler_leak"),
        ),
        cited(
            "navedtra-14075",
            "fig. 3-18: oil consumption, other causes",
            "oil_use_heavy",
            ("worn_rod_bearings", "external_oil_leak", "wrong_thin_oil"),
        ),
        cited(
            "navedtra-14075",
            "fig. 3-18: low compression, other causes",
            "compression_low_everywhere",
            ("worn_rings", "burnt_exhaust_valve", "dirty_air_cleaner"),
        ),
        cited(
            "od1001",
            "L3/LE2: steady and below normal",
            "vacuum_low_steady",
            ("late_timing", "valve_timing_off", "manifold_air_leak", "worn_rings"),
        ),
        cited("od1001", "L3/LE2: normal at the start, then falling", "vacuum_falls_off", ("blocked_exhaust",)),
        cited("tm-9-4910-677-14p", "sweeps that grow with speed", "vacuum_swings_with_speed", ("weak_valve_spring",)),
        cited("tm-9-4910-677-14p", "snap test: no wide sweep", "vacuum_snap_poor", ("manifold_air_leak", "worn_rings")),
        cited(
            "tm-55-1905-223-24-3",
            "paras 2-14, 2-17: dull knock under load",
            "knock_deep",
            ("worn_main_bearings", "wrong_thin_oil"),
        ),
        cited("tm-5-3810-300-10", "p. 56: sticking valves, loss of power", "low_power", ("sticking_valve",)),
        cited(
            "tm-5-3810-300-10",
            "p. 56: sticking valves, popping at the intake",
            "pops_in_carburettor",
            ("sticking_valve",),
        ),
        cited("tm-5-3810-300-10", "p. 56: tight gears hum", "humming", ("tight_timing_gears",)),
        cited("tm-5-3810-300-10", "p. 56: loose gears rattle", "clatter", ("worn_timing_gears",)),
        cited(
            "faa-flying-handbook",
            "low oil pressure: relief valve, oil, bearings",
            "gauge_low_hot_idle",
            ("relief_valve_stuck", "oil_level_low", "worn_main_bearings"),
        ),
        cited(
            "page-1917",
            "lost power and overheating",
            "overheats_pulling",
            ("blocked_radiator_passages", "oil_level_low", "tight_bearing"),
        ),
        cited(
            "tm-5-3820-256-24-4",
            "electrical section p. 7: cranking circuit",
            "slow_cranking",
            ("weak_battery", "bad_cables", "worn_starter"),
        ),
        cited(
            "whitman-1920",
            "ch. XIII: one steady miss",
            "misfire_one_steady",
            ("fouled_plugs", "cracked_cap_leads", "burnt_exhaust_valve"),
        ),
        cited(
            "putnam-1918",
            "stops on the road: hand-crank tests",
            "compression_one_down",
            ("tight_valve_clearance", "burnt_exhaust_valve", "leaking_inlet_valve", "broken_valve"),
        ),
        cited("tm-10-3930-623-12", "overheating: low coolant", "overheats_pulling", ("external_coolant_leak",)),
        cited("od1001", "L4/LE2 p. 119: rear main seal wets the clutch housing", "rear_leak", ("rear_main_seal",)),
    ],
)
def test_every_printed_cause_stands_among_the_causes_of_the_sign(shipped, finding, causes):
    words = shipped.findings[finding].explained_by
    assert set(causes) <= set(words), sorted(set(causes) - set(words))
    assert all(WORDS.index(words[cause]) > 0 for cause in causes)


def blame(knowledge, finding):
    settings = knowledge.settings
    return {
        cause: settings.base_words[knowledge.causes[cause].base] * settings.words[word]
        for cause, word in knowledge.findings[finding].explained_by.items()
    }


@pytest.mark.parametrize(
    ("finding", "before", "after"),
    [
        cited(
            "od1001",
            "L3/LE1: rod bearing, loud sharp knock without load",
            "knock_sharp",
            "worn_rod_bearings",
            "worn_main_bearings",
        ),
        cited(
            "tm-55-1905-223-24-3",
            "para 2-17: duller than rod noise",
            "knock_deep",
            "worn_main_bearings",
            "worn_rod_bearings",
        ),
        cited(
            "tm-9-8000",
            "para 17-8: manifold leaks by the vacuum gauge",
            "vacuum_very_low",
            "manifold_air_leak",
            "worn_rings",
        ),
        cited(
            "fire-engineering-1970",
            "February 1970: plugged vent strainer first",
            "dipstick_blows_oil",
            "blocked_breather",
            "worn_rings",
        ),
    ],
)
def test_what_a_work_names_for_a_sign_is_blamed_before_what_it_sets_apart(shipped, finding, before, after):
    found = blame(shipped, finding)
    assert found[before] > found.get(after, 0)


@pytest.mark.parametrize(
    ("caution", "words"),
    [
        cited("29-cfr-1910-242", "(b): under 30 psi, guard and eyes", "compressed_air_cleaning", ("30 psi",)),
        cited("james-gulson-1999", "dust worst where valves and seats are cleaned", "lead_deposits", ("wet",)),
        cited("niosh-face-03mi053", "secondary support", "lifting_splitting", ("stand",)),
        cited("hse-motor-vehicle", "never blow out a housing", "asbestos", ("blow",)),
        cited("hse-motor-vehicle", "used oil: gloves, wash soon", "used_oil", ("glove",)),
    ],
)
def test_a_caution_says_what_its_authority_says(shipped, caution, words):
    text = f"{shipped.cautions[caution].title} {shipped.cautions[caution].text}".lower()
    assert all(word in text for word in words), text


@published("tm-10-3930-621-34", "precision bearings are never filed, scraped or shimmed")
def test_shells_are_never_taken_up(shipped):
    for name, item in shipped.operations.items():
        if name.startswith("take_up_"):
            assert "babbitt" in repr(item.applies), name


@published("tm-9-6115-604-34", "main bearings: taper over half a thou condemns a journal (one diesel)")
def test_the_general_limit_of_journal_taper_is_the_printed_one(shipped):
    assert (shipped.limits["journal_taper"].value, shipped.limits["journal_taper"].unit) == (0.0005, "in")


@published("tm-5-4210-230-14p", "excessive oil consumption: a quart in 400-500 miles")
def test_heavy_oil_use_is_asked_for_as_printed(shipped):
    answers = shipped.observations["oil_use"].answers
    assert "quart_500_miles_or_10h" in answers and "500" in answers["quart_500_miles_or_10h"]


@published("aikins-2016", "abstract: 78 % of operators have no working hour meter")
def test_hours_that_are_told_are_hearsay(shipped):
    assert shipped.observations["hours_since_overhaul"].speaks == "hearsay"


@published("bay-of-plenty-1942", "20,000-30,000 miles before an extensive overhaul")
def test_a_car_past_twenty_thousand_miles_is_likelier_worn_than_any_engine(shipped):
    shift = sum(shipped.history[name].shifts["worn_rings"] for name in ("middle_aged", "petrol_car_at_its_rebore"))
    assert shift > 0 and "20,000" in shipped.observations["hours_since_overhaul"].answers["500_2000"]


@published("florida-ees-47", "under 4,000 h on farms against 6,400 h possible")
def test_a_diesel_of_two_thousand_hours_is_not_yet_an_overhaul(shipped):
    shifts = [shipped.history[name].shifts["worn_bores"] for name in ("long_since_overhaul", "diesel_bores_last")]
    assert 0 <= sum(shifts) < shipped.history["long_since_overhaul"].shifts["worn_bores"]


@published("evening-star-1945", "six cars run hot without stops, one driven a mile a day")
def test_hard_work_wears_no_more_than_standing_cold(shipped):
    assert (
        shipped.history["heavy_work"].shifts.get("worn_bores", 0)
        <= shipped.history["light_petrol_work"].shifts["worn_bores"]
    )


@published("road-patrol-germany-2023", "battery 44.1 %, generator with starter, wiring and lights 10.5 %")
def test_slow_cranking_is_the_battery_at_least_as_often_as_the_rest_of_the_circuit_and_not_oftener_than_counted(
    shipped,
):
    found = blame(shipped, "slow_cranking")
    rest = sum(found[name] for name in ("no_charge", "bad_cables", "worn_starter", "starter_switch"))
    assert 1 <= found["weak_battery"] / rest <= 44.1 / 10.5


@published("engine-math-displacement", "4.00 x 3.52 in, eight cylinders: 353.86 cubic inches")
def test_displacement_comes_out_as_printed():
    from howdeep.model.engine import Fit

    four = engine(bore=Fit("4.0000 in", "4.0000 in"), stroke="3.520 in")
    assert 2 * displacement_in3(four) == pytest.approx(353.86, abs=0.01)
