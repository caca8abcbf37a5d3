"""Wear: bores, pistons, rings, journals, clearances, guides, springs, flatness, against the sheet or general limits."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.model.engine import Fit
from howdeep.readings import bores, flatness, gauges, journals, judge, valves
from howdeep.readings.figures import Band, Figure
from tests.bench_readings import bore, engine, facts, journal, knowledge, remarks, round_journal
from tests.published import cited, published

FOUR = engine()
MM = 1 / 25.4


def fig(value: float, unit: str = "in") -> Figure:
    return Figure(value, unit, "engine sheet")


def general(name: str) -> float:
    return knowledge().limits[name].value


# --- the general limits as printed ---


@pytest.mark.parametrize(
    ("name", "value"),
    [
        cited("tm-10-3930-647-14p", "wear-limit table: bore wear per inch", "bore_wear_per_inch", 0.001),
        cited("tm-10-3930-647-14p", "wear-limit table: taper per inch of travel", "bore_taper_per_inch", 0.0005),
        cited("tm-10-3930-647-14p", "wear-limit table: piston wear per inch", "piston_wear_per_inch", 0.0005),
        cited("tm-10-3930-647-14p", "wear-limit table: pin wear", "piston_pin_wear", 0.001),
        cited(
            "tm-10-3930-647-14p",
            "wear-limit table: journal clearance over high limit per inch",
            "bearing_clearance_over_high_per_inch",
            0.0005,
        ),
        cited(
            "tm-10-3930-647-14p",
            "wear-limit table: journal out-of-round per inch",
            "journal_out_of_round_per_inch",
            0.0004,
        ),
        cited("tm-10-3930-647-14p", "wear-limit table: end play over high limit", "end_play_over_high", 0.005),
        cited("tm-10-3930-647-14p", "wear-limit table: valve stem", "valve_stem_wear", 0.001),
        cited("tm-10-3930-647-14p", "wear-limit table: valve guide", "valve_guide_wear", 0.0015),
        cited(
            "tm-10-3930-647-14p", "wear-limit table: seat width over original, percent", "valve_seat_width_percent", 15
        ),
        cited("tm-10-3930-647-14p", "wear-limit table: rings renewed after, hours", "ring_hours_renew", 50),
        cited("tm-9-4940-549-14p", "p. 12-14 step (12): crosswise", "head_warp_across", 0.003),
        cited("tm-9-4940-549-14p", "p. 12-14 step (12): lengthwise", "head_warp_along", 0.005),
        cited("tm-10-3930-653-14p", "p. 4-28: guide clearance, inlet", "guide_clearance_inlet_most", 0.0039),
        cited("tm-10-3930-653-14p", "p. 4-28: guide clearance, exhaust", "guide_clearance_exhaust_most", 0.0059),
        cited("tm-5-3431-205-15", "most regrind", "journal_regrind_most", 0.040),
        cited("tm-9-4310-397-14", "p. 6-28: face runout", "valve_face_runout", 0.002),
        cited("tm-10-3930-243-34", "seat runout", "valve_seat_runout", 0.002),
    ],
)
def test_the_rule_base_holds_the_printed_limit(name, value):
    assert general(name) == value


# --- bores ---


@published("tm-9-2815-220-24", "WP 0135: bore 5.751-5.753 new, 5.760 limit, out-of-round 0.003")
def test_a_large_diesels_bore_is_judged_as_its_manual_does():
    """Wear counts from the high limit: 5.760 - 5.753 = 0.007."""
    standard = Band(fig(5.751), fig(5.753))
    limits = {
        "wear": fig(0.007),
        "taper_limit": fig(0.010),
        "round_limit": fig(0.003),
        "usable_share": 0.5,
        "error": 0.0005,
    }

    def judged(top: float, across: float | None = None):
        return bores.judge_bore(
            bore((top, across or top), (5.753, 5.753)), standard, (0.010, 0.020, 0.030, 0.040), **limits
        )

    assert judged(5.755).wear.measured == pytest.approx(0.002) and judged(5.755).verdict == "good"
    assert judged(5.7585).verdict == "usable"
    assert judged(5.7600).verdict == "too_close"
    assert judged(5.7620).verdict == "beyond"
    assert judged(5.758, 5.7535).out_of_round.verdict == "beyond"


@published("tm-9-2815-220-24", "five diameters, each within 0.003 in of its 90 degree pair")
def test_out_of_round_is_the_worst_height():
    grid = ((5.7535, 5.7530), (5.7560, 5.7525), (5.7530, 5.7530), (5.7530, 5.7531), (5.7530, 5.7530))
    assert bores.out_of_round(grid) == pytest.approx(0.0035)
    assert bores.out_of_round(grid) > 0.003


@published("tm-10-3930-653-14p", "p. 61: bore 87.20-87.25 mm, wear limit 0.2 mm")
def test_a_metric_sheet_judges_readings_in_inches():
    metric = engine(bore=Fit("87.20 mm", "87.25 mm", "0.2 mm"), stroke="92 mm")
    good, worn = bore((3.4352, 3.4351)), bore((87.50 * MM, 87.49 * MM), (87.26 * MM, 87.26 * MM))
    found = facts(metric, {"bore_size": [good, good, good, worn]})
    assert found.values["bore.verdict"][0] == "good" and found.values["bore.verdict"][3] == "beyond"
    assert found.values["bore.wear"][3] == pytest.approx(0.25 * MM, abs=1e-6)
    assert found.reductions["bore.wear"].basis == "engine sheet"


@published("tm-10-3930-647-14p", "wear-limit table: 0.001 in per inch of bore, 0.0005 in per inch of travel")
def test_a_silent_sheet_falls_back_on_the_per_inch_limits_and_says_so():
    worn = bore((3.0050, 3.0045), (3.0012, 3.0012))
    found = facts(FOUR, {"bore_size": [worn, bore((3.0010, 3.0010)), bore((3.0010, 3.0010)), None]})
    assert found.reductions["bore.wear"].basis == "general limit bore_wear_per_inch"
    assert "0.0030 in" in found.reductions["bore.wear"].how and "0.0020 in" in found.reductions["bore.taper"].how
    assert found.values["bore.taper"][0] == pytest.approx(0.0038)
    assert found.values["bore.verdict"] == ("beyond", "good", "good", None)


@published("tm-10-3930-659-34", "p. 5-16: taper at most 0.002 in")
def test_taper_is_the_difference_along_one_axis():
    grid = ((3.0020, 3.0008), (3.0012, 3.0006), (3.0000, 3.0005))
    assert bores.taper(grid) == pytest.approx(0.0020)
    assert bores.taper(((3.0, None), (None, 3.1))) is None


def test_a_bored_engine_is_judged_at_its_own_size():
    bored = engine(oversizes=("0.020 in", "0.040 in"))
    found = facts(bored, {"bore_size": [bore((3.0215, 3.0213))] * 4})
    assert found.values["bore.wear"][0] == pytest.approx(0.0005) and found.values["bore.verdict"][0] == "good"
    mixed = facts(bored, {"bore_size": [bore((3.0205, 3.0205)), *[bore((3.0005, 3.0005))] * 3]})
    assert "not all stand at the same size" in mixed.reductions["bore.verdict"].how


@published("tm-10-3930-653-14p", "p. 61: piston clearance 0.025-0.045 mm")
def test_skirt_clearance_is_bore_less_skirt():
    sheet = engine(piston_clearance=Fit("0.001 in", "0.0018 in", "0.006 in"))
    found = facts(
        sheet, {"bore_size": [bore((3.0010, 3.0010))] * 4, "piston_skirt_size": [2.9995, 2.9960, 2.9920, 2.9950]}
    )
    assert found.values["piston.clearance"][0] == pytest.approx(0.0015)
    assert found.values["piston.clearance_verdict"] == ("good", "usable", "beyond", "too_close")
    assert remarks(found, "too close to call", "piston_skirt_size")


@published("tm-5-6115-584-34", "Table 1-2: piston 0.005-0.0062 new, 0.010 most")
def test_a_small_diesels_piston_fit_is_judged_as_printed():
    limits = Band(fig(0.005), fig(0.0062), fig(0.010))
    words = [bores.judge_piston(3.25, 3.25 - gap, limits, 0.0005).verdict for gap in (0.0055, 0.008, 0.012)]
    assert words == ["good", "usable", "beyond"]


@pytest.mark.parametrize(
    ("gap_mm", "word"),
    [
        cited("tm-10-3930-653-14p", "p. 76: top ring 0.25-0.40 mm", 0.35, "good"),
        cited("tm-10-3930-653-14p", "p. 76: limit 1.0 mm", 0.80, "usable"),
        cited("tm-10-3930-653-14p", "p. 76: past 1.0 mm", 1.10, "beyond"),
        cited("tm-10-3930-653-14p", "p. 76: below 0.25 mm binds", 0.15, "tight"),
    ],
)
def test_a_ring_gap_is_judged_as_printed(gap_mm, word):
    sheet = engine(ring_gap=Fit("0.25 mm", "0.40 mm", "1.0 mm"))
    found = facts(sheet, {"ring_gap_measured": [gap_mm * MM, None, None, None]})
    assert found.values["ring.gap_verdict"][0] == word


@published("ring-gap-page", "0.004 in per inch: a 3 in bore wants 0.012 in")
def test_a_three_inch_bore_wants_twelve_thou_of_gap():
    found = facts(FOUR, {"ring_gap_measured": [0.012, 0.017, 0.006, 0.050]})
    assert found.values["ring.gap_verdict"] == ("good", "good", "tight", "beyond")
    assert found.reductions["ring.gap_verdict"].basis.startswith("general limit ring_gap")
    assert "tighter than new" in found.reductions["ring.gap_verdict"].how


@published("tm-10-3930-653-14p", "p. 74: groove clearance 0.040-0.073 mm, limit 0.1 mm")
def test_ring_side_clearance_is_judged_as_printed():
    sheet = engine(ring_side=Fit("0.040 mm", "0.073 mm", "0.1 mm"))
    found = facts(
        sheet, {"ring_side_clearance": [mm * MM for mm in (0.06, 0.085, 0.1, 0.12)]}, gauges={"feeler": 0.0002}
    )
    assert found.values["ring.side_verdict"] == ("good", "usable", "too_close", "beyond")


def test_sleeves_stand_out_evenly_and_inside_their_band():
    wet = engine({"bores": "wet_sleeves"}, sleeve_protrusion=Fit("0.0020 in", "0.0050 in", "0.0010 in"))
    found = facts(wet, {"sleeve_protrusion_measured": [0.0040, 0.0025, 0.0002, 0.0062]})
    assert found.values["sleeve.protrusion_verdict"] == ("good", "beyond", "beyond", "beyond")
    level = facts(wet, {"sleeve_protrusion_measured": [0.0030, 0.0030, 0.0025, 0.0018]})
    assert level.values["sleeve.protrusion_verdict"] == ("good", "good", "good", "usable")


# --- journals ---


@published("tm-10-3930-653-14p", "p. 60: taper and out-of-round new 0.01 mm, limit 0.03 mm")
def test_a_journals_shape_is_judged_as_printed():
    sheet = journal(
        "62.942 mm",
        "62.955 mm",
        ("0.020 mm", "0.062 mm"),
        ("0.25 mm", "0.50 mm"),
        out_of_round="0.03 mm",
        taper="0.03 mm",
        count=3,
    )
    metric = engine(mains=sheet)

    def pin(first, second):
        return tuple(tuple(mm * MM for mm in row) for row in (first, second))

    found = facts(
        metric,
        {
            "main_size": [
                pin((62.950, 62.945), (62.950, 62.945)),
                pin((62.950, 62.905), (62.950, 62.945)),
                pin((62.950, 62.920), (62.950, 62.945)),
            ]
        },
    )
    assert set(found.values["main.verdict"]) == {"grind"}  # one is past its limit, so all are ground
    good = facts(metric, {"main_size": [pin((62.950, 62.949), (62.950, 62.949))] * 3})
    assert set(good.values["main.verdict"]) == {"good"}
    close = facts(metric, {"main_size": [pin((62.950, 62.920), (62.950, 62.920))] * 3})
    assert set(close.values["main.verdict"]) == {"too_close"} and remarks(close, "too close to call", "main_size")


@published("tm-5-3805-254-14p-2", "out-of-round over 0.001 in: regrind; inserts 0.010, 0.020, 0.030")
def test_an_out_of_round_journal_is_reground_to_a_sold_undersize():
    sheet = engine(
        crankpins=journal(
            "1.4980 in",
            "1.4985 in",
            ("0.0010 in", "0.0025 in"),
            ("0.010 in", "0.020 in", "0.030 in"),
            out_of_round="0.001 in",
        )
    )
    oval = ((1.4983, 1.4965), (1.4983, 1.4970))
    found = facts(sheet, {"crankpin_size": [oval, *[round_journal(1.4983)] * 3]})
    assert set(found.values["crankpin.verdict"]) == {"grind"}
    assert "if one of them is ground all are: 0.010 in under" in found.reductions["crankpin.verdict"].how


@published("tm-10-3930-647-14p", "wear-limit table: replace at high limit + 0.0005 in per inch of diameter")
def test_a_bearing_clearance_is_renewed_past_the_general_margin():
    sheet = engine(mains=journal("2.3745 in", "2.3755 in", ("0.0010 in", "0.0030 in"), (), count=3))
    found = facts(sheet, {"main_clearance": [0.0020, 0.0034, 0.0060]})
    assert found.values["main.clearance_verdict"] == ("good", "usable", "beyond")
    assert found.reductions["main.clearance_verdict"].basis == "general limit bearing_clearance_over_high_per_inch"


@pytest.mark.parametrize(
    ("clearance", "word"),
    [
        cited("tm-55-1905-220-14-4", "main 0.0016-0.0050 new", 0.0030, "good"),
        cited("tm-55-1905-220-14-4", "main 0.0060 replace", 0.0054, "usable"),
        cited("tm-55-1905-220-14-4", "main past 0.0060", 0.0070, "beyond"),
        cited("tm-5-3810-206-35", "p. 3-73: main 0.0030-0.0059 new", 0.0045, "good"),
    ],
)
def test_main_clearances_are_judged_as_printed(clearance, word):
    bands = {0.0045: ("0.0030 in", "0.0059 in", "0.0080 in")}
    printed = bands.get(clearance, ("0.0016 in", "0.0050 in", "0.0060 in"))
    sheet = engine(mains=journal("2.3745 in", "2.3755 in", printed, (), count=3))
    found = facts(sheet, {"main_clearance": [clearance, None, None]}, gauges={"gauge_strip": 0.0003})
    assert found.values["main.clearance_verdict"][0] == word


@published("feeler-fit-general", "0.001 in per inch: a 2.375 in journal wants about 0.0024 in")
def test_the_rule_of_thumb_lies_inside_the_general_band():
    low, high = (general(f"bearing_clearance_{end}_per_inch") * 2.375 for end in ("low", "high"))
    assert low < general("bearing_clearance_per_inch") * 2.375 < high
    assert general("bearing_clearance_per_inch") * 2.375 == pytest.approx(0.0024, abs=0.0001)


@published("tm-10-3930-653-14p", "end play 0.002-0.0071 new, 0.0079 limit; bend is half the dial")
def test_end_play_and_bend_are_judged_as_printed():
    sheet = engine(end_play=Fit("0.002 in", "0.0071 in", "0.0079 in"))
    words = [facts(sheet, {"end_play_measured": play}).values["end_play.verdict"] for play in (0.005, 0.0078, 0.012)]
    assert words == ["good", "too_close", "beyond"]
    assert journals.bend_from_dial(0.0016) == pytest.approx(0.0008)


@published("tm-10-3930-653-14p", "crank bend 0.0008 in, limit 0.002 in")
def test_a_crankshafts_bend_is_judged_as_printed():
    bends = (0.0008, 0.0015, 0.0021, 0.003)
    words = [facts(FOUR, {"crank_bend_measured": bend}).values["crank.bend_verdict"] for bend in bends]
    assert words == ["good", "usable", "too_close", "beyond"]


@published("tm-10-3930-647-14p", "wear-limit table: end play high limit + 0.005 in")
def test_end_play_without_a_limit_gets_the_general_margin():
    sheet = engine(end_play=Fit("0.002 in", "0.006 in"))
    assert facts(sheet, {"end_play_measured": 0.009}).values["end_play.verdict"] == "usable"
    worn = facts(sheet, {"end_play_measured": 0.014})
    assert worn.values["end_play.verdict"] == "beyond"
    assert worn.reductions["end_play.verdict"].basis == "general limit end_play_over_high"


# --- valves ---


@pytest.mark.parametrize(
    ("new", "most", "readings", "words"),
    [
        cited(
            "tm-9-2815-260-24",
            "p. 5-109: 0.002-0.006",
            ("0.002 in", "0.004 in"),
            "0.006 in",
            (0.003, 0.005, 0.008),
            ("good", "usable", "beyond"),
        ),
        cited(
            "tm-9-4310-397-14",
            "p. 6-28: new 0.002-0.004, most 0.006",
            ("0.002 in", "0.004 in"),
            "0.006 in",
            (0.004, 0.0054, 0.0066),
            ("good", "usable", "beyond"),
        ),
        cited(
            "tm-5-3810-206-35",
            "p. 3-73: new 0.003-0.005, replace 0.007",
            ("0.003 in", "0.005 in"),
            "0.007 in",
            (0.004, 0.006, 0.0080),
            ("good", "usable", "beyond"),
        ),
    ],
)
def test_stem_clearances_are_judged_as_printed(new, most, readings, words):
    sheet = engine({"cylinders": 3, "volts": "12"}, valve_stem_exhaust=Fit(*new, most))
    found = facts(sheet, {"guide_clearance_exhaust": list(readings)})
    assert found.values["guide.exhaust_verdict"] == words


@published("tm-10-3930-653-14p", "p. 4-28: 0.10 mm inlet, 0.15 mm exhaust")
def test_silent_sheets_take_the_general_guide_limits_inlet_tighter_than_exhaust():
    found = facts(FOUR, {"guide_clearance_inlet": [0.0052] * 4, "guide_clearance_exhaust": [0.0052] * 4})
    assert set(found.values["guide.inlet_verdict"]) == {"beyond"}
    assert set(found.values["guide.exhaust_verdict"]) == {"usable"}


@published("rebuilder-education", "stem clearance about 0.002 in inlet, 0.003 in exhaust")
def test_typical_new_stems_are_good():
    found = facts(FOUR, {"guide_clearance_inlet": [0.002] * 4, "guide_clearance_exhaust": [0.003] * 4})
    assert set(found.values["guide.inlet_verdict"]) == set(found.values["guide.exhaust_verdict"]) == {"good"}


@published("tm-10-3930-647-14p", "wear-limit table: stem 0.001 in, guide 0.0015 in")
def test_a_sheet_with_only_a_new_band_is_widened_by_stem_and_guide_wear():
    sheet = engine(valve_stem_inlet=Fit("0.001 in", "0.002 in"))
    found = facts(sheet, {"guide_clearance_inlet": [0.0015, 0.0035, 0.0045, 0.0060]})
    assert found.values["guide.inlet_verdict"] == ("good", "usable", "too_close", "beyond")


@published("tm-10-3930-647-14p", "wear-limit table: seat width, original + 15 %")
def test_a_seat_may_grow_by_fifteen_percent():
    sheet = engine(seat_width=Fit("0.060 in", "0.080 in"))
    found = facts(sheet, {"seat_width_inlet": [0.070, 0.086, 0.0925, 0.100]})
    assert found.values["seat.inlet_verdict"] == ("good", "usable", "too_close", "beyond")


def test_a_weak_spring_is_weak_by_the_sheet_or_by_nine_tenths_of_new():
    """Nine tenths of new is common practice."""
    sheet = engine(spring_load=Fit("50 lbf", "56 lbf"))
    found = facts(sheet, {"spring_load_measured": [52, 48, 45, 40]})
    assert found.values["spring.verdict"] == ("good", "usable", "too_close", "beyond")
    assert found.reductions["spring.verdict"].basis == "general limit spring_load_percent"
    strict = engine(spring_load=Fit("50 lbf", "56 lbf", "35 lbf"))
    assert facts(strict, {"spring_load_measured": [40] * 4}).values["spring.verdict"][0] == "usable"
    assert remarks(facts(FOUR, {"spring_load_measured": [40] * 4}), "conditions not recorded", "spring_load_measured")


def test_cam_lift_and_margin_wear_downward():
    lift = Band(fig(0.250), None, fig(0.235))
    assert [valves.judge_cam_lift(value, lift, 0.0005).verdict for value in (0.240, 0.230)] == ["usable", "beyond"]
    worn = facts(engine(valve_margin="0.031 in"), {"valve_margin_inlet": [0.025] * 4})
    assert set(worn.values["margin.inlet_verdict"]) == {"beyond"}
    assert valves.recession([0.012, 0.009, 0.006]) and not valves.recession([0.012, 0.012, 0.010])


def test_a_narrow_seat_is_told_and_does_not_condemn():
    sheet = engine(seat_width=Fit("0.060 in", "0.080 in", "0.100 in"))
    found = facts(sheet, {"seat_width_inlet": [0.040, 0.070, 0.090, 0.115]})
    assert found.values["seat.inlet_verdict"] == ("narrow", "good", "usable", "beyond")
    how = found.reductions["seat.inlet_verdict"].how
    assert "narrower than new" in how and "beyond, narrower" not in how


@published("tm-5-4240-501-14p", "p. 614: new seat 3/64 to 1/16 in")
@published("tm-10-3930-671-24", "valves: contact over 3/32 in is narrowed")
def test_silent_sheets_take_the_general_width_of_seats():
    found = facts(FOUR, {"seat_width_exhaust": [3 / 64, 1 / 16, 5 / 64, 1 / 8]})
    assert found.values["seat.exhaust_verdict"] == ("good", "usable", "usable", "beyond")
    assert found.reductions["seat.exhaust_verdict"].basis == "general limit valve_seat_width_most"
    near = facts(FOUR, {"seat_width_exhaust": [3 / 32] * 4})
    assert set(near.values["seat.exhaust_verdict"]) == {"too_close"}
    assert remarks(near, "too close to call", "seat_width_exhaust")


def test_a_sheet_with_only_a_new_width_is_widened_by_the_percentage_and_not_by_the_general_limit():
    found = facts(engine(seat_width=Fit("0.100 in", "0.120 in")), {"seat_width_inlet": [0.110, 0.130, 0.145, 0.110]})
    assert found.values["seat.inlet_verdict"] == ("good", "usable", "beyond", "good")
    assert found.reductions["seat.inlet_verdict"].basis == "general limit valve_seat_width_percent"


def test_exhaust_figures_of_the_sheet_are_for_the_exhausts_alone():
    sheet = engine(
        seat_width=Fit("0.050 in", "0.060 in", "0.070 in"),
        seat_width_exhaust=Fit("0.080 in", "0.090 in", "0.105 in"),
        cam_lift=Fit("0.250 in", "0.256 in", "0.240 in"),
        cam_lift_exhaust=Fit("0.220 in", "0.226 in", "0.210 in"),
    )
    seats, lobes = [0.085] * 4, [0.222] * 4
    values = {
        "seat_width_inlet": seats,
        "seat_width_exhaust": seats,
        "cam_lift_inlet": lobes,
        "cam_lift_exhaust": lobes,
    }
    found = facts(sheet, values).values
    assert set(found["seat.inlet_verdict"]) == {"beyond"} and set(found["seat.exhaust_verdict"]) == {"good"}
    assert set(found["lobe.inlet_verdict"]) == {"beyond"} and set(found["lobe.exhaust_verdict"]) == {"good"}


@published("tm-55-1930-209-14p-21", "exhaust valves (a): edge not less than 1/32 in")
def test_a_margin_is_held_to_a_thirty_second_where_the_sheet_is_silent():
    found = facts(FOUR, {"valve_margin_exhaust": [0.050, 1 / 32, 0.020, 0.0]})
    assert found.values["margin.exhaust_verdict"] == ("usable", "too_close", "beyond", "beyond")
    assert found.reductions["margin.exhaust_verdict"].basis == "general limit valve_margin"
    strict = facts(engine(valve_margin="1.5 mm"), {"valve_margin_inlet": [0.050] * 4})
    assert set(strict.values["margin.inlet_verdict"]) == {"beyond"}
    assert strict.reductions["margin.inlet_verdict"].basis == "engine sheet"


def test_a_lobe_is_judged_by_the_sheet_else_by_the_least_of_a_new_one_else_by_its_neighbours():
    """How far a lobe may fall short without a figure is judgement."""
    lifts = {"cam_lift_exhaust": [0.262, 0.256, 0.252, 0.232]}
    full = facts(engine(cam_lift=Fit("0.262 in", "0.268 in", "0.250 in")), lifts)
    assert full.values["lobe.exhaust_verdict"] == ("good", "usable", "usable", "beyond")
    assert full.reductions["lobe.exhaust_verdict"].basis == "engine sheet"
    new_only = facts(engine(cam_lift=Fit("0.262 in", "0.268 in")), lifts)
    assert new_only.values["lobe.exhaust_verdict"] == ("good", "usable", "too_close", "beyond")
    assert new_only.reductions["lobe.exhaust_verdict"].basis == "general limit cam_lobe_short"
    silent = facts(FOUR, lifts)
    assert silent.values["lobe.exhaust_verdict"] == ("good", "usable", "too_close", "beyond")
    assert remarks(silent, "conditions not recorded", "cam_lift_exhaust")


def test_one_lobe_alone_is_not_judged_without_a_figure():
    found = facts(FOUR, {"cam_lift_inlet": [0.250, None, None, None]})
    assert "lobe.inlet_verdict" not in found.values
    assert remarks(found, "conditions not recorded", "cam_lift_inlet")


def test_a_lift_read_behind_the_rocker_and_a_seat_in_sixty_fourths_are_questioned():
    sheet = engine(cam_lift=Fit("0.250 in", "0.256 in", "0.240 in"))
    lifts, seats = [0.365, 0.251, 0.252, 0.251], [0.40, 0.060, 0.060, 0.060]
    found = facts(sheet, {"cam_lift_inlet": lifts, "seat_width_inlet": seats})
    assert found.values["lobe.inlet_verdict"] == (None, "good", "good", "good")
    assert "rocker" in remarks(found, "questioned", "cam_lift_inlet")[0].text
    assert found.values["seat.inlet_verdict"][0] is None
    assert remarks(found, "questioned", "seat_width_inlet")


# --- the block: what can still be bored ---


def test_a_bore_past_the_last_oversize_has_no_next_one():
    sheet = engine(bore=Fit("3.5000 in", "3.5010 in", "0.008 in"), oversizes=("0.020 in", "0.040 in"))
    grids = [bore((size, size)) for size in (3.506, 3.530, 3.5405, 3.555)]
    found = facts(sheet, {"bore_size": grids})
    assert found.values["bore.next_oversize"] == ("left", "left", "none", "none")
    assert "bore.next_oversize" not in facts(engine({"bores": "wet_sleeves"}), {"bore_size": grids}).values


# --- flatness ---


@published("tm-9-4940-549-14p", "p. 12-14 step (12): 0.003 in crosswise, 0.005 in lengthwise")
def test_a_head_is_allowed_more_along_than_across():
    along = facts(FOUR, {"head_flatness_along": 0.0035, "head_flatness_across": 0.0010})
    across = facts(FOUR, {"head_flatness_along": 0.0010, "head_flatness_across": 0.0045})
    assert along.values["head.flatness"] == "usable" and across.values["head.flatness"] == "beyond"
    assert along.reductions["head.flatness"].basis == "general limit head_warp_along"


@pytest.mark.parametrize(
    ("limit_in", "gap", "word"),
    [
        cited("tm-5-3810-306-34", "p. 4-12: 0.003 in overall", "0.003 in", 0.0045, "beyond"),
        cited("tm-5-3810-306-34", "p. 4-12: flat", "0.003 in", 0.0010, "good"),
        cited("tm-10-3930-653-14p", "p. 4-28: 0.1 mm", "0.1 mm", 0.0025, "usable"),
        cited("tm-10-3930-653-14p", "p. 4-28: past 0.1 mm", "0.1 mm", 0.0060, "beyond"),
        cited("rebuilder-education", "within 0.005 in", "0.005 in", 0.0035, "usable"),
        cited("tm-5-3810-306-34", "p. 4-12: the 0.004 in leaf enters", "0.003 in", 0.0040, "beyond"),
        cited("tm-5-3810-306-34", "p. 4-12: the 0.003 in leaf enters", "0.003 in", 0.0030, "too_close"),
        cited("tm-5-3810-306-34", "p. 4-12: the 0.002 in leaf enters", "0.003 in", 0.0020, "usable"),
        cited("rebuilder-education", "within 0.005 in: the 0.006 in leaf enters", "0.005 in", 0.0060, "beyond"),
    ],
)
def test_a_sheets_flatness_goes_first(limit_in, gap, word):
    found = facts(engine(head_flatness=limit_in), {"head_flatness_along": gap})
    assert found.values["head.flatness"] == word and found.reductions["head.flatness"].basis == "engine sheet"


def test_any_daylight_condemns_a_head_that_does_not_take_resurfacing():
    """Common practice, no source: such a head with any daylight under the straightedge means a new head."""
    stubborn = engine({"head_takes_resurfacing": "no"})
    light = facts(stubborn, {"head_flatness_along": 0.002})
    assert light.values["head.flatness"] == "beyond" and "another head" in light.reductions["head.flatness"].how
    assert facts(stubborn, {"head_flatness_along": 0.0}).values["head.flatness"] == "good"
    assert facts(FOUR, {"head_flatness_along": 0.002}).values["head.flatness"] != "beyond"


def test_a_deck_is_judged_too():
    assert facts(FOUR, {"deck_flatness_along": 0.009}).values["deck.flatness"] == "beyond"


# --- properties ---

lengths = st.floats(0.0, 0.02).map(lambda value: round(value, 5))


@settings(max_examples=80, deadline=None)
@given(lengths, lengths, st.floats(0.0001, 0.01), st.floats(0.0, 0.002))
def test_a_worse_measurement_never_gets_a_better_verdict(measured, more, limit, error):
    one, two = (
        judge.verdict_of(value, new=limit / 2, limit=limit, error=error) for value in (measured, measured + more)
    )
    assert judge.VERDICTS.index(two) >= judge.VERDICTS.index(one)


@settings(max_examples=80, deadline=None)
@given(lengths, lengths, st.floats(0.001, 0.01), st.floats(0.0, 0.002))
def test_less_load_or_lift_never_gets_a_better_verdict(measured, less, limit, error):
    def word(value):
        return judge.judge(value, "in", new=fig(limit * 2), limit=fig(limit), error=error, worse="less").verdict

    assert judge.VERDICTS.index(word(measured - less)) >= judge.VERDICTS.index(word(measured))


@settings(max_examples=80, deadline=None)
@given(st.floats(0.001, 0.01), st.floats(0.0001, 0.002), st.floats(-2, 2))
def test_the_band_that_is_too_close_is_symmetric(limit, error, share):
    if abs(abs(share) - 1) < 0.01:
        return  # the very edge
    both = {
        judge.verdict_of(limit + sign * share * error, new=None, limit=limit, error=error) == "too_close"
        for sign in (1, -1)
    }
    assert both == {abs(share) < 1}


@settings(max_examples=40, deadline=None)
@given(st.floats(0, 0.012), st.floats(0, 0.006))
def test_a_more_worn_bore_never_gets_a_better_verdict(wear, more):
    def verdict(amount):
        grid = bore((3.001 + amount, 3.001 + amount * 0.8), (3.001, 3.001))
        return facts(FOUR, {"bore_size": [grid, None, None, None]}).values["bore.verdict"][0]

    assert judge.VERDICTS.index(verdict(wear + more)) >= judge.VERDICTS.index(verdict(wear))


@settings(max_examples=40, deadline=None)
@given(st.floats(0, 0.003), st.floats(0, 0.002))
def test_a_rounder_journal_never_gets_a_worse_verdict(oval, more):
    sheet = engine(crankpins=journal("1.9980 in", "1.9990 in", ("0.0010 in", "0.0100 in"), ("0.010 in", "0.020 in")))
    order = ("good", "polish", "too_close", "grind", "replace")

    def act(amount):
        pin = ((1.9985, 1.9985 - amount), (1.9985, 1.9985))
        return facts(sheet, {"crankpin_size": [pin, *[round_journal(1.9985)] * 3]}).values["crankpin.verdict"][0]

    assert order.index(act(oval + more)) >= order.index(act(oval))


def test_the_table_of_gauge_errors_is_complete_and_positive():
    table = knowledge().gauges
    assert len(table) > 12 and all(item.error > 0 and item.unit and item.source for item in table.values())
    assert gauges.of_difference(0.0002) == pytest.approx(gauges.combined(0.0002, 0.0002))


def test_every_judged_reading_says_by_which_gauge_it_is_read():
    base = knowledge()
    judged = [fact.judge for fact in base.reduced.values() if fact.judge]
    assert len(judged) > 12
    assert not [rule.of for rule in judged if not rule.gauge and not base.observations[rule.of].gauge]


def test_flatness_of_several_ways_is_the_worst():
    one, two = (flatness.judge_flatness(gap, fig(0.004), error=0.0002, hidden=0.0005) for gap in (0.001, 0.009))
    assert flatness.verdict(one, two, None) == "beyond" and flatness.verdict(None) is None
