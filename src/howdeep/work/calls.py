"""From which chance on a cause calls for its cure: a cheap cure is done sooner than a dear one.

Leaving a suspect out costs the comeback and another diagnosis if it was the one; doing its cure costs its price. So the
cure joins the job from about price / (what a failed job costs), never above the rule base's own `include_at`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from ..logic.stratify import once_per_value
from ..model.engine import Engine
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import WorkItem
from ..pricing.money import read_money
from ..pricing.totals import totals_of
from .rules import WorkRules
from .select import hours_of


def as_called(
    knowledge: Knowledge,
    rules: WorkRules,
    engine: Engine,
    engine_id: str,
    hands: Mapping[str, float],
    prices: PriceList | None,
) -> dict[str, float]:
    """Cause -> its hand, raised so that it reaches `include_at` where it should call for its cure."""
    settings = knowledge.settings
    include = settings.include_at
    if prices is None:
        return dict(hands)
    costs = costs_alone(knowledge, rules, engine, engine_id, prices)
    rate = float(read_money(prices.labour_rate, prices.currency))
    stake = (
        sum(float(read_money(text or "0", prices.currency)) for text in (prices.comeback_charge, prices.towing))
        + settings.looking_again * rate
    )
    called = {}
    for cause, hand in hands.items():
        first = next(iter(rules.cures.get(cause, ())), None)
        cost = costs.get(first) if first else None
        start = include if cost is None or not stake else min(max(cost / stake, settings.joins_from), include)
        called[cause] = min(1.0, hand * include / start)
    suspect = max(hands, key=lambda cause: (hands[cause], cause), default=None)
    if suspect is not None and hands[suspect] >= settings.joins_from:
        called[suspect] = max(called[suspect], include)  # no job without the cure of the chief suspect
    return called


@once_per_value(keep=4)
def _kept(prices: PriceList) -> dict[Any, dict[str, float]]:
    return {}


def costs_alone(
    knowledge: Knowledge, rules: WorkRules, engine: Engine, engine_id: str, prices: PriceList
) -> dict[str, float]:
    """Operation -> its price by itself, with tax; what lacks a price is not here."""
    kept = _kept(prices)
    key = (knowledge.version, engine_id, engine.build, tuple(sorted(engine.hours.items())))
    if key not in kept:
        names = sorted({name for cures in rules.cures.values() for name in cures[:1]})
        items = tuple(WorkItem(name, hours_of(knowledge.operations[name], name, engine), (), ()) for name in names)
        totals = totals_of(np.eye(len(items), dtype=bool), items, knowledge, engine, engine_id, prices)
        kept[key] = {name: float(total) / 100 for name, total in zip(names, totals, strict=True) if total >= 0}
    return kept[key]
