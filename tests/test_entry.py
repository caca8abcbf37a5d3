"""Numbers as they are typed at the bench: blanks, commas, decimal commas, the unit once. Demo figures are invented."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from howdeep.errors import HowdeepError
from howdeep.readings.entry import UnitWanted, corrected, corrections, row_of


@pytest.mark.parametrize(
    ("typed", "count", "unit", "default", "wanted"),
    [
        ("72 70 65 74", 4, "psi", "psi", ["72 psi", "70 psi", "65 psi", "74 psi"]),
        ("72,70,65,74", 4, "psi", "psi", ["72 psi", "70 psi", "65 psi", "74 psi"]),
        ("72, 70, 65, 74 psi", 4, "psi", "", ["72 psi", "70 psi", "65 psi", "74 psi"]),
        ("72 psi, 70 psi; 65 psi, 74 psi", 4, "psi", "", ["72 psi", "70 psi", "65 psi", "74 psi"]),
        ("4,9 5,1 bar", 2, "psi", "", ["4.9 bar", "5.1 bar"]),
        ("0,05, 0,06 mm", 2, "in", "", ["0.05 mm", "0.06 mm"]),
        (".002 .003", 2, "in", "in", [".002 in", ".003 in"]),
        ("72,70", 2, "psi", "psi", ["72 psi", "70 psi"]),
        ("72,70", 1, "psi", "psi", ["72.70 psi"]),
        ("72 ? 65 -", 4, "psi", "psi", ["72 psi", None, "65 psi", None]),
        ("3 7/16 in", 1, "in", "", ["3-7/16 in"]),
        ("80/62 80/70", 2, "percent", "", ["80/62", "80/70"]),
        ("1,850", 1, "rpm", "", ["1,850"]),
        ("86,025 86,01 ? mm", 3, "in", "", ["86.025 mm", "86.01 mm", None]),
        ("18 in Hg", 1, "inHg", "", ["18 in Hg"]),
    ],
)
def test_a_row_is_read_as_it_was_meant(typed, count, unit, default, wanted):
    assert row_of(typed, count, unit=unit, default=default) == wanted


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("72 70 65", "3 figures were typed; 4 are wanted"),
        ("72 70 65 74 71", "5 figures were typed; 4 are wanted"),
        ("good", "holds no figure"),
        ("72 70 65 74 pt", "is a volume; a pressure is wanted"),
        ("72 psi 70 65 5 bar", "several units were typed"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_what_is_wanted(typed, said):
    with pytest.raises(HowdeepError, match=said):
        row_of(typed, 4, unit="psi", default="psi")


def test_bare_figures_that_could_be_in_several_units_ask_for_one_and_others_do_not():
    with pytest.raises(UnitWanted):
        row_of("72 70", 2, unit="psi")
    assert row_of("12.4", 1, unit="V") == ["12.4"]
    assert row_of("6", 1, unit="", bare=True) == ["6"]


def test_one_place_is_corrected_and_the_others_stay():
    assert corrections("3=65", 4) == {3: "65"}
    assert corrections("3 = 65 psi; 4: 70", 4) == {3: "65 psi", 4: "70"}
    assert corrections("72 70 65 74", 4) is None
    assert corrected({1: "72 psi", 3: "60 psi"}, {3: "65 psi", 1: None}) == {3: "65 psi"}
    with pytest.raises(HowdeepError, match="there is no 7 here; 1 to 4"):
        corrections("7=65", 4)


@given(
    st.lists(st.decimals(min_value="0.001", max_value="999", places=3), min_size=1, max_size=12),
    st.sampled_from([" ", "; ", "  "]),
    st.booleans(),
)
def test_blanks_and_semicolons_never_join_or_part_figures_whichever_decimal_mark_is_used(values, between, comma):
    texts = [f"{value:.3f}".replace(".", "," if comma else ".") for value in values]
    read = row_of(between.join(texts) + " mm", len(values), unit="in")
    for text, value in zip(read, values, strict=True):
        assert float(text.removesuffix(" mm")) == pytest.approx(float(value))
