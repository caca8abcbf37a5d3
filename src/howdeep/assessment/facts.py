"""From the answers and readings of a job to every fact that the rules can read, and what another answer would move."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

from ..knowledge.engine_facts import engine_facts
from ..logic.applicability import applies
from ..logic.evaluate import OfAll, compiled, evaluate
from ..logic.stratify import once_per_value
from ..model.condition import facts_read
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.results import Facts
from ..model.truth import Truth
from ..model.values import Value, Values
from ..readings import reduce


def raw_facts(job: OpenJob) -> dict[str, Value]:
    """Answers and readings as given, with how the engine is built."""
    return {**engine_facts(job.engine), **job.values}


def limits_of(knowledge: Knowledge) -> dict[str, float]:
    """Limit -> figure, as conditions read them."""
    return {name: item.value for name, item in knowledge.limits.items()}


def contradictions_in(knowledge: Knowledge, job: OpenJob) -> tuple[str, ...]:
    """Contradictions present in the answers as given, without those that work already done has settled."""
    raw, limits = raw_facts(job), limits_of(knowledge)
    return tuple(
        name
        for name, item in knowledge.contradictions.items()
        if evaluate(item.when, raw, {}, limits) is Truth.PRESENT
        and (item.unless is None or evaluate(item.unless, raw, {}, limits) is not Truth.PRESENT)
        and not set(item.settled_by) & set(job.job.done)
    )


@once_per_value(keep=4)
def _grounds(knowledge: Knowledge) -> dict[str, OfAll]:
    """Follow-up question -> its ground, compiled."""
    limits = limits_of(knowledge)
    return {
        name: compiled(item.follows, limits)
        for name, item in knowledge.observations.items()
        if item.follows is not None
    }


def left_out(knowledge: Knowledge, job: OpenJob) -> tuple[str, ...]:
    """Observations that were answered although such an engine is not asked them, or their ground is gone by what was
    answered or follows from it; in order of id."""
    engine = engine_facts(job.engine)
    dropped = [name for name in job.values if not applies(knowledge.observations[name], engine)]
    kept, grounds = dict(job.values), _grounds(knowledge)
    for name in dropped:
        kept.pop(name, None)
    while True:
        facts = {**engine, **implied_answers(knowledge, kept), **kept}
        more = [name for name in kept if name in grounds and grounds[name](facts, {}) is False]
        if not more:
            return tuple(sorted(dropped))
        dropped += more
        for name in more:
            kept.pop(name, None)


def counted(knowledge: Knowledge, job: OpenJob) -> OpenJob:
    """The job without what is left out: of what was answered, that alone says what was made, and what stands open."""
    dropped = left_out(knowledge, job)
    return (
        dataclasses.replace(job, values={name: value for name, value in job.values.items() if name not in dropped})
        if dropped
        else job
    )


def implied_answers(knowledge: Knowledge, values: Values) -> dict[str, Value]:
    """Answers that follow from others: "no smoke at all" also answers what colour it is when pulling."""
    implied: dict[str, Value] = {}
    for name, value in values.items():
        if not isinstance(value, str):
            continue
        for other, answer in knowledge.observations[name].implies.get(value, {}).items():
            if other not in values:
                implied[other] = answer
    return implied


def kept_answers(knowledge: Knowledge, job: OpenJob, dropped: tuple[str, ...]) -> dict[str, Value]:
    """Answers and readings without what is left out, and with the answers that follow from others."""
    given = {name: value for name, value in job.values.items() if name not in dropped}
    return {**given, **implied_answers(knowledge, given)}


def facts_of(knowledge: Knowledge, job: OpenJob) -> tuple[Facts, tuple[str, ...]]:
    """Every fact the rules can read, and the observations that were dropped."""
    dropped = left_out(knowledge, job)
    kept = dataclasses.replace(job, values=kept_answers(knowledge, job, dropped))
    facts, limits = raw_facts(kept), limits_of(knowledge)

    def valid(name: str) -> Truth:
        condition = knowledge.observations[name].valid_when
        return Truth.PRESENT if condition is None else evaluate(condition, facts, {}, limits)

    return reduce(kept, knowledge, valid), dropped


@once_per_value(keep=4)
def plain_answers(knowledge: Knowledge) -> frozenset[str]:
    """Questions whose answer changes no other fact: nothing follows from them, is implied, or is reduced by them."""
    entangled: set[str] = set()
    for name, item in knowledge.observations.items():
        for condition in (item.follows, item.valid_when):
            if condition is not None:
                entangled |= {name, *facts_read(condition)}
        for others in item.implies.values():
            entangled |= {name, *others}
    for reduced in knowledge.reduced.values():
        entangled.update(reduced.taken_from)
    return frozenset(name for name, item in knowledge.observations.items() if item.kind == "choice") - entangled


@once_per_value(keep=4)
def answers_read_with_readings(knowledge: Knowledge) -> frozenset[str]:
    """Answers that may alter what a reading is worth, and every reading."""
    read = {name for name, item in knowledge.observations.items() if item.kind != "choice" or item.each}
    for name, item in knowledge.observations.items():
        if item.valid_when is not None:
            read |= {name, *facts_read(item.valid_when)}
    for reduced in knowledge.reduced.values():
        read.update(reduced.taken_from)
    return frozenset(read)


def moved_facts_of(knowledge: Knowledge, job: OpenJob, facts: Facts) -> Callable[[Values], dict[str, Value | None]]:
    """A function that tells which facts would be others, and what (None for none), if some answers were others."""
    plain, with_readings = plain_answers(knowledge), answers_read_with_readings(knowledge)
    now = kept_answers(knowledge, job, left_out(knowledge, job))

    def moved(changed: Values) -> dict[str, Value | None]:
        if changed.keys() <= plain and changed.keys() <= facts.values.keys():
            return {name: value for name, value in changed.items() if facts.values[name] != value}
        other = dataclasses.replace(job, values={**job.values, **changed})
        kept = kept_answers(knowledge, other, left_out(knowledge, other))
        others = _differing(now, kept)
        if not others.keys() & with_readings:
            return others
        return _differing(facts.values, facts_of(knowledge, other)[0].values)

    return moved


def _differing(before: Values, after: Values) -> dict[str, Value | None]:
    """What is other in `after`, in order of name; None for what is not there any more."""
    return {name: after.get(name) for name in sorted({*before, *after}) if after.get(name) != before.get(name)}
