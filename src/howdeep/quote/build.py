"""A quote built from the answer and the price list."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from ..knowledge.engine_facts import engine_facts
from ..model.knowledge import RUNGS, Knowledge, Rung
from ..model.prices import PriceList
from ..model.results import Assessment, WorkItem
from ..pricing.lines import PricedLine, price_item, price_work
from ..pricing.money import cents, read_money, share
from ..reasoning.construction import rung_on
from .held import held_checks, waived_sentences
from .values import Allowance, Quote, QuoteLine, TwoSteps

LIKELY_ALLOWANCE = 0.1
"""An allowance at least this likely belongs to the upper end of the range."""
MUCH_UNKNOWN = 0.2
"""With a chance below 1 - this that the rung is enough, a tear-down price is offered first."""
_OPEN_FROM = RUNGS.index("top_end")


def build_quote(knowledge: Knowledge, answer: Assessment, prices: PriceList, rung: Rung | None = None, *,
                two_step: bool | None = None) -> Quote:
    """The quote for a rung (the recommended one by default).

    Every line is rounded half up to the cent, tax is charged once on the sum of the taxed kinds, and the total is the
    sum of what is printed. `two_step` forces or forbids the tear-down offer; by default it is made where the work opens
    the engine and the chance of being enough is low.
    """
    rung = rung or answer.decision.rung
    work = answer.works[rung]
    engine_id = answer.job.job.engine
    priced = price_work(work, knowledge, answer.job.engine, engine_id, prices)
    items = {item.operation: item for item in work.items}
    parts = {line.part: line for line in work.parts}
    lines = tuple(_line(knowledge, answer, line, items, parts) for line in priced.lines)
    taxable = sum((line.amount or Decimal(0) for line in lines if _tax_kind(line.kind) in prices.tax_on), Decimal(0))
    tax = None if priced.missing else share(taxable, prices.tax_percent)
    total = None if tax is None or priced.total is None else priced.total + tax
    chosen_parts = frozenset(parts)
    allowances = tuple(_allowance(knowledge, answer, item, prices, rung, chosen_parts)
                       for item in sorted((item for item in work.items if item.if_found),
                                          key=lambda item: (-item.chance, item.operation)))
    priced_allowances = [item for item in allowances if item.amount is not None]
    likely = high = None
    if total is not None:
        likely = cents(total + sum((item.amount * Decimal(str(round(item.chance, 6))) for item in priced_allowances),
                                   Decimal(0)))
        high = total + sum((item.amount for item in priced_allowances if item.chance >= LIKELY_ALLOWANCE), Decimal(0))
    chosen = next(line for line in answer.decision.ladder if line.rung == rung)
    enough = chosen.enough
    missing = (*priced.missing, *(f"allowance {item.operation}" for item in allowances if item.amount is None))
    quote = Quote(
        rung=rung, title=knowledge.scopes[rung].title, enough=enough, currency=prices.currency, lines=lines,
        subtotal=priced.total, tax_percent=prices.tax_percent, tax_on=tuple(prices.tax_on), tax=tax, total=total,
        allowances=allowances, likely=likely, low=total, high=high, deposit_percent=prices.deposit_percent,
        deposit=None if total is None else share(total, prices.deposit_percent), valid_days=prices.valid_days,
        missing=missing, price_list=prices.name, price_date=prices.date, rule_base=knowledge.version, two_steps=None,
        held=tuple(_check_title(knowledge, item.check) for item in held_checks(answer, rung)),
        noticed=chosen.noticed, waived=waived_sentences(knowledge, answer),
    )
    opens = _OPEN_FROM <= RUNGS.index(rung) < RUNGS.index("replace")
    if two_step or (two_step is None and opens and enough < 1 - MUCH_UNKNOWN):
        return _with_two_steps(quote, answer, prices)
    return quote


def _check_title(knowledge: Knowledge, name: str) -> str:
    entry = knowledge.checks.get(name) or knowledge.observations[name]
    return entry.title


def _tax_kind(kind: str) -> str:
    return {"part": "parts", "consumable": "parts", "replacement": "parts"}.get(kind, kind)


def _line(knowledge: Knowledge, answer: Assessment, line: PricedLine, items: dict[str, WorkItem],
          parts: dict) -> QuoteLine:
    served = [items[name] for name in line.operations if name in items]
    evidence = tuple(dict.fromkeys(reason for item in served for reason in item.because))
    size, waits = "", ""
    if line.kind == "labour":
        operation = knowledge.operations[line.subject]
        title, why = operation.title, f"{operation.plain} {_because(knowledge, answer, items[line.subject])}"
    elif line.kind in ("part", "consumable"):
        part = knowledge.parts[line.subject]
        title, why = part.title, f"{part.plain} {_for_work(knowledge, line)}"
        size = parts[line.subject].size
        waits = parts[line.subject].waits_for
    elif line.kind == "machine":
        machining = knowledge.machining[line.subject]
        title, why = machining.title, f"{machining.plain} {_for_work(knowledge, line)}"
    elif line.kind == "replacement":
        title, why = "Sound replacement engine, fitted", "Instead of repairing the one you have."
    else:
        title = "Shop supplies"
        why = "Cleaning fluid, rags, sealants and the disposal of waste, charged as a share of the labour."
        evidence = ("rules/supplies",)
    return QuoteLine(line.kind, line.subject, title, line.quantity, line.unit_price, line.amount, why.strip(), evidence,
                     size, waits)


def _for_work(knowledge: Knowledge, line: PricedLine) -> str:
    names = [knowledge.operations[name].title.lower() for name in line.operations]
    shown = ", ".join(names[:2]) + (" and more" if len(names) > 2 else "")
    return f"Needed to: {shown}." if names else ""


def _because(knowledge: Knowledge, answer: Assessment, item: WorkItem) -> str:
    """The reason for an operation, in the customer's words."""
    causes, general = [], ""
    for reason in item.because:
        kind, _, name = reason.partition("/")
        if kind == "causes":
            causes.append(name)
        elif kind == "observations" and not general:
            general = "The engine stands open already and has to be put together again."
        elif kind == "scopes" and not general:
            general = f"It is part of every job of this depth ({knowledge.scopes[name].title.lower()})."
        elif kind == "operations" and name != item.operation and not general:
            general = (f"It goes with other work we do here ({knowledge.operations[name].title.lower()}): "
                       "once we are in that far it costs little and saves doing it twice.")
        elif kind == "operations" and not general:
            general = "What we found calls for it."
    if causes:
        odds = {belief.cause: belief.posterior for belief in answer.beliefs}
        best = max(causes, key=lambda name: (odds.get(name, 0.0), name))
        return f"We do it because of this: {knowledge.causes[best].plain}"
    return general


def _allowance(knowledge: Knowledge, answer: Assessment, item: WorkItem, prices: PriceList, rung: Rung,
               already: frozenset[str]) -> Allowance:
    """An allowance with its price. Where its work lies deeper than the quoted rung, the job would grow to that rung."""
    engine, engine_id = answer.job.engine, answer.job.job.engine
    deeper = rung_on(knowledge.operations[item.operation].rung, engine_facts(engine)) or rung
    title = knowledge.operations[item.operation].title
    if RUNGS.index(deeper) > RUNGS.index(rung):
        title += f" (the job grows to {knowledge.scopes[deeper].title.lower()})"
        there = answer.works[deeper]
        lines = list(price_work(there, knowledge, engine, engine_id, prices).lines)
        parts = frozenset(line.part for line in there.parts)
        if not any(other.operation == item.operation and not other.if_found for other in there.items):
            lines += price_item(item, knowledge, engine, engine_id, prices, already=parts).lines
        here = price_work(answer.works[rung], knowledge, engine, engine_id, prices)
        amount = _with_tax(lines, prices)
        base = _with_tax(here.lines, prices)
        amount = None if amount is None or base is None else max(amount - base, Decimal(0))
    else:
        amount = _with_tax(price_item(item, knowledge, engine, engine_id, prices, already=already).lines, prices)
    causes = [name for kind, _, name in (reason.partition("/") for reason in item.because) if kind == "causes"]
    why = " ".join(knowledge.causes[name].plain for name in causes[:1])
    return Allowance(item.operation, title, item.chance, amount, why, item.because)


def _with_tax(lines: Iterable[PricedLine], prices: PriceList) -> Decimal | None:
    """Sum of lines with tax on the taxed kinds; None where a price is missing."""
    total, taxable = Decimal(0), Decimal(0)
    for line in lines:
        if line.amount is None:
            return None
        total += line.amount
        if _tax_kind(line.kind) in prices.tax_on:
            taxable += line.amount
    return total + share(taxable, prices.tax_percent)


def _with_two_steps(quote: Quote, answer: Assessment, prices: PriceList) -> Quote:
    import dataclasses

    base = read_money(prices.teardown_inspection, prices.currency)
    taxed = base + (share(base, prices.tax_percent) if "labour" in prices.tax_on else Decimal(0))
    opening = [line for line in quote.lines if line.kind == "labour" and line.subject.startswith("remove_refit")]
    back = None
    if opening and all(line.amount is not None for line in opening):
        half = cents(sum((line.amount for line in opening if line.amount is not None), Decimal(0)) / 2)
        back = half + (share(half, prices.tax_percent) if "labour" in prices.tax_on else Decimal(0))
    steps = TwoSteps(
        inspection=taxed,
        because="Nobody can see inside before it is open, and the first figure almost surely moves once we can. So you "
                "may buy the looking first and decide on the repair with the facts on the bench.",
        stop="After the inspection you get a written report and may stop there; "
             "nothing more is owed than this price and the way back you choose.",
        way_back_in_pieces="In boxes, marked, at no further charge.",
        way_back_assembled=back,
        cap=quote.high,
    )
    return dataclasses.replace(quote, two_steps=steps)
