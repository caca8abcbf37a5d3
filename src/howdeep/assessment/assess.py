"""The only place that strings the steps together: readings -> rules -> beliefs -> work -> prices -> decision."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

import numpy as np

from ..beliefs.misfits import misfits_of
from ..beliefs.network import Network
from ..decision.answer_kind import with_kind
from ..decision.open_checks import open_checks, open_questions
from ..decision.plan import bench_plan
from ..decision.question_value import Reach, question_worths
from ..decision.recommend import key_of
from ..decision.running import forbidden_by
from ..decision.value_of_information import Ranking
from ..knowledge.engine_facts import engine_facts
from ..knowledge.figure_words import figure_title
from ..logic.evaluate import evaluate_all
from ..logic.forward_chaining import conclude, finding_rules
from ..logic.proof import fact_title
from ..model.job import OpenJob
from ..model.kind import General
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.question_worth import QuestionWorth
from ..model.results import Assessment, CheckValue, Conclusions, Counted, Facts
from ..model.truth import Truth
from ..model.values import Values
from ..pricing.money import read_money
from ..pricing.stand_ins import weighing
from ..work.calls import as_called, costs_alone
from ..work.rules import rules_for
from .facts import contradictions_in, counted, facts_of
from .next_checks import NextChecks
from .prepared import Prepared, open_observations, prepare

SHOWN = 3
"""Checks of which it is worked out where each outcome leads."""


def stand_in_sentences(knowledge: Knowledge, facts: Facts, general: General | None = None) -> tuple[str, ...]:
    """Where a general limit stood in for a figure that the engine sheet does not give, by the titles of what it judges;
    of an engine without a sheet, the figures of its kind first, each once, with how far makers differ."""
    of_kind = f"general limit {general.kind} " if general is not None else ""
    judged: dict[str, list[str]] = {}
    for fact, reduction in sorted(facts.reductions.items()):
        limits = [part for part in reduction.basis.split(" and ") if part.startswith("general limit")]
        if limits and not (of_kind and all(part.startswith(of_kind) for part in limits)):
            judged.setdefault(reduction.how, []).append(_titled(knowledge, fact))
    told = [f"{'; '.join(titles)}: {how}" for how, titles in judged.items()]
    if general is None:
        return tuple(told)
    used = {
        figure.path: [
            fact
            for fact, reduction in sorted(facts.reductions.items())
            if f"general limit {general.kind} {figure.path}" in reduction.basis.split(" and ")
        ]
        for figure in general.figures
    }
    named = [
        f"{figure_title(figure.path)}: {figure.value} stands in ({figure.least} to {figure.most} between makers; "
        f"{' and '.join(figure.standings)}), for: {'; '.join(_titled(knowledge, fact) for fact in used[figure.path])}"
        for figure in general.figures
        if used[figure.path]
    ]
    return (*named, *told)


def _titled(knowledge: Knowledge, fact: str) -> str:
    """'compression of each cylinder in a word'."""
    title = fact_title(knowledge, fact)
    return title if title[1:2].isupper() else f"{title[:1].lower()}{title[1:]}"


def worths_of(
    knowledge: Knowledge,
    job: OpenJob,
    facts: Facts,
    findings: Mapping[str, Truth],
    ready: Prepared,
    prices: PriceList | None,
) -> tuple[QuestionWorth, ...]:
    """Every question that can be asked at the counter now with its worth, the most worthwhile first."""
    made = frozenset(job.values) | job.unknown
    offered = open_questions(knowledge, job.engine, facts.values, made, forbidden_by(ready.decision.dangers))
    rules = rules_for(knowledge, job.engine, engine_facts(job.engine))
    weighed = None if prices is None else weighing(prices)
    alone = {} if weighed is None else costs_alone(knowledge, rules, job.engine, job.priced_as, weighed)
    costs = {cause: alone.get(next(iter(cures), ""), 0.0) for cause, cures in rules.cures.items()}
    rate = 1.0 if weighed is None else float(read_money(weighed.labour_rate, weighed.currency))
    return question_worths(
        knowledge,
        facts.values,
        findings,
        ready.network,
        ready.signs,
        ready.evidence,
        ready.beliefs.hands(),
        costs,
        rate,
        offered,
        reach_of(knowledge, ready),
        ready.problem.nobody,
    )


def reach_of(knowledge: Knowledge, ready: Prepared) -> Reach:
    """How near the cheapest job is to what may be promised."""
    problem, decision = ready.problem, ready.decision
    chosen = next(item for item in problem.weighed if key_of(item) == decision.job)
    left = np.array([cause not in chosen.job.cures for cause in ready.network.causes])
    # what must not be run is not promised, whatever is said
    floor = decision.floor if ready.case.noticed and not decision.dangers else 0.0
    return Reach(left, chosen.enough, floor, knowledge.settings.asking.decides_from)


def assess(
    knowledge: Knowledge,
    job: OpenJob,
    prices: PriceList | None,
    *,
    checks: bool = True,
    flips: bool = True,
    questions: bool = False,
    steps: bool = True,
) -> Assessment:
    """The whole answer. `checks` ranks the open checks (without, the kind is as if nothing more were checked), `flips`
    works out where their outcomes lead, `questions` what each question at the counter is worth, `steps` how the odds
    came about and what nothing on the list explains."""
    return _assessed(knowledge, job, prices, checks=checks, flips=flips, questions=questions, steps=steps)[0]


def assess_for_kind(
    knowledge: Knowledge, job: OpenJob, prices: PriceList | None, *, questions: bool = False
) -> tuple[Assessment, NextChecks | None]:
    """The answer with checks worked out only as far as its kind hangs on them, which is that of the whole answer, and
    without what nothing on the list explains; and what `with_checks` ranks all of them by, None where they are ranked
    already."""
    return _assessed(knowledge, job, prices, checks=True, flips=False, questions=questions, steps=True, rank=False)


def _assessed(
    knowledge: Knowledge,
    job: OpenJob,
    prices: PriceList | None,
    *,
    checks: bool,
    flips: bool,
    questions: bool,
    steps: bool,
    rank: bool = True,
) -> tuple[Assessment, NextChecks | None]:
    facts, dropped = facts_of(knowledge, job)
    told, job = job, counted(knowledge, job)
    conclusions: Conclusions = conclude(finding_rules(knowledge), facts.values)
    ready = prepare(knowledge, job, facts, conclusions.findings, prices, steps=steps, surprises=rank)
    open_now = NextChecks(knowledge, job, facts, conclusions.findings, ready, prices) if checks else None
    decision = with_kind(knowledge, ready.problem, ready.decision, ready.case, open_now or ())
    worths = worths_of(knowledge, job, facts, conclusions.findings, ready, prices) if questions else ()
    later = open_now is not None and not rank and not open_now.is_ranked
    ranking = Ranking(()) if open_now is None or later else open_now.ranking
    shown = ranking.checks
    if flips and decision.then in ("check_first", "look_inside"):
        shown = tuple(
            led(knowledge, job, facts, prices, check) if place < SHOWN else check for place, check in enumerate(shown)
        )
    plan = bench_plan(knowledge.settings, shown)
    return Assessment(
        job=told,
        facts=facts,
        conclusions=conclusions,
        counted=Counted(ready.signs.present, ready.signs.absent, ready.signs.already, ready.signs.shown_too),
        beliefs=ready.beliefs.causes,
        evidence=ready.beliefs.evidence,
        unexplained=ready.beliefs.unexplained,
        misfits=misfits_of(ready.evidence, ready.beliefs, knowledge.settings.telling.denied_decibans),
        noticed=ready.case.noticed,
        decision=decision,
        works=ready.works,
        holds=ready.case.holds,
        contradictions=contradictions_in(knowledge, told),
        dropped=dropped,
        not_asked=open_observations(knowledge, job, facts.values),
        stand_ins=stand_in_sentences(knowledge, facts, job.general),
        checks=shown,
        called=as_called(
            knowledge,
            rules_for(knowledge, job.engine, engine_facts(job.engine)),
            job.engine,
            job.priced_as,
            ready.beliefs.hands(),
            None if prices is None else weighing(prices),
        ),
        plan=plan.steps,
        plan_minutes=plan.minutes,
        questions=worths,
    ), open_now if later else None


def with_checks(answer: Assessment, open_now: NextChecks) -> Assessment:
    """An answer whose checks were worked out for its kind alone, with every check ranked."""
    checks = open_now.ranking.checks
    plan = bench_plan(open_now.knowledge.settings, checks)
    return dataclasses.replace(answer, checks=checks, plan=plan.steps, plan_minutes=plan.minutes)


def led(knowledge: Knowledge, job: OpenJob, facts: Facts, prices: PriceList | None, check: CheckValue) -> CheckValue:
    """A check with what each of its outcomes would lead to, each answered in full."""
    own = frozenset(check.observations)  # a test that did not count is made again
    before = {fact: value for fact, value in facts.values.items() if fact not in own}
    offered = open_checks(knowledge, job.engine, before, (frozenset(job.values) | job.unknown) - own)
    outcomes = {outcome.answer: outcome for item in offered if item.check == check.check for outcome in item.outcomes}
    return dataclasses.replace(
        check,
        outcomes=tuple(
            dataclasses.replace(
                outcome, leads_to=_answer_if(knowledge, job, facts, prices, check, outcomes[outcome.answer].facts)
            )
            if outcome.chance >= 0.02
            else outcome
            for outcome in check.outcomes
        ),
    )


def _answer_if(
    knowledge: Knowledge, job: OpenJob, facts: Facts, prices: PriceList | None, check: CheckValue, given: Values
) -> str:
    """The answer, as 'kind job', if a check gave these facts and nothing else were left to check."""
    remarks = tuple(remark for remark in facts.remarks if remark.observation not in check.observations)
    then = dataclasses.replace(facts, values={**facts.values, **given}, remarks=remarks)
    made = dataclasses.replace(job, unknown=job.unknown | frozenset(check.observations))
    return answer_in_short(knowledge, made, then, evaluate_all(knowledge, then.values), prices)


def answer_in_short(
    knowledge: Knowledge,
    job: OpenJob,
    facts: Facts,
    findings: Mapping[str, Truth],
    prices: PriceList | None,
    network: Network | None = None,
) -> str:
    """The answer if nothing more were checked, as 'kind job'."""
    ready = prepare(knowledge, job, facts, findings, prices, steps=False, network=network)
    decision = with_kind(knowledge, ready.problem, ready.decision, ready.case, ())
    return f"{decision.kind} {decision.job}"
