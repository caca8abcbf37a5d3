"""Compression bars in a terminal."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.model.engine import Fit
from howdeep.show.bars import compression_bars, lines
from tests.bench_readings import engine, facts

SHEET = engine(cranking_compression=Fit("110 psi", "125 psi", "90 psi"))


def test_dry_wet_and_expected_stand_side_by_side():
    found = facts(SHEET, {"compression_dry": [112, 60, None, 118], "compression_wet": [116, 100, None, 120]})
    text = compression_bars(found).splitlines()
    assert "cylinder 1 dry" in text[0] and "112 psi" in text[0] and "116 psi" in text[1]
    assert text[2].count("#") < text[0].count("#") and text[3].count("+") > text[2].count("#")
    assert "not taken" in text[4]
    assert text[-1].strip() == "| expected here: 110 to 125 psi"
    assert all(len(line) <= 78 and line.isascii() for line in text)


def test_without_readings_there_is_nothing_to_show():
    assert compression_bars(facts(SHEET, {"battery_rest": 6.3})) == ""


def test_without_a_figure_no_mark_is_drawn():
    text = compression_bars(facts(engine(), {"compression_dry": [100, 90, 95, 98]}))
    assert "|" not in text and "expected" not in text and "wet" not in text


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.none() | st.floats(0, 999), min_size=1, max_size=6),
    st.integers(40, 160),
    st.lists(st.floats(0, 999), max_size=2),
)
def test_bars_keep_to_the_width_and_longer_means_more(dry, width, expected):
    rows = lines(dry, [None] * len(dry), expected, width)
    assert all(len(row) <= width for row in rows if "expected" not in row)
    if not expected:
        taken = [(value, row.count("#")) for value, row in zip(dry, rows, strict=False) if value is not None]
        assert [count for _, count in sorted(taken)] == sorted(count for _, count in taken)
