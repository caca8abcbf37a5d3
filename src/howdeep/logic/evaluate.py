"""The pure evaluator: a condition over facts is present, absent or unknown (strong Kleene logic).

Inside, a truth is True, False or None. A predicate never raises: a value of the wrong kind is unknown. Everything here
is monotone in what is known: a further answer can turn unknown into present or absent, and nothing else.
"""

from __future__ import annotations

import itertools
import operator
from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeGuard

from ..model.condition import AllOf, AnyOf, Condition, FactTest, FindingTest, Not
from ..model.knowledge import Knowledge
from ..model.truth import Truth
from ..model.values import Value, Values
from .stratify import in_order, once_per_value

Kleene = bool | None
Of = Callable[[Value], Kleene]
"""A test of one fact's value."""
OfAll = Callable[[Values, Mapping[str, Kleene]], Kleene]
"""A condition over facts and findings."""

TRUTH: dict[Kleene, Truth] = {True: Truth.PRESENT, False: Truth.ABSENT, None: Truth.UNKNOWN}
KLEENE: dict[Truth, Kleene] = {truth: kleene for kleene, truth in TRUTH.items()}
_Compare = Callable[[Any, Any], bool]
_COMPARE: dict[str, _Compare] = {
    "below": operator.lt,
    "above": operator.gt,
    "at_least": operator.ge,
    "at_most": operator.le,
}


def evaluate(condition: Condition, facts: Values, findings: Mapping[str, Truth], limits: Mapping[str, float]) -> Truth:
    """Whether the condition holds. Facts and findings that are missing are unknown. Never raises for a value."""
    return TRUTH[_evaluate(condition, facts, findings, limits)]


def evaluate_all(knowledge: Knowledge, facts: Values) -> dict[str, Truth]:
    """Every finding of the rule base, in order of id."""
    return _compiled(knowledge)(facts)


def evaluator(conditions: Mapping[str, Condition], limits: Mapping[str, float]) -> Callable[..., dict[str, Truth]]:
    """A function of facts (and of findings given) that works out all the conditions, earlier ones first.

    The function takes `facts: Values` and `given: Mapping[str, Truth] = {}` and returns id -> Truth in order
    of id. Raises HowdeepError where the conditions lead round in a circle.
    """
    steps = tuple((name, compiled(conditions[name], limits)) for name in in_order(conditions))
    names = tuple(sorted(conditions))
    truth = TRUTH

    def work_out(facts: Values, given: Mapping[str, Truth] | None = None) -> dict[str, Truth]:
        known: dict[str, Kleene] = {name: KLEENE[truth_] for name, truth_ in given.items()} if given else {}
        for name, holds in steps:
            known[name] = holds(facts, known)
        return {name: truth[known[name]] for name in names}

    return work_out


@once_per_value(keep=8)
def _compiled(knowledge: Knowledge) -> Callable[..., dict[str, Truth]]:
    return evaluator(
        {name: finding.when for name, finding in knowledge.findings.items()},
        {name: limit.value for name, limit in knowledge.limits.items()},
    )


def all_kleene(truths: Iterable[Kleene]) -> Kleene:
    """False if any is false, else None if any is unknown, else True."""
    result: Kleene = True
    for truth in truths:
        if truth is False:
            return False
        if truth is None:
            result = None
    return result


def any_kleene(truths: Iterable[Kleene]) -> Kleene:
    """True if any is true, else None if any is unknown, else False."""
    result: Kleene = False
    for truth in truths:
        if truth is True:
            return True
        if truth is None:
            result = None
    return result


def is_number(value: object) -> TypeGuard[float]:
    """Whether a value can be compared: a true or false is no number, and NaN compares with nothing."""
    return isinstance(value, (int, float)) and not isinstance(value, bool) and value == value


def element_test(test: FactTest, limits: Mapping[str, float]) -> Of:
    """The test of a single value (one cylinder's where there are several)."""
    if test.one_of:
        words = frozenset(test.one_of)
        return lambda value: value in words if isinstance(value, str) else None
    bounds = tuple(
        (_COMPARE[name], limits.get(bound) if isinstance(bound, str) else bound) for name, bound in test.bounds
    )
    if len(bounds) == 1 and bounds[0][1] is not None:
        compare, edge = bounds[0]
        return lambda value: compare(value, edge) if is_number(value) else None

    def within(value: Value) -> Kleene:
        if not is_number(value):
            return None
        return all_kleene([None if bound is None else compare(value, bound) for compare, bound in bounds])

    return within


def value_test(test: FactTest, limits: Mapping[str, float]) -> Of:
    """The test of a fact's whole value: one value, or a tuple with one per cylinder (None where not taken)."""
    one = element_test(test, limits)
    how = test.cylinders
    if how == "":
        return one
    if how in ("any", "every"):
        decides = how == "any"  # the truth of one cylinder that settles the whole

        def folded(value: Value) -> Kleene:
            if not isinstance(value, tuple):
                return None
            result: Kleene = not decides
            taken = False
            for item in value:
                if item is None:
                    result = None
                    continue
                taken = True
                truth = one(item)
                if truth is decides:
                    return decides
                if truth is None:
                    result = None
            return result if taken else None  # a reading of which nothing was taken is not taken

        return folded

    def several(value: Value) -> Kleene:
        if not isinstance(value, tuple) or all(item is None for item in value):
            return None  # a reading of which nothing was taken is not taken
        truths = [None if item is None else one(item) for item in value]
        if isinstance(how, str):  # "neighbours"
            return any_kleene([all_kleene(pair) for pair in itertools.pairwise(truths)])
        holding = truths.count(True)
        return True if holding >= how else False if holding + truths.count(None) < how else None

    return several


def compiled(condition: Condition, limits: Mapping[str, float]) -> OfAll:
    """The condition as a function of facts and of the findings known so far (True, False; None or missing: unknown)."""
    if isinstance(condition, FactTest):
        fact, holds = condition.fact, value_test(condition, limits)

        def of_fact(facts: Values, findings: Mapping[str, Kleene]) -> Kleene:
            value = facts.get(fact)
            return None if value is None else holds(value)

        return of_fact
    if isinstance(condition, FindingTest):
        finding = condition.finding
        return lambda facts, findings: findings.get(finding)
    if isinstance(condition, Not):
        inner = compiled(condition.part, limits)

        def negated(facts: Values, findings: Mapping[str, Kleene]) -> Kleene:
            truth = inner(facts, findings)
            return None if truth is None else not truth

        return negated
    parts = tuple(compiled(part, limits) for part in condition.parts)
    decides = isinstance(condition, AnyOf)  # the truth of one part that settles the whole

    def of_parts(facts: Values, findings: Mapping[str, Kleene]) -> Kleene:
        result: Kleene = not decides
        for part in parts:
            truth = part(facts, findings)
            if truth is decides:
                return decides
            if truth is None:
                result = None
        return result

    return of_parts


def _evaluate(
    condition: Condition, facts: Values, findings: Mapping[str, Truth], limits: Mapping[str, float]
) -> Kleene:
    if isinstance(condition, FactTest):
        value = facts.get(condition.fact)
        return None if value is None else value_test(condition, limits)(value)
    if isinstance(condition, FindingTest):
        return KLEENE[findings.get(condition.finding, Truth.UNKNOWN)]
    if isinstance(condition, Not):
        truth = _evaluate(condition.part, facts, findings, limits)
        return None if truth is None else not truth
    fold = all_kleene if isinstance(condition, AllOf) else any_kleene
    return fold([_evaluate(part, facts, findings, limits) for part in condition.parts])
