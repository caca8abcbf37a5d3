"""The only place that strings the steps together: readings -> rules -> beliefs -> work -> prices -> decision."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from .decision.checks import rank_checks
from .decision.decide import decide
from .decision.flips import find_flips
from .decision.plan import bench_plan
from .knowledge.engine_facts import engine_facts
from .model.job import OpenJob
from .model.knowledge import Knowledge
from .model.prices import PriceList
from .model.results import Assessment, Facts, HoldState
from .model.truth import Truth
from .readings import order_sizes, reduce
from .reasoning.beliefs import believe
from .reasoning.condition import evaluate
from .reasoning.construction import applies
from .reasoning.counted import count
from .reasoning.network import build_network
from .reasoning.rules import conclude
from .work.rules import WorkRules, work_rules
from .work.select import work_at


def raw_facts(job: OpenJob) -> dict[str, Any]:
    """Answers and readings as given, with how the engine is built."""
    return {**engine_facts(job.engine), **job.values}


def limits_of(knowledge: Knowledge) -> dict[str, float]:
    """Limit -> figure, as conditions read them."""
    return {name: item.value for name, item in knowledge.limits.items()}


def dropped_follow_ups(knowledge: Knowledge, job: OpenJob) -> tuple[str, ...]:
    """Observations that were answered although their ground is gone, in order of id."""
    facts, limits = raw_facts(job), limits_of(knowledge)
    dropped: list[str] = []
    while True:
        more = [name for name in job.values
                if name not in dropped and (ground := knowledge.observations[name].follows) is not None
                and evaluate(ground, facts, {}, limits) is Truth.ABSENT]
        if not more:
            return tuple(sorted(dropped))
        dropped += more
        for name in more:
            facts.pop(name, None)


def facts_of(knowledge: Knowledge, job: OpenJob) -> tuple[Facts, tuple[str, ...]]:
    """Every fact the rules can read, and the observations that were dropped."""
    dropped = dropped_follow_ups(knowledge, job)
    kept = dataclasses.replace(job, values={name: value for name, value in job.values.items() if name not in dropped})
    facts, limits = raw_facts(kept), limits_of(knowledge)

    def valid(name: str) -> Truth:
        condition = knowledge.observations[name].valid_when
        return Truth.PRESENT if condition is None else evaluate(condition, facts, {}, limits)

    return reduce(kept, knowledge, valid), dropped


def holds_of(knowledge: Knowledge, job: OpenJob, facts: Mapping[str, Any],
             findings: Mapping[str, Truth]) -> tuple[HoldState, ...]:
    """Every hold that the signs call for, and whether its check was made or waived."""
    engine, limits = engine_facts(job.engine), limits_of(knowledge)
    states = []
    for name, hold in knowledge.holds.items():
        if not applies(hold, engine) or evaluate(hold.when, facts, findings, limits) is not Truth.PRESENT:
            continue
        check = knowledge.checks.get(hold.check)
        wanted = check.observations if check else (hold.check,)
        offered = [item for item in wanted if applies(knowledge.observations[item], engine)]
        if not offered:
            continue
        made = any(item in facts and item in job.values for item in offered[:1])
        time = check.minutes if check else knowledge.observations[hold.check].minutes
        state = "cleared" if made else "waived" if name in job.job.waived else "stands"
        states.append(HoldState(name, hold.above, hold.check, time, state))
    return tuple(states)


def open_observations(knowledge: Knowledge, job: OpenJob, facts: Mapping[str, Any]) -> tuple[str, ...]:
    """Questions and checks that make sense on this engine now and have no answer, in order of id."""
    engine, limits = engine_facts(job.engine), limits_of(knowledge)
    result = []
    for name, item in knowledge.observations.items():
        if item.moment == "teardown" or name in job.values or name in job.unknown or not applies(item, engine):
            continue
        if item.follows is not None and evaluate(item.follows, facts, {}, limits) is not Truth.PRESENT:
            continue
        if item.needs is not None and evaluate(item.needs, facts, {}, limits) is Truth.ABSENT:
            continue
        result.append(name)
    return tuple(result)


def stand_in_sentences(facts: Facts) -> tuple[str, ...]:
    """Where a general limit stood in for a figure that the engine sheet does not give."""
    return tuple(f"{reduction.fact}: {reduction.basis}. {reduction.how}"
                 for _, reduction in sorted(facts.reductions.items()) if reduction.basis.startswith("general limit"))
