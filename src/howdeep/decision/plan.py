"""The checks worth making, and of those the hour that decides, as one round at the counter and the bench."""

from __future__ import annotations

from collections.abc import Iterable

from ..model.frozen import dataclass
from ..model.results import CheckValue

PARTS = 0.02
"""Bits from which a check that saves no money is worth naming."""
MOST = 8
"""Checks of one round: more than these nobody keeps in mind."""
FIRST = 3
"""Checks that every answer names, however long they take."""


@dataclass(frozen=True, slots=True)
class BenchPlan:
    """Checks in the order in which to make them."""

    steps: tuple[tuple[str, tuple[str, ...]], ...]
    """(set-up, ids of checks made with it), in order."""
    minutes: float
    """Minutes for all of them."""


def worth_making(checks: Iterable[CheckValue]) -> list[CheckValue]:
    """Checks worth naming, in the order of their ranking: they save money, clear a hold, are what the trade looks at
    first, or part the suspects."""
    return [check for check in checks if check.net > 0 or check.hold or check.first_look or check.parts >= PARTS]


def one_round(checks: Iterable[CheckValue], within: float) -> list[CheckValue]:
    """Of the checks worth making, in their order, those of one round: the first ones, and what else fits `within` so
    many minutes. Of checks that share an observation only the first is kept."""
    kept: list[CheckValue] = []
    taken: set[str] = set()
    minutes = 0.0
    for place, check in enumerate(worth_making(checks)):
        if taken & set(check.observations) or (place >= FIRST and minutes + check.minutes > within):
            continue
        if len(kept) == MOST:
            break
        kept.append(check)
        taken |= set(check.observations)
        minutes += check.minutes
    return kept


def bench_plan(checks: Iterable[CheckValue], within: float) -> BenchPlan:
    """One round of at most `within` minutes grouped by set-up, in the order in which the ranking first calls for each.

    Each value looks one check ahead, so the plan is an order of work and not a sum of values: stop when a result
    settles it.
    """
    kept = one_round(checks, within)
    groups: dict[str, list[CheckValue]] = {}
    for check in kept:
        groups.setdefault(check.setup, []).append(check)
    return BenchPlan(
        tuple((setup, tuple(check.check for check in group)) for setup, group in groups.items()),
        sum(check.minutes for check in kept),
    )
