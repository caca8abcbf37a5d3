"""Forward and backward messages of one elimination: sums of every column, posteriors, and exact changes of them.

Every prior, link and leak enters each column linearly, so that the derivative from both messages gives the *exact*
result of a finite change of one of them. A change of several causes at once (what a finding not yet known would do)
needs only the steps between the first and the last cause it touches, ended by a product with the backward message.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from .elimination import (
    Evidence,
    Strengths,
    leaving_out,
    rescaled,
    shine,
    shine_back,
    summed,
    summed_back,
    unclosed,
    unlinked,
)
from .plan import Step

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
        off, on = np.empty_like(self.odds), np.empty_like(self.odds)
        for turn in self._turns():
            off[turn.step.cause] = (_wide(turn.strengths.without) * turn.off).sum(axis=0)
            on[turn.step.cause] = (_wide(turn.strengths.present) * turn.on).sum(axis=0)
        off *= self.loose
        on *= self.loose
        loose = self.evidence.loose
        off[loose] = on[loose] = self.sums / (1 + self.odds[loose])
        return off, on * self.allowed

    def slopes(self) -> tuple[dict[tuple[int, int], np.ndarray], dict[int, np.ndarray]]:
        """d sums / d q of (cause, present finding), and d sums / d leak of present findings: [columns] each."""
        network, links, leaks = self.evidence.network, {}, {}
        for turn in self._turns():
            step, strengths = turn.step, turn.strengths
            odds, shown = self.odds[step.cause] * self.loose, network.q[step.cause]
            whole = unclosed(turn.back, strengths)
            for items, table, back in ((step.links, turn.lit, turn.back), (step.closes, turn.table, whole)):
                for axis, finding in items:
                    view = table.reshape(-1, 2, 1 << axis, table.shape[1])[:, 0]
                    other = back.reshape(-1, 2, 1 << axis, table.shape[1])
                    slope = np.einsum("abk,abk->k", view, other[:, 1] - other[:, 0]) / (1 - shown[finding])
                    links[step.cause, finding] = slope * turn.unit * odds
            without, present = turn.off * _wide(strengths.without), turn.on * _wide(strengths.present) * odds
            combination = np.arange(len(without))
            for finding in (*step.alone, *step.opens):
                leak, q = network.leak[finding], shown[finding]
                lit = 1 - (1 - leak) * (1 - q)
                explained = (combination >> step.opens.index(finding) & 1 if finding in step.opens
                             else np.ones(len(combination)))[:, None]
                links[step.cause, finding] = (np.where(explained, (1 - leak) / lit, -1 / (1 - q)) * present).sum(axis=0)
                leaks[finding] = ((np.where(explained, 1 / leak, -1 / (1 - leak)) * without).sum(axis=0) * self.loose
                                  + (np.where(explained, (1 - q) / lit, -1 / (1 - leak)) * present).sum(axis=0))
        for finding in self.evidence.plan.bare:
            leaks[finding] = self.sums / network.leak[finding]
        return links, leaks

    def with_weights(self, weights: np.ndarray, left_out: Mapping[int, np.ndarray] | None = None) -> np.ndarray:
        """[sets, columns] sums with the odds of the causes multiplied by each row of `weights` [sets, causes].

        `left_out` is present finding -> [sets] 1.0 where the set does not count it, else 0.0.
        """
        left_out = left_out or {}
        steps = self.evidence.plan.steps
        result = self._loosely(weights)
        for finding in self.evidence.plan.bare:
            if finding in left_out:
                result *= np.where(left_out[finding], 1 / self.evidence.network.leak[finding], 1.0)[:, None]
        if not steps:
            return result
        touched = weights[:, [step.cause for step in steps]] != 1.0
        for number, step in enumerate(steps):
            for finding in step.closing:
                if finding in left_out:
                    touched[:, number] |= left_out[finding] != 0.0
        any_touched = touched.any(axis=1)
        result[~any_touched] *= self.sums / self.loose
        first = touched.argmax(axis=1)
        last = len(steps) - 1 - touched[:, ::-1].argmax(axis=1)
        busy = sorted(np.flatnonzero(any_touched).tolist(), key=lambda i: (first[i], last[i], i))
        size = max(1, SET_CELLS // (len(self.sums) << self.evidence.plan.width))
        for start in range(0, len(busy), size):
            group = np.array(busy[start: start + size])
            result[group] *= self._swept(group, first, last, weights, left_out)
        return result

    def _loosely(self, weights: np.ndarray) -> np.ndarray:
        """[sets, columns] factor of the loose causes under other weights, relative to column 0."""
        loose = self.evidence.loose
        moved = loose[(weights[:, loose] != 1.0).any(axis=0)]
        result = np.empty((len(weights), len(self.sums)))
        base = 1 + self.odds[moved]
        size = max(1, SET_CELLS // max(1, base.size))
        for start in range(0, len(weights), size):
            part = slice(start, start + size)
            ratio = (1 + weights[part][:, moved, None] * self.odds[moved]) / base
            result[part] = ratio.prod(axis=1) * self.loose
        return result

    def _swept(self, group: np.ndarray, first: np.ndarray, last: np.ndarray, weights: np.ndarray,
               left_out: Mapping[int, np.ndarray]) -> np.ndarray:
        """[group, columns] sums over the linked causes, relative to column 0's, of sets with other weights."""
        columns, network = len(self.sums), self.evidence.network
        result = np.empty((len(group), columns))
        active = np.empty(0, dtype=int)  # positions in `group`
        table = np.empty((0, 0, columns))
        for index in range(int(first[group].min()), int(last[group].max()) + 1):
            step, strengths = self.evidence.plan.steps[index], self.evidence.strengths[index]
            joining = np.flatnonzero(first[group] == index)
            if len(joining):
                start = self.forward[index]
                tiled = np.broadcast_to(start[:, None], (len(start), len(joining), columns))
                table = np.concatenate((table, tiled), axis=1) if len(active) else np.ascontiguousarray(tiled)
                active = np.concatenate((active, joining))
            if not len(active):
                continue
            here = {name: np.repeat(left_out[name][group[active]], columns) for name in step.closing
                    if name in left_out and left_out[name][group[active]].any()}
            if here:
                strengths = leaving_out(step, strengths, network, here)
            rates = (weights[group[active], step.cause][:, None] * self.odds[step.cause]).ravel()
            table = summed(table.reshape(len(table), -1), strengths, rates)
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

    def _turns(self) -> Iterator[_Turn]:
        evidence = self.evidence
        for index, (step, strengths) in enumerate(zip(evidence.plan.steps, evidence.strengths, strict=True)):
            unit = self._unit(sum(self.exponents[index]))
            off, lit = unlinked(self.forward[index], strengths)
            after = self.backward[index].reshape(len(strengths.present), -1, len(self.sums))
            on = shine(lit.copy(), strengths.links) if strengths.links else lit
            back = (_wide(strengths.present)[:, None] * after).sum(axis=0)
            yield _Turn(step, strengths, self.forward[index], lit, shine_back(back, strengths.links),
                        np.einsum("rk,jrk->jk", off, after) * unit, np.einsum("rk,jrk->jk", on, after) * unit, unit)


@dataclass(frozen=True, slots=True, eq=False)
class _Turn:
    """One step with both messages at hand."""

    step: Step
    strengths: Strengths
    table: np.ndarray
    """Before the step."""
    lit: np.ndarray
    """With its findings closed, the cause being present."""
    back: np.ndarray
    """Adjoint of that per unit of the cause's odds, back over its links."""
    off: np.ndarray
    """[2^opens, columns] sums without the cause for each combination of what it opens, its own factor left out."""
    on: np.ndarray
    """[2^opens, columns] the same with the cause, per unit of its odds."""
    unit: float
    """What turns products of these messages into shares of column 0's sum."""


def messages_of(evidence: Evidence, allowed: np.ndarray, total: tuple[float, int] | None = None) -> Messages:
    """Both messages for the columns of `allowed` [causes, columns]; column 0 allows every cause unless `total`, the
    sum of that column from another call, is given."""
    odds = evidence.odds[:, None] * allowed
    table, tables, powers, exponents = np.ones((1, allowed.shape[1])), [], [], [0]
    steps = tuple(zip(evidence.plan.steps, evidence.strengths, strict=True))
    for step, strengths in steps:
        tables.append(table)
        table, power = rescaled(summed(table, strengths, odds[step.cause]))
        powers.append(power)
        exponents.append(exponents[-1] + power)
    if total is None:
        total = (float(table[0, 0]), exponents[-1])
    backward, back_exponents = [], []
    adjoint, exponent = np.ones((1, allowed.shape[1])), 0
    for step, strengths in reversed(steps):
        backward.append(adjoint)
        back_exponents.append(exponent)
        adjoint, power = rescaled(summed_back(adjoint, strengths, odds[step.cause]))
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


def _wide(factors: np.ndarray) -> np.ndarray:
    return factors if factors.ndim > 1 else factors[:, None]
