"""Readings of a whole job: everything is told, nothing is dropped or hangs on order, bad input is questioned."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from howdeep.knowledge.engine_facts import count_of, engine_facts
from howdeep.knowledge.engines import load_engine
from howdeep.knowledge.signatures import SIGNATURES
from howdeep.model.truth import Truth
from howdeep.readings import SizeChoice, order_sizes, reduce, torque
from howdeep.readings.computing import FUNCTIONS
from howdeep.readings.figures import figure
from tests.bench_readings import ROOT, always, bore, engine, facts, job, knowledge, remarks, round_journal

SHEETS = sorted((ROOT / "rules" / "engines").glob("*.yaml"))
READINGS = Path(reduce.__code__.co_filename).parent


def sheet(path: Path):
    return load_engine(path)


@pytest.fixture(params=SHEETS, ids=lambda path: path.stem)
def shipped_engine(request):
    return sheet(request.param)


def sound(on) -> dict:
    """Readings of a sound engine by its own sheet, where the sheet gives a figure."""
    values = {}
    if on.cranking_compression and on.cranking_compression.low:
        values["compression_dry"] = [figure(on.cranking_compression.low, "psi").value] * on.build.cylinders
    if on.bore.high:
        size = figure(on.bore.high, "in").value
        values["bore_size"] = [bore((size, size))] * on.build.cylinders
    for name, part in (("crankpin", on.crankpins), ("main", on.mains)):
        if part and part.size.high:
            values[f"{name}_size"] = [round_journal(figure(part.size.high, "in").value)] * count_of(on, name)
    for name, fit in (
        ("ring_gap_measured", on.ring_gap),
        ("guide_clearance_inlet", on.valve_stem_inlet),
        ("guide_clearance_exhaust", on.valve_stem_exhaust),
        ("seat_width_inlet", on.seat_width),
        ("seat_width_exhaust", on.seat_width_exhaust if on.seat_width_exhaust.high else on.seat_width),
        ("cam_lift_inlet", on.cam_lift),
        ("cam_lift_exhaust", on.cam_lift_exhaust if on.cam_lift_exhaust.high else on.cam_lift),
        ("end_play_measured", on.end_play),
    ):
        if fit.high:
            middle = (figure(fit.low or fit.high, "in").value + figure(fit.high, "in").value) / 2
            values[name] = middle if name == "end_play_measured" else [middle] * on.build.cylinders
    if on.piston_skirt:
        values["piston_skirt_size"] = [figure(on.piston_skirt, "in").value] * on.build.cylinders
    return values


def test_a_sound_engine_is_sound_by_its_own_sheet(shipped_engine):
    found = facts(shipped_engine, sound(shipped_engine))
    words = {
        name: item.value for name, item in found.reductions.items() if name.endswith(("verdict", ".level", ".fitted"))
    }
    assert words
    for name, value in words.items():
        for word in value if isinstance(value, tuple) else (value,):
            assert word in ("good", "normal", "standard", "within", None), (name, value, found.reductions[name].how)
    assert not remarks(found, "questioned")


def test_a_sound_engine_needs_standard_sizes_only(shipped_engine):
    for name, choice in order_sizes(job(shipped_engine, sound(shipped_engine)), knowledge()).items():
        assert choice.size in ("standard", "use as they are"), (name, choice)


def test_the_torques_of_every_shipped_sheet_suit_their_fasteners(shipped_engine):
    for name, figure_of in shipped_engine.torques.items():
        if figure_of.size and figure_of.grade:
            value = torque.parse(figure_of.value, unit="ft-lb")
            checked = torque.check(value, figure_of.size, figure_of.grade, lubricated=figure_of.lubricated == "yes")
            assert checked.word == "plausible", (name, checked.how)


# --- nothing raises, nothing is lost ---


def numbers(observation, count):
    low, high = observation.range
    cell = st.floats(low, high) | st.sampled_from([low, high])
    if observation.rows:
        rows = st.tuples(*[st.tuples(*[st.none() | cell] * (len(observation.columns) or 1))] * len(observation.rows))
        return st.lists(st.none() | rows, min_size=count, max_size=count)
    return st.lists(st.none() | cell, min_size=count, max_size=count) if observation.each else cell


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_any_readings_in_range_are_reduced_or_questioned_and_never_fail(data):
    on = sheet(data.draw(st.sampled_from(SHEETS)))
    known = {name: item for name, item in knowledge().observations.items() if item.kind == "number"}
    names = data.draw(st.lists(st.sampled_from(sorted(known)), min_size=1, max_size=6, unique=True))
    values = {name: data.draw(numbers(known[name], count_of(on, known[name].each))) for name in names}
    altitude = data.draw(st.sampled_from(["", "0 ft", "1500 m", "9000 ft", "70000 ft"]))
    truth = data.draw(st.sampled_from(list(Truth)))
    found = facts(on, values, altitude=altitude, valid=truth)
    order_sizes(job(on, values), knowledge())
    told = {item.observation for item in found.remarks}
    for name in names:
        given_values = job(on, values).values[name]
        if found.values.get(name) != given_values:
            assert name in told, f"{name} was changed or dropped without a word"
    for name, item in found.reductions.items():
        shape = knowledge().reduced[name]
        words = item.value if isinstance(item.value, tuple) else (item.value,)
        assert (len(words) if isinstance(item.value, tuple) else 0) == (count_of(on, shape.each) if shape.each else 0)
        assert all(word is None or word in shape.answers for word in words) if shape.kind == "choice" else True
        assert item.how and item.basis


def test_facts_hold_the_answers_and_how_the_engine_is_built():
    on = engine()
    found = facts(on, {"battery_rest": 6.3, "vacuum_pattern": "steady"})
    assert found.values["vacuum_pattern"] == "steady" and found.values["battery_rest"] == 6.3
    assert engine_facts(on).items() <= found.values.items()


def test_every_function_that_the_rules_may_name_is_there_and_every_one_is_named():
    """What the rules may name (knowledge/signatures.py), what is there to be run, and what the rules do name."""
    named = {item.by for item in knowledge().computed.values()}
    assert set(SIGNATURES) == set(FUNCTIONS) == named


def test_every_reduced_fact_is_given_by_one_judgement_grade_or_computation():
    """The words a rule may wait for are the words that readings give."""
    base = knowledge()
    given = [fact for item in base.computed.values() for fact in item.facts.values()]
    given += [name for name, fact in base.reduced.items() if fact.judge or fact.grade]
    assert sorted(given) == sorted(base.reduced)


def test_a_value_that_was_not_taken_stays_unknown():
    found = facts(engine(), {"leakage": [None, 12, None, 30]})
    assert found.values["leakage.grade"][0] is None and found.values["leakage.percent"][2] is None
    assert "vacuum.level" not in found.values


def test_invalid_readings_of_any_kind_are_withheld_where_the_rule_base_says_when_they_are_valid():
    on = engine()
    conditional = [
        name for name, item in knowledge().observations.items() if item.valid_when is not None and item.kind == "number"
    ]
    assert "compression_dry" in conditional
    for name in conditional:
        item = knowledge().observations[name]
        value = [item.range[1] / 4] * count_of(on, item.each) if item.each else item.range[1] / 4
        found = facts(on, {name: value}, valid=Truth.ABSENT)
        assert name not in found.values
        assert remarks(found, "not valid", name)[0].instead == name


def test_an_air_temperature_that_cannot_be_is_questioned():
    found = facts(engine(), {"battery_rest": 6.3}, air="300 °F")
    assert "air temperature" in remarks(found, "questioned", "place")[0].text


def test_the_order_of_readings_changes_nothing():
    on = sheet(SHEETS[0])
    values = sound(on) | {"battery_rest": 6.2, "vacuum_level": 18.0}
    one = facts(on, values)
    other = reduce(
        replace(job(on, values), values=dict(reversed(job(on, values).values.items()))),
        knowledge(),
        always(Truth.PRESENT),
    )
    assert one == other and list(one.values) == list(other.values)


def test_the_hash_seed_changes_nothing():
    code = (
        "from tests.bench_readings import *;"
        "pins = journal('1.498 in', '1.499 in', ('0.001 in', '0.0025 in'), ('0.002 in', '0.010 in'));"
        "on = engine(crankpins=pins);"
        "values = {'crankpin_size': [round_journal(s) for s in (1.497, 1.4985, 1.497, 1.46)],"
        " 'compression_dry': [110, 400, 60, 58]};"
        "print(facts(on, values), sorted(choices(on, values).items()))"
    )
    said = {
        subprocess.run(
            [sys.executable, "-c", code],
            cwd=ROOT,
            env=os.environ | {"PYTHONHASHSEED": seed},
            text=True,
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("0", "7")
    }
    assert len(said) == 1


def test_readings_know_nothing_of_what_stands_above_them():
    allowed = {"errors", "model", "files", "quantity", "knowledge", "job", "readings"}
    for path in READINGS.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.level == 2:
                assert node.module.split(".")[0] in allowed, f"{path.name} imports {node.module}"


def test_a_size_choice_is_a_frozen_value():
    choice = SizeChoice("standard", "crankpin_size")
    with pytest.raises(AttributeError):
        choice.size = "0.010 in under"
    assert hash(choice) == hash(SizeChoice("standard", "crankpin_size"))
