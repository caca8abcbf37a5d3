"""Pairs of findings worth comparing, and conditions said in one line."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from typing import Any

from ..model.condition import AllOf, AnyOf, Condition, FactTest, FindingTest, Not
from .subject import Subject


def finding_pairs(subject: Subject, *, same_facts: bool = False) -> Iterator[tuple[str, str]]:
    """Pairs of findings that read a fact in common (or exactly the same facts), in order of id."""
    facts = {
        name: frozenset(fact for fact in subject.vocabulary.facts(finding.when) if not fact.startswith("engine."))
        for name, finding in subject.knowledge.findings.items()
    }
    for first, second in itertools.combinations(sorted(facts), 2):
        if facts[first] == facts[second] if same_facts else facts[first] & facts[second]:
            yield first, second


def in_one_line(subject: Subject, first: str, second: str) -> bool:
    """Whether two findings stand in a line of evidence together."""
    return bool(subject.lines_of.get(first, frozenset()) & subject.lines_of.get(second, frozenset()))


def say(condition: Condition) -> str:
    """A condition in one line, as it is written in the rules."""
    if isinstance(condition, FactTest):
        parts = [f"fact: {condition.fact}"]
        if condition.one_of:
            parts.append(
                f"is: [{', '.join(condition.one_of)}]" if len(condition.one_of) > 1 else f"is: {condition.one_of[0]}"
            )
        parts += [
            f"{how}: {bound:g}" if isinstance(bound, float) else f"{how}: {bound}" for how, bound in condition.bounds
        ]
        if condition.cylinders != "":
            parts.append(f"cylinders: {condition.cylinders}")
        return "{" + ", ".join(parts) + "}"
    if isinstance(condition, FindingTest):
        return f"{{finding: {condition.finding}}}"
    if isinstance(condition, Not):
        return f"{{not: {say(condition.part)}}}"
    word = "all" if isinstance(condition, AllOf) else "any"
    assert isinstance(condition, (AllOf, AnyOf))
    return f"{{{word}: [{', '.join(say(part) for part in condition.parts)}]}}"


def say_answers(witness: Mapping[str, Any]) -> str:
    """Answers of a world in one line."""

    def one(value: Any) -> str:
        if isinstance(value, tuple):
            return "(" + " ".join("-" if item is None else one(item) for item in value) + ")"
        return f"{value:g}" if isinstance(value, (int, float)) else str(value)

    return ", ".join(f"{name} = {one(value)}" for name, value in sorted(witness.items())) or "whatever is answered"
