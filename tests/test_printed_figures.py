"""What a manual prints is taken as it is printed: a table of printed forms, and properties over many of them."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.knowledge.sheet_form import sheet_form
from howdeep.model.quantity import parse
from howdeep.sheets.printed import Unreadable, printed
from howdeep.sheets.printed_spans import UnitWanted
from howdeep.sheets.printed_units import OFFERED, PLURAL, SAID

from .sampling import WHOLE

FORM = sheet_form()
INCHES = {"length": "in", "pressure": "psi", "torque": "ft-lb", "force": "lbf", "speed": "rpm"}
METRIC = {"length": "mm", "pressure": "bar", "torque": "Nm", "force": "N", "speed": "rpm"}


def read(path, text, units=INCHES, beside=None):
    return printed(text, path, FORM.field(path), units, beside)


def fit(low="", high="", wear=""):
    return {name: text for name, text in (("low", low), ("high", high), ("wear", wear)) if text}


TABLE = [
    # --- fits: low, high, limit, in any order and every dress ---
    ("ring_gap", ".013-.019, limit .040", fit("0.013 in", "0.019 in", "0.040 in")),
    ("ring_gap", ".019 - .013", fit("0.013 in", "0.019 in")),
    ("ring_gap", "0.013 to 0.019 in (wear limit 0.040)", fit("0.013 in", "0.019 in", "0.040 in")),
    ("ring_gap", "0.35-0.50 mm", fit("0.35 mm", "0.50 mm")),
    ("ring_gap", "0,35 0,50 1,0 mm", fit("0.35 mm", "0.50 mm", "1.0 mm")),
    ("ring_gap", "0,35...0,50 mm; wear limit 1,2", fit("0.35 mm", "0.50 mm", "1.2 mm")),
    ("ring_gap", "0,35 to 0,50 mm (0.014-0.020 in)", fit("0.014 in", "0.020 in")),
    ("ring_gap", "0,35 - 0,50 mm (1,2 max.)", fit("0.35 mm", "0.50 mm", "1.2 mm")),
    ("ring_gap", ",013-,019 in", fit("0.013 in", "0.019 in")),
    ("ring_gap", "0,35–0,50 mm", fit("0.35 mm", "0.50 mm")),
    ("ring_gap", "13 to 19 thou", fit("0.013 in", "0.019 in")),
    ("ring_gap", ".013 min .019 max", fit("0.013 in", "0.019 in")),
    ("ring_gap", ".013 min., .019 max., replace at .040", fit("0.013 in", "0.019 in", "0.040 in")),
    ("ring_gap", "max .019, min .013", fit("0.013 in", "0.019 in")),
    ("ring_gap", ".013-.019 in. Replace at .040 in.", fit("0.013 in", "0.019 in", "0.040 in")),
    ("ring_gap", "not to exceed .040", fit(wear="0.040 in")),
    ("ring_gap", ".040 or less", fit(wear="0.040 in")),
    ("ring_gap", ".015", fit("0.015 in")),
    ("ring_gap", "3 thousandths", fit("0.003 in")),
    ("ring_gap", "3 thousandths of an inch", fit("0.003 in")),
    ("piston_clearance", "two and a half thou", fit("0.0025 in")),
    ("piston_clearance", "2 1/2 to 4 thou", fit("0.0025 in", "0.004 in")),
    ("piston_clearance", "5 tenths", fit("0.0005 in")),
    ("valve_stem_inlet", ".001/.003", fit("0.001 in", "0.003 in")),
    ("ring_gap", ".014-.020 in (.35-.50 mm)", fit("0.014 in", "0.020 in")),
    ("ring_gap", ".35-.50 mm (.014-.020 in)", fit("0.014 in", "0.020 in")),
    ("seat_width", "1/16-3/32 in", fit("1/16 in", "3/32 in")),
    ("end_play", "4 to 8 thousandths of an inch", fit("0.004 in", "0.008 in")),
    ("cam_lift", ".290-.296, minimum .276", fit("0.290 in", "0.296 in", "0.276 in")),
    ("plug_gap", ".025", fit("0.025 in")),
    # --- bores and journals ---
    ("bore", "3 7/16", fit("3 7/16 in")),
    ("bore", '3-7/16"', fit("3 7/16 in")),
    ("bore", "3½ in", fit("3 1/2 in")),
    ("bore", "3.4370-3.4380", fit("3.4370 in", "3.4380 in")),
    ("bore", "87,20-87,25 mm", fit("87.20 mm", "87.25 mm")),
    ("bore", "3.4375 +.0005 -.0005", fit("3.437 in", "3.438 in")),
    ("bore", "3.4375 ± .0005 in", fit("3.437 in", "3.438 in")),
    ("bore", "3.437 3.438 .008", fit("3.437 in", "3.438 in", "0.008 in")),
    ("bore", "3.437/3.438, wear limit 3.446", fit("3.437 in", "3.438 in", "0.009 in")),
    ("crankpins.size", "1.937-1.938", fit("1.937 in", "1.938 in")),
    ("crankpins.size", "1.937-1.938, minimum 1.935", fit("1.937 in", "1.938 in", "1.935 in")),
    ("crankpins.size", "1.937-1.938 limit .002", fit("1.937 in", "1.938 in", "1.935 in")),
    # --- pressures, loads, speeds ---
    ("cranking_compression", "115-130 psi, minimum 95", fit("115 psi", "130 psi", "95 psi")),
    ("cranking_compression", "120 lbs per sq. in.", fit("120 psi")),
    ("cranking_compression", "8 kg/cm²", fit("8 kg/cm2")),
    ("cranking_compression", "95 psi minimum", fit(wear="95 psi")),
    ("cranking_compression", "not less than 95 psi", fit(wear="95 psi")),
    ("oil_pressure_idle", "7 lbs", fit("7 psi")),
    ("oil_pressure_speed", "20-30, minimum 15", fit("20 psi", "30 psi", "15 psi")),
    ("oil_pressure_speed", "2,5 - 3,5 bar", fit("2.5 bar", "3.5 bar")),
    ("oil_pressure_speed", "0.3 MPa", fit("300 kPa")),
    ("cap_pressure", "7 lb", "7 psi"),
    ("cranking_rpm", "1,800 rpm", "1800 rpm"),
    ("cranking_rpm", "150-200", "175 rpm"),
    ("cranking_rpm", "185 r.p.m.", "185 rpm"),
    # --- single figures ---
    ("compression_spread_percent", "15 %", "15 percent"),
    ("compression_spread", "10 lbs", "10 psi"),
    ("blow_by", "60 cfh at 1500 rpm", "60 ft3/h"),
    ("stroke", "3.9", "3.9 in"),
    ("stroke", "4-1/4", "4 1/4 in"),
    ("stroke", "100 mm", "100 mm"),
    ("lash_inlet", "0.012 hot", "0.012 in"),
    ("lash_inlet", ".010-.012 in. hot", "0.012 in"),
    ("lash_inlet", "0.022", "0.022 in"),
    ("lash_inlet", "three thou cold", "0.003 in"),
    ("valve_margin", "1/32", "1/32 in"),
    ("valve_margin", "1/32 to 3/64 in", "1/32 in"),
    ("bore_taper", ".005 max", "0.005 in"),
    # --- sizes in a row ---
    ("oversizes", ".020, .030, .040 and .060", ["0.020 in", "0.030 in", "0.040 in", "0.060 in"]),
    ("oversizes", "20,30,40 thou", ["0.020 in", "0.030 in", "0.040 in"]),
    ("oversizes", "0,25 0,50 0,75 mm", ["0.25 mm", "0.50 mm", "0.75 mm"]),
    ("oversizes", "0,25, 0,50 und 0,75 mm".replace("und", "and"), ["0.25 mm", "0.50 mm", "0.75 mm"]),
    ("oversizes", "std, .020, .010", ["0.010 in", "0.020 in"]),
    ("oversizes", "+.020 +.040", ["0.020 in", "0.040 in"]),
    ("oversizes", ".010 to .040 in steps of .010", ["0.010 in", "0.020 in", "0.030 in", "0.040 in"]),
    # --- torques ---
    ("torques.head", "65-70 ft-lb", {"value": "70 ft-lb", "least": "65 ft-lb"}),
    ("torques.head", "65 to 70 lb ft", {"value": "70 ft-lb", "least": "65 ft-lb"}),
    ("torques.head", "70 - 65 lb. ft.", {"value": "70 ft-lb", "least": "65 ft-lb"}),
    ("torques.head", "65-70 ft. lbs. (88-95 Nm)", {"value": "70 ft-lb", "least": "65 ft-lb"}),
    (
        "torques.head",
        "25, 45, 65-70 ft. lbs. (88-95 Nm)",
        {"value": "70 ft-lb", "least": "65 ft-lb", "stages": ["25 ft-lb", "45 ft-lb", "70 ft-lb"]},
    ),
    ("torques.head", "70 foot-pounds", {"value": "70 ft-lb"}),
    ("torques.head", "70 pounds feet dry", {"value": "70 ft-lb", "lubricated": "no"}),
    ("torques.head", "65 lbs", {"value": "65 ft-lb"}),
    ("torques.head", "1,200 in-lb", {"value": "1200 in-lb"}),
    ("torques.head", "9 mkg", {"value": "88.26 Nm"}),
    ("torques.head", "4,8-5,5 m.kg", {"value": "53.94 Nm", "least": "47.07 Nm"}),
    (
        "torques.head",
        "25, 45, 65-70 ft-lb oiled",
        {"value": "70 ft-lb", "least": "65 ft-lb", "stages": ["25 ft-lb", "45 ft-lb", "70 ft-lb"], "lubricated": "yes"},
    ),
    (
        "torques.head",
        "first 30 Nm, then 55 Nm, finally 80 Nm",
        {"value": "80 Nm", "stages": ["30 Nm", "55 Nm", "80 Nm"]},
    ),
    ("torques.head", "4 / 7,5 / 11 mkg", {"value": "107.9 Nm", "stages": ["39.23 Nm", "73.55 Nm", "107.9 Nm"]}),
    ("torques.head", "7/16 UNC 65 lb. ft.", {"value": "65 ft-lb", "size": "7/16-14"}),
    ("torques.head", "7/16-14, 65 lb. ft.", {"value": "65 ft-lb", "size": "7/16-14"}),
    (
        "torques.head",
        "M12x1.75 8.8 80 Nm 14 studs",
        {"value": "80 Nm", "size": "M12x1.75", "grade": "8.8", "count": 14},
    ),
    # --- numbers without units ---
    ("compression_ratio", "6.5 to 1", 6.5),
    ("compression_ratio", "6,5:1", 6.5),
    ("compression_ratio", "6½ to 1", 6.5),
    ("compression_ratio", "1:17", 17.0),
    ("compression_ratio", "17", 17.0),
    ("firing_order", "1-3-4-2", [1, 3, 4, 2]),
    ("firing_order", "1342", [1, 3, 4, 2]),
    ("firing_order", "1, 5, 3, 6, 2, 4", [1, 5, 3, 6, 2, 4]),
    ("hours.re_ring", "3 1/2", 3.5),
    ("hours.re_ring", "3:30", 3.5),
    ("hours.re_ring", "210 min", 3.5),
    ("hours.re_ring", "3,5 h", 3.5),
    ("value_running", "$2,600", "2600.00"),
    ("value_running", "2.600,00", "2600.00"),
    ("value_running", "EUR 2600", "2600.00"),
    ("build.cylinders", "four", 4),
    ("build.cylinders", "6 cyl", 6),
    # --- words ---
    ("build.layout", "OHV", "overhead_valve"),
    ("build.layout", "flat-head", "side_valve"),
    ("build.fuel", "gasoline", "petrol"),
    ("build.fuel", "Paraffin", "petrol"),
    ("build.bearings", "shells", "inserts"),
    ("build.bearings", "white metal", "babbitt"),
    ("build.ignition", "coil", "battery"),
    ("build.ignition", "mag", "magneto"),
    ("build.volts", "6v", "6"),
    ("build.volts", "12 Volt", "12"),
    ("build.use", "boat", "marine"),
    ("build.hand_crank", "y", "yes"),
    ("build.oil_gauge", "none", "no"),
    ("build.cold_aid", "heater plugs", "glow_plugs"),
    ("lash_state", "warm", "hot"),
]


@pytest.mark.parametrize(("path", "text", "value"), TABLE, ids=[f"{path}: {text}" for path, text, _ in TABLE])
def test_a_printed_form_is_taken_as_it_is_printed(path, text, value):
    made = read(path, text)
    assert made.value == value
    assert made.said


def test_what_stands_behind_at_goes_where_it_belongs():
    assert read("cranking_compression", "115-130 psi at 185 rpm").others == {"cranking_rpm": "185 rpm"}
    assert read("spring_load", "36-42 lb at 2 1/8 in").others == {"spring_length": "2 1/8 in"}
    assert read("spring_load", "40 lbs @ 1.75").others == {"spring_length": "1.75 in"}
    assert read("blow_by", "60 ft3/h at 1500 rpm").others == {"blow_by_rpm": "1500 rpm"}
    assert read("lash_inlet", ".013 cold").others == {"lash_state": "cold"}
    assert "left out" in read("oil_pressure_speed", "25 psi at 1800 rpm").said


def test_a_limit_typed_alone_joins_the_band_that_is_there():
    made = read("ring_gap", "limit .040", beside={"low": "0.013 in", "high": "0.019 in"})
    assert made.value == fit("0.013 in", "0.019 in", "0.040 in")
    made = read("bore", "limit 3.446", beside={"low": "3.437 in", "high": "3.438 in"})
    assert made.value["wear"] == "0.009 in" and "diameter" in made.said


@pytest.mark.parametrize(
    ("path", "text", "words"),
    [
        ("ring_gap", "65 psi", "a length is wanted"),
        ("ring_gap", "hello", "no unit or word known"),
        ("ring_gap", "tight", "no unit or word known"),
        ("ring_gap", ".35-.50 mm (.014-.030 in)", "are not the same"),
        ("ring_gap", ".01 .02 .03 .04", "more figures than low, high and limit"),
        ("stroke", "3 4 5", "several figures"),
        ("torques.head", "65, 45, 25 ft-lb", "stages rise"),
        ("torques.head", "65 psi", "a torque is wanted"),
        ("firing_order", "1-3-3-2", "each cylinder once"),
        ("firing_order", "clockwise", "no firing order"),
        ("build.layout", "sideways flow", "none of: side_valve, overhead_valve"),
        ("build.cylinders", "8", "not 1 to 6"),
        ("build.fuel", "coal", "petrol, diesel"),
        ("compression_ratio", "high", "no ratio"),
        ("hours.re_ring", "a day", "not hours"),
        ("value_running", "a lot", "not a sum"),
        ("oversizes", "std", "no figure"),
        ("oversizes", ".010 to .040 in steps of .007", "do not lead"),
    ],
)
def test_what_cannot_be_taken_says_why_and_what_is_wanted(path, text, words):
    with pytest.raises(Unreadable, match=words):
        read(path, text)


def test_a_bare_figure_asks_for_its_unit_and_no_other_does():
    with pytest.raises(UnitWanted) as wanted:
        read("ring_gap", ".013-.019", {})
    assert wanted.value.dimension == "length"
    assert read("ring_gap", ".013-.019 in", {}).unit == "in"
    assert read("ring_gap", "13-19", {"length": "thou"}).value == fit("0.013 in", "0.019 in")
    assert read("torques.head", "9", {"torque": "kgf-m"}).value == {"value": "88.26 Nm"}


def test_a_unit_in_brackets_says_nothing_of_bare_figures_outside():
    assert read("pin_clearance", "0,010 to 0,022 (0.0004-0.0009 in)", METRIC).value == fit("0.010 mm", "0.022 mm")
    assert read("ring_gap", "0.013 to 0.019 in (limit 0.040)", METRIC).value == fit("0.013 in", "0.019 in", "0.040 in")
    with pytest.raises(UnitWanted):
        read("pin_clearance", "0,010 to 0,022 (0.0004-0.0009 in)", {})


def test_every_offered_unit_is_understood_and_kept_in_one_that_sheets_know():
    for dimension, units in OFFERED.items():
        for unit in units:
            from howdeep.sheets.printed_units import unit_named

            kept, factor = unit_named(unit, dimension)
            assert parse(f"1 {kept}", unit=kept).unit == kept and factor > 0
    kgf_m = SAID["torque"]["kgm"]
    assert kgf_m[:2] == ("Nm", Fraction("9.80665"))  # NIST SP 811, appendix B.8: 1 kgf.m = 9.80665 N.m


NUMBERS = st.integers(1, 9999)
DASHES = st.sampled_from(["-", " - ", " to ", "–", " – ", " thru ", "/"])


@given(NUMBERS, NUMBERS, DASHES, st.booleans(), st.sampled_from(["in", "inches", '"', "mm", ""]), st.booleans())
@settings(max_examples=400, deadline=None)
def test_a_range_is_one_range_however_it_is_written(a, b, dash, swap, unit, comma):
    """Order, dash, decimal comma, leading nought and unit say nothing about the figures."""
    low, high = sorted((a, b))
    low, high = f"{low / 10000:.4f}", f"{high / 10000:.4f}"
    first, second = (high, low) if swap else (low, high)
    kept = "mm" if unit == "mm" else "in"
    texts = [f"{first}{dash}{second} {unit}", f"{first.lstrip('0')}{dash}{second.lstrip('0')} {unit}"]
    if comma:
        texts.append(f"{first.replace('.', ',')}{dash}{second.replace('.', ',')} {unit}")
    for text in texts:
        assert read("ring_gap", text).value == fit(f"{low} {kept}", f"{high} {kept}"), text


@given(st.integers(1, 400), st.sampled_from(["thou", "thousandths", "thousandths of an inch", "thous", "mils"]))
@settings(max_examples=200, deadline=None)
def test_thousandths_are_the_same_length_as_decimals(count, word):
    made = read("bore_taper", f"{count} {word}")
    assert parse(made.value, unit="in").to("in") == pytest.approx(count / 1000, rel=1e-9)


@given(st.integers(0, 9), st.sampled_from([2, 4, 8, 16, 32, 64]), st.integers(1, 63), st.sampled_from([" ", "-"]))
@settings(max_examples=300, deadline=None)
def test_fractions_are_the_length_that_they_say(whole, bottom, top, joint):
    top = top % bottom or 1
    text = f"{whole}{joint}{top}/{bottom}" if whole else f"{top}/{bottom}"
    made = read("stroke", text)
    assert parse(made.value, unit="in").to("in") == pytest.approx(whole + top / bottom, rel=1e-12)


@given(
    st.integers(5, 300),
    st.integers(1, 40),
    st.sampled_from(
        ["ft-lb", "ft. lbs.", "lb ft", "lb. ft.", "lbs-ft", "foot pounds", "pounds-feet", "lbf·ft", "FT LB"]
    ),
)
@settings(max_examples=200, deadline=None)
def test_a_torque_is_one_torque_in_every_spelling(low, more, unit):
    assert read("torques.head", f"{low}-{low + more} {unit}").value == {
        "value": f"{low + more} ft-lb",
        "least": f"{low} ft-lb",
    }


@given(
    st.text(max_size=40),
    st.sampled_from([path for group in FORM.groups.values() for path in group.fields]),
    st.sampled_from([INCHES, METRIC, {}]),
)
@settings(max_examples=1500 if WHOLE else 500, deadline=None)
def test_no_text_at_all_breaks_the_reader(text, path, units):
    try:
        made = read(path, text, units)
    except (Unreadable, UnitWanted):
        return
    assert made.value not in (None, "") and made.said


PIECES = [
    ".013",
    "0,35",
    "3",
    "7/16",
    "1-1/2",
    "65",
    "-",
    "to",
    "in",
    "mm",
    "thou",
    "ft-lb",
    "limit",
    "max",
    "min",
    "at",
    "(",
    ")",
    ",",
    "hot",
    "±",
    "+",
    "and",
    "/",
    "std",
    "of",
    "stages",
    "every",
    "8.8",
    "M12",
    "psi",
    "kg",
    "rpm",
]


@given(
    st.lists(st.sampled_from(PIECES), max_size=9),
    st.sampled_from(
        [
            "ring_gap",
            "bore",
            "crankpins.size",
            "torques.head",
            "oversizes",
            "lash_inlet",
            "spring_load",
            "stroke",
            "compression_ratio",
            "cranking_compression",
        ]
    ),
)
@settings(max_examples=1500 if WHOLE else 500, deadline=None)
def test_no_heap_of_the_words_of_manuals_breaks_the_reader(words, path):
    try:
        made = read(path, " ".join(words))
    except (Unreadable, UnitWanted):
        return
    assert made.said


@given(NUMBERS, NUMBERS)
@settings(max_examples=200, deadline=None)
def test_a_sheets_own_figures_are_read_back_as_they_stand(a, b):
    low, high = sorted((a, b))
    text = f"{low / 10000:.4f} in to {high / 10000:.4f} in"
    first = read("ring_gap", text).value
    assert read("ring_gap", f"{first['low']} - {first['high']}").value == first


def test_every_dimension_whose_unit_can_be_asked_for_has_a_word_for_its_figures():
    assert set(OFFERED) == set(PLURAL) == set(SAID)
