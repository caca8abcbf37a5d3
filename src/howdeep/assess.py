"""The only place that strings the steps together: readings -> rules -> beliefs -> work -> prices -> decision."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import numpy as np

from .beliefs.believe import Beliefs, believe
from .beliefs.evidence import Evidence, evidence_of
from .beliefs.misfits import misfits_of
from .beliefs.network import Network, network_of, with_done
from .beliefs.signs import Signs, signs_of
from .decision.first_looks import COMPLAINT, first_looks
from .decision.open_checks import open_checks
from .decision.outcomes import answered_by
from .decision.plan import bench_plan
from .decision.problem import Job, Problem, problem_of
from .decision.recommend import Case, decide, terms_of, with_kind
from .decision.running import forbidden_by, may_be_made
from .decision.value_of_information import Ranking, cost_of_check, rank
from .decision.whatif import known_of
from .facts import facts_of, limits_of, raw_facts
from .knowledge.engine_facts import engine_facts
from .knowledge.figure_words import figure_title
from .knowledge.tools import tools_lacking
from .model.job import OpenJob
from .model.kind import General
from .model.knowledge import RUNGS, Knowledge, Rung
from .model.prices import PriceList
from .model.results import Assessment, CheckValue, Conclusions, Counted, Decision, Facts, HoldState, Work
from .model.truth import Truth
from .pricing.lines import PricedWork, price_work
from .pricing.money import read_money
from .pricing.stand_ins import terms_lacking, weighing
from .readings import order_sizes
from .reasoning.condition import evaluate, evaluate_all
from .reasoning.construction import applies, rung_on
from .reasoning.rules import conclude, finding_rules
from .work.calls import as_called, costs_alone
from .work.rules import WorkRules, rules_for
from .work.select import with_displaced, work_at

IDLE = 0.1
"""Work that cures only what is less suspected than this altogether is no job (judgement)."""
OVERTAKES = 30.0
"""Minutes of labour that a check must save before it overtakes what the trade looks at first: less is within what the
odds, judgement as they are, can tell apart (judgement)."""
SHOWN = 3
"""Checks of which it is worked out where each outcome leads."""


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
        if tools_lacking(knowledge, name):
            continue
        result.append(name)
    return tuple(result)


def stand_in_sentences(facts: Facts, general: General | None = None) -> tuple[str, ...]:
    """Where a general limit stood in for a figure that the engine sheet does not give; of an engine without a sheet,
    the figures of its kind first, each once, with how far makers differ."""
    told = [f"{reduction.fact}: {reduction.basis}. {reduction.how}"
            for _, reduction in sorted(facts.reductions.items()) if "general limit" in reduction.basis]
    if general is None:
        return tuple(told)
    used = {figure.path: [fact for fact, reduction in sorted(facts.reductions.items())
                          if f"general limit {general.kind} {figure.path}" in reduction.basis.split(" and ")]
            for figure in general.figures}
    named = [f"{figure_title(figure.path)}: {figure.value} stands in ({figure.least} to {figure.most} between makers; "
             f"{' and '.join(figure.standings)}), for {', '.join(used[figure.path])}"
             for figure in general.figures if used[figure.path]]
    return (*named, *told)


def without_teardown(knowledge: Knowledge, job: OpenJob) -> OpenJob:
    """The job as it stood when it was promised: nothing measured once it was open."""
    values = {name: value for name, value in job.values.items()
              if knowledge.observations[name].moment != "teardown"}
    return dataclasses.replace(job, values=values)


@dataclasses.dataclass(frozen=True, slots=True)
class Prepared:
    """Everything that is settled once the findings are known."""

    network: Network
    signs: Signs
    evidence: Evidence
    beliefs: Beliefs
    works: dict[str, Work]
    """Key of the job -> its work."""
    problem: Problem
    decision: Decision
    """Without its kind."""
    case: Case


def prepare(knowledge: Knowledge, job: OpenJob, facts: Facts, findings: Mapping[str, Truth], prices: PriceList | None,
            *, steps: bool, network: Network | None = None) -> Prepared:
    """Beliefs, work, prices and decision from the findings. `steps` also tells how the beliefs came about; a `network`
    takes the place of the engine's own, for base odds other than the rules'."""
    engine = engine_facts(job.engine)
    own, prices = prices, None if prices is None else weighing(prices)
    rules = rules_for(knowledge, job.engine, engine)
    if network is None:
        told = network_of(knowledge, engine, facts.values, findings)
        network = with_done(told, knowledge, job.job.done, rules.cures) if job.job.done else told
    signs = signs_of(network, knowledge, facts.values, findings)
    evidence = evidence_of(network, signs.signs, brought_in=brought_in(knowledge, facts))
    beliefs = believe(evidence, steps=steps)
    need, seen = levels_of(knowledge, rules, engine)
    works = works_of(knowledge, job, facts, findings, beliefs, rules, prices)
    priced = {} if prices is None else {
        key: price_work(work, knowledge, job.engine, job.job.engine, prices) for key, work in works.items()}
    missing = ("a price list",) if own is None else missing_in(
        priced if prices is own else {key: price_work(work, knowledge, job.engine, job.job.engine, own)
                                      for key, work in works.items()}, own)
    value = money_of(job.job.customer.value_running or job.engine.value_running, prices)
    stop = None if value is None else max(
        value - (money_of(job.job.customer.value_as_is, prices) or Decimal(0)), Decimal(0))
    targeted = [Job(work.rung, False, _total(priced, key), cured_by(knowledge, rules, work))
                for key, work in works.items() if key.endswith(":only")]
    problem = problem_of(evidence, need, seen, [_total(priced, rung) for rung in RUNGS], targeted,
                         terms_of(prices, stop), found_at(knowledge, job, rules, works, need, beliefs, prices),
                         [is_idle(knowledge, rules, works[rung], beliefs) for rung in RUNGS])
    case = Case(beliefs.causes, beliefs.unexplained, findings, holds_of(knowledge, job, facts.values, findings),
                frozenset(job.job.waived), opened_by(knowledge, job, rules),
                any(axis.must_go for axis in evidence.axes), prices, complained(knowledge, facts),
                unheard(knowledge, job, facts.values), value,
                priced["replace"].total if priced else None,
                any(remark.kind == "too tight" for remark in facts.remarks))
    decision = decide(knowledge, problem, case, missing=missing)
    forbidden = forbidden_by(decision.dangers)
    if forbidden:
        works = {key: dataclasses.replace(work, before=may_be_made(knowledge, work.before, forbidden))
                 for key, work in works.items()}
    return Prepared(network, signs, evidence, beliefs, works, problem, decision, case)


def missing_in(priced: Mapping[str, PricedWork], prices: PriceList) -> tuple[str, ...]:
    """What the list lacks of all that the jobs and the decision need; stand-ins are no prices of the shop."""
    names = dict.fromkeys(name for item in priced.values() for name in item.missing)
    return (*names, *terms_lacking(prices))


def found_at(knowledge: Knowledge, job: OpenJob, rules: WorkRules, works: Mapping[str, Work],
             need: Mapping[str, Rung], beliefs: Beliefs, prices: PriceList | None) -> list[float]:
    """Per rung what its package is expected to cost more for cures of its own depth that are not in it."""
    if prices is None:
        return [0.0] * len(RUNGS)
    costs, hands = costs_alone(knowledge, rules, job.engine, job.job.engine, prices), beliefs.hands()
    result = []
    for depth, rung in enumerate(RUNGS):
        done = cured_by(knowledge, rules, works[rung])
        result.append(sum(hands[cause] * costs.get(next(iter(rules.cures[cause]), ""), 0.0) for cause in hands
                          if RUNGS.index(need[cause]) <= depth and cause not in done and rung != "replace"))
    return result


def is_idle(knowledge: Knowledge, rules: WorkRules, work: Work, beliefs: Beliefs) -> bool:
    """Whether what a package surely does cures next to nothing that is suspected."""
    hands = beliefs.hands()
    return work.rung != "replace" and sum(hands.get(cause, 0.0) for cause in cured_by(knowledge, rules, work)) < IDLE


def brought_in(knowledge: Knowledge, facts: Facts) -> bool:
    """Whether the engine was brought in for its trouble, and not only to be looked over."""
    return not any(facts.values.get(fact) in answers for fact, answers in knowledge.settings.looked_over.items())


def unheard(knowledge: Knowledge, job: OpenJob, facts: Mapping[str, Any]) -> tuple[str, ...]:
    """Questions about what was complained of, where none of them was answered yet and some can be asked now."""
    about = knowledge.settings.spoken_of.get(str(facts.get(COMPLAINT)), ())
    if any(name in facts or name in job.unknown for name in about):
        return ()
    can = open_observations(knowledge, job, facts)
    return tuple(name for name in about if name in can)


def complained(knowledge: Knowledge, facts: Facts) -> bool:
    """Whether it was said what the trouble is."""
    return any(fact in facts.values for fact in knowledge.settings.looked_over) and brought_in(knowledge, facts)


def works_of(knowledge: Knowledge, job: OpenJob, facts: Facts, findings: Mapping[str, Truth], beliefs: Beliefs,
             rules: WorkRules, prices: PriceList | None) -> dict[str, Work]:
    """The package of every rung, and at each rung that something noticed needs, only what cures that."""
    odds = beliefs.odds()
    hands = as_called(knowledge, rules, job.engine, job.job.engine, beliefs.hands(), prices)
    sizes = order_sizes(job, knowledge)
    answered = frozenset(job.values) | job.unknown

    def work(rung: Rung, only: bool) -> Work:
        return work_at(knowledge, rules, job.engine, facts.values, findings, odds, rung, sizes, answered, hands=hands,
                       only=only, done=job.job.done)

    works = {rung: work(rung, False) for rung in RUNGS}
    for rung in RUNGS[:-1]:
        only = work(rung, True)
        done = {item.operation for item in only.items if not item.if_found}
        sure = {item.operation for item in works[rung].items if not item.if_found}
        depth = max((RUNGS.index(rules.rungs[name]) for name in done), default=-1)
        if depth == RUNGS.index(rung) and done != sure:
            works[f"{rung}:only"] = only
    return works


def cured_by(knowledge: Knowledge, rules: WorkRules, work: Work) -> frozenset[str]:
    """Causes that the sure work of a job cures."""
    done = with_displaced(knowledge, [item.operation for item in work.items if not item.if_found])
    return frozenset(cause for cause, operations in rules.cures.items() if done & set(operations))


def _total(priced: Mapping[str, PricedWork], key: str) -> float:
    """Price of a job, NaN where one of its prices is missing."""
    total = priced[key].total if key in priced else None
    return float("nan") if total is None else float(total)


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


def odds_of(knowledge: Knowledge, job: OpenJob) -> dict[str, float]:
    """The same odds as `assess`, and nothing else."""
    facts, _ = facts_of(knowledge, job)
    findings = evaluate_all(knowledge, facts.values)
    engine = engine_facts(job.engine)
    network = network_of(knowledge, engine, facts.values, findings)
    if job.job.done:
        network = with_done(network, knowledge, job.job.done, rules_for(knowledge, job.engine, engine).cures)
    signs = signs_of(network, knowledge, facts.values, findings).signs
    return believe(evidence_of(network, signs, brought_in=brought_in(knowledge, facts)), steps=False).odds()


def quick_answer(knowledge: Knowledge, job: OpenJob, prices: PriceList | None) -> QuickAnswer:
    """The same odds and the same best job as `assess`, by the pure evaluator."""
    facts, _ = facts_of(knowledge, job)
    findings = evaluate_all(knowledge, facts.values)
    ready = prepare(knowledge, job, facts, findings, prices, steps=False)
    return QuickAnswer(ready.beliefs.odds(), {line.rung: line.enough for line in ready.decision.ladder},
                       ready.decision.rung, {name: int(truth is Truth.PRESENT) for name, truth in findings.items()
                                             if truth is not Truth.UNKNOWN})


def ranking_of(knowledge: Knowledge, job: OpenJob, facts: Facts, findings: Mapping[str, Truth], ready: Prepared,
               prices: PriceList | None) -> Ranking:
    """Every check that can be made now, the most worthwhile first; holds and first looks are marked."""
    offered = open_checks(knowledge, job.engine, facts.values, frozenset(job.values) | job.unknown,
                          forbidden_by(ready.decision.dangers))
    holds = {hold.check: hold.hold for hold in ready.case.holds if hold.state == "stands"}
    looks = first_looks(knowledge, facts.values, findings, [danger.subject for danger in ready.decision.dangers])
    wanted = {check.check for check in offered if check.check in looks or check.check in holds
              or any(name in holds for name in check.observations)}
    answered = answered_by(ready.network, ready.signs, known_of(knowledge, facts.values, findings), offered)
    hands = np.array([ready.beliefs.hands()[cause] for cause in ready.network.causes])
    weighed = None if prices is None else weighing(prices)
    ranking = rank(ready.problem, offered, answered, hands,
                   {check.check: cost_of_check(check, weighed) for check in offered}, wanted=sorted(wanted))
    marked = [dataclasses.replace(
        check, first_look=check.check in looks or check.check in ready.case.unheard,
        hold=next((holds[name] for name in (check.check, *check.observations) if name in holds), ""))
        for check in ranking.checks]
    place = {name: number for number, name in enumerate(looks)}
    much = read_money(prices.labour_rate, prices.currency) * Decimal(OVERTAKES) / 60 if prices else Decimal(0)
    about = {name: number for number, name in enumerate(ready.case.unheard)}

    def rank_of(check: CheckValue) -> tuple:
        pays = ready.case.noticed and check.net > much  # money saved says nothing where nothing was noticed
        return about.get(check.check, len(about)), not pays, 0 if pays else place.get(check.check, len(looks))

    marked.sort(key=rank_of)
    return dataclasses.replace(ranking, checks=_without_doubles(marked))


def _without_doubles(checks: list[CheckValue]) -> tuple[CheckValue, ...]:
    """Checks in order, those left out whose observations all belong to one before them."""
    kept, seen = [], []
    for check in checks:
        own = set(check.observations)
        if not any(own <= other for other in seen):
            kept.append(check)
        seen.append(own)
    return tuple(kept)


def assess(knowledge: Knowledge, job: OpenJob, prices: PriceList | None, *, checks: bool = True,
           flips: bool = True) -> Assessment:
    """The whole answer. `checks` ranks the open checks, `flips` works out where their outcomes lead."""
    facts, dropped = facts_of(knowledge, job)
    conclusions: Conclusions = conclude(finding_rules(knowledge), facts.values)
    ready = prepare(knowledge, job, facts, conclusions.findings, prices, steps=True)
    limits = limits_of(knowledge)
    ranking = ranking_of(knowledge, job, facts, conclusions.findings, ready, prices) if checks else Ranking(())
    decision = with_kind(knowledge, ready.problem, ready.decision, ready.case, ranking.checks)
    shown = ranking.checks
    if flips and decision.then in ("check_first", "look_inside"):
        shown = tuple(led(knowledge, job, facts, prices, check) if place < SHOWN else check
                      for place, check in enumerate(shown))
    plan = bench_plan(shown)
    return Assessment(
        job=job, facts=facts, conclusions=conclusions,
        counted=Counted(ready.signs.present, ready.signs.absent, ready.signs.already, ready.signs.shown_too),
        beliefs=ready.beliefs.causes, evidence=ready.beliefs.evidence, unexplained=ready.beliefs.unexplained,
        misfits=misfits_of(ready.evidence, ready.beliefs),
        decision=decision, works=ready.works, holds=ready.case.holds,
        contradictions=tuple(name for name, item in knowledge.contradictions.items()
                             if evaluate(item.when, raw_facts(job), {}, limits) is Truth.PRESENT),
        dropped=dropped, not_asked=open_observations(knowledge, job, facts.values),
        stand_ins=stand_in_sentences(facts, job.general), checks=shown,
        called=as_called(knowledge, rules_for(knowledge, job.engine, engine_facts(job.engine)), job.engine,
                         job.job.engine, ready.beliefs.hands(), None if prices is None else weighing(prices)),
        extra={"plan": plan.steps, "plan_minutes": plan.minutes, "perfect": ranking.perfect,
               "checks_estimated": ranking.estimated})


def led(knowledge: Knowledge, job: OpenJob, facts: Facts, prices: PriceList | None,
        check: CheckValue) -> CheckValue:
    """A check with what each of its outcomes would lead to, each answered in full."""
    offered = open_checks(knowledge, job.engine, facts.values, frozenset(job.values) | job.unknown)
    outcomes = {outcome.answer: outcome for item in offered if item.check == check.check for outcome in item.outcomes}
    return dataclasses.replace(check, outcomes=tuple(
        dataclasses.replace(outcome, leads_to=_answer_if(knowledge, job, facts, prices, check,
                                                         outcomes[outcome.answer].facts))
        if outcome.chance >= 0.02 else outcome for outcome in check.outcomes))


def _answer_if(knowledge: Knowledge, job: OpenJob, facts: Facts, prices: PriceList | None, check: CheckValue,
               given: Mapping[str, Any]) -> str:
    """The answer, as 'kind job', if a check gave these facts and nothing else were left to check."""
    then = dataclasses.replace(facts, values={**facts.values, **given})
    made = dataclasses.replace(job, unknown=job.unknown | frozenset(check.observations))
    return answer_in_short(knowledge, made, then, evaluate_all(knowledge, then.values), prices)


def answer_in_short(knowledge: Knowledge, job: OpenJob, facts: Facts, findings: Mapping[str, Truth],
                    prices: PriceList | None, network: Network | None = None) -> str:
    """The answer if nothing more were checked, as 'kind job'."""
    ready = prepare(knowledge, job, facts, findings, prices, steps=False, network=network)
    decision = with_kind(knowledge, ready.problem, ready.decision, ready.case, ())
    return f"{decision.kind} {decision.job}"
