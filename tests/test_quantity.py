"""Units: typed the way people write them, exact against pint and NIST SP 811, and quick to load."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.model.quantity import DIMENSION, UNITS, Quantity, QuantityError, parse
from tests.published import cited

PINT_NAMES = {
    "in": "inch",
    "thou": "thou",
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "ft": "foot",
    "psi": "psi",
    "kPa": "kilopascal",
    "bar": "bar",
    "kg/cm2": "kilogram_force / centimeter ** 2",
    "inHg": "inch_Hg",
    "inH2O": "inch_H2O",
    "Pa": "pascal",
    "mmHg": "mmHg",
    "mbar": "millibar",
    "V": "volt",
    "mV": "millivolt",
    "A": "ampere",
    "cm3": "centimeter ** 3",
    "in3": "inch ** 3",
    "qt": "quart",
    "L": "liter",
    "pt": "pint",
    "ft3/h": "foot ** 3 / hour",
    "L/min": "liter / minute",
    "m3/h": "meter ** 3 / hour",
    "ft-lb": "foot_pound",
    "Nm": "newton * meter",
    "in-lb": "inch * pound_force",
    "lbf": "pound_force",
    "N": "newton",
    "h": "hour",
    "min": "minute",
    "s": "second",
    "year": "year",
    "mile": "mile",
    "km": "kilometer",
}


@pytest.fixture(scope="module")
def pint():
    import pint

    return pint.UnitRegistry()


@pytest.mark.parametrize(
    "dimension", sorted(set(DIMENSION.values()) - {"temperature", "count", "ratio", "speed", "angle"})
)
def test_every_factor_agrees_with_pint(pint, dimension):
    base = next(iter(UNITS[dimension]))
    for unit in UNITS[dimension]:
        ours = Quantity(1.0, unit).to(base)
        theirs = pint.Quantity(1.0, PINT_NAMES[unit]).to(PINT_NAMES[base]).magnitude
        # pint takes the density of real mercury and water (39 °F), NIST the conventional columns: 3 in 100,000 apart
        slack = 5e-5 if unit == "inH2O" else 2e-6 if unit in ("inHg", "mmHg") else 1e-9
        assert math.isclose(ours, theirs, rel_tol=slack), (unit, ours, theirs)


def test_temperatures_agree_with_pint(pint):
    for value in (-40.0, 0.0, 32.0, 68.0, 212.0, 356.0):
        for ours, theirs in (("degC", "degC"), ("degF", "degF"), ("K", "kelvin")):
            wanted = pint.Quantity(value, "degF").to(theirs).magnitude
            assert Quantity(value, "degF").to(ours) == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "unit", "number"),
    [
        # NIST SP 811 App. B.8 factors, read where other works quote them; exact ones from memory
        cited("nist-sp-811", "B.8 inch", "1 in", "mm", 25.4),
        cited("nist-sp-811", "B.8 foot", "1 ft", "m", 0.3048),
        cited("nist-sp-811", "B.8 psi", "1 psi", "kPa", 6.894757),
        cited("nist-sp-811", "B.8 inch of mercury, conventional", "1 in Hg", "kPa", 3.386389),
        cited("nist-sp-811", "B.8 millimetre of mercury, conventional", "1 mmHg", "Pa", 133.3224),
        cited("nist-sp-811", "B.8 inch of water, conventional", "1 in H2O", "Pa", 249.0889),
        cited("nist-sp-811", "B.8 kilogram-force per square centimetre", "1 kg/cm²", "kPa", 98.0665),
        cited("nist-sp-811", "B.8 pound-force foot", "1 ft-lb", "Nm", 1.355818),
        cited("nist-sp-811", "B.8 pound-force inch", "1 in-lb", "Nm", 0.1129848),
        cited("nist-sp-811", "B.8 pound-force", "1 lbf", "N", 4.448222),
        cited("nist-sp-811", "B.8 cubic inch", "1 in³", "cm3", 16.38706),
        cited("nist-sp-811", "B.8 quart, US liquid", "1 qt", "L", 0.9463529),
    ],
)
def test_factors_are_those_of_the_standard(text, unit, number):
    assert parse(text, unit=unit).to(unit) == pytest.approx(number, rel=5e-7)


@pytest.mark.parametrize(
    ("text", "unit", "number", "slack"),
    [
        # pairs printed side by side in manuals (check values U5)
        cited("tm-5-2420-230-24-2", "p. 14-22", "2413 kPa", "psi", 350, 0.5),
        cited("tm-5-2420-230-24-2", "p. 14-22 used", "2068 kPa", "psi", 300, 0.5),
        cited("tm-5-2420-230-24-2", "p. 14-22 spread", "690 kPa", "psi", 100, 0.5),
        cited("tm-9-2815-254-24", "p. 3-137", "123 ft-lb", "Nm", 166.8, 0.06),
        cited("tm-10-3930-653-14p", "p. 4-28", "0.1 mm", "in", 0.004, 0.0001),
        cited("tm-10-3930-653-14p", "p. 76", "1.0 mm", "in", 0.039, 0.0005),
        cited("tm-10-3930-653-14p", "p. 61", "0.2 mm", "in", 0.0079, 0.00005),
        cited("tm-10-3930-653-14p", "p. 4-41", "180 °C", "degF", 356, 0.01),
        cited("tm-5-3805-260-24", "inlet restriction", "25 in water", "mmHg", 635 / 13.5951, 0.01),
        cited("tm-5-3805-291-23-1", "0012 00", "3 psi", "kPa", 20, 0.7),
        cited("tm-9-2815-255-24", "para 3-6", "225 ft3/h", "m3/h", 6, 0.4),
    ],
)
def test_pairs_printed_in_manuals_agree(text, unit, number, slack):
    assert parse(text, unit=unit).to(unit) == pytest.approx(number, abs=slack)


@pytest.mark.parametrize(
    ("text", "unit", "number"),
    [
        ("1.497 in", "in", 1.497),
        ("38.02mm", "mm", 38.02),
        ("112 psi", "psi", 112),
        ("112psi", "psi", 112),
        ("3 7/16 in", "in", 3.4375),
        ('7/16"', "in", 0.4375),
        ("1-1/2 in", "in", 1.5),
        ("1,200 ft", "ft", 1200),
        (".0015 in", "in", 0.0015),
        ("1.5 thou", "in", 0.0015),
        ("68 °F", "degC", 20),
        ("18.5 in. Hg", "inHg", 18.5),
        ("7.9 kg/cm2", "psi", 112.36),
        ("85 lb-ft", "Nm", 115.24),
        ("-5 °C", "degF", 23),
        ("12.6", "V", 12.6),
        (250, "rpm", 250),
        ("−5 °C".replace("−", "-"), "degC", -5),
    ],
)
def test_values_are_read_the_way_people_write_them(text, unit, number):
    assert parse(text, unit=unit).to(unit) == pytest.approx(number, rel=1e-4)


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        ("112", "psi", "has no unit"),
        ("1.497", "in", "has no unit"),
        ("80 N", "ft-lb", "is a force"),
        ("12 furlong", "in", "not a unit"),
        ("abc", "in", "not a number"),
        ("", "in", "not a number"),
        ("1e999 in", "in", "finite"),
        (True, "in", "not a number"),
        ("1/0 in", "in", "not a unit"),
        ("12 psii", "psi", "did you mean"),
    ],
)
def test_a_slip_is_named_and_never_guessed(text, unit, said):
    with pytest.raises(QuantityError, match=said):
        parse(text, unit=unit)


def test_a_bare_number_is_taken_only_where_the_field_says_so():
    assert parse("112", unit="psi", bare=True) == Quantity(112.0, "psi")
    with pytest.raises(QuantityError):
        parse("112", unit="psi")


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(DIMENSION)), st.floats(-1e6, 1e6), st.data())
def test_there_and_back_is_the_same(unit, value, data):
    other = data.draw(st.sampled_from(sorted(UNITS[DIMENSION[unit]])))
    back = Quantity(Quantity(value, unit).to(other), other).to(unit)
    # a temperature near its own zero is a small difference of large numbers
    assert back == pytest.approx(value, rel=1e-9, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(set(DIMENSION) - {""})), st.floats(0.001, 9000).map(lambda value: float(f"{value:g}")))
def test_a_printed_quantity_reads_back(unit, value):
    assert parse(str(Quantity(value, unit)), unit=unit) == Quantity(value, unit)


def test_reading_a_quantity_loads_no_units_library():
    """Why there is a table here at all: the whole answer starts in well under a second, a units library alone takes a
    good part of that."""
    code = (
        "import sys, howdeep.model.quantity as q; q.parse('3 7/16 in', unit='in');"
        "sys.exit(any(name.split('.')[0] in ('pint', 'numpy') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
