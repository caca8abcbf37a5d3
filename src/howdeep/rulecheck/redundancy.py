"""Redundancy: twin rules, subsumed rules, needless conditions (Suwa, Scott and Shortliffe 1982; Nguyen et al. 1987)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ..files.strict_yaml import Path_
from ..model.causes import Finding
from ..model.condition import AllOf, AnyOf, Condition, Not
from .base import Check, Complaint
from .pairs import finding_pairs, in_one_line, say
from .subject import Subject
from .worlds import PRESENT, TooWide


class TwinRules(Check):
    """Two rules conclude the same from the same, whatever the answers.

    Why it matters: both count, so one answer is taken as evidence twice and a cause is believed too much.
    What to do: keep one; where both names are wanted, let one read the other and explain nothing by itself.
    Bad: two findings with the same condition under two titles.
    Good: one finding that lists every cause.
    """

    code, severity = "twin-rules", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for first, second in finding_pairs(subject, same_facts=True):
            one, two = subject.knowledge.findings[first], subject.knowledge.findings[second]
            try:
                space = subject.vocabulary.space(one.when, two.when)
            except TooWide:
                continue
            if not space.any(space.truth(one.when) != space.truth(two.when)):
                harmless = in_one_line(subject, first, second) or not (one.explained_by and two.explained_by)
                yield Complaint(
                    f"findings/{second}",
                    f"concludes exactly what '{first}' concludes, from the same answers",
                    "keep one of them",
                    ("when",),
                    "warning" if harmless else None,
                    (f"findings/{first}",),
                )
        rules = list(subject.knowledge.history.items())
        for index, (first, rule) in enumerate(rules):
            for second, other in rules[index + 1 :]:
                if rule.when == other.when and set(rule.shifts) & set(other.shifts):
                    both = ", ".join(sorted(set(rule.shifts) & set(other.shifts)))
                    yield Complaint(
                        f"history/{second}",
                        f"shifts {both} on the same condition as '{first}'",
                        "join them into one rule",
                        ("when",),
                        "warning",
                        (f"history/{first}",),
                    )


class SubsumedRule(Check):
    """A narrower rule says of the causes only what a wider one says already.

    Why it matters: where the narrower one is present the wider one is too, and both count: the same story twice.
    What to do: put both into one line of evidence, the narrower first, or give the narrower one other words.
    Bad: "heavy blue smoke" and "any blue smoke" with the same causes and words, in no line together.
    Good: both in the line oil_burning; or the narrower one "nearly always" where the wider is "usually".
    """

    code, severity = "subsumed-rule", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for first, second in finding_pairs(subject):
            for narrow, wide in ((first, second), (second, first)):
                one, two = subject.knowledge.findings[narrow], subject.knowledge.findings[wide]
                if not _says_no_more(one, two):
                    continue
                try:
                    space = subject.vocabulary.space(one.when, two.when)
                except TooWide:
                    continue
                inside, around = space.truth(one.when), space.truth(two.when)
                if not space.any(inside != around):
                    continue  # twins: said by their own check
                if not space.any((inside == PRESENT) & (around != PRESENT)):
                    yield Complaint(
                        f"findings/{narrow}",
                        f"is present only where '{wide}' is, and says nothing more of its causes",
                        "put both in one line of evidence, or give this one its own words",
                        ("explained_by",),
                        "note" if in_one_line(subject, narrow, wide) else None,
                        (f"findings/{wide}",),
                    )


def _says_no_more(narrow: Finding, wide: Finding) -> bool:
    return (
        bool(narrow.explained_by)
        and narrow.otherwise == wide.otherwise
        and all(wide.explained_by.get(cause) == word for cause, word in narrow.explained_by.items())
    )


class NeedlessCondition(Check):
    """A part of a condition changes nothing: with or without it the rule concludes the same, whatever the answers.

    Why it matters: who reads the rule believes that the part matters, and who changes it wonders why nothing happens.
    What to do: take the part out, or correct it so that it asks what was meant.
    Bad: any: [{fact: smoke, is: [blue]}, {fact: smoke, is: [blue, black]}].
    Good: {fact: smoke, is: [blue, black]}.
    """

    code, severity = "needless-condition", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for key, _, path, condition, _ in subject.conditions:
            parts = list(_removals(condition, ()))
            if not parts:
                continue
            try:
                space = subject.vocabulary.space(condition)
            except TooWide:
                continue
            whole = space.truth(condition)
            for where, smaller in parts:
                if not space.any(space.truth(smaller) != whole):
                    yield Complaint(
                        key,
                        f"the part {say(_at(condition, where))} changes nothing",
                        "take it out, or correct what it asks",
                        (*path, *where),
                    )
                    break  # one at a time: of two equal parts either may go, not both


class NeedlessStep(Check):
    """A step of a rung list can never be reached.

    Why it matters: the first step that holds is taken; a later one behind a step that always holds is dead.
    What to do: put the special case first and the general one last, or take the dead step out.
    Bad: seen_at: [{rung: refresh}, {rung: rebuild, when: {fact: engine.pan_in_frame, is: no}}].
    Good: the step with `when` first, {rung: refresh} last.
    """

    code, severity = "needless-step", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        for field in ("rung", "seen_at", "hours_by"):
            steps = getattr(entry, field, ())
            for index, step in enumerate(steps):
                earlier = steps[:index]
                if any(other.when is None for other in earlier):
                    dead = True
                elif step.when is None or not earlier:
                    continue
                else:
                    space = subject.vocabulary.space(step.when, *(other.when for other in earlier))
                    taken = space.truth(earlier[0].when) == PRESENT
                    for other in earlier[1:]:
                        taken = taken | (space.truth(other.when) == PRESENT)
                    dead = not space.any((space.truth(step.when) == PRESENT) & ~taken)
                if dead:
                    yield Complaint(
                        f"{kind}/{name}",
                        f"step {index + 1} of {field} ({_told(step)}) is never reached: an earlier step always holds",
                        "put the special case first",
                        (field, index),
                    )


def _told(step: Any) -> str:
    """What a step is for, in a word."""
    return step.rung if hasattr(step, "rung") else f"{step.hours:g} hours"


class NeedlessLink(Check):
    """A finding names a cause that makes it no likelier than anything else does.

    Why it matters: "never" is the same as leaving the cause out, so the line teaches something that the program does
    not use; and who raises `otherwise` later does not see it.
    What to do: take the link out, or write the word that is meant.
    Bad: explained_by {worn_rings: never}.
    Good: leave worn_rings out.
    """

    code, severity = "needless-link", "warning"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if kind == "findings":
            for cause, word in entry.explained_by.items():
                if word == "never":
                    yield Complaint(
                        f"findings/{name}",
                        f"'{cause}: never' says nothing",
                        "leave the cause out",
                        ("explained_by", cause),
                    )
        if kind == "history":
            for cause, decibans in entry.shifts.items():
                if decibans == 0:
                    yield Complaint(
                        f"history/{name}", f"shifts '{cause}' by nothing", "leave the cause out", ("shifts", cause)
                    )


def _removals(condition: Condition, path: Path_) -> Iterator[tuple[Path_, Condition]]:
    """(path of a part, the condition without it) for every part of every all and any."""
    if isinstance(condition, Not):
        for where, smaller in _removals(condition.part, (*path, "not")):
            yield where, Not(smaller)
    elif isinstance(condition, (AllOf, AnyOf)):
        word = "all" if isinstance(condition, AllOf) else "any"
        for index, part in enumerate(condition.parts):
            rest = condition.parts[:index] + condition.parts[index + 1 :]
            if rest:
                yield (*path, word, index), type(condition)(rest)
            for where, smaller in _removals(part, (*path, word, index)):
                changed = (*condition.parts[:index], smaller, *condition.parts[index + 1 :])
                yield where, type(condition)(changed)


def _at(condition: Condition, path: Path_) -> Condition:
    for step in path:
        if isinstance(condition, Not):
            condition = condition.part
        elif isinstance(condition, (AllOf, AnyOf)) and isinstance(step, int):
            condition = condition.parts[step]
    return condition
