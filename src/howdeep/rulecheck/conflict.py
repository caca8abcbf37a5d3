"""Conflict: opposite conclusions, and conditions that can never hold (Preece and Shinghal 1994; Ginsberg 1988).

Decided exhaustively over the classes of answers that the conditions tell apart (worlds.py).
"""

from __future__ import annotations

from collections.abc import Iterator

from ..model.condition import AllOf
from .base import Check, Complaint
from .pairs import finding_pairs, in_one_line, say_answers
from .subject import Subject
from .worlds import ABSENT, PRESENT, TooWide

_RULES = ("findings", "history", "contradictions", "holds", "operations")


class NeverHolds(Check):
    """A condition that no set of answers can ever meet.

    Why it matters: the rule never fires and nobody notices; what it should have warned of passes by.
    What to do: look for two answers of one question that are both required, for figures that leave no room, and for
    a question that is only asked where another part of the condition is absent.
    Bad: all: [{fact: smoke, is: [blue]}, {fact: smoke, is: [black]}].
    Good: {fact: smoke, is: [blue, black]}, or two different questions.
    """

    code, severity = "never-holds", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for key, field, path, condition, entry in subject.conditions:
            kind = key.split("/", 1)[0]
            whole = condition
            if field == "when" and kind in _RULES and getattr(entry, "applies", None) is not None:
                whole = AllOf((entry.applies, condition))
            try:
                space = subject.vocabulary.space(whole, as_given=kind == "contradictions")
            except TooWide:
                continue
            if not space.any(space.truth(whole) == PRESENT):
                beside = "" if whole is condition else ", on any engine it applies to"
                yield Complaint(
                    key,
                    f"the condition in '{field}' can never hold{beside}",
                    "find the two parts that exclude each other",
                    path,
                )


class AlwaysHolds(Check):
    """A condition that no set of answers can make absent.

    Why it matters: the rule can only ever speak for its causes and never against them; or it holds always, and says
    nothing at all.
    What to do: ask for something that can be looked for and not found.
    Bad: {fact: smoke, is: [none, blue, black]} where these are all the answers.
    Good: {fact: smoke, is: [blue, black]}.
    """

    code, severity = "always-holds", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for key, field, path, condition, _ in subject.conditions:
            try:
                space = subject.vocabulary.space(condition)
            except TooWide:
                continue
            if not space.any(space.truth(condition) == ABSENT):
                yield Complaint(
                    key,
                    f"the condition in '{field}' can never be absent",
                    "ask for something that can be looked for and not found",
                    path,
                )


class OppositeRules(Check):
    """Two rules that are each other's opposite speak about the same cause.

    Why it matters: one answer makes one present and the other absent, and both count: the same evidence twice.
    What to do: keep the telling one, or put both in one line of evidence.
    Bad: "the spark is weak" and "the spark is good", both explained by weak_coil_condenser.
    Good: "the spark is weak" alone: its absence already speaks against the cause.
    """

    code, severity = "opposite-rules", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for first, second in finding_pairs(subject, same_facts=True):
            one, two = subject.knowledge.findings[first], subject.knowledge.findings[second]
            shared = sorted(set(one.explained_by) & set(two.explained_by))
            if not shared or in_one_line(subject, first, second):
                continue
            try:
                space = subject.vocabulary.space(one.when, two.when)
            except TooWide:
                continue
            if not space.any(space.truth(one.when) != PRESENT - space.truth(two.when)):
                yield Complaint(
                    f"findings/{second}",
                    f"is the opposite of '{first}', and both speak of {', '.join(shared)}",
                    "keep one of them, or put both in one line of evidence",
                    ("when",),
                    also=(f"findings/{first}",),
                )


class OppositeShifts(Check):
    """Two history rules on the same condition shift one cause in opposite directions.

    Why it matters: they take each other back; who reads either of them is told the wrong thing.
    What to do: join them, with the shift that is meant.
    Bad: one rule {when: stood for years, shifts: {stuck_rings: 6}}, another with -3 on the same condition.
    Good: one rule with the shift that is meant.
    """

    code, severity = "opposite-shifts", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        rules = list(subject.knowledge.history.items())
        for index, (first, one) in enumerate(rules):
            for second, two in rules[index + 1 :]:
                shared = [cause for cause in one.shifts if one.shifts[cause] * two.shifts.get(cause, 0) < 0]
                if not shared or subject.vocabulary.facts(one.when) != subject.vocabulary.facts(two.when):
                    continue
                space = subject.vocabulary.space(one.when, two.when)
                if not space.any((space.truth(one.when) == PRESENT) != (space.truth(two.when) == PRESENT)):
                    yield Complaint(
                        f"history/{second}",
                        f"shifts {', '.join(shared)} the other way from '{first}', on the same condition",
                        "join them",
                        ("shifts",),
                        also=(f"history/{first}",),
                    )


class OnlyInContradiction(Check):
    """A rule that can hold only where the answers contradict each other.

    Why it matters: it fires exactly when the answers cannot be trusted.
    What to do: correct the rule, or the contradiction.
    Bad: a finding that needs "does not run" and "smokes when pulling", which a contradiction forbids together.
    Good: a finding that needs either.
    """

    code, severity = "only-in-contradiction", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        vocabulary = subject.vocabulary
        for name, finding in subject.knowledge.findings.items():
            for other, contradiction in subject.knowledge.contradictions.items():
                if not vocabulary.facts(contradiction.when) <= vocabulary.facts(finding.when):
                    continue
                try:
                    space = vocabulary.space(finding.when, contradiction.when)
                except TooWide:
                    continue
                holds = space.truth(finding.when) == PRESENT
                if space.any(holds) and not space.any(holds & (space.truth(contradiction.when) != PRESENT)):
                    yield Complaint(
                        f"findings/{name}",
                        f"can hold only where '{other}' is contradicted",
                        "correct the rule or the contradiction",
                        ("when",),
                        also=(f"contradictions/{other}",),
                    )


class UnlookedAbsence(Check):
    """A finding is absent, and speaks against a cause, although nothing was looked at.

    Why it matters: absent means "looked, and not seen". A condition on how the engine is built can be absent before any
    question is answered, and the finding then counts as evidence against its causes on every such engine.
    What to do: leave the engine out of the finding; say in the causes (applies) which engines can have them.
    Bad: all: [{fact: engine.fuel, is: petrol}, {fact: misfire, is: all_now_and_then}], explained by a cause that a
    diesel has too.
    Good: {fact: misfire, is: all_now_and_then}.
    """

    code, severity = "unlooked-absence", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        causes = subject.knowledge.causes
        for name, finding in subject.knowledge.findings.items():
            if not any(fact.startswith("engine.") for fact in subject.vocabulary.facts(finding.when)):
                continue
            for cause in finding.explained_by:
                applies = causes[cause].applies
                conditions = (finding.when,) if applies is None else (finding.when, applies)
                try:
                    space = subject.vocabulary.space(*conditions)
                except TooWide:
                    continue
                if any(axis.startswith("finding ") for axis in space.axes):
                    continue
                mask = space.truth(finding.when) == ABSENT
                for axis in space.axes:
                    if not axis.startswith("engine."):
                        mask = mask & ~space.known(axis)
                if applies is not None:
                    mask = mask & (space.truth(applies) == PRESENT)
                if space.any(mask):
                    yield Complaint(
                        f"findings/{name}",
                        f"is absent with nothing answered where "
                        f"{say_answers(space.witness(mask))}, and then speaks against {cause}",
                        "leave the engine out of the finding",
                        ("when",),
                    )
                    break
