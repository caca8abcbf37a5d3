"""Forward and backward messages of one elimination, and the sums of every column.

`slopes.py` and `reweighted.py` read exact changes of the sums off them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .elimination import Evidence, rescaled, summed, summed_back


@dataclass(frozen=True, slots=True, eq=False)
class Messages:
    """Messages of some columns. Sums are relative to that of column 0 of the evidence, in which all is allowed."""

    evidence: Evidence
    allowed: np.ndarray
    """[causes, columns] 1.0 where the cause is allowed."""
    odds: np.ndarray
    """[causes, columns] odds of the causes, 0 where switched off."""
    forward: tuple[np.ndarray, ...]
    """Table before each step."""
    backward: tuple[np.ndarray, ...]
    """Adjoint of the table after each step."""
    back_powers: tuple[int, ...]
    """Power of two taken out of the adjoint before each step."""
    exponents: tuple[tuple[int, int], ...]
    """(of forward, of backward) at each step."""
    total: tuple[float, int]
    """Sum of column 0 over the linked causes: mantissa and power of two."""
    loose: np.ndarray
    """[columns] factor of the loose causes, relative to column 0."""
    sums: np.ndarray
    """[columns] sum of each column relative to column 0."""

    def share(self, exponent: int) -> float:
        """What turns a product of scaled messages into a share of column 0's sum."""
        return _power(exponent - self.total[1]) / self.total[0]


def messages_of(evidence: Evidence, allowed: np.ndarray, total: tuple[float, int] | None = None) -> Messages:
    """Both messages for the columns of `allowed` [causes, columns]; column 0 allows every cause unless `total`, the
    sum of that column from another call, is given."""
    odds = evidence.odds[:, None] * allowed
    table, tables, exponents = np.ones((1, allowed.shape[1])), [], [0]
    steps = tuple(zip(evidence.plan.steps, evidence.strengths, strict=True))
    for step, strengths in steps:
        tables.append(table)
        table, power = rescaled(summed(table, strengths, odds[step.cause]))
        exponents.append(exponents[-1] + power)
    if total is None:
        total = (float(table[0, 0]), exponents[-1])
    backward, back_powers, back_exponents = [], [], [0]
    adjoint = np.ones((1, allowed.shape[1]))
    for step, strengths in reversed(steps):
        backward.append(adjoint)
        adjoint, power = rescaled(summed_back(adjoint, strengths, odds[step.cause]))
        back_powers.append(power)
        back_exponents.append(back_exponents[-1] + power)
    loose = _loose(evidence, odds)
    sums = table[0] / total[0] * _power(exponents[-1] - total[1]) * loose
    return Messages(evidence, allowed, odds, tuple(tables), tuple(reversed(backward)), tuple(reversed(back_powers)),
                    tuple(zip(exponents[:-1], reversed(back_exponents[:-1]), strict=True)), total, loose, sums)


def sums_of(evidence: Evidence, allowed: np.ndarray, cells: int = 4_000_000) -> tuple[np.ndarray, float, tuple]:
    """[columns] sums relative to column 0, log10 of the probability of the evidence, and column 0's own sum.

    Forward only; columns run in groups of at most `cells` cells a table.
    """
    columns = allowed.shape[1]
    size = max(1, min(columns, cells >> evidence.plan.width))
    total, parts = None, []
    for start in range(0, columns, size):
        odds = evidence.odds[:, None] * allowed[:, start: start + size]
        table, exponent = np.ones((1, odds.shape[1])), 0
        for step, strengths in zip(evidence.plan.steps, evidence.strengths, strict=True):
            table, power = rescaled(summed(table, strengths, odds[step.cause]))
            exponent += power
        if total is None:
            total = (float(table[0, 0]), exponent)
        loose = _loose(evidence, odds)
        parts.append(table[0] / total[0] * _power(exponent - total[1]) * loose)
    return np.concatenate(parts), log10_evidence(evidence, total), total


def log10_evidence(evidence: Evidence, total: tuple[float, int]) -> float:
    """log10 of the probability of the evidence from the sum of column 0 over the linked causes."""
    loose = float(np.log1p(evidence.odds[evidence.loose]).sum())
    return (evidence.log_scale + loose + math.log(total[0]) + total[1] * math.log(2)) / math.log(10)


def _power(exponent: int) -> float:
    return math.ldexp(1.0, max(-1000, min(1000, exponent)))


def _loose(evidence: Evidence, odds: np.ndarray) -> np.ndarray:
    """[columns] factor of the loose causes, relative to column 0."""
    return ((1 + odds[evidence.loose]) / (1 + evidence.odds[evidence.loose])[:, None]).prod(axis=0)
