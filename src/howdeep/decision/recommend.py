"""How deep, and what kind of answer: promise, check first, look inside, begin with it, wait, stop, or do not run it."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

import numpy as np

from ..model.frozen import dataclass
from ..model.judgement import Deciding
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Belief, CostLine, Danger, Decision, HoldState, JobLine, Look, Unexplained
from ..model.terms import DEPTH, RUNGS
from ..model.truth import Truth
from ..pricing.money import cents, known, read_money, share
from .ladder import LEVELS, Terms
from .made_again import Again
from .problem import Problem, Weighed
from .repair_or_replace import worth_of

SHALLOW = 1
"""Deepest rung (tune-up) of work that can be a beginning rather than a promise."""


def terms_of(prices: PriceList | None, stop: Decimal | None) -> Terms:
    """What growth, comebacks, looking and stopping cost at a shop; nothing without a price list."""
    if prices is None:
        return Terms()

    def money(text: str) -> float:
        return float(read_money(text or "0", prices.currency))

    sold: dict[str, str] = dict((prices.look_inside or {}).items())
    look = tuple(money(sold[rung]) if rung in sold else float("inf") for rung in RUNGS)
    return Terms(
        float(prices.growth_factor),
        money(prices.comeback_charge) + money(prices.towing),
        money(prices.reopening),
        money(prices.growth_charge),
        float("inf") if stop is None else float(stop),
        look,
        float(prices.look_credit_percent) / 100,
    )


@dataclass(frozen=True, slots=True)
class Case:
    """What the kind of answer depends on besides the weighed jobs."""

    beliefs: tuple[Belief, ...]
    unexplained: tuple[Unexplained, ...]
    findings: Mapping[str, Truth]
    holds: tuple[HoldState, ...]
    waived: frozenset[str]
    """Holds waived by the owner; 'two_steps' stands for a deep job promised without looking inside first."""
    opened: tuple[str, ...]
    """Operations by which the engine stands open."""
    noticed: bool
    """Whether there is anything that must go away."""
    prices: PriceList | None
    complained: bool = False
    """Whether it was brought in with a complaint, and not only to be looked over."""
    runs: bool = False
    """Whether it was said to run, so that it can be run on as it is."""
    settled: bool = False
    """Whether what it was brought in for was measured and is as it should be."""
    unheard: tuple[str, ...] = ()
    """Questions about the complaint itself that can be asked, where no answer to one bears it out yet."""
    value_running: Decimal | None = None
    """What the machine is worth running; None where nobody says."""
    replacement: Decimal | None = None
    """Price of another engine, fitted."""
    tight: bool = False
    """Whether a fit was measured tighter than new: no sign of a fault, and yet it must not be closed like that."""
    again: Again = Again()
    """Tests that do not count as they were made."""
    denied: bool = False
    """Whether the complaint counts though every answer about it denies it."""


def decide(knowledge: Knowledge, problem: Problem, case: Case, *, missing: tuple[str, ...] = ()) -> Decision:
    """The jobs with what they cost in the end, and the one that costs least; the kind of answer is `with_kind`'s."""
    prices = case.prices
    deciding = knowledge.settings.deciding
    best = _best(problem, case.noticed, deciding)
    jobs = tuple(_job_line(item) for item in problem.weighed)
    chosen = problem.weighed[best]
    ladder = tuple(_cost_line(problem, case, rung, deciding.worth_naming) for rung in range(LEVELS))
    wins_by = runner_up = None
    if not problem.provisional:
        others = sorted(
            (line.expected, number)
            for number, line in enumerate(jobs)
            if number != best and line.expected is not None and line.rung != chosen.job.rung
        )
        if others:
            wins_by, runner_up = others[0][0] - known(jobs[best].expected), jobs[others[0][1]].rung
    shallowest, deepest = _defensible(problem, best, deciding.defensible)
    currency = prices.currency if prices else ""
    worth, beyond = worth_of(
        jobs[best], currency, case.value_running, case.replacement, knowledge.settings.owner_asked_from
    )
    return Decision(
        rung=chosen.job.rung,
        provisional=problem.provisional,
        wins_by=wins_by,
        runner_up=runner_up,
        shallowest=RUNGS[shallowest],
        deepest=RUNGS[deepest],
        ladder=ladder,
        estimated=problem.estimated,
        missing=missing,
        currency=currency,
        beyond=beyond,
        worth=worth,
        opened=case.opened,
        job=key_of(chosen),
        jobs=jobs,
        looks=_looks(problem, prices),
        stop=None if not np.isfinite(problem.stop) else cents(problem.stop),
        floor=prices.promise_floor if prices else deciding.without_prices,
        firm=prices.firm_floor if prices else 1.0,
        dangers=dangers_of(knowledge, case),
    )


def key_of(weighed: Weighed) -> str:
    """Key of a job's work."""
    return weighed.job.rung if weighed.job.whole else f"{weighed.job.rung}:only"


def _best(problem: Problem, noticed: bool, deciding: Deciding) -> int:
    """The job with the least expected cost, of those with some hope of being enough that hold work (where anything was
    noticed) and do not open the engine for next to no more hope; of jobs that cost nearly alike the shallowest: the
    least teardown first."""
    if problem.provisional:
        return next(
            (
                number
                for number, item in enumerate(problem.weighed[:LEVELS])
                if round(item.enough, 9) >= deciding.without_prices
            ),
            LEVELS - 1,
        )
    shallow = [item for item in problem.weighed if not (noticed and _opens_for_nothing(problem, item, deciding.adds))]
    some = [item for item in shallow if not (noticed and item.job.idle)] or shallow
    most = max(item.enough for item in some)
    hopeful = [item for item in some if item.enough >= min(deciding.hopeful, most)]
    least = min(item.expected for item in hopeful) * (1 + deciding.alike)
    chosen = min(
        (item for item in hopeful if item.expected <= least),
        key=lambda item: (DEPTH[item.job.rung], cents(item.expected), item.job.whole),
    )
    return problem.weighed.index(chosen)


def _opens_for_nothing(problem: Problem, item: Weighed, adds: float) -> bool:
    """Whether a job opens the engine though a shallower package costs less in the end and is nearly as likely to do."""
    depth = DEPTH[item.job.rung]
    return depth > SHALLOW and any(
        other.enough >= item.enough - adds and other.expected <= item.expected for other in problem.weighed[:depth]
    )


def _job_line(item: Weighed) -> JobLine:
    def money(amount: float) -> Decimal | None:
        return None if amount != amount else cents(amount)

    price, expected, growth = money(item.job.price), money(item.expected), money(item.growth)
    # the printed parts add up to the printed sum
    failing = None if expected is None else expected - known(price) - known(growth)
    return JobLine(
        key_of(item),
        item.job.rung,
        item.job.whole,
        _chance(item.enough),
        price,
        growth,
        failing,
        expected,
        item.came_for,
    )


def _chance(value: float) -> float:
    return min(1.0, max(0.0, value))


def _cost_line(problem: Problem, case: Case, rung: int, worth_naming: float) -> CostLine:
    line = _job_line(problem.weighed[rung])
    need = dict(zip(problem.evidence.network.causes, problem.need.tolist(), strict=True))
    not_cured = sorted(
        (
            (belief.cause, belief.hand)
            for belief in case.beliefs
            if need[belief.cause] > rung and belief.hand >= worth_naming
        ),
        key=lambda item: (-round(item[1], 9), item[0]),
    )
    return CostLine(
        RUNGS[rung],
        line.enough,
        _chance(problem.every[rung]),
        line.price,
        line.growth,
        line.failing,
        line.expected,
        tuple(not_cured),
    )


def _defensible(problem: Problem, best: int, more: float) -> tuple[int, int]:
    """Shallowest and deepest rung that a careful person could defend: even odds at least, and dearer in the end by no
    more than a share `more`."""
    chosen = DEPTH[problem.weighed[best].job.rung]
    if problem.provisional:
        return chosen, chosen
    least = problem.weighed[best].expected
    near = [
        DEPTH[item.job.rung]
        for item in problem.weighed
        if item.expected <= least * (1 + more) + 0.005 and item.enough >= 0.5
    ]
    return min([*near, chosen]), max([*near, chosen])


def _looks(problem: Problem, prices: PriceList | None) -> tuple[Look, ...]:
    if prices is None:
        return ()
    sold: dict[str, str] = dict((prices.look_inside or {}).items())
    found = []
    for level, expected in sorted(problem.looks.items()):
        rung = RUNGS[level]
        price = read_money(sold[rung], prices.currency)
        found.append(Look(rung, price, share(price, prices.look_credit_percent), cents(expected)))
    return tuple(found)


def dangers_of(knowledge: Knowledge, case: Case) -> tuple[Danger, ...]:
    """What forbids running the engine: findings that are present, then causes likely enough, likeliest first."""
    seen = [
        Danger("findings", name, 1.0, item.forbids_running, item.forbids_cranking, item.for_seconds)
        for name, item in knowledge.findings.items()
        if item.forbids_running
        and case.findings.get(name) is Truth.PRESENT
        and not any(case.findings.get(lift) is Truth.PRESENT for lift in item.lifted_by)
    ]
    likely = [
        Danger("causes", belief.cause, belief.hand, knowledge.causes[belief.cause].wait)
        for belief in case.beliefs
        if knowledge.causes[belief.cause].run_on == "dangerous" and belief.hand >= knowledge.settings.deciding.likely
    ]
    return (*seen, *sorted(likely, key=lambda item: (-item.chance, item.subject)))
