"""Odds of every cause from one forward and one backward pass, many ways of counting the evidence side by side.

A column may leave some present findings out: their axis is summed over where the others keep 'explained'. So the odds
after the first, the first two, the first three ... findings come from one pass.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from .elimination import Evidence, leaving_out, off_and_on, rescaled, summed, summed_back
from .messages import log10_evidence

CELLS = 1 << 22
"""Most cells of a stored table of several columns."""
STRIDE_ABOVE = 1 << 15
"""Rows above which only every STRIDE-th forward table is stored and the others are worked out again."""
STRIDE = 6

Ignored = Mapping[int, np.ndarray]
"""Present finding -> [columns] 1.0 where the column leaves it out, else 0.0."""


def posteriors(evidence: Evidence) -> tuple[np.ndarray, float]:
    """[causes] probability of each cause, and log10 of the probability of the evidence."""
    odds, total = posterior_odds(evidence, evidence.odds[:, None], {})
    return odds[:, 0] / (1 + odds[:, 0]), log10_evidence(evidence, total)


def posterior_odds(evidence: Evidence, odds: np.ndarray, ignored: Ignored) -> tuple[np.ndarray, tuple[float, int]]:
    """[causes, columns] posterior odds, and the sum of column 0 as mantissa and power of two.

    `odds` [causes, columns] are the odds with the absent findings counted.
    """
    columns = odds.shape[1]
    size = max(1, min(columns, CELLS >> evidence.plan.width))
    parts = [_posterior_odds(evidence, odds[:, start: start + size],
                             {name: left_out[start: start + size] for name, left_out in ignored.items()})
             for start in range(0, columns, size)]
    return np.concatenate([part for part, _ in parts], axis=1), parts[0][1]


def _posterior_odds(evidence: Evidence, odds: np.ndarray, ignored: Ignored) -> tuple[np.ndarray, tuple[float, int]]:
    steps = evidence.plan.steps
    strengths = [leaving_out(step, given, evidence.network, ignored)
                 for step, given in zip(steps, evidence.strengths, strict=True)]
    stride = STRIDE if 1 << evidence.plan.width > STRIDE_ABOVE else 1
    kept: dict[int, np.ndarray] = {}
    table, exponent = np.ones((1, odds.shape[1])), 0
    for index, step in enumerate(steps):
        if index % stride == 0:
            kept[index] = table
        table, power = rescaled(summed(table, strengths[index], odds[step.cause]))
        exponent += power
    total = (float(table[0, 0]), exponent)
    result = odds.copy()
    adjoint = np.ones((1, odds.shape[1]))
    for index in range(len(steps) - 1, -1, -1):
        step, given = steps[index], strengths[index]
        if index not in kept:
            start = index - index % stride
            for again in range(start, index):
                table = summed(kept[again], strengths[again], odds[steps[again].cause])
                kept[again + 1] = rescaled(table)[0]
        off, on = off_and_on(kept.pop(index), given, adjoint)
        result[step.cause] = odds[step.cause] * on / off
        if index:
            adjoint, _ = rescaled(summed_back(adjoint, given, odds[step.cause]))
    return result, total


def decibans(odds: np.ndarray | float) -> np.ndarray | float:
    """10 log10 of odds."""
    return 10 / math.log(10) * np.log(odds)
