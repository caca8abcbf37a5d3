"""The bare conclusions of a job, without trace, checks and what would change them: for scoring many jobs."""

from __future__ import annotations

import dataclasses

from ..beliefs.believe import believe
from ..beliefs.evidence import evidence_of
from ..beliefs.signs import signs_of
from ..logic.evaluate import evaluate_all
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.terms import Rung
from ..model.truth import Truth
from ..work.job_network import brought_in, network_for
from .facts import facts_of
from .prepared import prepare


def without_teardown(knowledge: Knowledge, job: OpenJob) -> OpenJob:
    """The job as it stood when it was promised: nothing measured once it was open."""
    values = {name: value for name, value in job.values.items() if knowledge.observations[name].moment != "teardown"}
    return dataclasses.replace(job, values=values)


@dataclasses.dataclass(frozen=True, slots=True)
class QuickAnswer:
    """The bare conclusions, without trace, checks and flip points: for scoring many jobs."""

    odds: dict[str, float]
    enough: dict[str, float]
    rung: Rung
    findings: dict[str, int]
    """Finding -> 1 present, 0 absent; unknown ones are not here."""


def known_findings(knowledge: Knowledge, job: OpenJob) -> dict[str, int]:
    """Finding -> 1 present, 0 absent, by the pure evaluator; unknown ones are not here."""
    facts, _ = facts_of(knowledge, job)
    return {
        name: int(truth is Truth.PRESENT)
        for name, truth in evaluate_all(knowledge, facts.values).items()
        if truth is not Truth.UNKNOWN
    }


def odds_of(knowledge: Knowledge, job: OpenJob) -> dict[str, float]:
    """The same odds as `assess`, and nothing else."""
    facts, _ = facts_of(knowledge, job)
    findings = evaluate_all(knowledge, facts.values)
    network = network_for(knowledge, job, facts, findings)
    signs = signs_of(network, knowledge, facts.values, findings).signs
    return believe(evidence_of(network, signs, brought_in=brought_in(knowledge, facts)), steps=False).odds()


def quick_answer(knowledge: Knowledge, job: OpenJob, prices: PriceList | None) -> QuickAnswer:
    """The same odds and the same best job as `assess`, by the pure evaluator."""
    facts, _ = facts_of(knowledge, job)
    findings = evaluate_all(knowledge, facts.values)
    ready = prepare(knowledge, job, facts, findings, prices, steps=False)
    return QuickAnswer(
        ready.beliefs.odds(),
        {line.rung: line.enough for line in ready.decision.ladder},
        ready.decision.rung,
        {name: int(truth is Truth.PRESENT) for name, truth in findings.items() if truth is not Truth.UNKNOWN},
    )
