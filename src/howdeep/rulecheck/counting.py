"""Double counting: findings that lean on one answer for one cause (Heckerman and Horvitz 1986); lines of evidence."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ..beliefs.speakers import seen_by
from ..model.causes import Finding
from .base import Check, Complaint
from .pairs import finding_pairs, in_one_line, say_answers
from .subject import Subject
from .worlds import TooWide

SUBSTANTIAL = 10**0.5


class CountedTwice(Check):
    """Two findings lean on the same answer for the same cause, and no line of evidence holds them together.

    Why it matters: both count, so one answer is taken as evidence twice and the cause is believed too much. In a trial
    with strongly correlated signs this said 0.91 where 0.58 was true. Only causes for which both are substantial
    evidence are named: a sign that hardly speaks does little harm twice.
    What to do: put both in one line of evidence, the more telling first; or let one of them explain nothing; or, where
    one follows from the other whatever is behind it, name it under that one's `covers`.
    Bad: "blue smoke when pulling" and "smoke and oil use together", both present through smoke_pulling, both explained
    by worn_rings, in no line together.
    Good: the line oil_burning: [smoke_and_oil_use, blue_smoke_when_pulling].
    """

    code, severity = "counted-twice", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for first, second in finding_pairs(subject):
            one, two = subject.knowledge.findings[first], subject.knowledge.findings[second]
            shared = sorted(speaks_for(subject, first) & speaks_for(subject, second))
            if not shared or second in one.covers or first in two.covers or in_one_line(subject, first, second):
                continue
            try:
                space = subject.vocabulary.space(one.when, two.when)
            except TooWide:
                continue
            facts = sorted(subject.vocabulary.facts(one.when) & subject.vocabulary.facts(two.when) & set(space.axes))
            asked = [fact for fact in facts if not fact.startswith("engine.")]
            truths = space.truth(one.when), space.truth(two.when)
            fact, world = next(((fact, world) for fact in asked if (world := space.lean(fact, *truths))), ("", {}))
            if world:
                yield Complaint(
                    f"findings/{second}",
                    f"is present with '{first}' through one answer "
                    f"({say_answers({fact: world.get(fact)})}), and both speak for {_few(shared)}",
                    "put both in one line of evidence, the more telling first",
                    ("explained_by",),
                    also=(f"findings/{first}",),
                )


def speaks_for(subject: Subject, name: str) -> frozenset[str]:
    """Causes for which a finding, present, is at least substantial evidence (a half-unit of log10, Jeffreys)."""
    words, finding = subject.knowledge.settings.words, subject.knowledge.findings[name]
    misread, _ = seen_by(subject.knowledge, name)
    seen_without = 1 - (1 - words[finding.otherwise or "never"]) * (1 - misread)
    ratios = {
        cause: (1 - (1 - seen_without) * (1 - words[word] * (1 - misread))) / seen_without
        for cause, word in finding.explained_by.items()
    }
    return frozenset(cause for cause, ratio in ratios.items() if ratio >= SUBSTANTIAL)


def _few(names: list[str]) -> str:
    return ", ".join(names) if len(names) <= 4 else f"{', '.join(names[:4])} and {len(names) - 4} more"


class SameReading(Check):
    """Two findings of one cause read two figures of the same readings, and no line holds them together.

    Why it matters: figures reduced from the same readings move together, so the two findings are not independent.
    What to do: ask whether the second tells anything new. If not, put both in one line; if so, excuse it and say so.
    Bad: "compression is low" by percent of expected, and "compression is below the average", for the same cause.
    Good: both in the line compression_low.
    """

    code, severity = "same-reading", "note"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        telling = {name: finding for name, finding in subject.knowledge.findings.items() if finding.explained_by}
        families = {name: self._readings(subject, finding) for name, finding in telling.items()}
        names = sorted(telling)
        for index, first in enumerate(names):
            for second in names[index + 1 :]:
                both = sorted(set(families[first]) & set(families[second]))
                shared = sorted(set(telling[first].explained_by) & set(telling[second].explained_by))
                if not both or not shared or in_one_line(subject, first, second):
                    continue
                one, two = families[first][both[0]], families[second][both[0]]
                if one != two:
                    yield Complaint(
                        f"findings/{second}",
                        f"reads {two}, and '{first}' reads {one}: the same readings ({both[0]}) for {_few(shared)}",
                        "put both in one line, or say what it adds",
                        ("when",),
                        also=(f"findings/{first}",),
                    )

    @staticmethod
    def _readings(subject: Subject, finding: Finding) -> dict[str, str]:
        """Observation -> the fact through which a finding reads it."""
        result: dict[str, str] = {}
        for fact in sorted(subject.vocabulary.facts(finding.when)):
            reduced = subject.knowledge.reduced.get(fact)
            for name in reduced.taken_from if reduced else (fact,) if fact in subject.knowledge.observations else ():
                result.setdefault(name, fact)
        return result


class LineOrder(Check):
    """Two lines of evidence put the same findings in opposite order.

    Why it matters: which finding counts is then settled by the ids of the lines, not by which is more telling.
    What to do: give both lines the same order, or join them.
    Bad: line a: [plugs_oily, blue_smoke], line b: [blue_smoke, plugs_oily, oil_use].
    Good: the same order in both.
    """

    code, severity = "line-order", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        lines = list(subject.knowledge.lines.items())
        for index, (first, one) in enumerate(lines):
            for second, two in lines[index + 1 :]:
                shared = [name for name in one.findings if name in two.findings]
                other = [name for name in two.findings if name in one.findings]
                if shared != other:
                    yield Complaint(
                        f"lines/{second}",
                        f"orders {', '.join(shared)} otherwise than line '{first}'",
                        "give both lines the same order",
                        ("findings",),
                        also=(f"lines/{first}",),
                    )


class ShortLine(Check):
    """A line of evidence that keeps nothing apart.

    Why it matters: with fewer than two findings that speak of causes it does nothing; a finding named twice, or one
    that explains nothing, never counts in it.
    What to do: take the line out, or name the findings that tell the same story.
    Bad: line oil_burning: [blue_smoke].
    Good: line oil_burning: [plugs_oily, blue_smoke, oil_use].
    """

    code, severity = "short-line", "warning"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if kind != "lines":
            return
        telling = [item for item in dict.fromkeys(entry.findings) if subject.knowledge.findings[item].explained_by]
        if len(telling) < 2:
            yield Complaint(
                f"lines/{name}",
                f"holds {len(telling)} finding(s) that speak of a cause",
                "take it out, or add what tells the same story",
                ("findings",),
            )
        for index, item in enumerate(entry.findings):
            if item in entry.findings[:index]:
                yield Complaint(f"lines/{name}", f"names '{item}' twice", "name it once", ("findings", index))
            elif not subject.knowledge.findings[item].explained_by:
                yield Complaint(
                    f"lines/{name}",
                    f"'{item}' explains nothing and never counts",
                    "take it out of the line",
                    ("findings", index),
                )


class StrangersInLine(Check):
    """A line of evidence silences a finding that speaks of a cause nothing before it in the line speaks of.

    Why it matters: within a line only the most telling present finding counts. If it knows nothing of a cause that the
    silenced one points to, that evidence is lost.
    What to do: let the more telling finding list the cause as well, or put the two in different lines.
    Bad: line: [plugs_oily (rings), blue_smoke (rings, guides)], so that guides lose the smoke.
    Good: plugs_oily lists the guides too.
    """

    code, severity = "strangers-in-line", "note"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if kind != "lines":
            return
        findings = subject.knowledge.findings
        for index, item in enumerate(entry.findings):
            for earlier in entry.findings[:index]:
                lost = sorted(set(findings[item].explained_by) - set(findings[earlier].explained_by))
                if lost and findings[earlier].explained_by:
                    yield Complaint(
                        f"lines/{name}",
                        f"'{earlier}' silences '{item}' and knows nothing of {_few(lost)}",
                        f"let '{earlier}' list it, or part them",
                        ("findings", index),
                    )
                    break
