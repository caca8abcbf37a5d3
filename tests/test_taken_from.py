"""What the rule base says a reduced fact is taken from is what the readings need for it, no more and no less."""

import dataclasses

import pytest

from howdeep.knowledge.engine_facts import count_of
from howdeep.knowledge.engines import find, load_engine
from howdeep.knowledge.where import shipped_rules
from howdeep.model.job import Job, OpenJob, Place
from howdeep.model.quantity import parse
from howdeep.model.truth import Truth
from howdeep.readings import reduce

OPTIONAL = {"head.flatness"}
"""Reduced facts for which one of their readings is enough."""


def full_job(knowledge, sheet):
    """A job with every measured observation taken, each at a figure near the engine's own where the sheet has one."""
    engine = load_engine(find(sheet, [shipped_rules()]))
    near = {
        "bore_size": engine.bore.low,
        "piston_skirt_size": engine.piston_skirt,
        "crankpin_size": engine.crankpins and engine.crankpins.size.low,
        "main_size": engine.mains and engine.mains.size.low,
    }
    values = {}
    for name, item in knowledge.observations.items():
        if item.kind != "number":
            continue
        low, high = item.range
        one = parse(near[name], unit=item.unit).to(item.unit) if near.get(name) else low + 0.3 * (high - low)
        if item.rows:
            one = tuple((one,) * max(1, len(item.columns)) for _ in item.rows)
        values[name] = (one,) * count_of(engine, item.each) if item.each else one
    values["compression_strokes"] = 8.0
    return OpenJob("", "", Job(1, sheet, place=Place("0 ft", "60 degF")), engine, values, frozenset(), frozenset())


def facts(knowledge, job, names):
    kept = dataclasses.replace(job, values={name: job.values[name] for name in job.values if name in names})
    return set(reduce(kept, knowledge, lambda name: Truth.PRESENT).reductions)


@pytest.mark.parametrize("sheet", ["tarn-30", "dunmore-d4", "skerry-6"])
def test_a_reduced_fact_stands_and_falls_with_the_readings_it_is_taken_from(shipped, sheet):
    job = full_job(shipped, sheet)
    everything = set(job.values)
    reached = facts(shipped, job, everything)
    named = {name: set(item.taken_from) for name, item in shipped.reduced.items() if item.taken_from}
    assert len(reached & set(named)) > 30
    for name in sorted(reached & set(named)):
        assert name in facts(shipped, job, named[name]), f"{name} needs more than {sorted(named[name])}"
        for one in sorted(named[name]):
            fewer = everything - (named[name] if name in OPTIONAL else {one})
            assert name not in facts(shipped, job, fewer), f"{name} stands without {one}"


def test_every_measured_fact_says_what_it_is_taken_from(shipped):
    silent = {name for name, item in shipped.reduced.items() if not item.taken_from}
    assert {name for name in silent if not name.startswith(("size.", "compression.expected"))} == set()
