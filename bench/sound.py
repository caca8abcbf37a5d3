"""A job with every question that nobody answered yet answered "nothing wrong"."""

from __future__ import annotations

import dataclasses
from typing import Any

from howdeep.assessment.facts import contradictions_in, limits_of, raw_facts
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.logic.applicability import applies
from howdeep.logic.evaluate import evaluate
from howdeep.model.condition import facts_read
from howdeep.model.job import OpenJob
from howdeep.model.knowledge import Knowledge
from howdeep.model.observations import Observation
from howdeep.model.truth import Truth

FACTS_OF_LIFE = ("hours_since_overhaul", "work_load", "load_off")
"""Questions without a sound answer: how long it ran since its overhaul is no fault, and nobody answers it with none. A
weak engine that comes up light, or does not, says by either where its power went."""
NOBODY_TRIED = ("told_spark", "told_compression", "told_fuel")
"""What somebody else tried, as it is told: whoever has nothing to tell of it says that nobody has."""
SPOKEN_OF = {
    "wont_start": ("start_cold", "start_hot", "start_needs", "fires_at_all"),
    "hard_start": ("start_cold", "start_hot", "start_needs", "cranking_sound"),
    "smokes": ("smoke_any", "smoke_start", "smoke_idle", "smoke_pulling", "smoke_overrun"),
    "uses_oil": ("oil_use",),
    "knocks": ("noise",),
    "no_power": ("power", "output_asked"),
    "overheats": ("overheats",),
    "misfires": ("misfire",),
    "leaks": ("leak_front", "leak_rear", "leak_pan", "leak_cover", "leak_head_joint", "leak_water_pump", "leak_fuel"),
    "oil_pressure": ("oil_light_gauge_hot_idle", "oil_gauge_speed", "oil_gauge_cold"),
    "coolant_loss": ("coolant_use",),
    "stuck": ("turns_over",),
    "stood": ("stood", "fuel_age"),
}
"""Complaint -> questions that it is about: where the entry does not answer them, a sound answer would deny it."""

TURNS_BADLY = {"turns_over": ("stiff", "stuck"), "turns_by_hand": ("stiff", "tight_spot", "stuck")}
"""Answers of an engine that no starter spins fast and even, and that nobody calls free."""


def sound_answer(name: str, observation: Observation) -> str:
    """The answer that says that nothing is wrong; empty where the question has none."""
    return "" if name in (*FACTS_OF_LIFE, *NOBODY_TRIED) else next(iter((*observation.sound, *observation.worsens)), "")


def interviewed(knowledge: Knowledge, job: OpenJob) -> OpenJob:
    """The job with every open question of the counter answered "nothing wrong".

    A follow-up is answered only where its ground is present. An answer that would deny the complaint, or contradict
    what the job says, stays out.
    """
    engine, limits = engine_facts(job.engine), limits_of(knowledge)
    kept_out = set(SPOKEN_OF.get(job.values.get("complaint", ""), ()))
    if any(job.values.get(name) in answers for name, answers in TURNS_BADLY.items()):
        kept_out |= {"cranking_sound", "turns_over"}
    before = set(contradictions_in(knowledge, job))
    while True:
        full = job
        while True:
            facts = raw_facts(full)
            more = {
                name: sound_answer(name, item)
                for name, item in knowledge.observations.items()
                if item.moment == "talk"
                and item.kind == "choice"
                and not item.each
                and name not in full.values
                and name not in kept_out
                and sound_answer(name, item)
                and applies(item, engine)
                and (item.follows is None or evaluate(item.follows, facts, {}, limits) is Truth.PRESENT)
                and (item.needs is None or evaluate(item.needs, facts, {}, limits) is not Truth.ABSENT)
            }
            if not more:
                break
            full = _with(full, more)
        denied = {
            name
            for contradiction in set(contradictions_in(knowledge, full)) - before
            for name in facts_read(knowledge.contradictions[contradiction].when)
        }
        denied &= full.values.keys() - job.values.keys()
        if not denied:
            return full
        kept_out |= denied


def without(knowledge: Knowledge, job: OpenJob, observations: set[str]) -> OpenJob:
    """The job before these observations were made, and before the conditions of a test were noted."""
    return dataclasses.replace(
        job,
        values={
            name: value
            for name, value in job.values.items()
            if name not in observations and knowledge.observations[name].group != "test_conditions"
        },
    )


def _with(job: OpenJob, more: dict[str, Any]) -> OpenJob:
    return dataclasses.replace(job, values=dict(sorted({**job.values, **more}.items())))
