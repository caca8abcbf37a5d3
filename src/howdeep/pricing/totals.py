"""Totals with tax of many sets of operations at once: to the cent what pricing each by its lines gives.

Money is whole cents here, so that the sums of thousands of sets are exact.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal

import numpy as np

from ..arrays import Bools, Ints
from ..model.engine import Engine
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import WorkItem
from .lines import has_line, hours_in_shop, is_replacement
from .money import cents, read_money, read_percent
from .quantities import parts_of, quantity_of
from .tax import is_taxed

NO_PRICE = -1
"""Stands for the total of a set that needs something without a price."""
_PERCENT_UNIT = 10_000
"""Percentages have at most four decimals."""


def totals_of(
    held: Bools | Ints,
    items: tuple[WorkItem, ...],
    knowledge: Knowledge,
    engine: Engine,
    engine_id: str,
    prices: PriceList,
) -> Ints:
    """[sets] total with tax in whole cents, NO_PRICE where a price is missing.

    `held` [sets, items] tells which items each set holds. What two operations of a set share (a gasket, a hot wash)
    is counted once, the larger quantity of the two.
    """
    counts: Ints = held.astype(np.int64)
    rate = read_money(prices.labour_rate, prices.currency)
    labour = [
        0
        if is_replacement(knowledge, item.operation)
        else _whole(cents(hours_in_shop(item, knowledge, engine, prices) * rate))
        for item in items
    ]
    sums: dict[str, Ints] = {"labour": counts @ np.array(labour, dtype=np.int64)}
    sums["supplies"] = _share(sums["labour"], prices.supplies_percent)
    lacking = np.zeros(len(held), dtype=bool)
    needs = [knowledge.operations[item.operation] for item in items]
    own = prices.engine_parts.get(engine_id, {})
    _add(
        sums, lacking, counts, [need.machine for need in needs], engine, prices, lambda name: "machine", prices.machine
    )
    charged = [
        {part: str(count) for part, count in parts_of(knowledge, need, engine) if has_line(knowledge, part, prices)}
        for need in needs
    ]
    _add(
        sums, lacking, counts, charged, engine, prices, lambda name: knowledge.parts[name].kind, {**prices.parts, **own}
    )
    fitted = engine.replacement or prices.replacement
    _add(
        sums,
        lacking,
        counts,
        [{"replacement": "1"} if is_replacement(knowledge, item.operation) else {} for item in items],
        engine,
        prices,
        lambda name: "replacement",
        {"replacement": fitted} if fitted else {},
    )
    taxable = sum((amount for kind, amount in sums.items() if is_taxed(kind, prices)), np.zeros_like(sums["labour"]))
    return np.where(lacking, NO_PRICE, sum(sums.values()) + _share(taxable, prices.tax_percent))


def _add(
    sums: dict[str, Ints],
    lacking: Bools,
    held: Ints,
    needs: Iterable[Mapping[str, str]],
    engine: Engine,
    prices: PriceList,
    kind_of: Callable[[str], str],
    texts: Mapping[str, str],
) -> None:
    """Add what the sets need of one sort of thing to `sums` by kind, and mark those that need one without a price."""
    wanted: dict[str, list[tuple[int, int]]] = {}
    for place, need in enumerate(needs):
        for name, quantity in need.items():
            wanted.setdefault(name, []).append((place, quantity_of(quantity, engine)))
    for name, uses in wanted.items():
        count = np.max([held[:, place] * quantity for place, quantity in uses], axis=0)
        if name not in texts:
            lacking |= count > 0
            continue
        amount = count * _whole(read_money(texts[name], prices.currency))
        kind = kind_of(name)
        sums[kind] = sums[kind] + amount if kind in sums else amount


def _share(amounts: Ints, percent: str) -> Ints:
    """So many percent of amounts in cents, rounded half up to the cent."""
    return (amounts * int(read_percent(percent) * _PERCENT_UNIT) + 50 * _PERCENT_UNIT) // (100 * _PERCENT_UNIT)


def _whole(amount: Decimal) -> int:
    return int(amount * 100)
