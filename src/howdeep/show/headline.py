"""The headline of an answer and its job in words: what it is called, what it does, what it costs, what it leaves."""

from __future__ import annotations

from decimal import Decimal

from ..model.answer_kinds import Kind
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment, JobLine
from ..quote.bills import job_of, span_of
from ..quote.jobs import named_work
from ..quote.jobs import points_to_work as points_to_work
from .sentences import lower_first
from .words import money

HEADINGS: dict[Kind, str] = {
    "do_not_run": "Do not run it",
    "promise": "This can be promised",
    "check_first": "Check first",
    "look_inside": "Look inside first",
    "begin_with": "Begin with this, then look again",
    "can_wait": "It can wait",
    "stop": "Stop here, or ask the owner",
}
"""Kind of answer -> its heading, on every surface."""
WITH_JOB: tuple[Kind, ...] = ("promise", "begin_with")


def headline(knowledge: Knowledge, answer: Assessment, kind: Kind) -> str:
    """Heading and job in one: 'This can be promised: top end'; the job alone is left out where none is meant."""
    line = answer.decision.line(answer.decision.job)
    if kind in WITH_JOB:
        return f"{HEADINGS[kind]}: {lower_first(job_title(knowledge, line))}"
    if kind == "look_inside" and answer.decision.look:
        return f"{HEADINGS[kind]}: open to {lower_first(knowledge.scopes[answer.decision.look].title)}"
    if kind == "check_first" and left_alone(answer):
        return f"{HEADINGS[kind]}; as it stands: {lower_first(HEADINGS[answer.decision.afterwards])}"
    if kind == "check_first" and points_to_work(answer):
        return f"{HEADINGS[kind]}; as it stands: {lower_first(job_title(knowledge, line))}"
    return HEADINGS[kind]


def left_alone(answer: Assessment) -> bool:
    """Whether, as it stands, no work would be done: it is likely given up, or it can wait."""
    afterwards = answer.decision.afterwards
    return afterwards == "stop" or (afterwards == "can_wait" and points_to_work(answer))


def names_job(answer: Assessment, kind: Kind) -> bool:
    """Whether the headline of this kind names the job; that of what is likely given up stands beside its chance."""
    return kind in WITH_JOB or (kind == "check_first" and not left_alone(answer))


def job_title(knowledge: Knowledge, line: JobLine) -> str:
    """'Top end' for the package, 'Top end, only what cures it' for less than it."""
    if line.rung == "replace":
        return "Another engine"
    title = knowledge.scopes[line.rung].title
    return title if line.whole else f"{title}, only what cures it"


def work_words(knowledge: Knowledge, answer: Assessment) -> str:
    """What a job does, what cures the likeliest cause first; empty for another engine."""
    line = answer.decision.line(answer.decision.job)
    return "" if line.rung == "replace" else named_work(knowledge, answer, line.job)


def price_words(knowledge: Knowledge, answer: Assessment, line: JobLine, prices: PriceList | None) -> str:
    """Price of the job, 'USD 178 with tax'; before tax where the price list is not at hand."""
    if line.price is None:
        return "no price"
    total = None if prices is None else job_of(knowledge, answer).total(line.job, prices)
    amount, tax = (line.price, "before") if total is None else (total, "with")
    return f"{money(amount, answer.decision.currency, whole=True)} {tax} tax"


def range_of(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> tuple[Decimal, Decimal] | None:
    """(low, high) between which nine in ten of the bills end, with tax; None where that is not worked out, or where
    they are one sum."""
    line = answer.decision.line(answer.decision.job)
    if prices is None or line.rung == "replace" or answer.decision.then in ("can_wait", "stop"):
        return None
    another = job_of(knowledge, answer).total("replace", prices)
    span = span_of(knowledge, answer, prices, line.job, another)
    return None if span is None or round(span.low) == round(span.high) else (span.low, span.high)


def range_words(span: tuple[Decimal, Decimal] | None, currency: str) -> str:
    """'nine in ten end between USD 1,080 and 1,900', with tax; empty for none."""
    if span is None:
        return ""
    low, high = (money(amount, whole=True) for amount in span)
    return f"nine in ten end between {currency} {low} and {high}"


def left_by(knowledge: Knowledge, answer: Assessment, line: JobLine) -> dict[str, float]:
    """Cause that a job does not cure -> the chance that it has a hand in anything noticed, likeliest first."""
    if line.whole:
        return dict(next(item for item in answer.decision.ladder if item.rung == line.rung).not_cured)
    done = {item.operation for item in answer.works[line.job].items if not item.if_found}
    return {
        belief.cause: belief.hand
        for belief in sorted(answer.beliefs, key=lambda belief: (-round(belief.hand, 9), belief.cause))
        if belief.hand >= 0.005 and not done & set(knowledge.causes[belief.cause].cured_by)
    }
