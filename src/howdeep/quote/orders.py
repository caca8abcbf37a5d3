"""The order list, by a supplier's habits: where each part is bought, what can be ordered now, what waits for which
measurement, which size would also do, a set against single gaskets, and what is held back."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from decimal import Decimal

from ..model.engine import Engine
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment, Work
from ..pricing.lines import PricedLine, price_work
from ..pricing.money import cents, read_money
from ..pricing.quantities import parts_of
from ..readings import order_sizes
from ..readings.order_sizes import GROUND_TO, SizeChoice
from ..readings.sizes import ALSO_FITS, MORE_THAN_NEEDED
from .jobs import work_of
from .values import HeldPart, MachineLine, OrderLine, OrderList, SetOffer

SUPPLIERS = ("engine parts", "electrical", "general")
COLUMNS = (
    "supplier",
    "when",
    "what",
    "id",
    "quantity",
    "size",
    "alternatives",
    "measured_from",
    "waits_for",
    "unit_price",
    "amount",
    "currency",
    "note",
)
YES_FIRST = "No yes is recorded yet: order nothing that cannot go back."
NOT_SETTLED = "Nothing is settled yet, so order nothing: this is what the job would take as it looks now."
MOST_HELD = 12
"""So many parts that are needed only if something is found are named, the likeliest first."""


def order_list(
    knowledge: Knowledge, answer: Assessment, key: str | None = None, prices: PriceList | None = None
) -> tuple[OrderLine, ...]:
    """Parts of a job: those that can be ordered now first, each group by title; with what each costs by `prices`."""
    work = work_of(knowledge, answer, key or answer.decision.job)
    choices = order_sizes(answer.job, knowledge)
    priced = _priced(knowledge, answer, work, prices)
    lines = []
    for line in work.parts:
        part, cost = knowledge.parts[line.part], priced.get(("part", line.part))
        lines.append(
            OrderLine(
                line.part,
                part.title,
                line.quantity,
                line.size,
                knowledge.observations[line.measured_from].title if line.measured_from else "",
                knowledge.observations[line.waits_for].title if line.waits_for else "",
                part.never_reuse,
                part.supplier,
                _alternatives(choices.get(part.size_fact)) if line.size else (),
                _sold_in(knowledge, answer.job.engine, part.size_fact) if line.waits_for else (),
                cost.unit_price if cost else None,
                cost.amount if cost else None,
            )
        )
    return tuple(sorted(lines, key=lambda line: (bool(line.waits_for), line.title, line.part)))


def order_of(knowledge: Knowledge, answer: Assessment, prices: PriceList, key: str | None = None) -> OrderList:
    """The whole order list of a job (by default the one that the answer speaks of)."""
    key = key or answer.decision.job
    work = work_of(knowledge, answer, key)
    lines = order_list(knowledge, answer, key, prices)
    yes = any("sum" in entry for entry in answer.job.job.approvals)
    settled = answer.job.job.promises or answer.decision.kind in ("promise", "begin_with")
    return OrderList(
        "" if yes else YES_FIRST if settled else NOT_SETTLED,
        prices.currency,
        tuple(sorted(lines, key=lambda line: (SUPPLIERS.index(line.supplier), bool(line.waits_for), line.title))),
        _machine(knowledge, answer, work, prices),
        _sets(knowledge, answer, lines, prices),
        _held(knowledge, answer, work, lines),
    )


def _priced(
    knowledge: Knowledge, answer: Assessment, work: Work, prices: PriceList | None
) -> Mapping[tuple[str, str], PricedLine]:
    """(kind of thing, id) -> its priced line; parts and consumables are both parts here."""
    if prices is None:
        return {}
    found = price_work(work, knowledge, answer.job.engine, answer.job.priced_as, prices).lines
    return {("part" if line.kind in ("part", "consumable") else line.kind, line.subject): line for line in found}


def _alternatives(choice: SizeChoice | None) -> tuple[str, ...]:
    """Sizes that were passed over and would do."""
    if choice is None:
        return ()
    return tuple(text for text in choice.rejected if ALSO_FITS in text or MORE_THAN_NEEDED in text)


def _sold_in(knowledge: Knowledge, engine: Engine, fact: str) -> tuple[str, ...]:
    """The sizes that the engine sheet lists for a part."""
    listed = knowledge.reduced[fact].sold_in if fact else ""
    here: object = engine
    for part in listed.split(".") if listed else ():
        here = getattr(here, part, None)
    return tuple(map(str, here)) if listed and isinstance(here, tuple) else ()


def _machine(knowledge: Knowledge, answer: Assessment, work: Work, prices: PriceList) -> tuple[MachineLine, ...]:
    choices = order_sizes(answer.job, knowledge)
    lines = []
    for (kind, name), line in _priced(knowledge, answer, work, prices).items():
        if kind == "machine":
            entry = knowledge.machining[name]
            size = choices.get(entry.machined_to)
            lines.append(
                MachineLine(
                    name,
                    entry.title,
                    int(line.quantity),
                    tuple(
                        knowledge.parts[part].title
                        for part in entry.take_along
                        if any(part == other.part for other in work.parts)
                    ),
                    _machined_to(size.size) if size else "",
                    line.unit_price,
                    line.amount,
                )
            )
    return tuple(sorted(lines, key=lambda line: line.title))


def _machined_to(size: str) -> str:
    """'0.010 in under' of '0.010 in under, all ground to 0.010 in under': of one set of journals, pins or mains."""
    return size.partition(GROUND_TO)[2] or size


def _sets(
    knowledge: Knowledge, answer: Assessment, lines: tuple[OrderLine, ...], prices: PriceList
) -> tuple[SetOffer, ...]:
    """Sets that would take the place of two or more single parts of the list, the one that takes most of them first."""
    needed = {line.part: line for line in lines}
    own = prices.engine_parts.get(answer.job.priced_as, {})
    offers = []
    for name, part in knowledge.parts.items():
        singles = [needed[other] for other in part.contains if other in needed]
        if len(singles) < 2:
            continue
        text = own.get(name, prices.parts.get(name))
        amounts = [line.amount for line in singles]
        total = None if None in amounts else sum((amount for amount in amounts if amount is not None), Decimal(0))
        offers.append(
            SetOffer(
                name,
                part.title,
                tuple(line.title for line in singles),
                total,
                read_money(text, prices.currency) if text else None,
                tuple(knowledge.parts[other].title for other in part.contains if other not in needed),
            )
        )
    return tuple(sorted(offers, key=lambda offer: (-len(offer.singles), len(offer.unneeded), offer.title)))


def _held(knowledge: Knowledge, answer: Assessment, work: Work, lines: tuple[OrderLine, ...]) -> tuple[HeldPart, ...]:
    """Parts of the allowances that the job does not need by itself, the likeliest first."""
    needed = {line.part for line in lines}
    held: dict[str, HeldPart] = {}
    for item in sorted((item for item in work.items if item.if_found), key=lambda item: (-item.chance, item.operation)):
        for part, count in parts_of(knowledge, knowledge.operations[item.operation], answer.job.engine):
            if part not in needed and knowledge.parts[part].kind == "part":
                held.setdefault(
                    part,
                    HeldPart(
                        part,
                        knowledge.parts[part].title,
                        count,
                        knowledge.operations[item.operation].title,
                        item.chance,
                    ),
                )
    return tuple(held.values())[:MOST_HELD]


def total_of(lines: tuple[OrderLine, ...]) -> Decimal:
    """What the lines with a price come to."""
    return cents(sum((line.amount for line in lines if line.amount is not None), Decimal(0)))


def order_csv(order: OrderList) -> str:
    """The list as CSV (RFC 4180), a row a thing. A value that a spreadsheet would run gets an apostrophe before it."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, COLUMNS, restval="")
    writer.writeheader()

    def row(**values: object) -> None:
        texts = {key: "" if value is None else str(value) for key, value in values.items()}
        writer.writerow({key: f"'{text}" if text[:1] in "=+-@\t\r" and text else text for key, text in texts.items()})

    for line in order.lines:
        row(
            supplier=line.supplier,
            when="after measuring" if line.waits_for else "after the yes" if order.head else "now",
            what=line.title,
            id=line.part,
            quantity=line.quantity,
            size=line.size,
            alternatives="; ".join(line.alternatives or line.sold_in),
            measured_from=line.measured_from,
            waits_for=line.waits_for,
            unit_price=line.unit_price,
            amount=line.amount,
            currency=order.currency,
            note="never reused" if line.never_reuse else "",
        )
    for work in order.machine:
        row(
            supplier="machine shop",
            when="after the yes" if order.head else "now",
            what=work.title,
            id=work.machining,
            quantity=work.quantity,
            size=work.size,
            unit_price=work.unit_price,
            amount=work.amount,
            currency=order.currency,
            note=f"take along: {', '.join(work.take_along)}" if work.take_along else "",
        )
    for held in order.hold_back:
        row(
            when="only if found",
            what=held.title,
            id=held.part,
            quantity=held.quantity,
            note=f"{held.only_if}, {100 * held.chance:.0f} %",
        )
    return out.getvalue()
