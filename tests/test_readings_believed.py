"""Up to where a reading is believed stands in the rules: every figure decides, and a shop's own takes its place."""

import dataclasses

import pytest

from howdeep.files.strict_yaml import read
from howdeep.knowledge.engine_facts import count_of
from howdeep.knowledge.engines import find, load_engine
from howdeep.knowledge.where import shipped_rules
from howdeep.logic.evaluate import evaluate
from howdeep.model.truth import Truth
from howdeep.readings.computing import question
from howdeep.readings.measured import take
from howdeep.readings.plausibility import question_declared

OBSERVATIONS = {
    name: item
    for path in sorted((shipped_rules() / "observations").glob("*.yaml"))
    for name, item in read(path).value.items()
}
PLAIN = sorted(
    name
    for name, item in OBSERVATIONS.items()
    if "believed" in item and not {"per", "share_of"} & set(item["believed"])
)
"""Observations that are believed up to one plain figure."""
ALL = sorted(read(shipped_rules() / "limits" / "readings.yaml").value)
DOUBTED = {
    limit: name
    for limit in ALL
    for name, item in OBSERVATIONS.items()
    if f"'{limit}'" in str(item.get("doubted_when", ""))
}
"""Figure under which who types a reading is asked whether it is right -> that reading."""
NAMES = sorted(set(ALL) - set(DOUBTED))
PETROL, DIESEL = (load_engine(find(name, [shipped_rules()])) for name in ("brockwell-4", "dunmore-d4"))
SIX = dataclasses.replace(PETROL, build=dataclasses.replace(PETROL.build, volts="6"))
ENGINES = (
    PETROL,
    DIESEL,
    SIX,
    *(
        dataclasses.replace(item, compression_ratio=None, cranking_compression=type(item.cranking_compression)())
        for item in (PETROL, DIESEL)
    ),
)
SWEPT = {
    **dict.fromkeys(PLAIN, (0.0005, 0.26, 25)),
    "ring_gap_measured": (0.01, 0.4, 25),
    "spring_load_measured": (20, 400, 25),
    "cam_lift_inlet": (0.1, 0.9, 25),
    "bore_size": (3.0, 4.4, 70),
    "piston_skirt_size": (3.0, 4.4, 70),
    "crankpin_size": (1.5, 2.9, 70),
    "compression_dry": (1, 2400, 240),
    "compression_wet": (0.5, 20, 78),
    "battery_rest": (2.0, 30.0, 112),
}
"""Observation -> from, to and steps of the values tried."""


READ_BY = {
    "ring_gap": "ring_gap_measured",
    "spring_load": "spring_load_measured",
    "cam_lift": "cam_lift_inlet",
    "bore": "bore_size",
    "skirt": "piston_skirt_size",
    "journal": "crankpin_size",
    "compression_bar": "compression_wet",
    "compression": "compression_dry",
    "battery_rest": "battery_rest",
}
"""How the id of a figure begins -> the observation swept for it; else the observation stands in the id."""


def read_by(limit):
    words = limit.removeprefix("reading_").removeprefix("most_")
    return next((item for begins, item in READ_BY.items() if words.startswith(begins)), words)


def remarks(knowledge, engine, name, value):
    item = knowledge.observations[name]
    count = count_of(engine, item.each) if item.each else 0
    grid = tuple((value,) * len(item.columns) for _ in item.rows) if item.rows else value
    taken = take({name: (grid,) * count if item.each else value}, knowledge, engine, 0.0, True)
    taken, declared = question_declared(taken)
    return tuple(remark.text for remark in (*declared, *question(taken)[1]))


def swept(knowledge, name):
    low, high, steps = SWEPT[name]
    return [
        remarks(knowledge, engine, name, low + (high - low) * step / steps)
        for engine in ENGINES
        for step in range(steps + 1)
    ]


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_decides_and_says_why(shop, name):
    """With another figure in its place other values are questioned, or others are believed."""
    limit, item = shop.knowledge.limits[name], read_by(name)
    assert limit.because and limit.source
    before = swept(shop.knowledge, item)
    assert any(before)
    for factor in (0.6, 1.5):
        own = dataclasses.replace(limit, value=limit.value * factor)
        if swept(dataclasses.replace(shop.knowledge, limits={**shop.knowledge.limits, name: own}), item) != before:
            return
    pytest.fail(f"{name} decides nothing of {item}")


def asked_again(knowledge, name):
    """For every engine and value tried: is who types it asked whether it is right?"""
    low, high, steps = SWEPT[name]
    item, limits = knowledge.observations[name], {key: limit.value for key, limit in knowledge.limits.items()}
    told = []
    for engine in ENGINES:
        count = count_of(engine, item.each) if item.each else 0
        facts = {"runs": "yes", "engine.fuel": engine.build.fuel, "engine.volts": engine.build.volts}
        for value in (low + (high - low) * step / steps for step in range(steps + 1)):
            told.append(
                evaluate(item.doubted_when, {**facts, name: (value,) * count if item.each else value}, {}, limits)
                is Truth.PRESENT
            )
    return told


@pytest.mark.parametrize("name", sorted(DOUBTED))
def test_every_figure_under_which_a_reading_is_asked_for_again_decides(shop, name):
    limit, item = shop.knowledge.limits[name], DOUBTED[name]
    assert limit.because and limit.source and shop.knowledge.observations[item].doubt
    before = asked_again(shop.knowledge, item)
    assert any(before) and not all(before)
    for factor in (0.6, 1.5):
        own = dataclasses.replace(limit, value=limit.value * factor)
        other = dataclasses.replace(shop.knowledge, limits={**shop.knowledge.limits, name: own})
        assert asked_again(other, item) != before


@pytest.mark.parametrize("name", PLAIN)
def test_a_clearance_is_believed_up_to_its_figure_and_questioned_beyond_its_gauge_s_error(shop, name):
    most = shop.knowledge.limits[f"reading_most_{name}"].value
    assert remarks(shop.knowledge, PETROL, name, most) == ()
    told = remarks(shop.knowledge, PETROL, name, most + 0.002)
    assert told and all("Measure again" in text for text in told)


def test_without_the_figures_nothing_is_questioned_for_its_size_alone(shop):
    knowledge = dataclasses.replace(shop.knowledge, limits={})
    for name in (*PLAIN, "ring_gap_measured", "spring_load_measured", "battery_rest"):
        assert remarks(knowledge, PETROL, name, 9.0) == (), name
