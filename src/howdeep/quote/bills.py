"""What a job would come to with this or that found: the same rules of work and the same prices as the quote itself.

The bill of a set of causes is the price of the work that joins when each of them is certain, at the deepest scope that
any of them needs. Growth is in it once, whatever number of causes calls for it, and so is all that an operation brings.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

import numpy as np

from ..knowledge.engine_facts import engine_facts
from ..knowledge.questions import stands_open
from ..logic.evaluate import KLEENE, Kleene
from ..model.engine import Engine
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment, WorkItem
from ..model.terms import RUNGS, Rung
from ..model.values import Value, Values
from ..pricing.totals import NO_PRICE, totals_of
from ..work.rules import WorkRules, rules_for
from ..work.select import called_alone, chance_of_turning_up, hours_of, joined, needed, work_facts
from .drawn import worlds_of
from .jobs import causes_of as causes_of
from .jobs import is_only, key_for, rung_of, work_of

LEFT_OUT = 0.05
"""Share of what may be found that a range leaves out at either end: it holds nine in ten."""


@dataclass(frozen=True, slots=True)
class Job:
    """A job as it is believed now: all that tells which operations it would hold with something found."""

    knowledge: Knowledge
    rules: WorkRules
    engine: Engine
    engine_id: str
    facts: Values
    told: Mapping[str, Kleene]
    odds: Mapping[str, float]
    hands: Mapping[str, float]
    """Cause -> its hand as it calls for work."""
    opened: tuple[tuple[str, str], ...]
    """Observations by which the engine stands open."""
    reads: Mapping[str, frozenset[str]]
    """Operation -> the causes whose odds its condition reads."""

    def operations(self, key: str, found: Iterable[str] = ()) -> frozenset[str]:
        """Operations of a job with these causes found, that is certain."""
        return self.operations_of([(key, frozenset(found))])[0]

    def operations_of(self, jobs: Iterable[tuple[str, frozenset[str]]]) -> list[frozenset[str]]:
        """The same for many (key of a job, causes found). An operation is asked again only where what it reads has
        changed."""
        bits = {cause: 1 << place for place, cause in enumerate(self.odds)}
        reads = {name: sum(bits[cause] for cause in causes) for name, causes in self.reads.items()}
        truths: dict[tuple[Rung, str, int, bool], bool] = {}
        return [self._held(rung_of(key), is_only(key), found, bits, reads, truths) for key, found in jobs]

    def _held(
        self,
        rung: Rung,
        only: bool,
        found: frozenset[str],
        bits: Mapping[str, int],
        reads: Mapping[str, int],
        truths: dict[tuple[Rung, str, int, bool], bool],
    ) -> frozenset[str]:
        here = sum(bits[cause] for cause in found)
        known: dict[str, Value] = {}

        def asked(name: str, alone: bool) -> bool:
            """Whether an operation joins; with `alone`, whether more than the depth of the job calls for it."""
            key = rung, name, here & reads[name], alone
            if key not in truths:
                if not known:
                    known.update(work_facts(self.facts, {**self.hands, **dict.fromkeys(found, 1.0)}, rung))
                truths[key] = (
                    called_alone(self.knowledge, self.rules, name, known, self.told)
                    if alone
                    else self.rules.joins[name](known, self.told) is True
                )
            return truths[key]

        chosen = joined(self.knowledge, self.rules, rung, lambda name: asked(name, False), self.opened)
        if not only:
            return frozenset(chosen)
        return frozenset(
            needed(
                self.knowledge, self.rules, self.engine, chosen, lambda name: bool(chosen[name]) or asked(name, True)
            )
        )

    def grown(self, key: str, operations: Iterable[str]) -> str:
        """The job in which these operations can be done: this one or its like at a deeper rung."""
        rung = max((rung_of(key), *(self.rules.rungs[name] for name in operations)), key=RUNGS.index)
        return key_for(rung, only=is_only(key))

    def done_for(self, operation: str, cause: str, operations: frozenset[str]) -> str:
        """Which of these operations is done for a cause: the one asked for, another cure of it that a deeper scope
        holds anyway, or what is done instead; empty where none is."""
        cures = (operation, *self.rules.cures[cause])
        return next(
            (
                name
                for name in (*cures, *sorted(operations))
                if name in operations and (name in cures or operation in self.knowledge.operations[name].instead_of)
            ),
            "",
        )

    def total(self, key: str, prices: PriceList) -> Decimal | None:
        """Total with tax of a job as it is believed now; None where a price is missing."""
        return self.totals([self.operations(key)], prices)[0]

    def totals(self, sets: list[frozenset[str]], prices: PriceList) -> list[Decimal | None]:
        """Total with tax of each set of operations; None where a price is missing."""
        distinct = {chosen: place for place, chosen in enumerate(dict.fromkeys(sets))}
        names = tuple(sorted(frozenset().union(*distinct)))
        items = tuple(
            WorkItem(name, hours_of(self.knowledge.operations[name], name, self.engine), (), ()) for name in names
        )
        held = np.array([[name in chosen for name in names] for chosen in distinct], dtype=bool).reshape(
            len(distinct), -1
        )
        amounts = totals_of(held, items, self.knowledge, self.engine, self.engine_id, prices)
        money = [None if amount == NO_PRICE else Decimal(int(amount)).scaleb(-2) for amount in amounts]
        return [money[distinct[chosen]] for chosen in sets]


@dataclass(frozen=True, slots=True)
class Span:
    """How the final bill is spread, in money with tax."""

    low: Decimal
    """All but one in twenty come to at least this."""
    likely: Decimal
    """Median: half come to no more."""
    high: Decimal
    """All but one in twenty come to no more."""


def job_of(knowledge: Knowledge, answer: Assessment) -> Job:
    """The job of an answer."""
    job, facts = answer.job, engine_facts(answer.job.engine)
    rules = rules_for(knowledge, job.engine, facts)
    odds = {belief.cause: belief.posterior for belief in answer.beliefs}
    return Job(
        knowledge,
        rules,
        job.engine,
        job.priced_as,
        answer.facts.values,
        {name: KLEENE[truth] for name, truth in answer.conclusions.findings.items()},
        odds,
        answer.called,
        stands_open(knowledge, answer.facts.values, frozenset(job.values) | job.unknown),
        {name: causes & odds.keys() for name, causes in rules.odds_read.items()},
    )


def allowed_for(knowledge: Knowledge, answer: Assessment, key: str) -> dict[str, str]:
    """Cause -> the operation of the allowance that would cure it, of a job."""
    return {
        cause: item.operation
        for item in work_of(knowledge, answer, key).items
        if item.if_found
        for cause in causes_of(item.because)
    }


def met_shares(knowledge: Knowledge, answer: Assessment, key: str, causes: Iterable[str]) -> tuple[float, ...]:
    """For each cause the share of its odds with which a job meets it."""
    built, beliefs = engine_facts(answer.job.engine), {belief.cause: belief for belief in answer.beliefs}
    return tuple(
        chance_of_turning_up(knowledge, built, name, rung_of(key), beliefs[name].posterior, beliefs[name].hand)
        / max(beliefs[name].posterior, 1e-12)
        for name in causes
    )


def span_of(knowledge: Knowledge, answer: Assessment, prices: PriceList, key: str, most: Decimal | None) -> Span | None:
    """The spread of the final bill of a job over what its paper names as able to turn up; None without a price.

    No bill is less than the quoted work. Beyond `most` (what a replacement costs; None where it has no price) nobody
    goes on: such a job ends there, or at the quoted work where that costs more.
    """
    job, allowed = job_of(knowledge, answer), allowed_for(knowledge, answer, key)
    causes = tuple(sorted(allowed))
    worlds = worlds_of(knowledge, answer, causes, met_shares(knowledge, answer, key, causes))
    ends_at = []
    for row in worlds.present:
        found = frozenset(name for name, here in zip(causes, row, strict=True) if here)
        ends_at.append((job.grown(key, (allowed[name] for name in found)), found))
    sets = job.operations_of([(key, frozenset()), *ends_at])
    total, *bills = job.totals(sets, prices)
    sums = [bill for bill in bills if bill is not None]
    if total is None or len(sums) < len(bills):
        return None
    ends = [max(total, bill if most is None else min(bill, most)) for bill in sums]
    order = sorted(range(len(ends)), key=ends.__getitem__)
    reached = np.cumsum(worlds.shares[order])

    def at(share: float) -> Decimal:
        """The least bill that this share of the worlds does not exceed."""
        return ends[order[min(int(np.searchsorted(reached, share - 1e-9)), len(order) - 1)]]

    return Span(at(LEFT_OUT), at(0.5), at(1 - LEFT_OUT))
