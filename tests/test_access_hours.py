"""Hours of access by kind and size of machine, beside published maintenance allocation charts (man-hours)."""

import dataclasses

import pytest

from howdeep.knowledge.load import load
from howdeep.work.select import hours_of

from .test_work_prices import SHEETS


def built(name, **how):
    """An engine sheet without hours of its own, built otherwise in some respects."""
    sheet = SHEETS[name]
    return dataclasses.replace(sheet, hours={}, build=dataclasses.replace(sheet.build, **how))


@pytest.mark.parametrize(
    ("operation", "name", "how", "low", "high"),
    [
        # TM 5-3895-360-13, p. B-3 (small machine): engine replace 3.0; TM 5-4110-234-14, p. C-7 (small petrol): 4.0
        ("remove_refit_engine", "pell-1", {}, 3.0, 4.0),
        ("remove_refit_engine", "pell-2", {"frame": "in_frame"}, 3.0, 4.0),
        # TM 5-3895-373-20, p. B-3 (four-cylinder diesel, buried in its machine): engine replace 19.7; so a boat
        ("remove_refit_engine", "dunmore-d4", {}, 15.0, 20.0),
        # engine out and in, car: 5 to 10 hours, from memory of the trade
        ("remove_refit_engine", "skerry-6", {}, 5.0, 10.0),
        # TM 10-4320-315-24, p. B-7: cylinder head replace 3.0; TM 5-3895-373-20, p. B-3: 5.2
        ("remove_refit_head", "brockwell-4", {}, 3.0, 5.2),
        ("remove_refit_head", "dunmore-d4", {}, 3.0, 5.2),
        ("remove_refit_head", "skerry-6", {}, 3.0, 5.2),
        # TM 5-3895-360-13, p. B-3 (small machine): cylinder replace 1.5
        ("remove_refit_head", "pell-1", {}, 1.5, 3.0),
        # TM 10-4320-315-24, p. B-7: oil pan 1.0, on a stand; 3.0 with the axle of the machine in the way (judgement)
        ("remove_refit_pan", "pell-1", {}, 1.0, 2.0),
        ("remove_refit_pan", "tarn-30", {}, 1.0, 3.5),
    ],
)
def test_hours_lie_within_the_published_charts(shipped, operation, name, how, low, high):
    assert low <= hours_of(shipped.operations[operation], operation, built(name, **how)) <= high


def test_the_sheet_s_own_hours_stand_before_those_of_its_kind(shipped):
    sheet = dataclasses.replace(SHEETS["pell-1"], hours={"remove_refit_engine": 2.25})
    assert hours_of(shipped.operations["remove_refit_engine"], "remove_refit_engine", sheet) == 2.25


def test_access_never_gets_quicker_with_a_bigger_or_tighter_machine(shipped):
    for operation in ("remove_refit_engine", "remove_refit_head", "remove_refit_pan"):
        row = [
            hours_of(shipped.operations[operation], operation, built(name))
            for name in ("pell-1", "brockwell-4", "dunmore-d4")
        ]
        assert row == sorted(row), operation


def test_a_step_that_is_never_reached_or_no_figure_of_the_build_is_told_with_its_place(tmp_path):
    from howdeep.errors import HowdeepError
    from howdeep.knowledge.where import shipped_rules

    text = (shipped_rules() / "operations" / "40_rebuild_engine.yaml").read_text(encoding="utf-8")
    for wrong, said in (("engine.frame, is: bench", "engine.fram, is: bench"), ("hours: 3.5", "hours: soon")):
        folder = tmp_path / said.replace(" ", "_").replace(":", "")
        (folder / "operations").mkdir(parents=True)
        (folder / "operations" / "40_rebuild_engine.yaml").write_text(text.replace(wrong, said, 1), encoding="utf-8")
        with pytest.raises(HowdeepError) as error:
            load([shipped_rules(), folder])
        line = next(number for number, row in enumerate(text.splitlines(), 1) if wrong in row)
        assert f"40_rebuild_engine.yaml:{line}:" in str(error.value)
