"""What is settled once the findings are known: beliefs, work, prices, and the decision without its kind."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Mapping
from decimal import Decimal
from types import MappingProxyType

from ..beliefs.believe import Beliefs, believe
from ..beliefs.evidence import Evidence, evidence_of
from ..beliefs.frames import complained_of
from ..beliefs.network import Network
from ..beliefs.signs import Signs, signs_of
from ..decision.askable import askable
from ..decision.first_looks import COMPLAINT
from ..decision.made_again import to_be_made_again
from ..decision.problem import Job, Problem, problem_of
from ..decision.recommend import Case, decide, terms_of
from ..decision.running import NOTHING, Forbidden, forbidden_by
from ..knowledge.engine_facts import engine_facts
from ..knowledge.questions import complaint_alone, is_denied, sound_of, stands_open
from ..logic.applicability import applies, rung_on
from ..logic.evaluate import evaluate
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Decision, Facts, HoldState, Work, WorkItem
from ..model.terms import DEPTH, RUNGS, Rung
from ..model.truth import Truth
from ..model.values import Values
from ..pricing.lines import PricedWork, price_work
from ..pricing.money import read_money
from ..pricing.stand_ins import terms_lacking, weighing
from ..readings import order_sizes
from ..work.calls import as_called, costs_alone
from ..work.job_network import brought_in, network_for
from ..work.rules import WorkRules, rules_for
from ..work.select import only_of, package_at, with_displaced, work_of
from .facts import counted, limits_of


def holds_of(
    knowledge: Knowledge,
    job: OpenJob,
    facts: Values,
    findings: Mapping[str, Truth],
    works: Mapping[str, Work] = MappingProxyType({}),
) -> tuple[HoldState, ...]:
    """Every hold that the signs call for, and whether its check was made or waived. `works` are the jobs by key."""
    engine, limits = engine_facts(job.engine), limits_of(knowledge)
    opened = bool(stands_open(knowledge, job.values, job.values))  # the promise has been made
    states = []
    for name, hold in knowledge.holds.items():
        if not applies(hold, engine) or evaluate(hold.when, facts, findings, limits) is not Truth.PRESENT:
            continue
        if any(findings.get(other) is Truth.PRESENT for other in hold.lifted_by):
            continue
        check = knowledge.checks.get(hold.check)
        wanted = check.observations if check else (hold.check,)
        offered = [item for item in wanted if applies(knowledge.observations[item], engine)]
        if not offered:
            continue
        made = any(item in facts and item in job.values for item in (*offered[:1], *hold.also_by))
        time = check.minutes if check else knowledge.observations[hold.check].minutes
        state = "cleared" if made else "waived" if name in job.job.waived else "too late" if opened else "stands"
        held = frozenset(
            key
            for key, work in works.items()
            if any(item.operation in hold.before and not item.if_found for item in work.items)
        )
        states.append(HoldState(name, hold.above, hold.check, time, state, held))
    return tuple(states)


def open_observations(
    knowledge: Knowledge, job: OpenJob, facts: Values, forbidden: Forbidden = NOTHING
) -> tuple[str, ...]:
    """Questions and checks that can be asked of this engine as it stands and have no answer, in order of id."""
    return tuple(askable(knowledge, job.engine, facts, frozenset(job.values) | job.unknown, forbidden).names())


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


def prepare(
    knowledge: Knowledge,
    job: OpenJob,
    facts: Facts,
    findings: Mapping[str, Truth],
    prices: PriceList | None,
    *,
    steps: bool,
    surprises: bool = True,
    network: Network | None = None,
) -> Prepared:
    """Beliefs, work, prices and decision from the findings. `steps` also tells how the beliefs came about, and with
    `surprises` what nothing on the list explains; a `network` takes the place of the engine's own, for base odds other
    than the rules'."""
    job, engine = counted(knowledge, job), engine_facts(job.engine)
    own, prices = prices, None if prices is None else weighing(prices)
    rules = rules_for(knowledge, job.engine, engine)
    network = network or network_for(knowledge, job, facts, findings)
    signs = signs_of(network, knowledge, facts.values, findings)
    evidence = evidence_of(network, signs.signs, brought_in=brought_in(knowledge, facts))
    said_from = knowledge.settings.telling.unexplained_from if surprises else None
    beliefs = believe(evidence, steps=steps, said_from=said_from)
    need, seen = levels_of(knowledge, rules, engine)
    works = works_of(knowledge, job, facts, findings, beliefs, rules, prices)
    priced = (
        {}
        if prices is None
        else {key: price_work(work, knowledge, job.engine, job.priced_as, prices) for key, work in works.items()}
    )
    missing = (
        ("a price list",)
        if own is None
        else missing_in(
            priced
            if prices is own
            else {key: price_work(work, knowledge, job.engine, job.priced_as, own) for key, work in works.items()},
            own,
        )
    )
    value = money_of(job.job.customer.value_running or job.engine.value_running, prices)
    stop = (
        None
        if value is None
        else max(value - (money_of(job.job.customer.value_as_is, prices) or Decimal(0)), Decimal(0))
    )
    targeted = [
        Job(work.rung, False, _total(priced, key), cured_by(knowledge, rules, work))
        for key, work in works.items()
        if key.endswith(":only")
    ]
    problem = problem_of(
        evidence,
        need,
        seen,
        [_total(priced, rung) for rung in RUNGS],
        targeted,
        terms_of(prices, stop),
        found_at(knowledge, job, rules, works, need, beliefs, prices),
        [is_idle(knowledge, rules, works[rung], beliefs) for rung in RUNGS],
        complained_of(knowledge, facts.values),
    )
    settled = is_settled(knowledge, findings)
    case = Case(
        beliefs.causes,
        beliefs.unexplained,
        findings,
        holds_of(knowledge, job, facts.values, findings, works),
        frozenset(job.job.waived),
        opened_by(knowledge, job, rules),
        any(axis.must_go for axis in evidence.axes),
        prices,
        complained(knowledge, facts) and not settled,
        all(facts.values.get(name) in answers for name, answers in knowledge.settings.can_be_run.items()),
        settled,
        () if settled else unheard(knowledge, job, facts.values, signs.present),
        value,
        priced["replace"].total if priced else None,
        any(remark.kind == "too tight" for remark in facts.remarks),
        to_be_made_again(knowledge, job.engine, facts.values, frozenset(job.values) | job.unknown, facts.remarks),
        is_denied(knowledge, facts.values, signs.present),
    )
    decision = decide(knowledge, problem, case, missing=missing)
    can = askable(knowledge, job.engine, facts.values, frozenset(job.values), forbidden_by(decision.dangers))
    if can.forbidden.does or can.opened:
        works = {key: dataclasses.replace(work, before=can.able_to_make(work.before)) for key, work in works.items()}
    return Prepared(network, signs, evidence, beliefs, works, problem, decision, case)


def missing_in(priced: Mapping[str, PricedWork], prices: PriceList) -> tuple[str, ...]:
    """What the list lacks of all that the jobs and the decision need; stand-ins are no prices of the shop."""
    names = dict.fromkeys(name for item in priced.values() for name in item.missing)
    return (*names, *terms_lacking(prices))


def found_at(
    knowledge: Knowledge,
    job: OpenJob,
    rules: WorkRules,
    works: Mapping[str, Work],
    need: Mapping[str, Rung],
    beliefs: Beliefs,
    prices: PriceList | None,
) -> list[float]:
    """Per rung what its package is expected to cost more for cures of its own depth that are not in it."""
    if prices is None:
        return [0.0] * len(RUNGS)
    costs, hands = costs_alone(knowledge, rules, job.engine, job.priced_as, prices), beliefs.hands()
    result = []
    for depth, rung in enumerate(RUNGS):
        done = cured_by(knowledge, rules, works[rung])
        result.append(
            sum(
                hands[cause] * costs.get(next(iter(rules.cures[cause]), ""), 0.0)
                for cause in hands
                if DEPTH[need[cause]] <= depth and cause not in done and rung != "replace"
            )
        )
    return result


def is_idle(knowledge: Knowledge, rules: WorkRules, work: Work, beliefs: Beliefs) -> bool:
    """Whether what a package surely does cures next to nothing that is suspected."""
    hands = beliefs.hands()
    cured = sum(hands.get(cause, 0.0) for cause in cured_by(knowledge, rules, work))
    return work.rung != "replace" and cured < knowledge.settings.idle_below


def unheard(knowledge: Knowledge, job: OpenJob, facts: Values, counted: Collection[str]) -> tuple[str, ...]:
    """Questions about what was complained of that can be asked now, where no answer to one of them says yet that there
    is something to it: who complains of hard starting, and says that it starts well hot, was not asked about the
    cold. That it smokes follows from the complaint of smoke, and says no more while that alone counts."""
    complaint = str(facts.get(COMPLAINT))
    about = knowledge.settings.spoken_of.get(complaint, ())
    follows = (
        knowledge.observations[COMPLAINT].implies.get(complaint, {})
        if complaint_alone(knowledge) & set(counted)
        else {}
    )
    told = (name for name in about if name in facts and name not in follows)
    if any(facts[name] not in sound_of(knowledge.observations[name]) for name in told):
        return ()
    can = open_observations(knowledge, job, facts)
    return tuple(name for name in about if name in can)


def complained(knowledge: Knowledge, facts: Facts) -> bool:
    """Whether it was said what the trouble is."""
    return any(fact in facts.values for fact in knowledge.settings.looked_over) and brought_in(knowledge, facts)


def is_settled(knowledge: Knowledge, findings: Mapping[str, Truth]) -> bool:
    """Whether what it was brought in for was measured and is as it should be: a finding that no fault explains, and
    that is no danger, covers the complaint."""
    alone = complaint_alone(knowledge)
    present = (knowledge.findings[name] for name, truth in findings.items() if truth is Truth.PRESENT)
    return any(
        not item.explained_by and not item.forbids_running and bool(alone & set(item.covers)) for item in present
    )


def works_of(
    knowledge: Knowledge,
    job: OpenJob,
    facts: Facts,
    findings: Mapping[str, Truth],
    beliefs: Beliefs,
    rules: WorkRules,
    prices: PriceList | None,
) -> dict[str, Work]:
    """The package of every rung, and at each rung that something noticed needs, only what cures that."""
    odds = beliefs.odds()
    noticed = beliefs.hands()
    hands = as_called(knowledge, rules, job.engine, job.priced_as, noticed, prices)
    sizes = order_sizes(job, knowledge)
    answered = frozenset(job.values) | job.unknown
    opened = stands_open(knowledge, job.values, answered)

    def work(rung: Rung, chosen: Mapping[str, WorkItem]) -> Work:
        return work_of(knowledge, rules, job.engine, odds, rung, chosen, sizes, answered, noticed=noticed)

    packages = {
        rung: package_at(knowledge, rules, job.engine, facts.values, findings, hands, rung, opened, job.job.done)
        for rung in RUNGS
    }
    works: dict[str, Work] = {rung: work(rung, chosen) for rung, chosen in packages.items()}
    for rung in RUNGS[:-1]:
        only = only_of(knowledge, rules, job.engine, packages[rung])
        depth = max((DEPTH[rules.rungs[name]] for name in only), default=-1)
        if depth == DEPTH[rung] and only.keys() != packages[rung].keys():
            works[f"{rung}:only"] = work(rung, only)
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
    return tuple(sorted(name for name, _ in stands_open(knowledge, job.values, job.values) if name in rules.rungs))


def money_of(text: str, prices: PriceList | None) -> Decimal | None:
    """A stated sum in the shop's currency; None where none is stated."""
    return read_money(text, prices.currency) if text and prices is not None else None


def levels_of(knowledge: Knowledge, rules: WorkRules, engine: Values) -> tuple[dict[str, Rung], dict[str, Rung]]:
    """Cause -> smallest rung that cures it on this engine, and smallest rung that opens it to view."""
    need: dict[str, Rung] = {}
    seen: dict[str, Rung] = {}
    for cause, operations in rules.cures.items():
        reached = [DEPTH[rules.rungs[name]] for name in operations]
        need[cause] = RUNGS[min(reached, default=len(RUNGS) - 1)]
        seen[cause] = rung_on(knowledge.causes[cause].seen_at, engine) or "replace"
    return need, seen
