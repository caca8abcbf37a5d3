"""Jobs that mutants are tried on: the worked cases, and jobs near them that nobody wrote an expectation for.

A probe keeps what the unchanged rule base makes of it, so that a mutant is worked out only as far as it can differ:
readings, then conclusions, then beliefs. Where every input of a step is the same, its result is the same and is kept.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from mutants import HOLDS, LINKS, ODDS, READINGS, RULES, WORK, Mutant

from howdeep.assess import assess, holds_of, prepare
from howdeep.case_figures import Figures
from howdeep.cases import case_files, failed, off_figures
from howdeep.facts import facts_of, limits_of, raw_facts
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.model.job import Expect, OpenJob
from howdeep.model.knowledge import Knowledge
from howdeep.model.results import Assessment, Conclusions, Counted, Facts, HoldState
from howdeep.model.truth import Truth
from howdeep.reasoning.condition import evaluate, evaluate_all
from howdeep.reasoning.counted import count, stories
from howdeep.reasoning.network import Network, network_of
from howdeep.session import Shop
from howdeep.work.rules import _kept as kept_rules

Seen = tuple[Any, ...]
"""What a customer would be told: leading cause, scope, work, holds, contradictions, and every finding's truth."""


@dataclass(frozen=True, eq=False)
class Probe:
    """One job and what the unchanged rule base makes of it."""

    name: str
    job: OpenJob
    expect: Expect | None
    """None for a job near a case."""
    facts: Facts
    findings: dict[str, Truth]
    counted: Counted
    network: Network
    holds: tuple[HoldState, ...]
    contradictions: tuple[str, ...]
    answer: Assessment

    @property
    def ranks_checks(self) -> bool:
        """Whether the case also expects a next check, which depends on everything that is not known yet."""
        return self.expect is not None and bool(self.expect.next_check)


def probes_of(shop: Shop, folder: Path, near: int, seed: int) -> tuple[list[Probe], list[Probe]]:
    """(worked cases without known gaps, `near` jobs near each of them)."""
    cases, around = [], []
    for path in case_files(folder):
        job = shop.open_job(path)
        expect = job.job.expect
        if expect is None or expect.known_gap:
            continue
        cases.append(_probe(shop, path.stem, job, expect))
        around += [_probe(shop, f"{path.stem} ~{number}", other, None)
                   for number, other in enumerate(_near(shop.knowledge, job, near, seed))]
    return cases, around


def _near(knowledge: Knowledge, job: OpenJob, number: int, seed: int) -> Iterator[OpenJob]:
    """Jobs that differ from one: a third of its answers not given, and one of the others answered otherwise."""
    random = np.random.default_rng([seed, *job.path.encode()])
    names = sorted(job.values)
    for _ in range(number):
        kept = {name: job.values[name] for name in names if random.random() > 1 / 3}
        choices = [name for name in kept if knowledge.observations[name].kind == "choice"
                   and not isinstance(kept[name], tuple)]
        if choices:
            name = choices[int(random.integers(len(choices)))]
            answers = list(knowledge.observations[name].answers)
            kept[name] = answers[int(random.integers(len(answers)))]
        yield dataclasses.replace(job, values=kept)


def _probe(shop: Shop, name: str, job: OpenJob, expect: Expect | None) -> Probe:
    knowledge = shop.knowledge
    facts, _ = facts_of(knowledge, job)
    findings = evaluate_all(knowledge, facts.values)
    holds, contradictions = holds_of(knowledge, job, facts.values, findings), _contradictions(knowledge, job)
    return Probe(name, job, expect, facts, findings, count(stories(knowledge), findings),
                 network_of(knowledge, engine_facts(job.engine), facts.values, findings), holds, contradictions,
                 _answer(shop, knowledge, job, facts, findings, holds, contradictions))


def share_work(base: Knowledge, changed: Knowledge, mutant: Mutant) -> None:
    """Let a mutant that leaves operations, scopes, cures and limits alone use the work rules compiled already."""
    if mutant.touches in (LINKS, ODDS, RULES, HOLDS):
        kept_rules(changed).update(kept_rules(base))


def answer_of(shop: Shop, probe: Probe, mutant: Mutant, changed: Knowledge) -> Assessment | None:
    """What the mutant makes of the probe; None where it provably makes the same of it."""
    job = probe.job
    if mutant.touches == LINKS and not _link_counts(probe, mutant):
        return None
    facts = facts_of(changed, job)[0] if mutant.touches == READINGS else probe.facts
    same_facts = facts is probe.facts or facts == probe.facts
    findings = probe.findings
    if mutant.touches in (READINGS, RULES):
        findings = evaluate_all(changed, facts.values)
    same_findings = findings == probe.findings
    holds = probe.holds
    contradictions = probe.contradictions
    if mutant.touches in (READINGS, RULES, HOLDS):
        holds, contradictions = holds_of(changed, job, facts.values, findings), _contradictions(changed, job)
    counted, network = probe.counted, probe.network
    if mutant.touches in (LINKS, ODDS) or not (same_facts and same_findings):
        counted = count(stories(changed), findings)
        network = network_of(changed, engine_facts(job.engine), facts.values, findings)
    same_odds = counted == probe.counted and _same_network(network, probe.network, counted)
    if same_odds and same_facts and same_findings and mutant.touches != WORK:
        if holds == probe.holds and contradictions == probe.contradictions:
            return None
        return dataclasses.replace(probe.answer, holds=holds, contradictions=contradictions)
    return _answer(shop, changed, job, facts, findings, holds, contradictions)


def failures(shop: Shop, probe: Probe, answer: Assessment, changed: Knowledge,
             kept: Mapping[str, Figures] | None = None) -> list[str]:
    """Expectations of a case that the answer does not meet, and figures that moved from those kept; the next check is
    ranked only where all else holds."""
    assert probe.expect is not None
    found = list(failed(dataclasses.replace(probe.expect, next_check=()), answer))
    if not found and kept:
        found = [line for line in [off_figures(kept, probe.name, answer)] if line]
    if not found and probe.ranks_checks:
        found = list(failed(probe.expect, assess(changed, probe.job, shop.prices, checks=True, flips=False)))
    return found


def seen(answer: Assessment) -> Seen:
    """What a customer would be told."""
    rung = answer.decision.rung
    return (answer.beliefs[0].cause, rung,
            tuple(item.operation for item in answer.works[rung].items if not item.if_found),
            tuple((hold.hold, hold.state, hold.above) for hold in answer.holds), answer.contradictions,
            tuple(sorted((name, truth.value) for name, truth in answer.conclusions.findings.items())))


def _link_counts(probe: Probe, mutant: Mutant) -> bool:
    """Whether the finding counts here, and one of the causes can be had by this engine."""
    if mutant.finding not in probe.counted.present and mutant.finding not in probe.counted.absent:
        return False
    return not mutant.causes or any(cause in probe.network.causes for cause in mutant.causes)


def _same_network(one: Network, two: Network, counted: Counted) -> bool:
    """Whether two networks say the same of the findings that count (all else is never read)."""
    if one is two:
        return True
    if one.causes != two.causes or not np.array_equal(one.prior, two.prior):
        return False
    names = (*counted.present, *counted.absent)
    mine = [one.findings.index(name) if name in one.findings else -1 for name in names]
    other = [two.findings.index(name) if name in two.findings else -1 for name in names]
    if -1 in mine or -1 in other:
        return False
    return np.array_equal(one.q[:, mine], two.q[:, other]) and np.array_equal(one.leak[mine], two.leak[other])


def _contradictions(knowledge: Knowledge, job: OpenJob) -> tuple[str, ...]:
    raw, limits = raw_facts(job), limits_of(knowledge)
    return tuple(name for name, item in knowledge.contradictions.items()
                 if evaluate(item.when, raw, {}, limits) is Truth.PRESENT)


def _answer(shop: Shop, knowledge: Knowledge, job: OpenJob, facts: Facts, findings: Mapping[str, Truth],
            holds: tuple[HoldState, ...], contradictions: tuple[str, ...]) -> Assessment:
    """The answer by the pure evaluator, without trace, checks and flip points."""
    ready = prepare(knowledge, job, facts, findings, shop.prices, steps=False)
    return Assessment(job=job, facts=facts, conclusions=Conclusions(dict(findings), ()), counted=ready.counted,
                      beliefs=ready.beliefs.causes, evidence=ready.beliefs.evidence, decision=ready.decision,
                      works=ready.works, holds=holds, contradictions=contradictions, dropped=(), not_asked=(),
                      stand_ins=())
