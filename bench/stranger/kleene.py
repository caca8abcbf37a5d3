"""Conditions of the rule base read by a small evaluator of its own, so that this bench hangs on no reasoning code.

Missing is not absent: a condition is True, False or None (unknown).
"""

from __future__ import annotations

import itertools
import operator
from collections.abc import Iterable, Mapping
from typing import Any

from howdeep.model.condition import AllOf, AnyOf, Condition, FactTest, FindingTest, findings_read

Kleene = bool | None
_COMPARE = {"below": operator.lt, "above": operator.gt, "at_least": operator.ge, "at_most": operator.le}


def holds(
    condition: Condition, facts: Mapping[str, Any], findings: Mapping[str, Kleene], limits: Mapping[str, float]
) -> Kleene:
    """Whether the condition holds of these facts and of the findings known so far."""
    if isinstance(condition, FactTest):
        return _fact(condition, facts.get(condition.fact), limits)
    if isinstance(condition, FindingTest):
        return findings.get(condition.finding)
    if isinstance(condition, AllOf):
        return every(holds(part, facts, findings, limits) for part in condition.parts)
    if isinstance(condition, AnyOf):
        return some(holds(part, facts, findings, limits) for part in condition.parts)
    inner = holds(condition.part, facts, findings, limits)
    return None if inner is None else not inner


def all_findings(
    conditions: Mapping[str, Condition], facts: Mapping[str, Any], limits: Mapping[str, float]
) -> dict[str, Kleene]:
    """Every finding, each after those that it reads."""
    known: dict[str, Kleene] = {}

    def work_out(name: str) -> None:
        if name not in known:
            for other in findings_read(conditions[name]):
                work_out(other)
            known[name] = holds(conditions[name], facts, known, limits)

    for name in conditions:
        work_out(name)
    return known


def every(truths: Iterable[Kleene]) -> Kleene:
    """False if any is false, else None if any is unknown, else True."""
    seen = set(truths)
    return False if False in seen else None if None in seen else True


def some(truths: Iterable[Kleene]) -> Kleene:
    """True if any is true, else None if any is unknown, else False."""
    seen = set(truths)
    return True if True in seen else None if None in seen else False


def _fact(test: FactTest, value: Any, limits: Mapping[str, float]) -> Kleene:
    if value is None:
        return None
    if test.cylinders == "":
        return _one(test, value, limits)
    if not isinstance(value, tuple) or all(item is None for item in value):
        return None
    truths = [_one(test, item, limits) for item in value]
    if test.cylinders == "any":
        return some(truths)
    if test.cylinders == "every":
        return every(truths)
    if test.cylinders == "neighbours":
        return some(every(pair) for pair in itertools.pairwise(truths))
    sure, most = truths.count(True), len(truths) - truths.count(False)
    return True if sure >= test.cylinders else False if most < test.cylinders else None


def _one(test: FactTest, value: Any, limits: Mapping[str, float]) -> Kleene:
    if test.one_of:
        return value in test.one_of if isinstance(value, str) else None
    if isinstance(value, bool) or not isinstance(value, (int, float)) or value != value:
        return None
    bounds = [(name, limits.get(bound) if isinstance(bound, str) else bound) for name, bound in test.bounds]
    return every(None if bound is None else _COMPARE[name](value, bound) for name, bound in bounds)
