"""A quote built from the answer and the price list."""

from __future__ import annotations

import dataclasses
from decimal import Decimal

from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment, PartLine, Work, WorkItem
from ..model.terms import DEPTH
from ..pricing.lines import PricedLine, lacking, price_work
from ..pricing.money import cents, read_money, share
from ..pricing.tax import tax_on
from .bills import causes_of, job_of, span_of
from .first_steps import way_back
from .held import held_checks, waived_sentences
from .jobs import is_only, job_title, rung_of, work_of
from .line_reasons import REPLACEMENT, SUPPLIES, JobReasons
from .values import Allowance, Quote, QuoteLine, TwoSteps

LEEWAY = Decimal("0.1")
"""Share of the total by which a bill may pass it without a call (common practice, no source)."""
_OPEN_FROM = DEPTH["top_end"]


def build_quote(
    knowledge: Knowledge, answer: Assessment, prices: PriceList, key: str | None = None, *, two_step: bool | None = None
) -> Quote:
    """The quote for a job by its key (by default the one that the answer speaks of).

    Every line is rounded half up to the cent, tax is charged once on the sum of the taxed kinds, and the total is the
    sum of what is printed. `two_step` forces or forbids the tear-down offer; by default it is made where the work opens
    the engine and the chance of being enough is low.
    """
    key = key or answer.decision.job
    rung, work = rung_of(key), work_of(knowledge, answer, key)
    engine_id = answer.job.priced_as
    priced = price_work(work, knowledge, answer.job.engine, engine_id, prices)
    items = {item.operation: item for item in work.items}
    parts = {line.part: line for line in work.parts}
    reasons = JobReasons(knowledge, answer, work.items)
    lines = tuple(_marked(_line(knowledge, line, reasons, items, parts), line.place, prices) for line in priced.lines)
    known_tax = tax_on(((line.kind, line.amount) for line in lines), prices)
    tax = None if priced.missing else known_tax
    total = None if tax is None or priced.total is None else priced.total + tax
    allowances = _allowances(knowledge, answer, prices, key, work)
    replacement = job_of(knowledge, answer).total("replace", prices)
    span = span_of(knowledge, answer, prices, key, replacement)
    package = next(line for line in answer.decision.ladder if line.rung == rung)
    enough = next((line.enough for line in answer.decision.jobs if line.job == key), package.enough)
    missing = tuple(dict.fromkeys((*priced.missing, *(name for item in allowances for name in item.lacks))))
    quote = Quote(
        rung=rung,
        title=job_title(knowledge, key),
        enough=enough,
        currency=prices.currency,
        lines=lines,
        subtotal=priced.total,
        tax_percent=prices.tax_percent,
        tax_on=tuple(prices.tax_on),
        tax=tax,
        total=total,
        allowances=allowances,
        likely=span.likely if span else None,
        low=span.low if span else None,
        high=span.high if span else None,
        deposit_percent=prices.deposit_percent,
        deposit=None if total is None else share(total, prices.deposit_percent),
        valid_days=prices.valid_days,
        missing=missing,
        price_list=prices.name,
        price_date=prices.date,
        rule_base=knowledge.version,
        two_steps=None,
        held=tuple(_check_title(knowledge, item.check) for item in held_checks(answer, rung)),
        every=None if is_only(key) else package.every,
        waived=waived_sentences(knowledge, answer),
        job=key,
        worth=_worth_words(answer) if key == answer.decision.job else "",
        known_subtotal=priced.known,
        known_tax=known_tax,
        example=prices.example,
        tax_example=prices.mark("tax_percent").example,
        old_after_days=prices.old_after_days,
    )
    cap, because = _cap(quote, replacement, _worth(answer, prices))
    opens = _OPEN_FROM <= DEPTH[rung] < DEPTH["replace"]
    offered = two_step or (two_step is None and opens and enough < 1 - knowledge.settings.deciding.much_unknown)
    return dataclasses.replace(
        quote, cap=cap, cap_because=because, two_steps=_two_steps(quote, prices, cap, because) if offered else None
    )


def _marked(line: QuoteLine, place: str, prices: PriceList) -> QuoteLine:
    """A line with what the list says of its price."""
    if not place or line.amount is None:
        return dataclasses.replace(line, place=place)
    mark = prices.mark(place)
    return dataclasses.replace(line, place=place, dated=mark.date, example=mark.example)


def _check_title(knowledge: Knowledge, name: str) -> str:
    entry = knowledge.checks.get(name) or knowledge.observations[name]
    return entry.title


def _line(
    knowledge: Knowledge, line: PricedLine, reasons: JobReasons, items: dict[str, WorkItem], parts: dict[str, PartLine]
) -> QuoteLine:
    served = [items[name] for name in line.operations if name in items]
    evidence = tuple(dict.fromkeys(reason for item in served for reason in item.because))
    does, size, waits = "", "", ""
    if line.kind == "labour":
        operation = knowledge.operations[line.subject]
        title, does, why = operation.title, operation.plain, reasons.of_labour(line.subject, line.quantity)
    elif line.kind in ("part", "consumable"):
        part = knowledge.parts[line.subject]
        title, does, why = part.title, part.plain, reasons.of_part(line.subject, line.operations)
        size = parts[line.subject].size
        waits = parts[line.subject].waits_for
    elif line.kind == "machine":
        machining = knowledge.machining[line.subject]
        title, does, why = machining.title, machining.plain, reasons.of_machining(line.operations)
    elif line.kind == "replacement":
        title, why = "Sound replacement engine, fitted", REPLACEMENT
    else:
        title, why, evidence = "Shop supplies", SUPPLIES, ("rules/supplies",)
    return QuoteLine(
        line.kind,
        line.subject,
        title,
        line.quantity,
        line.unit_price,
        line.amount,
        why.text,
        evidence,
        size,
        waits,
        does=does,
        sort=why.sort,
    )


def _allowances(
    knowledge: Knowledge, answer: Assessment, prices: PriceList, key: str, work: Work
) -> tuple[Allowance, ...]:
    """Allowances of a job, likeliest first, each with all that it adds to the quoted work when it is found: what its
    operation brings, and where it lies deeper than the quoted job, the growth to that depth."""
    job = job_of(knowledge, answer)
    here = job.operations(key)
    wanted: list[tuple[WorkItem, str, str, frozenset[str]]] = []
    for item in sorted((item for item in work.items if item.if_found), key=lambda item: (-item.chance, item.operation)):
        cause = max(causes_of(item.because), key=lambda name: (job.odds[name], name))
        deeper = job.grown(key, (item.operation,))
        there = job.operations(deeper, (cause,))
        done = job.done_for(item.operation, cause, there)
        if done and done not in here:  # else the quote holds what takes its place already
            wanted.append((item, done, deeper, there))
    total, *totals = job.totals([here, *(there for _, _, _, there in wanted)], prices)
    result = []
    for (item, done, deeper, _), then in zip(wanted, totals, strict=True):
        title = knowledge.operations[done].title
        if deeper != key:
            title += f" (the job grows to {knowledge.scopes[rung_of(deeper)].title.lower()})"
        why = " ".join(knowledge.causes[name].plain for name in causes_of(item.because)[:1])
        amount = None if then is None or total is None else max(then - total, Decimal(0))
        lacks = (
            ()
            if amount is not None
            else tuple(
                name
                for name in lacking(there, knowledge, job.engine, job.engine_id, prices)
                if name not in lacking(here, knowledge, job.engine, job.engine_id, prices)
            )
        )
        result.append(Allowance(done, title, item.chance, amount, why, item.because, lacks))
    return tuple(result)


def _worth_words(answer: Assessment) -> str:
    """What the comparison with the machine's value says, and where its prices are not all the shop's."""
    words = answer.decision.beyond
    return (
        f"{words} (In it, examples stand in for prices that the list lacks.)"
        if words and answer.decision.missing
        else words
    )


def _worth(answer: Assessment, prices: PriceList) -> Decimal | None:
    """What the machine is worth running, where it is stated."""
    text = answer.job.job.customer.value_running or answer.job.engine.value_running
    return read_money(text, prices.currency) if text else None


def _cap(quote: Quote, replacement: Decimal | None, worth: Decimal | None) -> tuple[Decimal | None, str]:
    """The sum beyond which nothing is done without a call, and which sum it is.

    A tenth more than the total, so that a bolt or a gasket needs no call and all that may turn up does; but no more
    than a replacement engine costs or the machine is worth running, and never less than the quoted work itself.
    """
    if quote.total is None:
        return None, ""
    bounds = [
        (replacement, "what a sound replacement engine costs, fitted"),
        (worth, "what the machine is worth running"),
        (cents(quote.total * (1 + LEEWAY)), "a tenth more than the total"),
    ]
    least, which = min(((amount, text) for amount, text in bounds if amount), key=lambda bound: bound[0])
    if least < quote.total:
        return quote.total, f"the total of this quote, which is more than {which}"
    return least, which


def _two_steps(quote: Quote, prices: PriceList, cap: Decimal | None, because: str) -> TwoSteps:
    base = read_money(prices.teardown_inspection, prices.currency) if prices.teardown_inspection else None
    return TwoSteps(
        inspection=None if base is None else base + tax_on([("labour", base)], prices),
        because="Nobody can see inside before it is open, and the first figure almost surely moves once we can. So you "
        "may buy the looking first and decide on the repair with the facts on the bench.",
        stop="After the inspection you get a written report and may stop there; "
        "nothing more is owed than this price and the way back you choose.",
        way_back_in_pieces="In boxes, marked, at no further charge.",
        way_back_assembled=way_back(quote, prices),
        cap=cap,
        cap_because=because,
    )
