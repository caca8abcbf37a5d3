"""What less or more than the proposed job would cost, beside it."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment, JobLine
from ..model.terms import DEPTH
from .bills import job_of
from .estimate_values import Depth, OtherWay
from .jobs import is_only, job_title, rung_of, twins

SURER = 0.005
ANOTHER = "Another engine, fitted"
"""Title of a replacement on a paper."""


def other_ways(knowledge: Knowledge, answer: Assessment, prices: PriceList, key: str) -> tuple[OtherWay, ...]:
    """The likeliest job that does less, and the cheapest that does more and is surer, where there are such."""
    here = next((line.enough for line in answer.decision.jobs if line.job == key), 0.0)
    less = [
        line
        for line in answer.decision.jobs
        if _depth(line.job) < _depth(key) and line.enough >= knowledge.settings.deciding.worth_a_line
    ]
    same = twins(answer)
    more = [
        line
        for line in answer.decision.jobs
        if _depth(line.job) > _depth(key)
        and line.rung != "replace"
        and line.job not in same
        and line.enough > here + SURER
    ]
    shallower = max(less, key=lambda line: (round(line.enough, 6), -_cost(line), line.job), default=None)
    deeper = min(more, key=lambda line: (_cost(line), line.job), default=None)
    chosen = [line for line in (shallower, deeper) if line is not None]
    job = job_of(knowledge, answer)
    totals = job.totals([job.operations(line.job) for line in chosen], prices) if chosen else []
    return tuple(
        OtherWay(
            _depth(line.job) > _depth(key), job_title(knowledge, line.job), line.rung, total, line.enough, line.expected
        )
        for line, total in zip(chosen, totals, strict=True)
    )


def depths(knowledge: Knowledge, answer: Assessment, prices: PriceList) -> tuple[Depth, ...]:
    """The whole of every depth with its total, with tax, and the chance that it is enough."""
    job = job_of(knowledge, answer)
    lines = [line for line in answer.decision.ladder if line.rung not in twins(answer)]
    totals = job.totals([job.operations(line.rung) for line in lines], prices)
    return tuple(
        Depth(line.rung, ANOTHER if line.rung == "replace" else job_title(knowledge, line.rung), total, line.enough)
        for line, total in zip(lines, totals, strict=True)
    )


def costs_least(knowledge: Knowledge, answer: Assessment, key: str) -> bool:
    """Whether a job is expected to cost least in the end of all that are likely enough to be held beside it."""
    lines = [
        line
        for line in answer.decision.jobs
        if line.enough >= knowledge.settings.deciding.held_beside or line.job == key
    ]
    own = next((line for line in lines if line.job == key), None)
    return own is not None and own.expected is not None and own.expected <= _least(lines)


def _least(lines: Iterable[JobLine]) -> Decimal:
    return min(line.expected for line in lines if line.expected is not None)


def _depth(key: str) -> tuple[int, bool]:
    return DEPTH[rung_of(key)], not is_only(key)


def _cost(line: JobLine) -> Decimal:
    return line.expected if line.expected is not None else Decimal(DEPTH[line.rung])
