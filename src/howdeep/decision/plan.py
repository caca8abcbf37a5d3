"""The checks worth making, as one round at the counter and the bench."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from ..model.results import CheckValue
from ..model.terms import RISKS


@dataclass(frozen=True, slots=True)
class BenchPlan:
    """Checks in the order in which to make them."""

    steps: tuple[tuple[str, tuple[str, ...]], ...]
    """(set-up, ids of checks made with it), in order."""
    minutes: float
    """Minutes for all of them."""


def bench_plan(checks: Iterable[CheckValue]) -> BenchPlan:
    """Group the checks that are worth their cost by set-up.

    Questions first, they cost no bench; then the safest set-up, and of equals the one with the most to gain: all of
    them stand before anything is opened. Of checks that share an observation only the most worthwhile is kept. Each
    value looks one check ahead, so the plan is an order of work and not a sum of values: stop when a result settles it.
    """
    worth: list[CheckValue] = []
    taken: set[str] = set()
    for check in sorted(checks, key=lambda check: (-check.net, check.cost, check.check)):
        if check.net > 0 and not taken & set(check.observations):
            worth.append(check)
            taken |= set(check.observations)
    groups: dict[tuple[bool, str], list[CheckValue]] = {}
    for check in worth:
        groups.setdefault((check.moment != "talk", check.setup), []).append(check)

    def place(item: tuple[tuple[bool, str], list[CheckValue]]) -> tuple[bool, int, Decimal, str]:
        (on_bench, setup), group = item
        risk = max(RISKS.index(check.risk) for check in group)
        return on_bench, risk, -max(check.net for check in group), setup

    ordered = sorted(groups.items(), key=place)
    steps = tuple((setup, tuple(check.check for check in sorted(group, key=lambda check: (
        RISKS.index(check.risk), -check.net, check.check)))) for (_, setup), group in ordered)
    return BenchPlan(steps, sum(check.minutes for check in worth))
