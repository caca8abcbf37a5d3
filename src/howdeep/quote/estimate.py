"""The estimate built: one page from the answer, the quote and what the shop says of itself."""

from __future__ import annotations

import dataclasses
import datetime
from decimal import Decimal
from typing import Any

from ..model.answer_kinds import Kind
from ..model.causes import Cause
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment
from ..model.shop import ShopSettings
from ..model.terms import DEPTH
from ..pricing.money import read_money
from .beside import found_rows
from .bills import job_of
from .estimate_values import Estimate, Paper, Proposal, Sum, Surprise, Suspect, Worth
from .evidence import seats
from .first_steps import first_steps, look_offer
from .jobs import anything_noticed, is_only, named_work, points_to_work
from .made_with import used_line
from .other_ways import ANOTHER, costs_least, depths, other_ways
from .texts import first_sentence, lower_first, whole_within, within
from .told_dangers import told_dangers
from .values import Quote

FOUND, SURPRISES, SUSPECTS, WAITING, DANGERS = 4, 3, 2, 1, 2
"""Rows of each sort on one page."""
NAME, WORDS, SENTENCE, DANGER, DOES = 70, 150, 140, 240, 240
"""Letters of a name, of the customer's own words, of a sentence, of a danger with its remedy and of what is done on
one page; the whole stands in the annex."""
DIGITS = 6
"""Digits of a chance."""
HARM = ("dangerous", "damages", "wears", "harmless")
"""What running on does (`Cause.run_on`), the worst first."""
PAPERS: dict[Kind, Paper] = {
    "do_not_run": "do_not_run",
    "promise": "estimate",
    "check_first": "find_out",
    "look_inside": "find_out",
    "begin_with": "begin_with",
    "can_wait": "can_wait",
    "stop": "stop",
}


def estimate_of(
    knowledge: Knowledge,
    answer: Assessment,
    quote: Quote,
    prices: PriceList,
    settings: ShopSettings,
    *,
    asked: bool = False,
    promised: bool = False,
    number: str | None = None,
    date: str = "",
    units: str = "",
) -> Estimate:
    """The page for a quote. `asked`: the job was chosen against the answer, so it is priced whatever the answer says;
    `promised`: the shop promises it. `number` is the paper's own, `date` an ISO date."""
    decision, customer = answer.decision, answer.job.job.customer
    used = answer.used
    paper = "estimate" if asked or promised else PAPERS[decision.kind]
    then = decision.then
    meant = asked or promised or points_to_work(answer) or (then == "can_wait" and anything_noticed(answer))
    priced = meant and (paper in ("estimate", "begin_with") or then != "can_wait")
    rows = found_rows(knowledge, answer, units)
    shown = FOUND - bool(decision.dangers)  # a danger takes the room of a row
    checked = paper in ("find_out", "do_not_run") and then == "check_first"
    looked = paper in ("find_out", "do_not_run") and then == "look_inside"
    likely = quote.likely if priced else None
    made: Estimate = _rounded(
        Estimate(
            paper=paper,
            then=then,
            afterwards=decision.afterwards,
            promised=promised or (decision.kind == "promise" and not asked),
            number=number,
            date=date,
            valid_until=_until(date, quote.valid_days),
            customer=within(customer.name, NAME),
            machine=within(customer.machine, NAME),
            engine=within(answer.job.engine.name, NAME),
            general=answer.job.general.title if answer.job.general else "",
            told=within(customer.words, WORDS),
            found=rows[:shown],
            sound=max(len(rows) - shown, 0),
            dangers=tuple(
                whole_within(f"{danger.hazard} {danger.remedy}".strip(), DANGER)
                for danger in told_dangers(knowledge, answer)[: DANGERS if paper == "do_not_run" else 1]
            ),
            suspects=_suspects(knowledge, answer),
            proposal=_proposal(knowledge, answer, quote) if meant else None,
            sum=_sum(
                without_example_deposit(quote, prices, settings),
                first_step=then == "begin_with" and paper in ("begin_with", "do_not_run"),
            )
            if meant
            else None,
            surprises=_surprises(quote)[:SURPRISES] if priced else (),
            more_surprises=max(len(quote.allowances) - SURPRISES, 0) if priced else 0,
            other_ways=other_ways(knowledge, answer, prices, quote.job) if priced else (),
            costs_least=costs_least(knowledge, answer, quote.job),
            in_the_end=_in_the_end(answer, quote.job),
            depths=depths(knowledge, answer, prices) if meant else (),
            first=first_steps(knowledge, answer, prices) if checked else None,
            look=look_offer(knowledge, answer, quote, prices) if looked else None,
            inspect=quote.two_steps if priced and paper != "find_out" else None,
            worth=_worth(knowledge, answer, prices, likely),
            waiting=_waiting(knowledge, answer),
            held=quote.held,
            waived=quote.waived,
            currency=quote.currency,
            guarantee=settings.guarantee,
            terms=settings.terms,
            signs=settings.signs,
            used=used_line(used) if used is not None else "",
        )
    )
    return made


def _rounded(value: Any) -> Any:
    """The same with every chance as it is kept: six digits, and what is nearly certain never as certain, so that a
    stored estimate reads as it was printed."""
    if isinstance(value, float):
        kept = round(value, DIGITS)
        nearly = 10.0**-DIGITS
        return 1 - nearly if kept == 1 and value < 1 else nearly if kept == 0 and value > 0 else kept
    if isinstance(value, tuple):
        return tuple(_rounded(item) for item in value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return dataclasses.replace(
            value, **{field.name: _rounded(getattr(value, field.name)) for field in dataclasses.fields(value)}
        )
    return value


def _until(date: str, days: int) -> str:
    return (datetime.date.fromisoformat(date) + datetime.timedelta(days=days)).isoformat() if date else ""


def _suspects(knowledge: Knowledge, answer: Assessment) -> tuple[Suspect, ...]:
    ordered = sorted(answer.beliefs, key=lambda belief: (-round(belief.hand, 9), belief.cause))
    likely = seats(ordered, SUSPECTS, answer.decision.depth_by)
    return tuple(
        Suspect(
            knowledge.causes[belief.cause].title,
            within(first_sentence(knowledge.causes[belief.cause].plain), SENTENCE),
            belief.hand,
        )
        for belief in likely
        if belief.hand >= knowledge.settings.telling.named_from
    )


def _proposal(knowledge: Knowledge, answer: Assessment, quote: Quote) -> Proposal:
    plain = knowledge.scopes[quote.rung].plain
    if quote.rung == "replace":
        does = plain
    else:
        opens = not is_only(quote.job) and DEPTH[quote.rung] >= DEPTH["top_end"]
        does = (f"{first_sentence(plain)} " if opens else "") + f"That is: {named_work(knowledge, answer, quote.job)}."
    title = ANOTHER if quote.rung == "replace" else quote.title
    came_for = next((line.came_for for line in answer.decision.jobs if line.job == quote.job), None)
    told = whole_within(does, DOES)
    return Proposal(quote.job, quote.rung, title, told, quote.enough, quote.every, came_for, anything_noticed(answer))


def without_example_deposit(quote: Quote, prices: PriceList, settings: ShopSettings) -> Quote:
    """The quote without a deposit that is only the example of the price list, where the shop states terms of its own:
    these say when what is paid."""
    if settings.terms and prices.mark("deposit_percent").example:
        return dataclasses.replace(quote, deposit=None, deposit_percent="0")
    return quote


def _sum(quote: Quote, *, first_step: bool) -> Sum:
    """The sums of a quote; of a first step nothing beyond it is agreed to."""
    cap, because = (quote.total, "the price of this step alone") if first_step else (quote.cap, quote.cap_because)
    return Sum(
        quote.subtotal,
        quote.tax_percent,
        quote.tax,
        quote.total,
        quote.known_total,
        len(quote.unpriced),
        quote.deposit_percent,
        quote.deposit,
        quote.likely,
        quote.low,
        quote.high,
        cap,
        because,
    )


def _surprises(quote: Quote) -> tuple[Surprise, ...]:
    return tuple(Surprise(item.title, item.chance, item.amount) for item in quote.allowances)


def _in_the_end(answer: Assessment, key: str) -> Decimal | None:
    return next((line.expected for line in answer.decision.jobs if line.job == key), None)


def _worth(knowledge: Knowledge, answer: Assessment, prices: PriceList, likely: Decimal | None) -> Worth:
    """The likely bill beside what the machine is worth running and beside another engine, all with tax."""
    text = answer.job.job.customer.value_running or answer.job.engine.value_running
    value = read_money(text, prices.currency) if text else None
    share = float(likely / value) if likely is not None and value else None
    another = job_of(knowledge, answer).total("replace", prices)
    by_sheet = bool(text) and not answer.job.job.customer.value_running
    return Worth(value, share, another, answer.decision.stop, likely, by_sheet)


def _waiting(knowledge: Knowledge, answer: Assessment) -> tuple[str, ...]:
    """What happens if it is left, by the suspects that a customer is told of, else by those that are named at all: the
    worst that running on does first, of equals the likelier."""
    telling = knowledge.settings.telling
    suspects = sorted(
        (belief.hand < telling.to_customer_from, HARM.index(cause.run_on), -round(belief.hand, 9), belief.cause)
        for belief in answer.beliefs
        if (cause := knowledge.causes[belief.cause]).wait and belief.hand >= telling.named_from
    )
    return tuple(dict.fromkeys(_waits(knowledge.causes[cause]) for *_, cause in suspects))[:WAITING]


def _waits(cause: Cause) -> str:
    """What comes of leaving a cause, under its name: the sentence of the rules may take it for its subject."""
    return f"{cause.title}: {lower_first(whole_within(cause.wait, SENTENCE))}"
