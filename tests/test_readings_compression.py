"""Compression: what to expect, cylinder against cylinder, dry and wet, and when it says nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.model.engine import Fit
from howdeep.model.truth import Truth
from howdeep.readings import compression as comp
from tests.bench_readings import engine, facts, knowledge, remarks
from tests.published import cited, published

SHEET = engine(compression_ratio=6.0, cranking_compression=Fit("110 psi", "125 psi", "90 psi"))
PSI = comp.SEA_LEVEL_PSI


# --- the physics ---


@pytest.mark.parametrize(
    ("ratio", "low", "high"),
    [
        (4.5, 74.6, 89.1),
        (5, 86.7, 104.4),
        (5.5, 99.0, 120.1),
        (6, 111.5, 136.2),
        (6.5, 124.2, 152.8),
        (7, 137.1, 169.7),
        (8, 163.5, 204.7),
    ],
)
def test_polytropic_pressures_stand_as_computed_by_hand(ratio, low, high):
    """Own reference table (computed): 14.696 (r^n - 1) at n = 1.2 and 1.3."""
    assert comp.polytropic(ratio, 1.2) == pytest.approx(low, abs=0.15)
    assert comp.polytropic(ratio, 1.3) == pytest.approx(high, abs=0.15)


@published("university-physics-13", "problem 19.32: r = 1/0.09, 1 atm, gamma 1.40")
def test_an_adiabatic_textbook_compression_comes_out():
    absolute = comp.polytropic(1 / 0.09, 1.4, 1.0) + 1.0
    assert absolute == pytest.approx(29.1, abs=0.05)  # atm; the answer is computed, the statement is printed


def test_a_class_exercise_brackets_the_gauge():
    """9:1, between isothermal and adiabatic: 132.3 and 318.6 psi absolute with 14.7 psi (lecture slides, computed); the
    gauge's 200 psi lies between."""
    low, high = comp.polytropic(9, 1.0, 14.7), comp.polytropic(9, 1.4, 14.7)
    assert low + 14.7 == pytest.approx(132.3, abs=0.1)
    assert high + 14.7 == pytest.approx(318.6, abs=0.3)
    assert low < 200 < high


def test_a_car_engine_exercise_from_memory_comes_out():
    """240 to 40 cm³ from 1.00e5 Pa gives 1.23e6 Pa (university physics text; memory)."""
    assert comp.polytropic(6, 1.4, 1.0e5) + 1.0e5 == pytest.approx(1.23e6, rel=0.005)


def test_the_effective_ratio_lies_between_one_and_the_full_ratio():
    for ratio in (4.5, 6.0, 17.0):
        assert 1 < comp.effective_ratio(ratio) < ratio
        assert comp.effective_ratio(ratio, 0.0) == pytest.approx(ratio)
    assert comp.trapped_share(0.0) == pytest.approx(1.0)


def test_a_late_inlet_valve_leaves_less():
    shares = [comp.trapped_share(angle) for angle in (0, 20, 40, 60, 80)]
    assert shares == sorted(shares, reverse=True)
    with pytest.raises(HowdeepError, match="not credible"):
        comp.trapped_share(120)


@published("tm-10-3930-618-20", "para 2-12: normal 120 to 125 psi, lift-truck engine")
def test_the_band_of_an_ordinary_ratio_takes_in_what_a_maker_prints():
    """The manual does not give the ratio; 6.0 to 6.5 was usual for such engines (memory)."""
    for ratio in (6.0, 6.5):
        band = comp.expected_from_ratio(ratio)
        assert band.low < 120 and band.high > 125


@published("tm-5-2420-230-24-2", "p. 14-22: 350 psi new, 300 psi used at 250 rpm, all within 100 psi")
def test_a_diesel_family_is_judged_by_its_own_figure():
    diesel = engine({"fuel": "diesel", "ignition": "none"}, cranking_compression=Fit("350 psi", "", "300 psi"))
    found = facts(diesel, {"compression_dry": [355, 340, 305, 295]})
    assert found.values["compression.level"] == ("normal", "normal", "normal", "low")
    assert found.reductions["compression.level"].basis == "engine sheet"


def test_a_ratio_that_is_none_is_refused():
    for ratio in (1.0, 0.5, 45.0):
        with pytest.raises(HowdeepError, match="ratio"):
            comp.expected_from_ratio(ratio)
    with pytest.raises(HowdeepError, match="no cranking compression"):
        comp.expected_from_sheet(None, None, 90)


# --- cylinder against cylinder ---


@published("tm-1-1500-204-23-1", "compression test step 8 and note: 20 % below the average")
def test_a_cylinder_a_fifth_below_the_average_stands_out():
    compared = comp.compare((120, 120, 120, 84))
    assert compared.below_average[3] == pytest.approx(24.3, abs=0.1)
    assert knowledge().limits["compression_below_average_percent"].value == 20
    assert comp.compare((120, 118, 112, 100)).below_average[3] < 20


@published("tm-10-3930-618-20", "para 2-12: cylinders within 10 psi")
def test_a_set_inside_the_manuals_ten_pounds_raises_nothing():
    found = facts(SHEET, {"compression_dry": [124, 120, 118, 115]})
    assert set(found.values["compression.level"]) == {"normal"}
    assert found.values["compression.lowest_to_highest"] > 90


@published("auto-textbook-55", "about 10 % variation")
def test_spread_and_lowest_to_highest_are_two_sides_of_one_figure():
    compared = comp.compare((100, 110))
    assert compared.spread_percent + compared.lowest_to_highest == pytest.approx(100)
    assert compared.spread_percent == pytest.approx(9.09, abs=0.01)


@published("workshop-text-1992-2012", "lowest cylinder not under 75 % of the highest")
def test_three_quarters_of_the_highest_is_the_line():
    bare = engine()
    found = facts(bare, {"compression_dry": [100, 74, 80, 48]})
    assert found.values["compression.level"] == (None, "low", None, "very_low")


def test_a_pound_above_the_line_is_doubtful_and_not_sound():
    """Judgement: a gauge is true to about four pounds, so the line is a band."""
    bare = engine()
    found = facts(bare, {"compression_dry": [100, 76, 79.5, 74]})
    assert found.values["compression.level"] == (None, "doubtful", None, "low")
    sheet = engine(cranking_compression=Fit("115 psi", "130 psi", "92 psi"))
    words = facts(sheet, {"compression_dry": [91, 93, 95.9, 97]}).values["compression.level"]
    assert words == ("low", "doubtful", "doubtful", "normal")
    assert found.reductions["compression.level"].basis == "compared between cylinders"


def test_two_neighbours_low_are_told():
    assert comp.adjacent_low((False, True, True, False)) == ((2, 3),)
    assert comp.adjacent_low((True, False, True, None)) == ()
    assert comp.adjacent_low((True, True, True)) == ((1, 2), (2, 3))


@published("od1001", "lesson 3: slipped valve timing lowers all readings")
def test_all_even_and_low_is_told_apart_from_one_bad_cylinder():
    even = facts(SHEET, {"compression_dry": [70, 72, 71, 69]})
    assert set(even.values["compression.level"]) == {"low"}
    assert comp.all_even_low(even.values["compression.level"], even.values["compression.lowest_to_highest"]) is True
    one = facts(SHEET, {"compression_dry": [118, 120, 60, 119]})
    assert one.values["compression.level"] == ("normal", "normal", "low", "normal")
    assert comp.all_even_low(one.values["compression.level"], one.values["compression.lowest_to_highest"]) is False
    assert comp.all_even_low((None, "low"), 95.0) is None


def test_carbon_reads_high():
    """Higher than normal suggests carbon (small-engine shop manual, check value C13)."""
    found = facts(SHEET, {"compression_dry": [150, 120, 118, 121]})
    assert found.values["compression.level"][0] == "high"


@published("whitman-1920", "oil on the pistons: better compression means rings")
def test_the_wet_rise_is_counted_per_cylinder():
    found = facts(SHEET, {"compression_dry": [80, 110, 60, 112], "compression_wet": [110, 114, 62, 115]})
    assert found.values["compression.wet_rise"] == (30, 4, 2, 3)
    percents = found.values["compression.wet_rise_percent"]
    assert percents[0] == pytest.approx(37.5) and percents[2] == pytest.approx(3.33, abs=0.01)
    limit = knowledge().limits["wet_rise_percent"].value
    assert percents[0] >= limit > percents[2]


def test_a_dead_cylinder_and_all_dead_cylinders_are_counted_without_a_fault():
    assert comp.compare((0, 0)).lowest_to_highest == 100
    assert comp.wet_rise_percent((0,), (20,)) == (2000.0,)
    found = facts(SHEET, {"compression_dry": [0, 118, 119, 120]})
    assert found.values["compression.level"][0] == "very_low"


def test_one_cylinder_is_compared_with_nobody():
    single = engine({"cylinders": 1})
    found = facts(single, {"compression_dry": [55]})
    assert "compression.spread_percent" not in found.values
    assert "compression.level" not in found.values  # nothing to judge by


# --- low ratios and splash oil ---


def test_a_low_ratio_engine_is_never_alarmed_by_absolute_figures():
    """Sound readings of 40 to 70 psi can be normal on 1920s side-valves (single voice and memory in the notes)."""
    old = engine(compression_ratio=4.6)
    found = facts(old, {"compression_dry": [48, 50, 47, 49]})
    assert "compression.percent_of_expected" not in found.values
    assert "compression.level" not in found.values
    assert remarks(found, "conditions not recorded", "compression_dry")
    one = facts(old, {"compression_dry": [68, 70, 30, 69]})
    assert one.values["compression.level"] == ("normal", "normal", "very_low", "normal")


@pytest.mark.parametrize("changes", [{"oiling": "splash"}, {"electric_start": "no"}])
def test_splash_oil_or_a_hand_crank_makes_the_ratio_too_rough(changes):
    found = facts(engine(changes, compression_ratio=6.5), {"compression_dry": [60, 62, 61, 60]})
    assert "compression.percent_of_expected" not in found.values
    assert "compression.level" not in found.values


def test_an_ordinary_engine_without_a_figure_is_still_seen_to_be_low():
    found = facts(engine(compression_ratio=8.0), {"compression_dry": [60, 62, 61, 60]})
    assert set(found.values["compression.level"]) == {"very_low"}
    assert found.values["compression.percent_of_expected"][0] < 50
    assert found.reductions["compression.percent_of_expected"].basis == "arithmetic"


def test_the_sheet_goes_before_the_ratio():
    found = facts(SHEET, {"compression_dry": [118, 115, 112, 111]})
    assert found.values["compression.percent_of_expected"] == (100, 100, 100, 100)
    assert found.reductions["compression.percent_of_expected"].basis == "engine sheet"
    assert "engine sheet" in found.reductions["compression.level"].how


# --- altitude ---


@published("compression-altitude-letter", "120 psi becomes about 100 psi at 5000 ft")
def test_sound_readings_in_the_mountains_are_not_low():
    figure = replace(SHEET, cranking_compression=Fit("120 psi", "125 psi", "100 psi"))
    low = facts(figure, {"compression_dry": [99, 100, 98, 100]})
    assert low.values["compression.percent_of_expected"][0] < 85
    high = facts(figure, {"compression_dry": [100, 101, 100, 102]}, altitude="5000 ft")
    assert high.values["compression.percent_of_expected"] == (100, 100, 100, 100)
    assert set(high.values["compression.level"]) == {"normal"}


def test_an_unrecorded_altitude_is_said():
    found = facts(SHEET, {"compression_dry": [112, 113, 114, 112]}, altitude="")
    assert any("sea level" in item.text for item in found.remarks)


def test_metres_and_feet_are_one_place():
    feet, metres = (
        facts(SHEET, {"compression_dry": [99, 99, 99, 99]}, altitude=text) for text in ("5000 ft", "1524 m")
    )
    assert feet.values["compression.expected_low"] == pytest.approx(metres.values["compression.expected_low"])


def test_an_altitude_that_cannot_be_is_questioned_and_sea_level_taken():
    found = facts(SHEET, {"compression_dry": [112, 113, 114, 112]}, altitude="90000 ft")
    assert "altitude" in remarks(found, "questioned", "compression_dry")[0].text
    assert set(found.values["compression.level"]) == {"normal"}


# --- validity ---


def test_an_invalid_test_draws_nothing_and_asks_to_be_repeated():
    values = {"compression_dry": [60, 62, 61, 60], "compression_wet": [90, 92, 91, 90], "test_throttle_open": "no"}
    shut = facts(SHEET, values, valid=Truth.ABSENT)
    if knowledge().observations["compression_dry"].valid_when is None:
        pytest.fail("compression_dry has no validity conditions in the rule base")
    assert shut.values["compression.valid"] == "no"
    assert not any(name.startswith("compression.") and name != "compression.valid" for name in shut.values)
    assert "compression_dry" not in shut.values and "compression_dry" not in shut.reductions
    told = remarks(shut, "not valid", "compression_dry")
    assert told and told[0].instead == "compression_dry" and "repeat" in told[0].text


def test_unrecorded_conditions_are_said_and_the_reading_counts():
    found = facts(SHEET, {"compression_dry": [112, 113, 114, 112]}, valid=Truth.UNKNOWN)
    assert remarks(found, "conditions not recorded", "compression_dry")
    assert "compression.level" in found.values and "compression.valid" not in found.values


@published("tm-1-1500-204-23-1", "compression test step 8: at least two impulses for a true reading")
def test_too_few_strokes_make_the_test_invalid():
    found = facts(SHEET, {"compression_dry": [60, 62, 61, 60], "compression_strokes": 2})
    assert found.values["compression.valid"] == "no"
    assert "compression.level" not in found.values
    assert facts(SHEET, {"compression_dry": [112] * 4, "compression_strokes": 6}).values["compression.valid"] == "yes"


def test_a_wet_test_on_a_diesel_is_refused_and_leakage_offered():
    diesel = engine({"fuel": "diesel", "ignition": "none"}, cranking_compression=Fit("350 psi", "400 psi", "300 psi"))
    found = facts(diesel, {"compression_dry": [250, 360, 355, 352], "compression_wet": [330, 365, 360, 355]})
    told = remarks(found, "refused", "compression_wet")
    assert told and told[0].instead == "leakage" and "diesel" in told[0].text
    assert "compression_wet" not in found.values and "compression.wet_rise" not in found.values
    assert found.values["compression.level"][0] == "low"


# --- what cannot be ---


@pytest.mark.parametrize(("value", "slip"), [(400, "kPa"), (1150, "decimal")])
def test_four_hundred_psi_on_a_six_to_one_engine_is_questioned_with_the_slip_named(value, slip):
    found = facts(SHEET, {"compression_dry": [value, 112, 113, 114]})
    told = remarks(found, "questioned", "compression_dry")
    assert told and slip in told[0].text and "cylinder 1" in told[0].text
    assert found.values["compression_dry"][0] is None
    assert found.values["compression.level"][0] is None and found.values["compression.level"][1] == "normal"


def test_readings_in_bar_are_not_taken_for_psi():
    found = facts(SHEET, {"compression_dry": [8.1, 8.0, 7.9, 8.2]})
    told = remarks(found, "questioned", "compression_dry")
    assert told and "bar" in told[0].text
    assert "compression.level" not in found.values


# --- the maker's own limits, as the works print them ---


@pytest.mark.parametrize(
    ("sheet", "dry", "word"),
    [
        cited(
            "tm-10-3930-618-20",
            "para 2-12: not more than 10 psi",
            {"compression_spread": "10 psi"},
            [125, 120, 124, 122],
            "within",
        ),
        cited(
            "tm-10-3930-618-20",
            "para 2-12: past 10 psi",
            {"compression_spread": "10 psi"},
            [125, 111, 124, 122],
            "past",
        ),
        cited(
            "tm-5-2420-230-24-2",
            "p. 14-22: all within 100 psi",
            {"compression_spread": "100 psi"},
            [350, 345, 300, 262],
            "within",
        ),
        cited(
            "tm-5-2420-230-24-2",
            "p. 14-22: past 100 psi",
            {"compression_spread": "100 psi"},
            [360, 345, 300, 250],
            "past",
        ),
        cited(
            "auto-textbook-55",
            "summary: about 10 %",
            {"compression_spread_percent": "10 percent"},
            [120, 118, 115, 114],
            "within",
        ),
        cited(
            "auto-textbook-55",
            "summary: past 10 %",
            {"compression_spread_percent": "10 percent"},
            [120, 118, 115, 104],
            "past",
        ),
    ],
)
def test_the_makers_own_spread_is_judged_in_pounds_and_in_percent(sheet, dry, word):
    found = facts(engine({"fuel": "diesel"} if max(dry) > 200 else None, **sheet), {"compression_dry": dry})
    assert found.values["compression.spread_verdict"] == word
    assert found.reductions["compression.spread_verdict"].basis == "engine sheet"


def test_where_the_sheet_gives_both_limits_either_is_enough_to_be_past():
    both = engine(compression_spread="30 psi", compression_spread_percent="10 percent")
    assert facts(both, {"compression_dry": [120, 118, 115, 100]}).values["compression.spread_verdict"] == "past"
    close = facts(both, {"compression_dry": [120, 118, 115, 108]})
    assert close.values["compression.spread_verdict"] == "too_close"
    assert any(
        remark.kind == "too close to call" and "what the sheet allows" in remark.text for remark in close.remarks
    )
    assert "compression.spread_verdict" not in facts(engine(), {"compression_dry": [120, 118, 115, 100]}).values


@published("compression-altitude-letter", "correction of a gauge reading for height")
def test_a_makers_pounds_shrink_with_the_air_pressure():
    sheet, dry = engine(compression_spread="20 psi"), [100, 98, 97, 79.6]
    assert facts(sheet, {"compression_dry": dry}).values["compression.spread_verdict"] == "too_close"
    assert facts(sheet, {"compression_dry": dry}, altitude="5000 ft").values["compression.spread_verdict"] == "past"


@pytest.mark.parametrize(
    ("sheet", "wet", "word"),
    [
        ({}, [96, 120, 122, 121], "unmoved"),
        ({}, [110, 120, 122, 121], "up"),
        ({"wet_rise": "5 psi"}, [96, 120, 122, 121], "up"),
        ({"wet_rise_percent": "25 percent"}, [108, 120, 122, 121], "unmoved"),
        ({}, [91, 140, 122, 121], "mixed"),
        ({"wet_rise_percent": "2 percent"}, [94, 118, 120, 119], "unmoved"),
        ({"wet_rise_percent": "2 percent"}, [95, 118, 120, 119], "up"),
    ],
    ids=["little", "general", "pounds", "percent", "others", "four pounds", "five pounds"],
)
def test_the_wet_rise_is_looked_at_on_every_cylinder_by_the_makers_mark_first(sheet, wet, word):
    """The general tenth is judgement. A sound cylinder that oil lifts speaks for rings beside a low one unmoved."""
    figures = engine(cranking_compression=Fit("115 psi", "130 psi"), **sheet)
    found = facts(figures, {"compression_dry": [80, 118, 120, 119], "compression_wet": [wet[0] - 10, *wet[1:]]})
    assert found.values["compression.wet_answer"] == word


def test_carbon_is_told_by_the_pounds_of_the_sheet():
    """Common practice: some works say ten or fifteen pounds above normal, others a share."""
    figures = {"cranking_compression": Fit("115 psi", "130 psi")}
    dry = {"compression_dry": [142, 125, 126, 127]}
    assert facts(engine(**figures), dry).values["compression.level"][0] == "normal"
    assert facts(engine(**figures, compression_above="10 psi"), dry).values["compression.level"][0] == "high"


# --- properties ---

readings = st.lists(st.floats(0, 200), min_size=2, max_size=6)


@settings(max_examples=60, deadline=None)
@given(readings, st.floats(0.1, 1.0))
def test_a_common_scale_of_the_gauge_changes_no_comparison(values, factor):
    values = [round(value, 3) for value in values]
    one, two = comp.compare(values), comp.compare([value * factor for value in values])
    assert one.lowest_to_highest == pytest.approx(two.lowest_to_highest, abs=1e-6)


ORDER = ["very_low", "low", "doubtful", None, "normal", "high"]


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 160), st.floats(0, 40))
def test_a_lower_reading_never_gets_a_better_word(value, less):
    expected = comp.expected_from_sheet(110, 125, 90)
    marks = {"low_percent": 75, "very_low_percent": 50, "high_percent": 115, "neighbour_percent": 75, "error": 4}
    better, worse = (comp.levels((item,), expected, **marks)[0] for item in (value, max(0.0, value - less)))
    assert ORDER.index(worse) <= ORDER.index(better)
