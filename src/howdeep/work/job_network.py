"""The network of a job: its engine's, with its history, what its owner lives with, and what was done already."""

from __future__ import annotations

from collections.abc import Mapping

from ..beliefs.frames import network_of
from ..beliefs.network import Network, is_read_of, with_done, with_lived_with
from ..knowledge.engine_facts import engine_facts
from ..knowledge.questions import facts_of as facts_behind
from ..knowledge.questions import sort_of, spoken_of
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.results import Facts
from ..model.truth import Truth
from ..model.values import Values
from .rules import rules_for


def network_for(knowledge: Knowledge, job: OpenJob, facts: Facts, findings: Mapping[str, Truth]) -> Network:
    """The network of the job's engine, with its history, with what the owner lives with, and with what was done for the
    trouble already."""
    engine = engine_facts(job.engine)
    told = with_lived_with(
        network_of(knowledge, engine, facts.values, findings), lived_with(knowledge, facts.values, findings)
    )
    if not job.job.done:
        return told
    return with_done(told, knowledge, job.job.done, rules_for(knowledge, job.engine, engine).cures)


def read_before(knowledge: Knowledge, job: OpenJob, findings: Mapping[str, Truth]) -> tuple[str, ...]:
    """What was read of a part that the work done for the trouble has put right since."""
    if not job.job.done:
        return ()
    cures = rules_for(knowledge, job.engine, engine_facts(job.engine)).cures
    mended = {cause for cause, operations in cures.items() if any(item in operations for item in job.job.done)}
    return tuple(
        name for name, truth in findings.items() if truth is Truth.PRESENT and is_read_of(knowledge, name, mended)
    )


def lived_with(knowledge: Knowledge, facts: Values, findings: Mapping[str, Truth]) -> frozenset[str]:
    """Mild trouble that was told beside what the engine was brought in for: it speaks for causes, but a job is enough
    that leaves it. None where no complaint was told, or where nothing else was noticed that must go."""
    about = spoken_of(knowledge, facts)
    present = [
        name for name, truth in findings.items() if truth is Truth.PRESENT and knowledge.findings[name].explained_by
    ]
    mild = {
        name
        for name in present
        if knowledge.findings[name].mild and not about & facts_behind(knowledge, knowledge.findings[name].when)
    }
    rest = any(name not in mild and sort_of(knowledge, knowledge.findings[name]) != "discriminator" for name in present)
    return frozenset(mild) if about and rest else frozenset()


def brought_in(knowledge: Knowledge, facts: Facts) -> bool:
    """Whether the engine was brought in for its trouble, and not only to be looked over."""
    return not any(facts.values.get(fact) in answers for fact, answers in knowledge.settings.looked_over.items())
