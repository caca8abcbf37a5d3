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

from howdeep.assessment.assess import assess
from howdeep.assessment.facts import contradictions_in, facts_of
from howdeep.assessment.prepared import holds_of, prepare
from howdeep.assessment.session import Shop
from howdeep.beliefs.evidence import Sign
from howdeep.beliefs.frames import network_of
from howdeep.beliefs.network import Network
from howdeep.beliefs.signs import Signs, signs_of
from howdeep.cases.expected import failed
from howdeep.cases.figures import Figures
from howdeep.cases.run import case_files, off_figures
from howdeep.decision.answer_kind import with_kind
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.logic.evaluate import evaluate_all
from howdeep.model.expect import Expect
from howdeep.model.job import OpenJob
from howdeep.model.knowledge import Knowledge
from howdeep.model.results import Assessment, Conclusions, Counted, Facts, HoldState
from howdeep.model.truth import Truth
from howdeep.work.rules import _kept as kept_rules

Seen = tuple[Any, ...]
"""What a customer would be told: leading cause, kind, job and its work, holds, contradictions, and every truth."""


@dataclass(frozen=True, eq=False)
class Probe:
    """One job and what the unchanged rule base makes of it."""

    name: str
    job: OpenJob
    expect: Expect | None
    """None for a job near a case."""
    facts: Facts
    findings: dict[str, Truth]
    signs: Signs
    network: Network
    holds: tuple[HoldState, ...]
    contradictions: tuple[str, ...]
    answer: Assessment

    @property
    def ranks_checks(self) -> bool:
        """Whether the case also expects a next check, which depends on everything that is not known yet."""
        return self.expect is not None and bool(self.expect.next_check)


def probes_of(shop: Shop, folder: Path, near: int, seed: int, every: int = 1) -> tuple[list[Probe], list[Probe]]:
    """(every so-manieth worked case without known gaps, `near` jobs near each of them)."""
    cases, around = [], []
    for path in case_files(folder)[::every]:
        job = shop.open_job(path)
        expect = job.job.expect
        if expect is None or expect.known_gap:
            continue
        cases.append(_probe(shop, path.stem, job, expect))
        around += [
            _probe(shop, f"{path.stem} ~{number}", other, None)
            for number, other in enumerate(_near(shop.knowledge, job, near, seed))
        ]
    return cases, around


def _near(knowledge: Knowledge, job: OpenJob, number: int, seed: int) -> Iterator[OpenJob]:
    """Jobs that differ from one: a third of its answers not given, and one of the others answered otherwise."""
    random = np.random.default_rng([seed, *job.path.encode()])
    names = sorted(job.values)
    for _ in range(number):
        kept = {name: job.values[name] for name in names if random.random() > 1 / 3}
        choices = [
            name for name in kept if knowledge.observations[name].kind == "choice" and not isinstance(kept[name], tuple)
        ]
        if choices:
            name = choices[int(random.integers(len(choices)))]
            answers = list(knowledge.observations[name].answers)
            kept[name] = answers[int(random.integers(len(answers)))]
        yield dataclasses.replace(job, values=kept)


def _probe(shop: Shop, name: str, job: OpenJob, expect: Expect | None) -> Probe:
    knowledge = shop.knowledge
    facts, _ = facts_of(knowledge, job)
    findings = evaluate_all(knowledge, facts.values)
    holds, contradictions = holds_of(knowledge, job, facts.values, findings), contradictions_in(knowledge, job)
    network = network_of(knowledge, engine_facts(job.engine), facts.values, findings)
    return Probe(
        name,
        job,
        expect,
        facts,
        findings,
        signs_of(network, knowledge, facts.values, findings),
        network,
        holds,
        contradictions,
        _answer(shop, knowledge, job, facts, findings, holds, contradictions, steps=_says(expect)),
    )


def _says(expect: Expect | None) -> bool:
    """Whether a case expects something of what a sign says by itself: only then are steps told."""
    return expect is not None and bool(expect.speaks_for or expect.speaks_rather_for)


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
        holds, contradictions = holds_of(changed, job, facts.values, findings), contradictions_in(changed, job)
    signs, network = probe.signs, probe.network
    if mutant.touches not in (WORK, HOLDS) or not (same_facts and same_findings):
        network = network_of(changed, engine_facts(job.engine), facts.values, findings)
        signs = signs_of(network, changed, facts.values, findings)
    same_odds = _said(network, signs) == _said(probe.network, probe.signs) and _same_priors(network, probe.network)
    offered = mutant.touches == READINGS and " applies" in mutant.id  # which tests can be made is part of the work
    if same_odds and same_facts and same_findings and holds == probe.holds and mutant.touches != WORK and not offered:
        if contradictions == probe.contradictions:
            return None
        return dataclasses.replace(probe.answer, contradictions=contradictions)
    return _answer(shop, changed, job, facts, findings, holds, contradictions, steps=_says(probe.expect))


def failures(
    shop: Shop, probe: Probe, answer: Assessment, changed: Knowledge, kept: Mapping[str, Figures] | None = None
) -> list[str]:
    """Expectations of a case that the answer does not meet, and figures that moved from those kept; checks are ranked,
    for the next check and the kind of answer that hangs on it, only where all else holds."""
    assert probe.expect is not None
    found = list(failed(dataclasses.replace(probe.expect, next_check=(), kind=()), answer))
    if not found and kept:
        found = [line for line in [off_figures(kept, probe.name, answer)] if line]
    if not found and (probe.ranks_checks or probe.expect.kind):
        found = list(failed(probe.expect, assess(changed, probe.job, shop.prices, checks=True, flips=False)))
    return found


def seen(answer: Assessment) -> Seen:
    """What a customer would be told."""
    decision = answer.decision
    return (
        answer.beliefs[0].cause,
        decision.kind,
        decision.job,
        tuple(item.operation for item in answer.works[decision.job].items if not item.if_found),
        tuple((hold.hold, hold.state, hold.above) for hold in answer.holds),
        answer.contradictions,
        tuple(sorted((name, truth.value) for name, truth in answer.conclusions.findings.items())),
    )


def _link_counts(probe: Probe, mutant: Mutant) -> bool:
    """Whether anything is known of the question that the finding answers, and this engine can have one of the causes.

    A finding that is new to the network (so far no cause of this engine explained it) may count anywhere."""
    node = next((item for item in probe.network.nodes if mutant.finding in item.findings), None)
    if node is not None and all(probe.findings[name] is Truth.UNKNOWN for name in node.findings):
        return False
    return not mutant.causes or any(cause in probe.network.causes for cause in mutant.causes)


def _same_priors(one: Network, two: Network) -> bool:
    return one is two or (
        one.causes == two.causes
        and all(np.array_equal(getattr(one, name), getattr(two, name)) for name in ("base", "prior", "shares"))
        and (one.history == two.history)
    )


def _said(network: Network, signs: Signs) -> tuple:
    """All that the signs that count say of causes, and what is left to others (nothing else of a network is read)."""

    def of(sign: Sign) -> tuple:
        node = network.nodes[sign.node]
        arrays = (node.at_most, node.normal, node.unlisted, node.misread)
        return (
            node.findings,
            node.sorts,
            node.direct,
            node.in_use,
            sign.answer,
            sign.shares,
            sign.denies,
            sign.silent,
            tuple(array.tobytes() for array in arrays),
        )

    return tuple(map(of, signs.signs)), signs.present, signs.absent, tuple(signs.already.items()), signs.shown_too


def _answer(
    shop: Shop,
    knowledge: Knowledge,
    job: OpenJob,
    facts: Facts,
    findings: Mapping[str, Truth],
    holds: tuple[HoldState, ...],
    contradictions: tuple[str, ...],
    *,
    steps: bool,
) -> Assessment:
    """The answer by the pure evaluator, without trace, checks and flip points."""
    ready = prepare(knowledge, job, facts, findings, shop.prices, steps=steps, surprises=False)
    signs, case = ready.signs, dataclasses.replace(ready.case, holds=holds)
    return Assessment(
        job=job,
        facts=facts,
        conclusions=Conclusions(dict(findings), ()),
        counted=Counted(signs.present, signs.absent, signs.already, signs.shown_too),
        beliefs=ready.beliefs.causes,
        evidence=ready.beliefs.evidence,
        unexplained=ready.beliefs.unexplained,
        noticed=ready.case.noticed,
        decision=with_kind(knowledge, ready.problem, ready.decision, case, ()),
        works=ready.works,
        holds=holds,
        contradictions=contradictions,
        dropped=(),
        not_asked=(),
        stand_ins=(),
    )
