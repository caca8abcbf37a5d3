"""A reading that can hardly be: who types it is asked once whether it is right. The rules say what it is held to."""

from __future__ import annotations

from ..job.sections import LATER, UNKNOWN
from ..logic.evaluate import evaluate
from ..model.truth import Truth
from .session import Desk, plain_answer


def doubt_about(desk: Desk, name: str) -> str:
    """Why a reading on record can hardly be; empty where it can, or where there is none."""
    item = desk.knowledge.observations[name]
    if item.doubted_when is None or plain_answer(desk, name) in (None, LATER, UNKNOWN):
        return ""
    limits = {limit: entry.value for limit, entry in desk.knowledge.limits.items()}
    facts = {**desk.answer.facts.values, **desk.job.values}
    return item.doubt if evaluate(item.doubted_when, facts, {}, limits) is Truth.PRESENT else ""


__all__ = ["doubt_about"]
