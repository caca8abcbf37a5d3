"""Tightening: K D F against worked examples, units, stages, and the order from the centre outward."""

from __future__ import annotations

from math import hypot

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.model.quantity import Quantity, QuantityError, parse
from howdeep.readings import torque
from tests.published import published


@published("bolt-worked-example", "M10 8.8 at 50 N·m, K 0.20: 25 kN, 431 MPa on 58 mm², 71.8 % of 34.8 kN")
def test_the_printed_worked_example_comes_out():
    pull = torque.pull_n(50, 0.20, 10)
    assert pull == pytest.approx(25000)
    area = torque.thread("M10").area_mm2
    assert area == pytest.approx(58.0, abs=0.1)
    assert pull / area == pytest.approx(431, abs=1)
    assert 100 * pull / (area * 600) == pytest.approx(71.8, abs=0.15)


@published("torque-tutorial", "K 0.20-0.25 dry, 0.15-0.20 oiled; 75 % of proof load")
def test_nut_factors_are_those_printed():
    assert torque.NUT_FACTORS == {False: (0.20, 0.25), True: (0.15, 0.20)}
    low, high = torque.suggested("M10", "8.8", lubricated=True)
    assert high / low == pytest.approx(0.20 / 0.15)
    assert torque.pull_n(low, 0.15, 10) == pytest.approx(0.75 * torque.thread("M10").area_mm2 * 580)


@pytest.mark.parametrize(
    ("size", "diameter", "area_in2"),
    [
        ("7/16-14", 0.4375, 0.1063),
        ("1/2-13", 0.5, 0.1419),
        ("3/8-16", 0.375, 0.0775),
        ("5/16-24", 0.3125, 0.0580),
        ("1 1/8-7", 1.125, 0.763),
    ],
)
def test_inch_threads_have_their_stress_area(size, diameter, area_in2):
    """Stress areas of the unified series (memory)."""
    thread = torque.thread(size)
    assert thread.diameter_mm == pytest.approx(diameter * 25.4)
    assert thread.area_mm2 / 645.16 == pytest.approx(area_in2, rel=0.003)


@pytest.mark.parametrize("size", ["10", "M", "M7", "7/0-14", "bolt", "7/16", "M10x"])
def test_what_is_no_thread_is_refused(size):
    with pytest.raises(HowdeepError, match="no thread size"):
        torque.thread(size)


@pytest.mark.parametrize(
    ("value", "size", "grade", "word"),
    [
        ("50 ft-lb", "7/16-14", "5", "plausible"),
        ("70 Nm", "7/16-14", "5", "plausible"),
        ("50 Nm", "M10", "8.8", "plausible"),
        ("500 ft-lb", "7/16-14", "5", "high"),
        ("5 ft-lb", "7/16-14", "5", "low"),
        ("240 in-lb", "5/16-18", "5", "plausible"),
    ],
)
def test_a_sheets_figure_is_held_against_its_fastener(value, size, grade, word):
    checked = torque.check(parse(value, unit="ft-lb"), size, grade, lubricated=True)
    assert checked.word == word and checked.low_percent < checked.high_percent
    assert value.split()[0] in checked.how


def test_the_likely_slip_is_named():
    tenfold = torque.check(parse("500 ft-lb", unit="ft-lb"), "7/16-14", "5", lubricated=True)
    assert any("decimal" in slip for slip in tenfold.slips) and any("in-lb" in slip for slip in tenfold.slips)
    metric = torque.check(parse("95 ft-lb", unit="ft-lb"), "7/16-14", "5", lubricated=True)
    assert any("Nm" in slip for slip in metric.slips)


def test_a_grade_or_a_unit_that_is_none_is_refused():
    with pytest.raises(HowdeepError, match="no grade"):
        torque.check(Quantity(50, "Nm"), "M10", "7.5", lubricated=True)
    with pytest.raises(QuantityError, match="is a pressure"):
        torque.check(Quantity(50, "psi"), "M10", "8.8", lubricated=True)


def test_stages_are_thirds_unless_the_sheet_says():
    assert torque.stages("60 ft-lb") == ("20 ft-lb", "40 ft-lb", "60 ft-lb")
    assert torque.stages("60 ft-lb", ("30 ft-lb", "60 ft-lb")) == ("30 ft-lb", "60 ft-lb")
    assert torque.stages("60 ft-lb", ("30 ft-lb",)) == ("30 ft-lb", "60 ft-lb")
    assert torque.stages("81.3 Nm")[-1] == "81.3 Nm"


def test_ten_bolts_in_two_rows_start_in_the_middle():
    """From the centre outward, crosswise (common practice)."""
    order = torque.sequence(torque.rows_of(10))
    assert set(order[:2]) == {3, 8} and set(order[-4:]) == {1, 5, 6, 10}
    assert torque.sequence(()) == () and torque.sequence(((0.0, 0.0),)) == (1,)
    with pytest.raises(HowdeepError):
        torque.rows_of(0)


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 24), st.integers(1, 3))
def test_a_sequence_names_every_bolt_once_and_never_goes_back_inward(count, rows):
    places = torque.rows_of(count, rows)
    order = torque.sequence(places)
    assert sorted(order) == list(range(1, count + 1))
    middle = tuple((min(axis) + max(axis)) / 2 for axis in zip(*places, strict=True))
    away = [round(hypot(places[number - 1][0] - middle[0], places[number - 1][1] - middle[1]), 6) for number in order]
    assert away == sorted(away)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.1, 0.3), st.floats(5, 25), st.floats(1, 500))
def test_torque_and_pull_are_inverse(factor, diameter, newton_metres):
    pull = torque.pull_n(newton_metres, factor, diameter)
    assert torque.torque_nm(factor, diameter, pull) == pytest.approx(newton_metres)


@settings(max_examples=40, deadline=None)
@given(st.floats(5, 300), st.floats(1, 200))
def test_a_higher_figure_never_pulls_less(value, more):
    one, two = (torque.check(Quantity(item, "Nm"), "7/16-14", "5", lubricated=True) for item in (value, value + more))
    words = ("low", "plausible", "high")
    assert two.high_percent > one.high_percent and words.index(two.word) >= words.index(one.word)
