"""Figures that the explanations of an answer share: costs, the cheapest job, the surest, what a check is worth."""

from __future__ import annotations

from decimal import Decimal

from ..model.knowledge import Knowledge
from ..model.results import Assessment, CheckValue, JobLine, Look
from ..model.terms import DEPTH
from ..pricing.money import known
from ..quote.held import held_checks
from .odds_sections import net_words
from .sentences import check_title, lower_first
from .words import came_for_words, minutes, money, parts_words

NAMED = 3
"""Most of one sort that are named."""


def cost_words(answer: Assessment, amount: Decimal | None) -> str:
    """'USD 1,240'."""
    return money(amount, answer.decision.currency, whole=True)


def figures_words(answer: Assessment, line: JobLine) -> str:
    """Chance and cost of a job in one or two sentences."""
    text = f"The chance that it is enough is {came_for_words(line.came_for, line.enough)}."
    if line.price is None or line.expected is None:
        return f"{text} Prices are missing."
    return (
        f"{text} It costs {cost_words(answer, line.price)} to begin with, {money(line.growth, whole=True)} on average "
        f"for growth seen on opening and {money(line.failing, whole=True)} for comebacks and what follows them: "
        f"{cost_words(answer, line.expected)} in the end."
    )


def checks_worth(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """The checks that come first, with what each is worth."""
    says = []
    held = held_checks(answer, answer.decision.line(answer.decision.job).rung)
    for item in held[:NAMED]:
        holds = "; ".join(lower_first(knowledge.holds[hold].title) for hold in item.holds)
        says.append(f"{check_title(knowledge, item.check)} ({minutes(item.minutes)}) stands before it: {holds}.")
    told = [check for check in answer.checks if check.net > 0 or check.parts >= knowledge.settings.hardly_parts][:NAMED]
    says += [
        f"{check.title} ({minutes(check.minutes)}) {net_of(answer, check)} and {parts_words(check.parts)}."
        for check in told
    ]
    return says


def check_words(check: CheckValue) -> str:
    """'air cleaner (8 min)'."""
    return f"{lower_first(check.title)} ({minutes(check.minutes)})"


def net_of(answer: Assessment, check: CheckValue) -> str:
    """What a check saves, or costs, in money."""
    return net_words(check, answer.decision.currency)


def title_of(knowledge: Knowledge, kind: str, name: str) -> str:
    """The title of an entry of some kind."""
    return str(getattr(knowledge, kind)[name].title)


def cheapest_job(knowledge: Knowledge, answer: Assessment) -> JobLine:
    """The job with some hope that costs least in the end; without prices the first."""
    priced = [line for line in answer.decision.jobs if line.expected is not None]
    hopeful = [line for line in priced if line.enough >= knowledge.settings.deciding.hopeful] or priced
    return min(hopeful, key=lambda line: (line.expected, line.job), default=answer.decision.jobs[0])


def least_price(knowledge: Knowledge, answer: Assessment) -> Decimal:
    """Of the jobs with some hope; where none has any, of the answer's own."""
    decision = answer.decision
    hopeful = [
        line.price
        for line in decision.jobs
        if line.price is not None and line.enough >= knowledge.settings.deciding.hopeful
    ]
    return min(hopeful) if hopeful else known(decision.line(decision.job).price)


def job_reaching(answer: Assessment) -> JobLine:
    """The job that reaches the floor and costs least in the end; where none does, the surest."""
    decision = answer.decision
    reaching = [line for line in decision.jobs if line.enough >= decision.floor and line.expected is not None]
    return min(
        reaching,
        key=lambda line: (line.expected, DEPTH[line.rung], line.whole),
        default=max(decision.jobs, key=lambda line: line.enough),
    )


def look_at(answer: Assessment, rung: str | None) -> Look | None:
    """The look inside that goes to a depth."""
    return next((look for look in answer.decision.looks if look.rung == rung), None)
