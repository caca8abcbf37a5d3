"""The work of a rung as priced lines."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from ..model.engine import Engine
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Work, WorkItem
from .money import cents, read_money, share
from .quantities import quantity_of


@dataclass(frozen=True, slots=True)
class PricedLine:
    """One line: quantity times a price each, rounded half up to the cent."""

    kind: str
    """labour, part, consumable, machine, supplies or replacement."""
    subject: str
    """Id of the operation, part or machine operation."""
    quantity: Decimal
    """Hours for labour, else a count."""
    unit_price: Decimal | None
    """None where the list has no price."""
    amount: Decimal | None
    operations: tuple[str, ...]
    """Operations that the line belongs to."""


@dataclass(frozen=True, slots=True)
class PricedWork:
    """All lines of a rung, without allowances and tax."""

    lines: tuple[PricedLine, ...]
    total: Decimal | None
    """None where a price is missing."""
    missing: tuple[str, ...]
    """'kind subject' of every price that is missing."""


def hours_for(item: WorkItem, prices: PriceList) -> Decimal:
    """Hours of an operation: the shop's own figure where it has one."""
    return Decimal(str(prices.hours.get(item.operation, item.hours)))


def price_work(work: Work, knowledge: Knowledge, engine: Engine, engine_id: str, prices: PriceList) -> PricedWork:
    """Price what is sure at a rung. A rung whose work needs no hours, parts or machining costs nothing."""
    sure = [item for item in work.items if not item.if_found]
    lines = _labour(sure, prices)
    special = prices.engine_parts.get(engine_id, {})
    for line in work.parts:
        text = special.get(line.part, prices.parts.get(line.part))
        lines.append(_line(knowledge.parts[line.part].kind, line.part, Decimal(line.quantity), text, prices,
                           line.operations))
    lines += _machining(sure, knowledge, engine, prices)
    if any(item.operation == "replace_engine" for item in sure):
        lines.append(_line("replacement", "replace_engine", Decimal(1), engine.replacement or prices.replacement or None,
                           prices, ("replace_engine",)))
    labour = sum((line.amount for line in lines if line.kind == "labour"), Decimal(0))
    supplies = share(labour, prices.supplies_percent)
    if supplies:
        lines.append(PricedLine("supplies", "shop_supplies", Decimal(1), supplies, supplies, ()))
    missing = tuple(f"{line.kind} {line.subject}" for line in lines if line.amount is None)
    total = None if missing else sum((line.amount for line in lines if line.amount is not None), Decimal("0.00"))
    return PricedWork(tuple(lines), total, missing)


def price_item(item: WorkItem, knowledge: Knowledge, engine: Engine, engine_id: str, prices: PriceList, *,
               already: frozenset[str] = frozenset()) -> PricedWork:
    """Price one operation by itself, as an allowance: its hours, parts and machining; `already` parts cost nothing more."""
    operation = knowledge.operations[item.operation]
    special = prices.engine_parts.get(engine_id, {})
    lines = _labour([item], prices)
    for part, quantity in operation.parts.items():
        if part not in already:
            lines.append(_line(knowledge.parts[part].kind, part, Decimal(quantity_of(quantity, engine)),
                               special.get(part, prices.parts.get(part)), prices, (item.operation,)))
    lines += _machining([item], knowledge, engine, prices)
    missing = tuple(f"{line.kind} {line.subject}" for line in lines if line.amount is None)
    total = None if missing else sum((line.amount for line in lines if line.amount is not None), Decimal("0.00"))
    return PricedWork(tuple(lines), total, missing)


def _labour(items: list[WorkItem], prices: PriceList) -> list[PricedLine]:
    rate = read_money(prices.labour_rate, prices.currency)
    return [PricedLine("labour", item.operation, hours, rate, cents(hours * rate), (item.operation,))
            for item in items if (hours := hours_for(item, prices))]


def _machining(items: list[WorkItem], knowledge: Knowledge, engine: Engine, prices: PriceList) -> list[PricedLine]:
    wanted: dict[str, tuple[int, list[str]]] = {}
    for item in items:
        for name, quantity in knowledge.operations[item.operation].machine.items():
            count, by = wanted.get(name, (0, []))
            # the same machine operation asked for by two pieces of work is done once
            wanted[name] = (max(count, quantity_of(quantity, engine)), [*by, item.operation])
    return [_line("machine", name, Decimal(count), prices.machine.get(name), prices, tuple(by))
            for name, (count, by) in sorted(wanted.items())]


def _line(kind: str, subject: str, quantity: Decimal, text: str | None, prices: PriceList,
          operations: tuple[str, ...]) -> PricedLine:
    each = None if text is None else read_money(text, prices.currency)
    return PricedLine(kind, subject, quantity, each, None if each is None else cents(quantity * each), operations)
