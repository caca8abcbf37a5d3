"""The checks worth making, and of those the hour that decides, as one round at the counter and the bench."""

from __future__ import annotations

from collections.abc import Iterable

from ..model.frozen import dataclass
from ..model.knowledge import Settings
from ..model.results import CheckValue


@dataclass(frozen=True, slots=True)
class BenchPlan:
    """Checks in the order in which to make them."""

    steps: tuple[tuple[str, tuple[str, ...]], ...]
    """(set-up, ids of checks made with it), in order."""
    minutes: float
    """Minutes for all of them."""


def is_worth_making(settings: Settings, check: CheckValue) -> bool:
    """Whether a check is worth its minutes: it saves money, clears a hold, is what the trade looks at first, or parts
    the suspects."""
    return check.net > 0 or bool(check.hold) or check.first_look or check.parts >= settings.hardly_parts


def worth_making(settings: Settings, checks: Iterable[CheckValue]) -> list[CheckValue]:
    """Checks worth naming, in the order of their ranking."""
    return [check for check in checks if is_worth_making(settings, check)]


def one_round(settings: Settings, checks: Iterable[CheckValue]) -> list[CheckValue]:
    """Of the checks worth making, in their order, those of one round: the first ones, and what else fits its minutes.
    Of checks that share an observation only the first is kept."""
    asking, within = settings.asking, settings.one_round
    kept: list[CheckValue] = []
    taken: set[str] = set()
    minutes = 0.0
    for place, check in enumerate(worth_making(settings, checks)):
        if taken & set(check.observations) or (place >= asking.always_named and minutes + check.minutes > within):
            continue
        if len(kept) == asking.checks_a_round:
            break
        kept.append(check)
        taken |= set(check.observations)
        minutes += check.minutes
    return kept


def bench_plan(settings: Settings, checks: Iterable[CheckValue]) -> BenchPlan:
    """One round of checks grouped by set-up, in the order in which the ranking first calls for each.

    Each value looks one check ahead, so the plan is an order of work and not a sum of values: stop when a result
    settles it.
    """
    kept = one_round(settings, checks)
    groups: dict[str, list[CheckValue]] = {}
    for check in kept:
        groups.setdefault(check.setup, []).append(check)
    return BenchPlan(
        tuple((setup, tuple(check.check for check in group)) for setup, group in groups.items()),
        sum(check.minutes for check in kept),
    )
