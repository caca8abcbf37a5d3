"""Conditions over many hypothetical jobs at once: one NumPy column a fact, one a finding.

A truth is a small integer: 1 present, 0 unknown, -1 absent, so that `all` is the least, `any` the greatest and `not`
the sign turned round. Agrees with `condition.evaluate` row by row.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from ..arrays import Bools, Floats, Ints, Truths
from ..model.condition import AllOf, Condition, FactTest, FindingTest, Not
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.truth import Truth
from ..model.values import Value
from .evaluate import is_number
from .stratify import in_order

PRESENT, UNKNOWN, ABSENT = 1, 0, -1
CODE = {Truth.PRESENT: PRESENT, Truth.UNKNOWN: UNKNOWN, Truth.ABSENT: ABSENT}
TRUTH = {code: truth for truth, code in CODE.items()}
_BLOCK = 32_768
"""Rows worked on together: enough to drown the cost of a call, few enough to stay in the processor's cache."""


@dataclass(frozen=True, slots=True)
class Column:
    """One fact over all rows."""

    values: Floats | Ints
    """Shape (rows,), or (rows, cylinders) for a fact with one value each. Words: whole numbers, the place in `words`,
    negative where unknown. Numbers: floats, NaN where unknown."""
    words: tuple[str, ...] = ()
    """The words it can take; empty for a number. A place past the last stands for any other word."""


Columns = Mapping[str, Column]


def findings_in_columns(knowledge: Knowledge, facts: Columns, rows: int) -> dict[str, Truths]:
    """Finding -> int8 array (rows,) of 1, 0, -1; a fact without a column is unknown in every row."""
    return conditions_in_columns(
        {name: finding.when for name, finding in knowledge.findings.items()},
        {name: limit.value for name, limit in knowledge.limits.items()},
        facts,
        rows,
    )


def conditions_in_columns(
    conditions: Mapping[str, Condition], limits: Mapping[str, float], facts: Columns, rows: int
) -> dict[str, Truths]:
    """The same for any conditions; one may read another by its id."""
    result = {name: np.empty(rows, np.int8) for name in sorted(conditions)}
    for start, truths in blocks(conditions, limits, facts, rows):
        for name, column in truths.items():
            result[name][start : start + len(column)] = column
    return result


def blocks(
    conditions: Mapping[str, Condition], limits: Mapping[str, float], facts: Columns, rows: int
) -> Iterator[tuple[int, dict[str, Truths]]]:
    """(first row, id -> truths of the rows from there) block by block, for counts over more rows than fit in memory."""
    order = in_order(conditions)
    for start in range(0, rows, _BLOCK):
        part = {name: Column(column.values[start : start + _BLOCK], column.words) for name, column in facts.items()}
        work = _Block(part, limits, min(_BLOCK, rows - start))
        for name in order:
            work.findings[name] = work.truth(conditions[name])
        yield start, {name: work.findings[name] for name in order}


def column_of(values: Sequence[Value | None], words: Sequence[str] = (), cylinders: int = 0) -> Column:
    """Facts as `evaluate` takes them (None: unknown), one a row, as a column.

    `words` are those it can take (none: a number); `cylinders` is how many values each row has (0: a single one). A
    value of another kind, or a tuple of another length, is unknown.
    """
    words = tuple(words)
    code = {word: place for place, word in enumerate(words)}
    unknown = -1 if words else float("nan")

    def one(value: Value | None) -> float:
        if words:
            return code.get(value, len(words)) if isinstance(value, str) else -1
        return value if is_number(value) else unknown

    if not cylinders:
        single = [one(value) for value in values]
        return Column(np.array(single, np.int16) if words else np.array(single, np.float64), words)
    table = [
        [one(item) for item in value] if isinstance(value, tuple) and len(value) == cylinders else [unknown] * cylinders
        for value in values
    ]
    shape = len(values), cylinders
    return Column(
        np.array(table, np.int16).reshape(shape) if words else np.array(table, np.float64).reshape(shape), words
    )


class _Block:
    """Working memory for one block of rows: findings so far, and tests that more than one condition makes."""

    def __init__(self, facts: Columns, limits: Mapping[str, float], rows: int):
        self.facts, self.limits, self.rows = facts, limits, rows
        self.findings: dict[str, Truths] = {}
        self.tests: dict[FactTest, Truths] = {}

    def unknown(self) -> Truths:
        return np.zeros(self.rows, np.int8)

    def truth(self, condition: Condition) -> Truths:
        if isinstance(condition, FactTest):
            if condition not in self.tests:
                self.tests[condition] = self.fact(condition)
            return self.tests[condition]
        if isinstance(condition, FindingTest):
            found = self.findings.get(condition.finding)
            return self.unknown() if found is None else found
        if isinstance(condition, Not):
            return -self.truth(condition.part)
        whole = isinstance(condition, AllOf)
        fold = np.minimum if whole else np.maximum
        result = np.full(self.rows, PRESENT if whole else ABSENT, np.int8)
        for part in condition.parts:
            fold(result, self.truth(part), out=result)
        return result

    def fact(self, test: FactTest) -> Truths:
        column = self.facts.get(test.fact)
        several = test.cylinders != ""
        if column is None or bool(test.one_of) != bool(column.words) or several != (column.values.ndim == 2):
            return self.unknown()
        each = self.elements(test, column)
        return each if not several else _over_cylinders(test.cylinders, each, _known(column))

    def elements(self, test: FactTest, column: Column) -> Truths:
        """The test of every single value, in the shape of the column."""
        values = column.values
        if test.one_of:
            hit = np.zeros(values.shape, bool)
            for place, word in enumerate(column.words):
                if word in test.one_of:
                    hit |= values == place
            return _truths(hit, _known(column))
        result = np.ones(values.shape, np.int8)
        for name, bound in test.bounds:
            figure = self.limits.get(bound) if isinstance(bound, str) else bound
            if figure is None:
                np.minimum(result, 0, out=result)
            else:
                np.minimum(result, _truths(_COMPARE[name](values, figure), _known(column)), out=result)
        result[~_known(column)] = UNKNOWN
        return result


_COMPARE = {"below": np.less, "above": np.greater, "at_least": np.greater_equal, "at_most": np.less_equal}


def _known(column: Column) -> Bools:
    return column.values >= 0 if column.words else ~np.isnan(column.values)


def _truths(hit: Bools, known: Bools) -> Truths:
    """1 where hit, -1 where not, 0 where not known."""
    return (hit.astype(np.int8) * np.int8(2) - np.int8(1)) * known


def _over_cylinders(how: str | int, each: Truths, known: Bools) -> Truths:
    """One truth a row from one truth a cylinder; unknown where no cylinder has a value."""
    rows, cylinders = each.shape
    if not cylinders:
        return np.zeros(rows, np.int8)
    result: Truths
    if how == "any":
        result = each.max(axis=1)
    elif how == "every":
        result = each.min(axis=1)
    elif isinstance(how, str):  # "neighbours"
        result = np.full(rows, ABSENT, np.int8)
        for left in range(cylinders - 1):
            np.maximum(result, np.minimum(each[:, left], each[:, left + 1]), out=result)
    else:
        holding = (each == PRESENT).sum(axis=1)
        possible = holding + (each == UNKNOWN).sum(axis=1)
        result = np.where(holding >= how, PRESENT, np.where(possible < how, ABSENT, UNKNOWN)).astype(np.int8)
    some: Bools = np.any(known, axis=1)
    return result * some
