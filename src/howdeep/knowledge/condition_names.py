"""What a condition may read: every fact by its shape, and faults of the tests that are made of it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable
from typing import Any

from ..errors import nearest
from ..files.strict_yaml import Path_
from ..model.condition import AllOf, AnyOf, Condition, FactTest, FindingTest, Not
from ..model.knowledge import Knowledge
from ..model.operations import Operation
from .engine_facts import engine_fact_words

Report = Callable[[str, Path_, str, str], None]
"""(kind/id, path inside the entry, message, hint)"""


@dataclasses.dataclass(frozen=True)
class FactShape:
    """What is known of a fact by its name."""

    words: tuple[str, ...]
    """Words it can take; empty for a number."""
    each: str
    """Whether it has one value per cylinder (journal, valve)."""
    grid: bool = False
    """Whether it is read at several places and so can only be reduced, not tested."""


def fact_shapes(knowledge: Knowledge) -> dict[str, FactShape]:
    """Every fact that a rule may read."""
    shapes = {name: FactShape(words, "") for name, words in engine_fact_words().items()}
    for name, item in knowledge.observations.items():
        shapes[name] = FactShape(
            tuple(item.answers) if item.kind == "choice" else (), item.each, bool(item.rows or item.columns)
        )
    for name, reduced in knowledge.reduced.items():
        shapes[name] = FactShape(reduced.answers if reduced.kind == "choice" else (), reduced.each)
    return shapes


def conditions_of(entry: Any) -> Iterable[tuple[str, Path_, Condition]]:
    """(field, path, condition) of every condition in an entry."""
    for field in ("when", "unless", "applies", "follows", "needs", "valid_when", "doubted_when", "spared"):
        condition = getattr(entry, field, None)
        if condition is not None:
            yield field, (field,), condition
    for field in ("rung", "seen_at"):
        for index, step in enumerate(getattr(entry, field, ())):
            if step.when is not None:
                yield "when", (field, index, "when"), step.when
    for field in ("hours_by", "brings_where", "only_on"):
        for index, step in enumerate(getattr(entry, field, ())):
            yield "when", (field, index, "when"), step.when
    if isinstance(entry, Operation):
        for index, work_step in enumerate(entry.steps):
            if work_step.when is not None:
                yield "when", ("steps", index, "when"), work_step.when


def check_condition(
    knowledge: Knowledge, key: str, path: Path_, condition: Condition, facts: dict[str, FactShape], report: Report
) -> None:
    """Report what a condition reads that is not there, and tests that can never hold."""
    if isinstance(condition, (AllOf, AnyOf)):
        word = "all" if isinstance(condition, AllOf) else "any"
        for index, part in enumerate(condition.parts):
            check_condition(knowledge, key, (*path, word, index), part, facts, report)
    elif isinstance(condition, Not):
        check_condition(knowledge, key, (*path, "not"), condition.part, facts, report)
    elif isinstance(condition, FindingTest):
        if condition.finding not in knowledge.findings:
            report(
                key,
                (*path, "finding"),
                f"there is no finding '{condition.finding}'",
                nearest(condition.finding, knowledge.findings),
            )
    elif condition.fact not in facts:
        report(
            key,
            (*path, "fact"),
            f"there is no fact '{condition.fact}' that may be read here",
            nearest(condition.fact, facts),
        )
    else:
        _fact_test(knowledge, key, path, condition, facts[condition.fact], report)


def _fact_test(knowledge: Knowledge, key: str, path: Path_, test: FactTest, shape: FactShape, report: Report) -> None:
    if shape.grid:
        report(key, (*path, "fact"), f"'{test.fact}' is read at several places; test a reduced fact of it", "")
        return
    for word in test.one_of:
        if not shape.words:
            report(key, (*path, "is"), f"'{test.fact}' is a number; compare it", "")
            break
        if word not in shape.words:
            report(
                key,
                (*path, "is"),
                f"'{test.fact}' can never be '{word}'",
                nearest(word, shape.words) or f"it can be {', '.join(shape.words)}",
            )
    for name, value in test.bounds:
        if shape.words:
            report(key, (*path, name), f"'{test.fact}' is a word, not a number", f"use is: {', '.join(shape.words)}")
        elif isinstance(value, str) and value not in knowledge.limits:
            report(key, (*path, name), f"there is no limit '{value}'", nearest(value, knowledge.limits))
    if shape.each and test.cylinders == "":
        report(
            key,
            (*path, "fact"),
            f"'{test.fact}' has one value per {shape.each}; say cylinders: any, every, neighbours or a number",
            "",
        )
    if not shape.each and test.cylinders != "":
        report(key, (*path, "cylinders"), f"'{test.fact}' has a single value; leave out 'cylinders'", "")
