"""The only place that strings the steps together: readings -> rules -> beliefs -> work -> prices -> decision."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from .decision.checks import rank_checks
from .decision.decide import decision_of, terms_of
from .decision.flips import find_flips
from .decision.plan import bench_plan
from .decision.setting import Setting, setting_of
from .facts import facts_of, limits_of, moved_facts_of, raw_facts
from .knowledge.engine_facts import engine_facts
from .model.job import OpenJob
from .model.knowledge import RUNGS, Knowledge, Rung
from .model.prices import PriceList
from .model.results import Assessment, Conclusions, Counted, Decision, Facts, HoldState, Work
from .model.truth import Truth
from .pricing.lines import price_work
from .pricing.money import read_money
from .readings import order_sizes
from .reasoning.beliefs import Beliefs, believe
from .reasoning.condition import evaluate, evaluate_all
from .reasoning.construction import applies, rung_on
from .reasoning.counted import count, stories
from .reasoning.network import Network, network_of
from .reasoning.rules import conclude, finding_rules
from .work.rules import WorkRules, rules_for
from .work.select import work_at


def holds_of(knowledge: Knowledge, job: OpenJob, facts: Mapping[str, Any],
             findings: Mapping[str, Truth]) -> tuple[HoldState, ...]:
    """Every hold that the signs call for, and whether its check was made or waived."""
    engine, limits = engine_facts(job.engine), limits_of(knowledge)
    opened = any(knowledge.observations[name].opened_by for name in job.values)  # the promise has been made
    states = []
    for name, hold in knowledge.holds.items():
        if not applies(hold, engine) or evaluate(hold.when, facts, findings, limits) is not Truth.PRESENT:
            continue
        check = knowledge.checks.get(hold.check)
        wanted = check.observations if check else (hold.check,)
        offered = [item for item in wanted if applies(knowledge.observations[item], engine)]
        if not offered:
            continue
        made = any(item in facts and item in job.values for item in (*offered[:1], *hold.also_by))
        time = check.minutes if check else knowledge.observations[hold.check].minutes
        state = "cleared" if made else "waived" if name in job.job.waived else "too late" if opened else "stands"
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


def without_teardown(knowledge: Knowledge, job: OpenJob) -> OpenJob:
    """The job as it stood when it was promised: nothing measured once it was open."""
    values = {name: value for name, value in job.values.items()
              if knowledge.observations[name].moment != "teardown"}
    return dataclasses.replace(job, values=values)


@dataclasses.dataclass(frozen=True, slots=True)
class Prepared:
    """Everything that is settled once the findings are known."""

    network: Network
    counted: Counted
    beliefs: Beliefs
    works: dict[str, Work]
    need: dict[str, Rung]
    setting: Setting
    decision: Decision
    labour: dict[Rung, float] | None
    """Rung -> money for labour; None without prices."""


def prepare(knowledge: Knowledge, job: OpenJob, facts: Facts, findings: Mapping[str, Truth], prices: PriceList | None,
            *, steps: bool) -> Prepared:
    """Beliefs, work, prices and decision from the findings. `steps` also tells how the beliefs came about."""
    engine = engine_facts(job.engine)
    network = network_of(knowledge, engine, facts.values, findings)
    counted = count(stories(knowledge), findings)
    beliefs = believe(network, counted, steps=steps)
    rules = rules_for(knowledge, job.engine, engine)
    sizes = order_sizes(job, knowledge)
    odds = beliefs.odds()
    answered = frozenset(job.values) | job.unknown
    works = {rung: work_at(knowledge, rules, job.engine, facts.values, findings, odds, rung, sizes, answered)
             for rung in RUNGS}
    need, seen = levels_of(knowledge, rules, engine)
    priced = {} if prices is None else {
        rung: price_work(works[rung], knowledge, job.engine, job.job.engine, prices) for rung in RUNGS}
    costs = {rung: priced[rung].total if priced else None for rung in RUNGS}
    missing = tuple(dict.fromkeys(name for item in priced.values() for name in item.missing)) if priced else (
        "a price list",)
    setting = setting_of(network, counted, need, seen, costs, terms_of(prices))
    decision = decision_of(setting, odds, currency=prices.currency if prices else "", missing=missing,
                           value_running=money_of(job.job.customer.value_running or job.engine.value_running, prices),
                           replacement=costs["replace"], opened=opened_by(knowledge, job, rules))
    labour = {rung: float(item.sum_of("labour", "supplies")) for rung, item in priced.items()} if priced else None
    return Prepared(network, counted, beliefs, works, need, setting, decision, labour)


def opened_by(knowledge: Knowledge, job: OpenJob, rules: WorkRules) -> tuple[str, ...]:
    """Operations by which the engine stands open, by what was seen or measured in it, in order of id."""
    return tuple(sorted({name for observation in job.values for name in knowledge.observations[observation].opened_by
                         if name in rules.rungs}))


def money_of(text: str, prices: PriceList | None) -> Decimal | None:
    """A stated sum in the shop's currency; None where none is stated."""
    return read_money(text, prices.currency) if text and prices is not None else None


def levels_of(knowledge: Knowledge, rules: WorkRules, engine: Mapping[str, Any]) -> tuple[dict[str, Rung],
                                                                                         dict[str, Rung]]:
    """Cause -> smallest rung that cures it on this engine, and smallest rung that opens it to view."""
    need: dict[str, Rung] = {}
    seen: dict[str, Rung] = {}
    for cause, operations in rules.cures.items():
        reached = [RUNGS.index(rules.rungs[name]) for name in operations]
        need[cause] = RUNGS[min(reached, default=len(RUNGS) - 1)]
        seen[cause] = rung_on(knowledge.causes[cause].seen_at, engine) or "replace"
    return need, seen


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
    return {name: int(truth is Truth.PRESENT) for name, truth in evaluate_all(knowledge, facts.values).items()
            if truth is not Truth.UNKNOWN}


def quick_answer(knowledge: Knowledge, job: OpenJob, prices: PriceList | None) -> QuickAnswer:
    """The same odds and the same recommendation as `assess`, by the pure evaluator."""
    facts, _ = facts_of(knowledge, job)
    findings = evaluate_all(knowledge, facts.values)
    ready = prepare(knowledge, job, facts, findings, prices, steps=False)
    return QuickAnswer(ready.beliefs.odds(), {line.rung: line.enough for line in ready.decision.ladder},
                       ready.decision.rung, {name: int(truth is Truth.PRESENT) for name, truth in findings.items()
                                             if truth is not Truth.UNKNOWN})


def assess(knowledge: Knowledge, job: OpenJob, prices: PriceList | None, *, checks: bool = True,
           flips: bool = True) -> Assessment:
    """The whole answer. `checks` ranks the open checks, `flips` finds what would move the recommendation."""
    facts, dropped = facts_of(knowledge, job)
    conclusions: Conclusions = conclude(finding_rules(knowledge), facts.values)
    ready = prepare(knowledge, job, facts, conclusions.findings, prices, steps=True)
    limits = limits_of(knowledge)
    answer = Assessment(
        job=job, facts=facts, conclusions=conclusions, counted=ready.counted, beliefs=ready.beliefs.causes,
        evidence=ready.beliefs.evidence, decision=ready.decision, works=ready.works,
        holds=holds_of(knowledge, job, facts.values, conclusions.findings),
        contradictions=tuple(name for name, item in knowledge.contradictions.items()
                             if evaluate(item.when, raw_facts(job), {}, limits) is Truth.PRESENT),
        dropped=dropped, not_asked=open_observations(knowledge, job, facts.values),
        stand_ins=stand_in_sentences(facts),
    )
    if prices is None or not (checks or flips):
        return answer
    ranking = rank_checks(ready.setting, knowledge, job.engine, facts.values, conclusions.findings,
                          frozenset(job.values) | job.unknown, prices)
    plan = bench_plan(ranking.checks)
    answer = dataclasses.replace(answer, checks=ranking.checks, extra={
        "plan": plan.steps, "plan_minutes": plan.minutes, "perfect": ranking.perfect,
        "checks_estimated": ranking.estimated})
    if not flips:
        return answer

    return dataclasses.replace(answer, flips=find_flips(
        ready.setting, knowledge, facts.values, conclusions.findings, job.values, ranking,
        moved_by=moved_facts_of(knowledge, job, facts),
        labour=ready.labour, rate=float(read_money(prices.labour_rate, prices.currency))))
