"""What is found out before anything is promised, priced: checks by their time, a look inside by the shop's list."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

from ..decision import plan
from ..model.condition import facts_read
from ..model.knowledge import Knowledge
from ..model.observations import Observation
from ..model.prices import PriceList
from ..model.results import Assessment, CheckValue
from ..pricing.money import cents, read_money
from ..pricing.tax import tax_on
from ..pricing.used_up import used_up
from .estimate_values import FirstSteps, LookOffer, PaidCheck
from .held import held_checks
from .texts import lower_first
from .values import Quote

CHECKS = 3
"""Checks that one page names."""
OUTCOMES = 2
AS_IT_STANDS = ("", "nothing", "engine cold and standing", "engine hot and running", "engine standing level")
"""Set-ups for which nothing is taken off or put on."""


def worth_making(knowledge: Knowledge, answer: Assessment) -> list[CheckValue]:
    """Checks worth naming, in the order of their ranking. Of several that look at the same thing only the first: its
    answer says whether another is wanted."""
    kept: list[CheckValue] = []
    for check in plan.worth_making(knowledge.settings, answer.checks):
        if not any(_overlap(knowledge, check, other) for other in kept):
            kept.append(check)
    return kept


def _overlap(knowledge: Knowledge, check: CheckValue, other: CheckValue) -> bool:
    """Whether two checks share an observation, or one is made only as the other's answer leaves it open."""
    here, there = set(check.observations), set(other.observations)
    return bool(here & (there | _decided_by(knowledge, there)) or there & _decided_by(knowledge, here))


def _decided_by(knowledge: Knowledge, names: Iterable[str]) -> set[str]:
    """Observations made with the same things taken off whose answers say whether some others are made at all."""
    every = knowledge.observations
    return {
        fact
        for name in names
        if (needs := every[name].needs) is not None
        for fact in facts_read(needs)
        if fact in every and every[fact].setup == every[name].setup and every[name].setup not in AS_IT_STANDS
    }


def first_steps(knowledge: Knowledge, answer: Assessment, prices: PriceList) -> FirstSteps | None:
    """The checks to make first with their price; where none was ranked, those that stand before a promise. None where
    there is nothing to check."""
    rate = read_money(prices.labour_rate, prices.currency)
    checks: list[PaidCheck] = []
    parts = Decimal(0)
    set_up: set[str] = set()
    for check in worth_making(knowledge, answer)[:CHECKS]:
        again = check.setup in set_up and check.setup not in AS_IT_STANDS
        paid = _paid(
            check.title,
            round(check.minutes * (knowledge.settings.set_up_again if again else 1)),  # as it is printed
            rate,
            _decides(knowledge, check),
            bool(check.hold),
            again,
        )
        more = used_up(check.uses, prices)
        checks.append(
            replace(
                paid,
                amount=paid.amount + more,
                days=check.days,
                used=_used(knowledge, check.uses, prices),
                changes=any(
                    outcome.leads_to and not outcome.leads_to.startswith("check_first") for outcome in check.outcomes
                ),
            )
        )
        parts += more
        set_up.add(check.setup)
    if not checks:
        for item in held_checks(answer, answer.decision.rung)[:CHECKS]:
            entry = knowledge.checks.get(item.check) or knowledge.observations[item.check]
            days = entry.days if isinstance(entry, Observation) else 0.0
            checks.append(replace(_paid(entry.title, item.minutes, rate, (), True), days=days))
    if not checks:
        return None
    net = sum((check.amount for check in checks), Decimal(0))
    tax = tax_on([("labour", net - parts), ("parts", parts)], prices)
    return FirstSteps(tuple(checks), rate, tax, net + tax)


def _used(knowledge: Knowledge, parts: Iterable[str], prices: PriceList) -> tuple[str, ...]:
    return tuple(
        f"{lower_first(knowledge.parts[part].title)}{'' if part in prices.parts else ', which has no price yet'}"
        for part in parts
    )


def _paid(
    title: str, minutes: float, rate: Decimal, decides: tuple[tuple[str, str], ...], before: bool, again: bool = False
) -> PaidCheck:
    return PaidCheck(title, minutes, cents(Decimal(repr(round(minutes, 4))) * rate / 60), decides, before, again)


def _decides(knowledge: Knowledge, check: CheckValue) -> tuple[tuple[str, str], ...]:
    likeliest = sorted(check.outcomes, key=lambda item: (-item.chance, item.title))
    return tuple(
        (lower_first(outcome.title), leads_words(knowledge, outcome.leads_to))
        for outcome in likeliest
        if outcome.leads_to
    )[:OUTCOMES]


def leads_words(knowledge: Knowledge, leads_to: str) -> str:
    """'top end' from 'promise top_end:only', 'a look inside' from 'look_inside refresh'."""
    kind, _, job = leads_to.partition(" ")
    rung = job.partition(":")[0]
    title = lower_first(knowledge.scopes[rung].title) if rung in knowledge.scopes else "this work"
    title = "another engine" if rung == "replace" else title
    return {
        "promise": title,
        "begin_with": f"we begin with {title}",
        "check_first": "more checks",
        "look_inside": "a look inside",
        "can_wait": "it can wait",
        "stop": "we would stop",
        "do_not_run": "it must not be run",
    }.get(kind, title)


def look_offer(knowledge: Knowledge, answer: Assessment, quote: Quote, prices: PriceList) -> LookOffer | None:
    """Opening it to look, with tax; None where the answer has no look to offer."""
    look = next((look for look in answer.decision.looks if look.rung == answer.decision.look), None)
    if look is None:
        return None
    scope = knowledge.scopes[look.rung]
    return LookOffer(
        scope.title, scope.opens, with_tax(look.price, prices), with_tax(look.credit, prices), way_back(quote, prices)
    )


def with_tax(amount: Decimal, prices: PriceList) -> Decimal:
    """An amount of labour, such as a look inside, with its tax."""
    return amount + tax_on([("labour", amount)], prices)


def way_back(quote: Quote, prices: PriceList) -> Decimal | None:
    """What it costs to put it together as it was, with tax: half of what opening and closing it takes; None where that
    has no price."""
    opening = [line for line in quote.lines if line.kind == "labour" and line.subject.startswith("remove_refit")]
    if not opening or any(line.amount is None for line in opening):
        return None
    return with_tax(cents(sum((line.amount for line in opening if line.amount is not None), Decimal(0)) / 2), prices)
