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

SET_CELLS = 600_000
"""Cells of one table in `Messages.with_weights`: more sets are worked off in groups."""
SHARED_FROM = 8
"""Width from which finding out what sets have in common costs less than it saves."""


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

    def slopes(self) -> Slopes:
        """How the columns move with every number of the evidence."""
        evidence, q, leak = self.evidence, self.evidence.network.q, self.evidence.network.leak
        off, on = np.zeros_like(self.odds), np.zeros_like(self.odds)
        links: dict[tuple[int, int], np.ndarray] = {}
        leaks: dict[int, np.ndarray] = {}
        for turn in self._turns():
            step, strengths, cause = turn.step, turn.strengths, turn.step.cause
            odds = self.odds[cause] * self.loose
            without, present = turn.off * _wide(strengths.without), turn.on * _wide(strengths.present)
            off[cause], on[cause] = without.sum(axis=0), present.sum(axis=0)
            whole = unclosed(turn.back, strengths) if step.closes else turn.back
            for items, table, back in ((step.links, turn.lit, turn.back), (step.closes, turn.table, whole)):
                for axis, finding in items:
                    view = table.reshape(-1, 2, 1 << axis, table.shape[1])[:, 0]
                    other = back.reshape(-1, 2, 1 << axis, table.shape[1])
                    slope = np.einsum("abk,abk->k", view, other[:, 1] - other[:, 0]) / (1 - q[cause, finding])
                    links[cause, finding] = slope * turn.unit * odds
            combination = np.arange(len(without))
            for finding in (*step.alone, *step.opens):
                spared, dark = 1 - q[cause, finding], 1 - leak[finding]
                lit = 1 - dark * spared
                explained = (combination >> step.opens.index(finding) & 1 if finding in step.opens
                             else np.ones(len(combination)))[:, None]
                links[cause, finding] = (np.where(explained, dark / lit, -1 / spared) * present).sum(axis=0) * odds
                leaks[finding] = (
                    (np.where(explained, 1 / leak[finding], -1 / dark) * without).sum(axis=0) * self.loose
                    + (np.where(explained, spared / lit, -1 / dark) * present).sum(axis=0) * odds)
        for finding in evidence.plan.bare:
            leaks[finding] = self.sums / leak[finding]
        off *= self.loose
        on *= self.loose * self.allowed
        off[evidence.loose] = self.sums / (1 + self.odds[evidence.loose])
        on[evidence.loose] = off[evidence.loose] * self.allowed[evidence.loose]
        return Slopes(off, on, links, leaks)

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
        busy = np.flatnonzero(any_touched)
        size = max(1, SET_CELLS // (len(self.sums) << self.evidence.plan.width))
        if len(busy) > size:  # those that touch the same late steps into the same group
            last = len(steps) - 1 - touched[busy, ::-1].argmax(axis=1)
            busy = busy[np.lexsort((busy, *weights[busy][:, [step.cause for step in steps]].T, last))]
        for start in range(0, len(busy), size):
            group = busy[start: start + size]
            outs = {name: here[group] for name, here in left_out.items()}
            sweep = self._swept if self.evidence.plan.width < SHARED_FROM else self._swept_sharing
            result[group] *= sweep(touched[group], weights[group], outs)
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

    def _swept(self, touched: np.ndarray, weights: np.ndarray, left_out: Mapping[int, np.ndarray]) -> np.ndarray:
        """[sets, columns] sums over the linked causes, relative to column 0's, of sets with other weights.

        From the last step that any set touches back to the first, ended by a product with the forward message.
        """
        columns, steps = len(self.sums), self.evidence.plan.steps
        span = np.flatnonzero(touched.any(axis=0))
        first, last = int(span[0]), int(span[-1])
        causes = [step.cause for step in steps]
        rates = (weights[:, causes].T[:, :, None] * self.odds[causes][:, None, :]).reshape(len(steps), -1)
        table = np.tile(self.backward[last], len(weights))
        for index in range(last, first - 1, -1):
            strengths = self._without(index, {name: here for name, here in left_out.items() if here.any()})
            table = summed_back(table, strengths, rates[index])
            if self.back_powers[index]:
                table = np.ldexp(table, -self.back_powers[index])
        unit = self._unit(sum(self.exponents[first]) + self.back_powers[first])
        return np.einsum("rk,rnk->nk", self.forward[first], table.reshape(len(table), -1, columns)) * unit

    def _without(self, index: int, left_out: Mapping[int, np.ndarray]) -> Strengths:
        """The numbers of a step where sets (each with all columns) leave out findings: finding -> [sets]."""
        step, strengths = self.evidence.plan.steps[index], self.evidence.strengths[index]
        told = {name: np.repeat(left_out[name], len(self.sums)) for name in step.closing
                if name in left_out and left_out[name].any()}
        return leaving_out(step, strengths, self.evidence.network, told) if told else strengths

    def _swept_sharing(self, touched: np.ndarray, weights: np.ndarray,
                       left_out: Mapping[int, np.ndarray]) -> np.ndarray:
        """The same where tables are wide: each set goes from the last step it touches back to the first, and sets that
        are alike so far share one part of the table: `branch` [sets] is which, -1 where nothing was touched yet.
        """
        sets, columns = len(weights), len(self.sums)
        result, branch = np.empty((sets, columns)), np.full(sets, -1)
        first = touched.argmax(axis=1)
        going = np.zeros(sets, dtype=bool)
        table = np.empty((0, 0, columns))
        for index in range(len(touched[0]) - 1 - int(touched.any(axis=0)[::-1].argmax()), int(first.min()) - 1, -1):
            step, strengths = self.evidence.plan.steps[index], self.evidence.strengths[index]
            here = touched[:, index]
            going |= here
            if not going.any():
                continue
            if here.any():
                mark = branch[going] + 1.0
                for name in step.closing:
                    if name in left_out:
                        mark = 2 * mark + left_out[name][going]
                _, chosen, branches = np.unique(mark + 1j * weights[going, step.cause], return_index=True,
                                                return_inverse=True)
                stands_for = np.flatnonzero(going)[chosen]
                table = self._branched(index, table, branch[stands_for])
                branch[going] = branches
                strengths = self._without(index, {name: here[stands_for] for name, here in left_out.items()})
                rates = (weights[stands_for, step.cause][:, None] * self.odds[step.cause]).ravel()
            else:
                rates = np.tile(self.odds[step.cause], table.shape[1])
            table = summed_back(table.reshape(len(table), -1), strengths, rates)
            if self.back_powers[index]:
                table = np.ldexp(table, -self.back_powers[index])
            table = table.reshape(len(table), -1, columns)
            ending = going & (first == index)
            if ending.any():
                done = np.unique(branch[ending])
                sums = np.einsum("rk,rnk->nk", self.forward[index], table[:, done])
                unit = self._unit(sum(self.exponents[index]) + self.back_powers[index])
                result[ending] = sums[np.searchsorted(done, branch[ending])] * unit
                going &= ~ending
                kept, branches = np.unique(branch[going], return_inverse=True)
                if len(kept) < table.shape[1]:
                    table = table[:, kept]
                branch[going] = branches
        return result

    def _branched(self, index: int, table: np.ndarray, parents: np.ndarray) -> np.ndarray:
        """[rows, branches, columns] adjoints after a step for branches that come of these; -1: of the evidence."""
        after = self.backward[index]
        if len(parents) == table.shape[1] and np.array_equal(parents, np.arange(len(parents))):
            return table
        result = np.empty((len(after), len(parents), after.shape[1]))
        new = parents < 0
        result[:, new] = after[:, None]
        if not new.all():
            result[:, ~new] = table[:, parents[~new]]
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
class Slopes:
    """How sums move; [columns] each, or [causes, columns]."""

    off: np.ndarray
    """[causes, columns] sums with the cause absent."""
    on: np.ndarray
    """[causes, columns] sums with it present, per unit of its odds; 0 where it is not allowed."""
    links: dict[tuple[int, int], np.ndarray]
    """(cause, present finding) -> d sums / d q."""
    leaks: dict[int, np.ndarray]
    """Present finding -> d sums / d leak."""


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


def _wide(factors: np.ndarray) -> np.ndarray:
    return factors if factors.ndim > 1 else factors[:, None]
