"""What may turn up in the job that the answer speaks of, with its price: the allowances, whatever the kind of job."""

from __future__ import annotations

from decimal import Decimal

from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment, WorkItem
from ..model.terms import Rung
from .bills import causes_of, job_of
from .jobs import rung_of


@dataclass(frozen=True, slots=True)
class TurningUp:
    """One thing that may turn up."""

    operation: str
    title: str
    chance: float
    amount: Decimal | None
    """What it adds to the work, with tax; None where a price is missing or none was asked for."""
    grows_to: Rung | None
    """Where its work lies deeper than the job: the rung to which it grows."""
    cause: str
    """The cause that calls for it."""


def turning_up(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> tuple[TurningUp, ...]:
    """What may turn up in the answer's job, likeliest first."""
    key = answer.decision.job
    work, job = answer.works[key], job_of(knowledge, answer)
    here = job.operations(key)
    found: list[tuple[WorkItem, str, str, str, frozenset[str]]] = []
    for item in sorted(
        (item for item in work.items if item.if_found and item.chance <= knowledge.settings.deciding.never_from),
        key=lambda item: (-item.chance, item.operation),
    ):
        cause = max(causes_of(item.because), key=lambda name: (job.odds[name], name))
        deeper = job.grown(key, (item.operation,))
        there = job.operations(deeper, (cause,))
        done = job.done_for(item.operation, cause, there)
        told = {name for _, _, name, *_ in found}
        if done and done not in here and done not in told:  # else it is told, or the job holds what takes its place
            found.append((item, cause, done, deeper, there))
    sums = [None] * (len(found) + 1) if prices is None else job.totals([here, *(there for *_, there in found)], prices)
    first = sums[0]
    return tuple(
        TurningUp(
            done,
            knowledge.operations[done].title,
            item.chance,
            None if then is None or first is None else max(then - first, Decimal(0)),
            rung_of(deeper) if deeper != key else None,
            cause,
        )
        for (item, cause, done, deeper, _), then in zip(found, sums[1:], strict=True)
    )
