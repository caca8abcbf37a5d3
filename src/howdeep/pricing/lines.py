"""The work of a rung, priced line by line. Every line is rounded half up to the cent; totals are sums of lines."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from decimal import Decimal

from ..model.engine import Engine
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Work, WorkItem
from .money import cents, read_money, share
from .quantities import parts_of, quantity_of

KINDS = ("labour", "machine", "part", "consumable", "replacement", "supplies")


@dataclass(frozen=True, slots=True)
class PricedLine:
    """One line: how many of what, at what each, for which operations."""

    kind: str
    """labour, machine, part, consumable, replacement or supplies."""
    subject: str
    """Operation, machine-shop operation or part; 'supplies' and 'replacement' stand for themselves."""
    quantity: Decimal
    """Hours for labour, percent for supplies, else a count."""
    unit_price: Decimal | None
    """Money each; None where the price list has none."""
    amount: Decimal | None
    """quantity x unit_price, rounded half up to the cent (supplies: percent of the labour)."""
    operations: tuple[str, ...]
    """Operations that it is needed for, in order of id."""
    place: str = ""
    """Where its price stands in the list, or would: 'labour_rate', 'parts.piston', 'engine_parts.pell-1.piston'; empty
    for what the engine sheet itself prices."""


@dataclass(frozen=True, slots=True)
class PricedWork:
    """Lines and their sum."""

    lines: tuple[PricedLine, ...]
    missing: tuple[str, ...]
    """What has no price: 'part <id>', 'machine work <id>' or 'replacement engine'."""
    total: Decimal | None
    """Sum of the lines, before tax and allowances; None where a price is missing."""

    @property
    def known(self) -> Decimal:
        """Sum of the lines that have a price."""
        return sum((line.amount for line in self.lines if line.amount is not None), Decimal("0.00"))

    def sum_of(self, *kinds: str) -> Decimal:
        """Sum of the priced lines of these kinds."""
        return sum((line.amount for line in self.lines if line.kind in kinds and line.amount is not None), Decimal(0))


def price_work(work: Work, knowledge: Knowledge, engine: Engine, engine_id: str, prices: PriceList) -> PricedWork:
    """Price the sure work of a rung; operations that are done only if found are allowances and stay out."""
    items = [item for item in work.items if not item.if_found]
    counts = {line.part: (line.quantity, line.operations) for line in work.parts}
    return _priced(items, counts, knowledge, engine, engine_id, prices)


def lacking(
    operations: Iterable[str], knowledge: Knowledge, engine: Engine, engine_id: str, prices: PriceList
) -> tuple[str, ...]:
    """Names of the prices that these operations need and the list lacks, as `PricedWork.missing` has them."""
    items = [WorkItem(name, 0.0, (), ()) for name in sorted(operations)]
    parts: dict[str, tuple[int, tuple[str, ...]]] = {
        part: (1, (name,))
        for name in sorted(operations)
        for part, _ in parts_of(knowledge, knowledge.operations[name], engine)
    }
    return _priced(items, parts, knowledge, engine, engine_id, prices).missing


def hours_in_shop(item: WorkItem, knowledge: Knowledge, engine: Engine, prices: PriceList) -> Decimal:
    """Hours of an operation: the engine sheet's, else the shop's own, else the rule base's.

    The shop's hours, like the rule base's, are per cylinder, valve, rod or main where the operation is counted so.
    """
    hours = item.hours
    if item.operation not in engine.hours and item.operation in prices.hours:
        operation = knowledge.operations[item.operation]
        hours = prices.hours[item.operation] * quantity_of(f"each {operation.per}", engine)
    return Decimal(repr(round(hours, 4)))


def is_replacement(knowledge: Knowledge, operation: str) -> bool:
    """Whether the operation is to fit another engine: its price is one figure, fitted, instead of hours and parts."""
    return knowledge.operations[operation].rung[0].rung == "replace"


def _priced(
    items: Iterable[WorkItem],
    counts: dict[str, tuple[int, tuple[str, ...]]],
    knowledge: Knowledge,
    engine: Engine,
    engine_id: str,
    prices: PriceList,
) -> PricedWork:
    items = list(items)
    missing: list[str] = []
    rate = read_money(prices.labour_rate, prices.currency)
    labour, wages = [], Decimal(0)
    for item in items:
        if not is_replacement(knowledge, item.operation):
            hours = hours_in_shop(item, knowledge, engine, prices)
            if not hours:
                continue  # counted with the operation that brings it
            amount = cents(hours * rate)
            wages += amount
            labour.append(PricedLine("labour", item.operation, hours, rate, amount, (item.operation,), "labour_rate"))
    lines = [*labour, *_machine(items, knowledge, engine, prices, missing)]
    lines += _parts(counts, knowledge, engine_id, prices, missing)
    for item in items:
        if is_replacement(knowledge, item.operation):
            lines.append(_replacement(item, engine, prices, missing))
    percent = Decimal(prices.supplies_percent)
    if percent and wages:
        lines.append(
            PricedLine(
                "supplies", "supplies", percent, None, share(wages, prices.supplies_percent), (), "supplies_percent"
            )
        )
    priced = PricedWork(tuple(lines), tuple(missing), None)
    return priced if missing else dataclasses.replace(priced, total=priced.known)


def _machine(
    items: list[WorkItem], knowledge: Knowledge, engine: Engine, prices: PriceList, missing: list[str]
) -> list[PricedLine]:
    """Machine-shop lines. Two operations that send the same thing to the same machine send it once."""
    wanted: dict[str, tuple[int, list[str]]] = {}
    for item in items:
        for name, quantity in knowledge.operations[item.operation].machine.items():
            count, by = wanted.get(name, (0, []))
            wanted[name] = (max(count, quantity_of(quantity, engine)), [*by, item.operation])
    return [
        _line(
            "machine",
            name,
            wanted[name][0],
            prices.machine.get(name),
            tuple(sorted(wanted[name][1])),
            prices,
            f"machine work {name}",
            missing,
            f"machine.{name}",
        )
        for name in sorted(wanted)
    ]


def _parts(
    counts: dict[str, tuple[int, tuple[str, ...]]],
    knowledge: Knowledge,
    engine_id: str,
    prices: PriceList,
    missing: list[str],
) -> list[PricedLine]:
    own = prices.engine_parts.get(engine_id, {})
    lines = [
        _line(
            knowledge.parts[part].kind,
            part,
            count,
            own.get(part, prices.parts.get(part)),
            operations,
            prices,
            f"part {part}",
            missing,
            prices.place_of_part(engine_id, part),
        )
        for part, (count, operations) in sorted(counts.items())
        if count and has_line(knowledge, part, prices)
    ]
    return sorted(lines, key=lambda line: (KINDS.index(line.kind), line.subject))


def has_line(knowledge: Knowledge, part: str, prices: PriceList) -> bool:
    """Whether a part is charged by itself, and not within the percentage for supplies."""
    return not (knowledge.parts[part].in_supplies and Decimal(prices.supplies_percent))


def _replacement(item: WorkItem, engine: Engine, prices: PriceList, missing: list[str]) -> PricedLine:
    text = engine.replacement or prices.replacement or None
    return _line(
        "replacement",
        "replacement",
        1,
        text,
        (item.operation,),
        prices,
        "replacement engine",
        missing,
        "" if engine.replacement else "replacement",
    )


def _line(
    kind: str,
    subject: str,
    count: int,
    text: str | None,
    operations: tuple[str, ...],
    prices: PriceList,
    name: str,
    missing: list[str],
    place: str,
) -> PricedLine:
    if text is None:
        missing.append(name)
        return PricedLine(kind, subject, Decimal(count), None, None, operations, place)
    each = read_money(text, prices.currency)
    return PricedLine(kind, subject, Decimal(count), each, cents(each * count), operations, place)
