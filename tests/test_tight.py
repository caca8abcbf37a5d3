"""A fit tighter than new is a verdict of its own: never worn, with its own finding, work and message."""

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from howdeep.job.read import open_text
from howdeep.knowledge.engine_facts import count_of
from howdeep.knowledge.engines import find, load_engine, sheet_ids
from howdeep.knowledge.where import shipped_rules
from howdeep.model.truth import Truth
from howdeep.readings import gauges, judge
from howdeep.readings.figures import bore_in
from howdeep.readings.given import Given
from howdeep.readings.judged import band_of, error_of_reading
from howdeep.readings.measured import take
from howdeep.readings.open_cylinders import piston_band
from tests.bench_readings import facts, knowledge, remarks

SHEETS = {name: load_engine(find(name, [shipped_rules()])) for name in sheet_ids([shipped_rules()])}
FITS = {
    # observation -> (fact, cause that its wear speaks for, finding, work that sets it right)
    "ring_gap_measured": ("ring.gap_verdict", "worn_rings", "ring_gap_tight", "set_tight_rings"),
    "ring_side_clearance": ("ring.side_verdict", "worn_rings", "ring_side_tight", "set_tight_rings"),
    "piston_skirt_size": ("piston.clearance_verdict", "piston_slap", "piston_clearance_tight", "ease_tight_pistons"),
    "guide_clearance_inlet": ("guide.inlet_verdict", "worn_guides", "guide_tight", "ease_tight_guides"),
    "guide_clearance_exhaust": ("guide.exhaust_verdict", "worn_guides", "guide_tight", "ease_tight_guides"),
    "rod_clearance": ("rod.clearance_verdict", "worn_rod_bearings", "rod_clearance_tight", "right_tight_bearings"),
    "main_clearance": ("main.clearance_verdict", "worn_main_bearings", "main_clearance_tight", "right_tight_bearings"),
    "end_play_measured": ("end_play.verdict", "crank_end_float", "end_play_tight", "right_tight_bearings"),
}


@cache
def least_of(sheet: str, name: str) -> tuple[float | None, float]:
    """Least of a new fit on an engine in inches (sheet, else general), and the error of its gauge."""
    on = SHEETS[sheet]
    taken = take({}, knowledge(), on, 0.0, True)
    if name == "piston_skirt_size":
        given = Given(taken, knowledge().computed["pistons"])
        return piston_band(given).low.value, gauges.combined(given.error("bore"), given.error("skirt"))
    rule = knowledge().reduced[FITS[name][0]].judge
    low = band_of(taken, rule, "in").low
    return (None if low is None else low.value), error_of_reading(taken, rule, "in")


def reading(sheet: str, name: str, clearance: float) -> dict:
    """The first of a kind measured at `clearance`, the others not taken; a skirt with the bore it runs in."""
    on = SHEETS[sheet]
    if name == "end_play_measured":
        return {name: clearance}
    if name == "piston_skirt_size":
        size, count = bore_in(on), on.build.cylinders
        return {"bore_size": [((size, size),) * 3] * count, name: [size - clearance] + [None] * (count - 1)}
    return {name: [clearance] + [None] * (count_of(on, knowledge().observations[name].each) - 1)}


def judged(sheet: str, name: str, clearance: float) -> tuple[str | None, object]:
    found = facts(SHEETS[sheet], reading(sheet, name, clearance))
    value = found.values.get(FITS[name][0])
    return (value[0] if isinstance(value, tuple) else value), found


@settings(max_examples=300, deadline=None)
@given(sheet=st.sampled_from(sorted(SHEETS)), name=st.sampled_from(sorted(FITS)), share=st.floats(0.0, 1.0))
def test_a_fit_tighter_than_new_is_never_worn(sheet, name, share):
    low, error = least_of(sheet, name)
    if low is None:
        return
    clearance = share * (low - error) - (1 - share) * 0.9 * min(error, 0.0005)  # down to just less than nothing
    if name == "piston_skirt_size" and clearance < 0:
        clearance = 0.0
    word, found = judged(sheet, name, clearance)
    if clearance < 0 and remarks(found, "questioned", name):
        assert word is None
    elif clearance < low - error - 1e-6:
        assert word == "tight", (sheet, name, clearance, word)
        assert remarks(found, "too tight", name)
    assert word not in ("beyond", "too_close"), (sheet, name, clearance)


@given(
    low=st.floats(0.0005, 0.02),
    room=st.floats(0.0005, 0.01),
    wear=st.floats(0.0005, 0.02),
    error=st.floats(0, 0.0005),
    measured=st.floats(-0.001, 0.05),
)
def test_no_value_below_the_middle_of_new_is_judged_worn(low, room, wear, error, measured):
    """For every band with a wear limit above it: beyond lies above the limit, tight below new, and nothing is both."""
    word = judge.verdict_of(measured, low=low, new=low + room, limit=low + room + wear, error=error)
    assert (word == "beyond") == (measured > low + room + wear + error + 1e-9)
    assert (word == "tight") == (measured < low - error - 1e-9)


SECTION = "teardown"


def _assessed(shop, sheet: str, values: dict):
    lines = ["howdeep_job: 1", "title: Tight", f"engine: {sheet}"]
    if values:
        lines.append(f"{SECTION}:")
        for name, value in values.items():
            lines.append(f"  {name}: {_text(value)}")
    job = open_text("\n".join(lines) + "\n", "tight.yaml", shipped_rules(), shop.knowledge, [shipped_rules()])
    return shop.assess(job, checks=False, flips=False)


def _text(value) -> str:
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_text(item) for item in value) + "]"
    return "unknown" if value is None else f"{value:.5f} in"


@pytest.mark.parametrize("sheet", sorted(SHEETS))
@pytest.mark.parametrize("name", sorted(set(FITS) - {"piston_skirt_size"}))
def test_a_tight_fit_calls_for_its_own_work_and_for_no_deeper_job(shop, sheet, name):
    low, error = least_of(sheet, name)
    if low is None or low - error <= 0.0001:
        return
    observation = shop.knowledge.observations[name]

    def measured(value: float) -> dict:
        return {name: [value] * count_of(SHEETS[sheet], observation.each) if observation.each else value}

    bare, sound = _assessed(shop, sheet, {}), _assessed(shop, sheet, measured(low + error / 2))
    answer = _assessed(shop, sheet, measured((low - error) / 2))
    _, cause, finding, work = FITS[name]
    odds = {belief.cause: belief.posterior for belief in answer.beliefs}
    before = {belief.cause: belief.posterior for belief in bare.beliefs}
    assert odds.get(cause, 0.0) <= before.get(cause, 0.0) + 1e-9, (sheet, name)
    assert answer.conclusions.findings[finding] is Truth.PRESENT
    deep = ("rebuild", "replace")
    assert answer.decision.rung not in deep or sound.decision.rung in deep, (sheet, name, answer.decision.rung)
    assert any(work == item.operation for done in answer.works.values() for item in done.items), (sheet, name, work)
    assert any(item.kind == "too tight" for item in answer.facts.remarks)


def test_a_tight_fit_alone_is_never_called_something_that_can_wait(shop, tmp_path):
    """Nothing else was told: the answer begins with measuring again and setting it right, and the screen names it."""
    from howdeep.show.answer_text import answer_lines

    path = tmp_path / "job.yaml"
    for engine, reading in (
        ("tarn-30", "end_play_measured: 0.0005 in"),
        ("dunmore-d4", "end_play_measured: 0.0005 in"),
        ("brockwell-4", "ring_gap_measured: {all: 0.001 in}"),
        ("skerry-6", "rod_clearance: {2: 0.0001 in}"),
    ):
        path.write_text(f"howdeep_job: 1\nengine: {engine}\nteardown: {{{reading}}}\n")
        answer = shop.assess(shop.open_job(path), flips=False)
        assert any(remark.kind == "too tight" for remark in answer.facts.remarks), engine
        assert answer.decision.kind == "begin_with", (engine, answer.decision.because)
        work = {item.operation for item in answer.works[answer.decision.job].items if not item.if_found}
        assert work & {"ease_tight_guides", "set_tight_rings", "ease_tight_pistons", "right_tight_bearings"}, engine
        screen = " ".join(" ".join(answer_lines(shop.knowledge, answer, shop.prices)).split())
        assert "too tight" in screen and "Measure again before anything is closed" in screen, screen
