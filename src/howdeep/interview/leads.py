"""Where each answer to a question would lead, worked out when somebody asks why it is asked."""

from __future__ import annotations

import dataclasses

from ..assessment.assess import answer_in_short, led
from ..assessment.facts import facts_of
from ..logic.evaluate import evaluate_all
from .session import Desk


def leads_of(desk: Desk, name: str) -> dict[str, str]:
    """Answer (of a choice for the whole engine) or outcome of the check -> what would be answered if nothing more were
    asked, as 'kind job'."""
    knowledge, job = desk.knowledge, desk.job
    check = next((item for item in desk.answer.checks if name in item.observations), None)
    if check is not None:
        told = led(knowledge, job, desk.answer.facts, desk.shop.prices, check)
        return {outcome.answer: outcome.leads_to for outcome in told.outcomes if outcome.leads_to}
    item = knowledge.observations[name]
    if item.kind != "choice" or item.each:
        return {}
    result = {}
    for answer in item.answers:
        other = dataclasses.replace(job, values=dict(sorted({**job.values, name: answer}.items())))
        facts, _ = facts_of(knowledge, other)
        result[answer] = answer_in_short(
            knowledge, other, facts, evaluate_all(knowledge, facts.values), desk.shop.prices
        )
    return result
