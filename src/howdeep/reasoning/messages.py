"""Forward and backward messages of one elimination: sums of every column, posteriors, and exact changes of them.

Every prior, link and leak enters each column linearly, so that the derivative from both messages gives the *exact*
result of a finite change of one of them. A change of several causes at once (what a finding not yet known would do)
needs only the steps between the first and the last cause it touches, ended by a product with the backward message.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .elimination import Evidence, Step, closed, opened, rescaled, shine, shine_back

SET_CELLS = 300_000
"""Cells of one table in `Messages.with_weights`: more sets are worked off in groups."""


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
    powers: tuple[int, ...]
    """Power of two taken out after each step."""
    exponents: tuple[tuple[int, int], ...]
    """(of forward, of backward) at each step."""
    total: tuple[float, int]
    """Sum of column 0 over the linked causes: mantissa and power of two."""
    loose: np.ndarray
    """[columns] factor of the loose causes, relative to column 0."""
    sums: np.ndarray
    """[columns] sum of each column relative to column 0."""

    def parts(self) -> tuple[np.ndarray, np.ndarray]:
        """[causes, columns] sums with the cause absent, and with it present per unit of its odds (0 if not allowed)."""
        off = np.empty_like(self.odds)
        on = np.empty_like(self.odds)
        for _, step, table, after, back, unit in self._visited():
            off[step.cause] = np.einsum("rk,rk->k", table, after) * unit
            on[step.cause] = np.einsum("rk,rk->k", table, back) * unit
        off *= self.loose
        on *= self.loose
        loose = self.evidence.loose
        off[loose] = on[loose] = self.sums / (1 + self.odds[loose])
        return off, on * self.allowed

    def slopes(self) -> tuple[dict[tuple[int, int], np.ndarray], dict[int, np.ndarray]]:
        """d sums / d q of (cause, present finding), and d sums / d leak of present findings: [columns] each."""
        network, links, leaks = self.evidence.network, {}, {}
        for index, step, table, after, back, unit in self._visited():
            columns = table.shape[1]
            for axis, finding in step.links:
                view = table.reshape(-1, 2, 1 << axis, columns)[:, 0]
                other = back.reshape(-1, 2, 1 << axis, columns)
                slope = np.einsum("abk,abk->k", view, other[:, 1] - other[:, 0]) / (1 - network.q[step.cause, finding])
                links[step.cause, finding] = slope * self.odds[step.cause] * unit * self.loose
            if not step.opens:
                continue
            adjoint = after + self.odds[step.cause] * back
            tables = [self.forward[index]]
            for finding in step.opens[:-1]:
                tables.append(opened(tables[-1], (float(network.leak[finding]),)))
            for finding, before in zip(reversed(step.opens), reversed(tables), strict=True):
                low, high = adjoint[: len(before)], adjoint[len(before):]
                leaks[finding] = np.einsum("rk,rk->k", before, high - low) * unit * self.loose
                leak = network.leak[finding]
                adjoint = low * (1 - leak) + high * leak
        for finding in self.evidence.plan.bare:
            leaks[finding] = self.sums / network.leak[finding]
        return links, leaks

    def with_weights(self, weights: np.ndarray) -> np.ndarray:
        """[sets, columns] sums with the odds of the causes multiplied by each row of `weights` [sets, causes]."""
        sets, columns = len(weights), len(self.sums)
        loose = self.evidence.loose
        result = np.empty((sets, columns))
        base = 1 + self.odds[loose]
        for start in range(0, sets, max(1, SET_CELLS // max(1, base.size))):
            part = slice(start, start + max(1, SET_CELLS // max(1, base.size)))
            ratio = (1 + weights[part][:, loose, None] * self.odds[loose]) / base
            result[part] = ratio.prod(axis=1) * self.loose
        steps = self.evidence.plan.steps
        if not steps:
            return result
        touched = weights[:, [step.cause for step in steps]] != 1.0
        any_touched = touched.any(axis=1)
        result[~any_touched] *= self.sums / self.loose
        first = touched.argmax(axis=1)
        last = len(steps) - 1 - touched[:, ::-1].argmax(axis=1)
        busy = sorted(np.flatnonzero(any_touched).tolist(), key=lambda i: (first[i], last[i], i))
        widest = 1 << self.evidence.plan.width
        size = max(1, SET_CELLS // (widest * columns))
        for start in range(0, len(busy), size):
            group = np.array(busy[start: start + size])
            result[group] *= self._swept(group, first, last, weights)
        return result

    def _swept(self, group: np.ndarray, first: np.ndarray, last: np.ndarray, weights: np.ndarray) -> np.ndarray:
        """[group, columns] sums over the linked causes, relative to column 0's, of sets with other weights."""
        columns, network = len(self.sums), self.evidence.network
        result = np.empty((len(group), columns))
        active = np.empty(0, dtype=int)  # positions in `group`
        table = np.empty((0, 0, columns))
        for index in range(int(first[group].min()), int(last[group].max()) + 1):
            step = self.evidence.plan.steps[index]
            joining = np.flatnonzero(first[group] == index)
            if len(joining):
                start = self.forward[index]
                tiled = np.broadcast_to(start[:, None], (len(start), len(joining), columns))
                table = np.concatenate((table, tiled), axis=1) if len(active) else np.ascontiguousarray(tiled)
                active = np.concatenate((active, joining))
            if not len(active):
                continue
            rates = (weights[group[active], step.cause][:, None] * self.odds[step.cause]).ravel()
            table = _stepped(table.reshape(len(table), -1), step, rates, network)
            if self.powers[index]:
                table = np.ldexp(table, -self.powers[index])
            table = table.reshape(len(table), len(active), columns)
            ending = last[group[active]] == index
            if ending.any():
                unit = self._unit(sum(self.exponents[index]) + self.powers[index])
                result[active[ending]] = np.einsum("rnk,rk->nk", table[:, ending], self.backward[index]) * unit
                table, active = np.ascontiguousarray(table[:, ~ending]), active[~ending]
        return result

    def _unit(self, exponent: int) -> float:
        """What turns a product of scaled messages into a share of column 0's sum."""
        return _power(exponent - self.total[1]) / self.total[0]

    def _visited(self):
        """Per step: table after opening, its adjoints without and with the cause present, and the unit of products."""
        network = self.evidence.network
        for index, step in enumerate(self.evidence.plan.steps):
            table = opened(self.forward[index], _leaks(step, network))
            after = _unclosed(self.backward[index], step.closes)
            back = shine_back(after.copy(), _links(step, network))
            yield index, step, table, after, back, self._unit(sum(self.exponents[index]))


def messages_of(evidence: Evidence, allowed: np.ndarray, total: tuple[float, int] | None = None) -> Messages:
    """Both messages for the columns of `allowed` [causes, columns]; column 0 allows every cause unless `total`, the
    sum of that column from another call, is given."""
    odds = evidence.odds[:, None] * allowed
    table, tables, powers, exponents = np.ones((1, allowed.shape[1])), [], [], [0]
    for step in evidence.plan.steps:
        tables.append(table)
        table, power = rescaled(_stepped(table, step, odds[step.cause], evidence.network))
        powers.append(power)
        exponents.append(exponents[-1] + power)
    if total is None:
        total = (float(table[0, 0]), exponents[-1])
    backward, back_exponents = [], []
    adjoint, exponent = np.ones((1, allowed.shape[1])), 0
    for step in reversed(evidence.plan.steps):
        backward.append(adjoint)
        back_exponents.append(exponent)
        after = _unclosed(adjoint, step.closes)
        adjoint = after + odds[step.cause] * shine_back(after.copy(), _links(step, evidence.network))
        for finding in reversed(step.opens):
            leak, half = evidence.network.leak[finding], len(adjoint) // 2
            adjoint = adjoint[:half] * (1 - leak) + adjoint[half:] * leak
        adjoint, power = rescaled(adjoint)
        exponent += power
    loose = _loose(evidence, odds)
    sums = table[0] / total[0] * _power(exponents[-1] - total[1]) * loose
    return Messages(evidence, allowed, odds, tuple(tables), tuple(reversed(backward)), tuple(powers),
                    tuple(zip(exponents, reversed(back_exponents), strict=False)), total, loose, sums)


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
        for step in evidence.plan.steps:
            table, power = rescaled(_stepped(table, step, odds[step.cause], evidence.network))
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


def _stepped(table: np.ndarray, step: Step, rates: np.ndarray, network) -> np.ndarray:
    table = opened(table, _leaks(step, network))
    return closed(table + shine(table * rates, _links(step, network)), step.closes)


def _links(step: Step, network) -> tuple[tuple[int, float], ...]:
    return tuple((axis, float(network.q[step.cause, finding])) for axis, finding in step.links)


def _leaks(step: Step, network) -> tuple[float, ...]:
    return tuple(float(network.leak[finding]) for finding in step.opens)


def _unclosed(adjoint: np.ndarray, axes: tuple[int, ...]) -> np.ndarray:
    columns = adjoint.shape[1]
    for axis in reversed(axes):
        wide = np.zeros((len(adjoint) >> axis, 2, columns << axis))
        wide[:, 1] = adjoint.reshape(-1, columns << axis)
        adjoint = wide.reshape(-1, columns)
    return adjoint
