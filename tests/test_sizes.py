"""Right sizes: shells, grinding, rebore, rings for the piston that is in, shims, and why not another size."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.knowledge.where import shipped_cases
from howdeep.model.engine import Fit
from howdeep.readings import crank_plan, sizes
from howdeep.readings.bores import fitted_oversize
from howdeep.readings.figures import Band, Figure
from howdeep.readings.journals import Measured, clearance_by_sizes, shell_bore
from tests.bench_readings import bore, choices, engine, facts, journal, remarks, round_journal
from tests.published import cited, published

MM = 1 / 25.4


def fig(value: float) -> Figure:
    return Figure(value, "in", "engine sheet")


def crank(undersizes=("0.002 in", "0.010 in", "0.020 in"), **more):
    return journal("1.498 in", "1.499 in", ("0.0010 in", "0.0025 in"), undersizes, **more)


# --- shells ---


def test_a_journal_of_1_497_takes_the_two_thou_under_shell():
    """Common practice, no source: standard 1.498-1.499 in, measuring 1.497 in."""
    chosen = choices(engine(crankpins=crank()), {"crankpin_size": [round_journal(1.497)] * 4})
    assert chosen["size.rod_bearings"].size == "0.002 in under"
    assert chosen["size.rod_bearings"].measured_from == "crankpin_size"
    told = " ".join(chosen["size.rod_bearings"].rejected)
    assert "standard would leave" in told and "0.010 in under would bind" in told


def test_every_other_size_is_rejected_with_a_reason():
    chosen = choices(engine(crankpins=crank()), {"crankpin_size": [round_journal(1.4985)] * 4})
    assert chosen["size.rod_bearings"].size == "standard"
    assert len(chosen["size.rod_bearings"].rejected) == 3


def test_worn_journals_may_take_different_shells():
    chosen = choices(
        engine(crankpins=crank()), {"crankpin_size": [round_journal(size) for size in (1.4988, 1.4970, 1.4986, 1.4972)]}
    )
    assert chosen["size.rod_bearings"].size == "standard (1, 3), 0.002 in under (2, 4)"


@published("tm-9-2815-260-24", "p. 5-65: tapered or out of round: grind and fit matching undersize bearings")
def test_a_tapered_journal_has_all_ground_and_matching_shells():
    sheet = crank(("0.010 in", "0.020 in"), taper="0.0010 in")
    tapered = ((1.4985, 1.4985), (1.4960, 1.4960))
    chosen = choices(engine(crankpins=sheet), {"crankpin_size": [tapered, *[round_journal(1.4985)] * 3]})
    assert chosen["size.rod_bearings"].size == "0.010 in under, all ground to 0.010 in under"


@published("tm-5-3431-205-15", "most regrind 0.040 in")
def test_a_crank_is_not_ground_past_forty_thou():
    band = Band(fig(1.498), fig(1.499))
    ground = sizes.choose_grind([(1.4560, 1.4570)], band, (0.010, 0.020, 0.030, 0.040, 0.050), most_under=0.040)
    assert ground.undersize is None
    assert "more than the 0.040 in" in ground.rejected[-1].why
    assert (
        sizes.choose_grind([(1.4700, 1.4710)], band, (0.010, 0.020, 0.030, 0.040), most_under=0.040).undersize == 0.030
    )


def test_the_sheets_smallest_diameter_goes_before_the_general_one():
    band = Band(fig(1.498), fig(1.499))
    ground = sizes.choose_grind([(1.4850, 1.4860)], band, (0.010, 0.020), smallest=1.4800, most_under=0.040)
    assert ground.undersize is None and "smallest diameter" in ground.rejected[-1].why


def test_a_crank_that_no_undersize_cleans_up_is_replaced():
    sheet = crank(("0.010 in",), out_of_round="0.0008 in")
    oval = ((1.4985, 1.4800), (1.4985, 1.4985))
    on = engine(crankpins=sheet)
    found = facts(on, {"crankpin_size": [oval, *[round_journal(1.4985)] * 3]})
    assert found.values["crankpin.verdict"][0] == "replace"
    assert "another crankshaft" in found.reductions["crankpin.verdict"].how
    assert "size.rod_bearings" not in choices(on, {"crankpin_size": [oval, *[round_journal(1.4985)] * 3]})


def test_the_sheets_wear_diameter_lets_a_worn_journal_stay():
    sheet = journal(
        "2.0615 in", "2.0625 in", ("0.0012 in", "0.0030 in", "0.0045 in"), ("0.010 in",), out_of_round="0.0008 in"
    )
    worn = engine(crankpins=journal("2.0615 in", "2.0625 in", ("0.0012 in", "0.0030 in", "0.0045 in"), ("0.010 in",)))
    stays = engine(
        crankpins=type(sheet)(
            size=Fit("2.0615 in", "2.0625 in", "2.0600 in"), clearance=sheet.clearance, undersizes=sheet.undersizes
        )
    )
    values = {"crankpin_size": [round_journal(2.0605)] * 4}
    assert set(facts(worn, values).values["crankpin.verdict"]) == {"grind"}
    assert set(facts(stays, values).values["crankpin.verdict"]) == {"polish"}
    assert set(facts(stays, {"crankpin_size": [round_journal(2.0595)] * 4}).values["crankpin.verdict"]) == {"grind"}
    assert set(facts(stays, {"crankpin_size": [round_journal(2.0601)] * 4}).values["crankpin.verdict"]) == {"too_close"}


def test_a_smeared_bearing_means_a_polish_at_least():
    on = engine(crankpins=crank())
    values = {"crankpin_size": [round_journal(1.4985)] * 4, "bearing_look": ["smeared", "good", "good", "good"]}
    assert facts(on, values).values["crankpin.verdict"] == ("polish", "good", "good", "good")


def test_the_strip_in_the_old_shells_stands_beside_the_sizes():
    values = {"crankpin_size": [round_journal(1.497)] * 4, "rod_clearance": [0.0032] * 4}
    confirmed = choices(engine(crankpins=crank()), values)["size.rod_bearings"].confirmed_by
    assert "0.0032 in by strip in the old shells" in confirmed and "0.002 in under" in confirmed


def test_nothing_is_ordered_on_a_reading_that_is_too_close_or_questioned():
    oval = ((1.4985, 1.4975), (1.4985, 1.4975))
    on = engine(crankpins=crank(("0.010 in",), out_of_round="0.0010 in"))
    assert (
        facts(on, {"crankpin_size": [oval, *[round_journal(1.4985)] * 3]}).values["crankpin.verdict"][0] == "too_close"
    )
    assert "size.rod_bearings" not in choices(on, {"crankpin_size": [oval, *[round_journal(1.4985)] * 3]})
    assert "size.rod_bearings" not in choices(on, {"crankpin_size": [round_journal(1.6)] * 4})


# --- wrong journal, wrong unit ---


@pytest.mark.parametrize(("size", "slip"), [(2.374, "main journal"), (14.985, "decimal"), (38.062, "mm")])
def test_a_journal_larger_than_standard_is_questioned_with_the_slip_named(size, slip):
    on = engine(crankpins=crank(), mains=journal("2.3735 in", "2.3745 in", ("0.001 in", "0.003 in"), (), count=3))
    found = facts(on, {"crankpin_size": [round_journal(size), *[round_journal(1.4985)] * 3]})
    told = remarks(found, "questioned", "crankpin_size")
    assert told and slip in told[0].text and "crankpin 1" in told[0].text
    assert found.values["crankpin_size"][0] is None and found.values["crankpin.verdict"][0] is None


def test_a_piston_larger_than_its_bore_is_questioned():
    found = facts(
        engine(piston_skirt="2.9985 in"),
        {"bore_size": [bore((3.0010, 3.0010))] * 4, "piston_skirt_size": [3.0100, 2.998, 2.998, 2.998]},
    )
    assert "below nothing" in remarks(found, "questioned", "piston_skirt_size")[0].text
    assert found.values["piston.clearance"][0] is None


def test_a_bore_smaller_than_standard_is_questioned():
    found = facts(engine(), {"bore_size": [bore((2.980, 2.980)), *[bore((3.001, 3.001))] * 3]})
    assert remarks(found, "questioned", "bore_size") and found.values["bore.verdict"][0] is None


def test_a_clearance_in_millimetres_is_questioned():
    sheet = engine(mains=journal("2.3735 in", "2.3745 in", ("0.001 in", "0.003 in"), (), count=3))
    told = remarks(facts(sheet, {"main_clearance": [0.06, 0.002, 0.002]}), "questioned", "main_clearance")
    assert told and "mm" in told[0].text and "0.0024" in told[0].text


# --- pistons and rings ---


@pytest.mark.parametrize(
    ("skirt", "size"),
    [(2.625, "standard"), (2.635, "0.010 in over"), (2.645, "0.020 in over"), (2.655, "0.030 in over")],
)
def test_the_skirt_tells_the_rings(skirt, size):
    """Common practice, no source: skirts of 2.625 / 2.635 / 2.645 / 2.655 in on a 2.625 in nominal."""
    on = engine(
        bore=Fit("2.627 in", "2.628 in"), piston_skirt="2.625 in", oversizes=("0.010 in", "0.020 in", "0.030 in")
    )
    chosen = choices(on, {"piston_skirt_size": [skirt] * 4})
    assert chosen["size.rings"].size == size and chosen["size.rings"].measured_from == "piston_skirt_size"
    assert len(chosen["size.rings"].rejected) == 3
    found = facts(on, {"piston_skirt_size": [skirt] * 4})
    assert found.values["piston.fitted"] == ("standard" if size == "standard" else "oversize")


def test_a_skirt_between_two_sizes_is_unclear_and_nothing_is_ordered():
    on = engine(bore=Fit("2.627 in", "2.628 in"), piston_skirt="2.625 in", oversizes=("0.010 in", "0.020 in"))
    found = facts(on, {"piston_skirt_size": [2.630, 2.635, 2.635, 2.635]})
    assert found.values["piston.fitted"] == "unclear"
    assert "size.rings" not in choices(on, {"piston_skirt_size": [2.630, 2.635, 2.635, 2.635]})


def test_a_worn_skirt_still_tells_its_size():
    assert fitted_oversize(2.6342, 2.625, (0.010, 0.020), wear=0.0013, error=0.0002) == 0.010
    assert fitted_oversize(2.6360, 2.625, (0.010, 0.020), wear=0.0013, error=0.0002) is None  # a skirt does not grow


def test_mixed_pistons_take_mixed_rings():
    on = engine(piston_skirt="2.9985 in", oversizes=("0.020 in",))
    chosen = choices(on, {"piston_skirt_size": [2.9983, 3.0183, 2.9984, 2.9984]})
    assert chosen["size.rings"].size == "standard (1, 3, 4), 0.020 in over (2)"
    assert facts(on, {"piston_skirt_size": [2.9983, 3.0183, 2.9984, 2.9984]}).values["piston.fitted"] == "unclear"


def test_the_ring_gap_confirms_the_size():
    """Common practice, no source: 0.007-0.017 in about a quarter inch down the bore confirms the size."""
    on = engine(
        bore=Fit("2.627 in", "2.628 in"),
        piston_skirt="2.625 in",
        oversizes=("0.010 in",),
        ring_gap=Fit("0.007 in", "0.017 in"),
    )
    chosen = choices(on, {"piston_skirt_size": [2.635] * 4, "ring_gap_measured": [0.012, 0.008, 0.016, 0.022]})
    told = chosen["size.rings"].confirmed_by
    assert "1: 0.0120 in confirms" in told and "4: 0.0220 in does not confirm" in told
    wanted = Band(fig(0.007), fig(0.017))
    said = [sizes.gap_confirms(gap, wanted, 0.0005) for gap in (0.005, 0.007, 0.017, 0.019)]
    assert said == [False, True, True, False]
    assert sizes.gap_confirms(0.012, Band(), 0.0005) is None


# --- rebore ---


@published("tm-9-2815-220-24", "WP 0135: oversizes 0.010, 0.020, 0.030, 0.040 in")
def test_all_bores_are_machined_to_what_cleans_up_the_worst():
    on = engine(oversizes=("0.010 in", "0.020 in", "0.030 in", "0.040 in"), piston_skirt="2.9985 in")
    worn, fair = bore((3.0160, 3.0150), (3.0010, 3.0010)), bore((3.0050, 3.0045), (3.0010, 3.0010))
    chosen = choices(on, {"bore_size": [fair, fair, worn, fair], "piston_skirt_size": [2.9983] * 4})
    assert {chosen[name].size for name in ("size.bores", "size.pistons", "size.rings")} == {"0.020 in over"}
    assert "0.010 in over would not clean up" in chosen["size.bores"].rejected[0]
    assert "takes off more than is needed" in chosen["size.bores"].rejected[-1]
    assert chosen["size.head_gasket"].size == "to clear a bore of 3.020 in"


@published("tm-10-3930-653-14p", "p. 61: oversizes 0.50 and 1.00 mm, sleeve past 1.5 mm")
def test_a_metric_engine_is_sleeved_when_no_oversize_cleans_up():
    on = engine(bore=Fit("87.20 mm", "87.25 mm", "0.2 mm"), oversizes=("0.50 mm", "1.00 mm"), stroke="92 mm")

    def worn(mm):
        return bore((mm * MM, mm * MM - 0.001), (87.22 * MM, 87.22 * MM))

    fits = choices(on, {"bore_size": [worn(87.60)] * 4})
    assert fits["size.bores"].size == "0.50 mm over"
    gone = choices(on, {"bore_size": [worn(88.80)] * 4})
    assert gone["size.bores"].size == "sleeve every bore back to standard"
    assert gone["size.pistons"].size == gone["size.rings"].size == "standard" and "size.head_gasket" not in gone


def test_one_bore_past_the_last_oversize_is_finished_to_the_size_of_the_others():
    on = engine(oversizes=("0.020 in", "0.040 in"), piston_skirt="2.9985 in")
    fair, past = bore((3.0100, 3.0095), (3.0010, 3.0010)), bore((3.0500, 3.0490), (3.0410, 3.0410))
    chosen = choices(on, {"bore_size": [fair, past, fair, fair]})
    assert chosen["size.bores"].size.startswith("0.020 in over; a bore past the last oversize is sleeved")
    assert chosen["size.pistons"].size == chosen["size.rings"].size == "0.020 in over"
    assert chosen["size.head_gasket"].size == "to clear a bore of 3.020 in"
    # A bore that was not measured may be the one that decides, so nothing is ordered yet.
    part = choices(on, {"bore_size": [fair, past, None, fair]})
    assert part["size.bores"].size.startswith("sleeve: no oversize") and "size.pistons" not in part


def test_sound_bores_are_used_as_they_are_and_rings_follow_the_pistons():
    on = engine(oversizes=("0.010 in",), piston_skirt="2.9985 in")
    chosen = choices(on, {"bore_size": [bore((3.0012, 3.0010))] * 4, "piston_skirt_size": [2.9983] * 4})
    assert chosen["size.bores"].size == "use as they are" and chosen["size.rings"].size == "standard"
    assert "size.pistons" not in chosen and "size.head_gasket" not in chosen


def test_a_bore_bored_before_is_never_made_smaller():
    choice = sizes.choose_bore([3.0215, 3.0035], Band(fig(3.0), fig(3.001)), (0.010, 0.020, 0.030), now=[0.020, 0.0])
    assert choice.oversize == 0.030
    assert any("already stands at" in item.why for item in choice.rejected)


def test_worn_wet_sleeves_are_renewed_standard():
    on = engine({"bores": "wet_sleeves"}, oversizes=("0.020 in",))
    chosen = choices(on, {"bore_size": [bore((3.0200, 3.0150), (3.0010, 3.0010))] * 4})
    assert chosen["size.pistons"].size == "standard" and "size.bores" not in chosen
    assert "renewed, not bored" in chosen["size.pistons"].rejected[0]


def test_bores_too_close_to_call_order_nothing():
    on = engine(oversizes=("0.020 in",), piston_skirt="2.9985 in")
    close = bore((3.0040, 3.0040), (3.0035, 3.0035))
    assert facts(on, {"bore_size": [close] * 4}).values["bore.verdict"][0] == "too_close"
    assert "size.bores" not in choices(on, {"bore_size": [close] * 4})


# --- shims ---


def babbitt():
    return engine({"bearings": "babbitt"}, crankpins=journal("1.998 in", "1.999 in", ("0.0010 in", "0.0025 in"), ()))


def test_shims_bring_a_white_metal_bearing_back():
    """Two thou shims, one from each side at a time (common practice)."""
    chosen = choices(babbitt(), {"rod_clearance": [0.0060, 0.0020, 0.0042, 0.0024], "shims_left": "enough"})
    assert chosen["size.shims"].size == "0.0020 in shims: rods 1: 2 from each side; 3: 1 from each side"
    assert chosen["size.shims"].confirmed_by == "shims left: enough"
    assert "size.rod_bearings" not in chosen


def test_a_white_metal_journal_is_judged_by_its_wear_and_its_undersizes_by_grinding():
    on = babbitt()
    found = facts(on, {"crankpin_size": [round_journal(size) for size in (1.9985, 1.9970, 1.9950, 1.9985)]})
    assert set(found.values["crankpin.verdict"]) == {"good", "replace"}  # no undersize is sold for this one
    assert "0.0030 in below its low limit" in found.reductions["crankpin.verdict"].how
    assert "size.rod_bearings" not in choices(on, {"crankpin_size": [round_journal(1.9985)] * 4})


def test_no_shims_left_means_no_shims_to_order():
    assert "size.shims" not in choices(babbitt(), {"rod_clearance": [0.0060] * 4, "shims_left": "none"})


# --- properties: a choice never leaves what it claims ---

BAND = Band(fig(1.498), fig(1.499))
CLEAR = Band(fig(0.0010), fig(0.0025))
UNDER = (0.001, 0.002, 0.010, 0.020, 0.030, 0.040)


@settings(max_examples=120, deadline=None)
@given(st.lists(st.tuples(st.floats(1.455, 1.500), st.floats(0, 0.002)), min_size=1, max_size=6))
def test_a_shell_choice_never_leaves_a_clearance_outside_the_band(pins):
    spans = [(size - oval, size) for size, oval in pins]
    choice = sizes.choose_shell(spans, BAND, CLEAR, UNDER)
    if choice.undersize is None:
        assert len(choice.rejected) == len(UNDER) + 1
        return
    shell = shell_bore(BAND, CLEAR)
    for least, most in spans:
        for diameter in (least, most):
            assert 0.0010 - 1e-6 <= clearance_by_sizes(diameter, shell, choice.undersize) <= 0.0025 + 1e-6
    assert {item.size for item in choice.rejected} == {0.0, *UNDER} - {choice.undersize}


@settings(max_examples=80, deadline=None)
@given(st.lists(st.floats(3.0, 3.05), min_size=1, max_size=6))
def test_a_bore_choice_cleans_up_every_bore_and_is_the_smallest_that_does(most):
    over = (0.010, 0.020, 0.030, 0.040)
    choice = sizes.choose_bore(most, Band(fig(3.0), fig(3.001)), over)
    cleans = [size for size in over if max(most) + sizes.BORE_CLEAN_UP <= 3.001 + size + 1e-7]
    assert choice.oversize == (min(cleans) if cleans else None)


@settings(max_examples=80, deadline=None)
@given(st.lists(st.floats(1.44, 1.4985), min_size=1, max_size=5))
def test_a_grind_cleans_up_every_journal(least):
    choice = sizes.choose_grind([(size, size) for size in least], BAND, UNDER, most_under=0.040)
    if choice.undersize is not None:
        assert min(least) - sizes.CLEAN_UP >= 1.498 - choice.undersize - 1e-6
        assert choice.undersize <= 0.040


@settings(max_examples=80, deadline=None)
@given(st.floats(-0.001, 0.02), st.sampled_from([0.001, 0.002, 0.003]))
def test_a_shim_choice_never_leaves_a_clearance_outside_the_band(clearance, thickness):
    choice = sizes.choose_shims(clearance, CLEAR, thickness)
    if choice.count is not None:
        assert 0.0010 - 1e-6 <= choice.leaves <= 0.0025 + 1e-6 and choice.count >= 0


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(1.49, 1.499), min_size=4, max_size=4),
    st.lists(st.sampled_from(["good", "usable", "too_close", "beyond", None]), min_size=4, max_size=4),
)
def test_a_crank_plan_grinds_all_or_none_and_shells_match_it(least, verdicts):
    journals = [Measured(size, size, 0.0, max(0.0, 1.498 - size), 0.0, 0.0) for size in least]
    plan = crank_plan.plan_crank(journals, verdicts, [None] * 4, BAND, CLEAR, UNDER, error=0.0002, most_under=0.040)
    if plan.grind_to is not None:
        assert set(plan.acts) == {"grind"} and set(plan.sizes) == {plan.grind_to}
    else:
        assert "grind" not in plan.acts
    if "beyond" in verdicts:
        assert set(plan.acts) & {"grind", "replace"}
    shell = shell_bore(BAND, CLEAR)
    if plan.grind_to is None:
        for size, item in zip(plan.sizes, journals, strict=True):
            if size is not None:
                assert 0.0010 - 1e-6 <= clearance_by_sizes(item.least, shell, size) <= 0.0025 + 1e-6


@settings(max_examples=60, deadline=None)
@given(st.sampled_from([0.0, 0.010, 0.020, 0.030]), st.floats(0, 0.0013))
def test_every_piston_is_told_from_its_worn_skirt(size, wear):
    assert fitted_oversize(2.625 + size - wear, 2.625, (0.010, 0.020, 0.030), wear=0.0013, error=0.0002) == size


@pytest.mark.parametrize(
    "oversizes",
    [cited("tm-55-1905-220-14-4", "p. 3-859: liner outside oversizes", (0.001, 0.005, 0.010, 0.020, 0.030))],
)
def test_printed_oversizes_can_be_chosen_from(oversizes):
    """Liner outside diameters follow the same rule as bores: the smallest that cleans up the worst hole."""
    assert sizes.choose_bore([3.0075], Band(fig(3.0), fig(3.001)), oversizes).oversize == 0.010


@pytest.mark.parametrize(
    ("size", "told"),
    [(0.002, "0.002 in"), (0.020, "0.020 in"), (0.254 * MM, "0.010 in")]
    + [(mm * MM, f"{mm:.2f} mm") for mm in (0.05, 0.25, 0.5, 0.75, 1.0, 1.5)],
)
def test_a_size_is_told_as_it_is_sold(size, told):
    """0.50 mm and 0.020 in are two parts, a third of a thousandth apart."""
    assert sizes.as_sold(size) == told
    assert (sizes.oversize_text(size), sizes.undersize_text(size)) == (f"{told} over", f"{told} under")


def test_parts_of_a_sheet_in_millimetres_are_ordered_in_millimetres(shop):
    job = shop.open_job(shipped_cases() / "worn_dry_sleeves_in_a_boat_mean_the_engine_out.yaml")
    assert job.engine.oversizes == ("0.50 mm",)
    answer = shop.assess(job, checks=False, flips=False)
    sized = [line.size for work in answer.works.values() for line in work.parts if "over" in line.size]
    assert sized and all(size == "0.50 mm over" for size in sized)
