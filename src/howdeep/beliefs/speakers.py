"""Who speaks in a question, when, and how often he is mistaken."""

from __future__ import annotations

import math
from collections.abc import Iterable

from ..knowledge.questions import facts_of, speaks_of
from ..model.condition import AllOf, Not
from ..model.knowledge import Knowledge
from ..model.terms import MOMENTS, Moment
from .questions import Question, all_facts

LOOKED = ("look", "instrument")
"""Speakers that have the thing itself before them."""


def readings_of(knowledge: Knowledge, facts: Iterable[str]) -> frozenset[str]:
    """The observations behind some facts."""
    return frozenset(
        name
        for fact in facts
        for name in (knowledge.reduced[fact].taken_from[:1] or (fact,) if fact in knowledge.reduced else (fact,))
    )


def channel_of(knowledge: Knowledge, readings: Iterable[str]) -> Moment:
    """Who shows it: the customer as soon as he tells part of it, else a test, else the open engine."""
    moments = {knowledge.observations[name].moment for name in readings if name in knowledge.observations}
    return next((moment for moment in MOMENTS if moment in moments), "test")


def misread_of(knowledge: Knowledge, readings: Iterable[str], channel: str, direct: bool) -> float:
    """Chance of a mistaken answer, by the least reliable of those who speak."""
    settings = knowledge.settings
    if channel == "teardown":
        return settings.direct_mistaken if direct else settings.misread["look"] * settings.seen_open
    spoken = max(
        (
            settings.misread[speaks_of(knowledge.observations[name])]
            for name in readings
            if name in knowledge.observations
        ),
        default=settings.misread["look"],
    )
    return spoken * settings.seen_open if direct and looked_at(knowledge, readings, channel) else spoken


def looked_at(knowledge: Knowledge, readings: Iterable[str], channel: str) -> bool:
    """Whether it was looked at or tried, by whomever, and not only told."""
    return channel != "talk" or all(
        speaks_of(knowledge.observations[name]) in LOOKED for name in readings if name in knowledge.observations
    )


def invented_of(knowledge: Knowledge, readings: Iterable[str], about: frozenset[str] | None = None) -> float:
    """How often a trouble is named that is not there, as a share of the chance of a mistake: by who is worst at it.

    What he came for a customer has seen; what he is only asked about he says yes to as easily as he passes it over.
    """
    share = knowledge.settings.invented
    named = [name for name in readings if name in knowledge.observations]
    return max(
        (
            share.get(speaks_of(knowledge.observations[name]), 1.0) if about is None or name in about else 1.0
            for name in named
        ),
        default=1.0,
    )


def invented_besides(knowledge: Knowledge, question: Question, about: frozenset[str] | None = None) -> float:
    """Of a finding that wants several answers at once: the chance that all but the likeliest to be wrong are invented
    too. One mistake alone does not make it."""
    misread = knowledge.settings.misread
    chances = [
        max((misread[speaks_of(knowledge.observations[name])] for name in readings), default=0.0)
        * invented_of(knowledge, readings, about)
        for readings in told_at_once(knowledge, question)
    ]
    return math.prod(sorted(chances)[:-1])


def told_at_once(knowledge: Knowledge, question: Question) -> tuple[frozenset[str], ...]:
    """The readings behind each of the answers that the one finding of a question wants together; one set for all where
    it wants one, or one of several."""
    when, asked = knowledge.findings[question.findings[0]].when, knowledge.observations.keys()
    if len(question.findings) == 1 and isinstance(when, AllOf):
        parts = [part for part in when.parts if not isinstance(part, Not)]
        apart = [frozenset(readings_of(knowledge, facts_of(knowledge, part)) & asked) for part in parts]
        if told := tuple(readings for readings in dict.fromkeys(apart) if readings):
            return told
    return (frozenset(readings_of(knowledge, question.facts) & asked),)


def seen_by(knowledge: Knowledge, finding: str) -> tuple[float, float]:
    """(chance that a finding is a mistake, how often a fault of unknown degree shows it as a share of how often a
    marked one does)."""
    item, settings = knowledge.findings[finding], knowledge.settings
    facts = (fact for fact in all_facts(knowledge, finding) if not fact.startswith("engine."))
    readings = readings_of(knowledge, facts)
    channel = channel_of(knowledge, readings)
    mixed = settings.slight_share * settings.slight_shows[channel] + 1 - settings.slight_share
    return misread_of(knowledge, readings, channel, item.direct), mixed


__all__ = [
    "channel_of",
    "invented_besides",
    "invented_of",
    "looked_at",
    "misread_of",
    "readings_of",
    "seen_by",
    "told_at_once",
]
