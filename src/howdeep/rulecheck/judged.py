"""Checks of facts that are judged, graded or computed: something gives them, and somebody reads what comes out."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from ..model.condition import FactTest, walk
from ..model.judged import BandWord, Judge
from ..model.knowledge import Knowledge
from ..model.observations import Reduced
from ..model.quantity import Quantity
from .base import Check, Complaint
from .subject import Subject

TELLING: tuple[BandWord, ...] = ("beyond", "tight")
"""Bands from which something should follow; what is too close to call is remarked on and taken again."""


class NothingGivesIt(Check):
    """A reduced fact that nothing gives.

    Why it matters: no reading ever leads to it, so what reads it stays unknown for ever.
    What to do: say how it comes about: judge (one reading beside limits), grade (one reading between marks) or
    computed_by (a computation of computed.yaml).
    Bad: end_play.verdict with answers alone.
    Good: end_play.verdict with judge: {of: end_play_measured, sheet: [end_play]}.
    """

    code, severity = "nothing-gives-it", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for name, fact in subject.knowledge.reduced.items():
            if not (fact.judge or fact.grade or fact.computed_by):
                yield Complaint(
                    f"reduced/{name}", f"nothing says how '{name}' comes about", "write judge, grade or computed_by"
                )


class LimitsTurned(Check):
    """Limits of a judged reading that are the wrong way round.

    Why it matters: a wear limit inside what a new part may have condemns new parts, and a least above the most condemns
    every one, or none.
    What to do: correct the figure, or give each limit its own end.
    Bad: limits: {low: end_play_high, high: end_play_low}.
    Good: where more is worse low, high and wear rise; where less is worse wear, low and high do.
    """

    code, severity = "limits-turned", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for name, fact in subject.knowledge.reduced.items():
            if fact.judge is not None:
                yield from _turned(subject.knowledge, name, fact.judge)


def _turned(base: Knowledge, name: str, judge: Judge) -> Iterator[Complaint]:
    """Each pair of neighbouring ends that falls; told at the limit where a shop's own is one of the two."""
    rising = ("low", "high", "wear") if judge.worse == "high" else ("wear", "low", "high")
    ends = [(end, getattr(judge.limits, end)) for end in rising if getattr(judge.limits, end) in base.limits]
    for (before, first), (after, second) in itertools.pairwise(ends):
        less, more = base.limits[first], base.limits[second]
        if less.per != more.per or less.value <= Quantity(more.value, more.unit).to(less.unit):
            continue
        own = next((f"limits/{limit}" for limit in (second, first) if f"limits/{limit}" in base.replaced), "")
        yield Complaint(
            own or f"reduced/{name}",
            f"'{second}' ({more.value:g} {more.unit}) lies below '{first}' "
            f"({less.value:g} {less.unit}), and '{name}' takes them for {after} and {before}",
            f"where {'more' if judge.worse == 'high' else 'less'} is worse, {', '.join(rising)} rise",
            ("value",) if own else ("judge", "limits", after),
        )


class WordUnread(Check):
    """A word that comes out of a judged or graded reading, and no rule reads it.

    Why it matters: the reading is taken, the word comes out, and nothing follows; perhaps a finding waits for another
    word.
    What to do: let a finding read it, or give the band a word that one reads (words: {tight: narrow}).
    Bad: words: {beyond: worn_out}, while the finding waits for beyond.
    Good: a finding reads every word that is not sound. What is usable or too close to call need not be read.
    """

    code, severity = "word-unread", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        read: dict[str, set[str]] = {}
        for _, _, _, condition, _ in subject.conditions:
            for test in walk(condition):
                if isinstance(test, FactTest):
                    read.setdefault(test.fact, set()).update(test.one_of)
        for name, fact in subject.knowledge.reduced.items():
            for path, word in _words(fact):
                if word not in (fact.sound or fact.worsens[:1]) and word not in read.get(name, ()):
                    yield Complaint(
                        f"reduced/{name}",
                        f"'{name}' can be '{word}', and no rule reads that",
                        "let a finding read it, or give it a word that one reads",
                        path,
                    )


def _words(fact: Reduced) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """(place, word) of every word that can come out and should be read."""
    if fact.judge is not None:
        for band in TELLING:
            word = fact.judge.words.get(band, band)
            if word in fact.answers:
                yield (
                    ("judge", "words", band) if band in fact.judge.words else ("answers", fact.answers.index(word)),
                    word,
                )
    if fact.grade is not None:
        for index, step in enumerate(fact.grade.steps):
            yield ("grade", "steps", index, "word"), step.word
