"""What the customer's own words say outright, clause by clause, to be offered for a yes; it is never taken for said.

The rule base gives for an answer the ways in which customers say it (`said` of an observation). Such a phrase is there
where all its words stand in one clause, in order and near each other, and none of them is denied (`phrases.py`).
"""

from __future__ import annotations

from collections.abc import Iterable

from ..knowledge.engine_facts import engine_facts
from ..knowledge.questions import COMPLAINTS, named_of
from ..logic.applicability import asked_on
from ..logic.stratify import once_per_value
from ..model.frozen import dataclass
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from .phrases import Found, found_in, phrases_of

MOST = 4000
"""So many characters of a customer's words are read."""
KEPT = 64


@dataclass(frozen=True, slots=True)
class Said:
    """One answer that the words say outright."""

    question: str
    answer: str
    phrase: str
    """The phrase of the rule base that was met."""
    place: int
    """Which word of the customer it begins with."""


@once_per_value(keep=4)
def _read_before(knowledge: Knowledge) -> dict[str, tuple[Found, ...]]:
    return {}


def _met(knowledge: Knowledge, text: str) -> tuple[Found, ...]:
    """Each phrase of an answer that is there and is not said to be none: `not_said` takes away what begins in the
    halves of a clause over which it stands."""
    kept = _read_before(knowledge)
    if text not in kept:
        while len(kept) >= KEPT:
            kept.pop(next(iter(kept)))
        found = tuple(found_in(phrases_of(knowledge), text[:MOST]))
        away = {
            (one.phrase.question, one.clause, half)
            for one in found
            if not one.phrase.answer
            for half in range(one.half, one.last_half + 1)
        }
        kept[text] = tuple(
            one for one in found if one.phrase.answer and (one.phrase.question, one.clause, one.half) not in away
        )
    return kept[text]


def said_in(knowledge: Knowledge, text: str) -> tuple[Said, ...]:
    """The answers that a customer's words say, at most one to a question, in the order in which he says them. Of two
    answers to one question the one that more of his words say is meant, of two as long the one said first."""
    best: dict[str, Found] = {}
    for one in _met(knowledge, text):
        held = best.get(one.phrase.question)
        if held is None or (-len(one.phrase.words), one.place) < (-len(held.phrase.words), held.place):
            best[one.phrase.question] = one
    return tuple(
        Said(one.phrase.question, one.phrase.answer, one.phrase.text, one.place)
        for one in sorted(best.values(), key=_first)
    )


def complaints_said(knowledge: Knowledge, text: str) -> tuple[str, ...]:
    """The complaints that a customer's words say, in the order in which he says them."""
    met = sorted((one for one in _met(knowledge, text) if one.phrase.question == COMPLAINTS[0]), key=_first)
    wider: dict[int, str] = {}  # "won't start hot" is not "won't start"
    for one in met:
        wider.setdefault(one.place, one.phrase.answer)
    return tuple(dict.fromkeys(one.phrase.answer for one in met if wider[one.place] == one.phrase.answer))


def complaints_offered(knowledge: Knowledge, text: str) -> tuple[str, ...]:
    """The complaints to be confirmed: those that a customer's words say; where they say none, those that the answers
    heard are about."""
    return complaints_said(knowledge, text) or _complained_of(knowledge, said_in(knowledge, text))


def _complained_of(knowledge: Knowledge, heard: Iterable[Said]) -> tuple[str, ...]:
    """The complaints that answers heard are about, where one answer tells trouble and belongs to one complaint
    alone."""
    told: dict[str, None] = {}
    for said in heard:
        about = [word for word, names in knowledge.settings.spoken_of.items() if said.question in names]
        item = knowledge.observations[said.question]
        if len(about) == 1 and said.answer in (named_of(item) or list(item.answers)[1:]):
            told[about[0]] = None
    return tuple(told)


def offered(knowledge: Knowledge, job: OpenJob, name: str) -> str:
    """The answer to a question that the customer's words say, while nobody has answered it; empty where they say
    none. For what else troubles him, the next complaint after the main one."""
    words = job.job.customer.words
    if not words or name in job.values or name in job.unknown:
        return ""
    if name in COMPLAINTS:
        found = (told for told in complaints_offered(knowledge, words) if told not in job.values.values())
        return next((told for told in found if told in knowledge.observations[name].answers), "")
    asked = asked_on(knowledge.observations[name], engine_facts(job.engine))
    said = next((said.answer for said in said_in(knowledge, words) if said.question == name), "")
    return said if said in asked.answers else ""


def _first(found: Found) -> tuple[int, int, str]:
    return found.place, -len(found.phrase.words), found.phrase.question


__all__ = ["Said", "complaints_offered", "complaints_said", "offered", "said_in"]
