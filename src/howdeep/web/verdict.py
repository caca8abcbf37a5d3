"""The answer so far, as it stands beside a question: no more than is shown there."""

from __future__ import annotations

from dataclasses import dataclass

from ..interview.session import Desk
from ..model.knowledge import Knowledge
from ..model.results import Assessment, Decision
from ..show.answer import HEADINGS, headline, price_words
from ..show.leading import leading
from ..show.sentences import held_lines
from ..show.spoken import in_units_of
from ..show.words import money, odds_words, percent

CAUSES = 6


@dataclass(frozen=True, slots=True)
class Rung:
    """One line of the ladder."""

    title: str
    enough: str
    price: str
    expected: str
    recommended: bool
    bar: float
    """Length of the bar of its chance, of 99."""


@dataclass(frozen=True, slots=True)
class SoFar:
    """The answer so far, as texts; fields as of the whole answer's view."""

    heading: str
    """The kind of answer."""
    job: str
    """The job that it speaks of; empty where none is meant."""
    chance: str
    price: str
    held: tuple[str, ...]
    """Checks that stand before a promise."""
    nothing: bool
    """Whether nothing has shown yet."""
    provisional: bool
    causes: tuple[tuple[str, str, str, str], ...]
    """(id, title, percent, words)"""
    ladder: tuple[Rung, ...]


def so_far(desk: Desk) -> SoFar:
    """The answer so far. Wants the kind of answer (part 'beside' of a desk, or more)."""
    knowledge, answer = desk.knowledge, desk.answer
    decision = answer.decision
    line, heading = decision.line(decision.job), HEADINGS[decision.kind]
    return in_units_of(
        SoFar(
            heading,
            spoken_of(heading, headline(knowledge, answer, decision.kind)),
            f"{percent(line.enough)}, {odds_words(line.enough)}",
            price_words(knowledge, answer, line, None),
            held_lines(knowledge, answer),
            not answer.counted.present,
            decision.provisional,
            causes_of(knowledge, answer),
            rungs_of(knowledge, decision),
        ),
        desk.shop.settings.units,
    )


def rungs_of(knowledge: Knowledge, decision: Decision) -> tuple[Rung, ...]:
    """The depths with their figures, shallow to deep."""
    return tuple(
        Rung(
            knowledge.scopes[line.rung].title,
            percent(line.enough),
            money(line.price, whole=True),
            money(line.expected, whole=True),
            line.rung == decision.rung,
            round(99 * min(1.0, max(0.0, line.enough)), 1),
        )
        for line in decision.ladder
    )


def causes_of(knowledge: Knowledge, answer: Assessment) -> tuple[tuple[str, str, str, str], ...]:
    """(id, title, percent, words) of the likely causes."""
    return tuple(
        (belief.cause, knowledge.causes[belief.cause].title, percent(belief.hand), odds_words(belief.hand))
        for belief in leading(answer, CAUSES)
    )


def spoken_of(heading: str, headline: str) -> str:
    """The part of a headline that names the job: what stands behind the heading."""
    job = headline[len(heading) :].lstrip(":; ")
    return job[:1].upper() + job[1:]


__all__ = ["Rung", "SoFar", "causes_of", "rungs_of", "so_far", "spoken_of"]
