"""How the sums of every column move with each number of the evidence.

Every prior, link and leak enters each column linearly, so that the derivative from both messages gives the *exact*
result of a finite change of one of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from .elimination import Strengths, by_columns, shine, shine_back, unclosed, unlinked
from .messages import Messages
from .plan import Step


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


def slopes_of(messages: Messages) -> Slopes:
    """How the columns move with every number of the evidence."""
    evidence, q, leak = messages.evidence, messages.evidence.network.q, messages.evidence.network.leak
    off, on = np.zeros_like(messages.odds), np.zeros_like(messages.odds)
    links: dict[tuple[int, int], np.ndarray] = {}
    leaks: dict[int, np.ndarray] = {}
    for turn in _turns(messages):
        step, strengths, cause = turn.step, turn.strengths, turn.step.cause
        odds = messages.odds[cause] * messages.loose
        without, present = turn.off * by_columns(strengths.without), turn.on * by_columns(strengths.present)
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
                (np.where(explained, 1 / leak[finding], -1 / dark) * without).sum(axis=0) * messages.loose
                + (np.where(explained, spared / lit, -1 / dark) * present).sum(axis=0) * odds)
    for finding in evidence.plan.bare:
        leaks[finding] = messages.sums / leak[finding]
    off *= messages.loose
    on *= messages.loose * messages.allowed
    off[evidence.loose] = messages.sums / (1 + messages.odds[evidence.loose])
    on[evidence.loose] = off[evidence.loose] * messages.allowed[evidence.loose]
    return Slopes(off, on, links, leaks)


def _turns(messages: Messages) -> Iterator[_Turn]:
    evidence = messages.evidence
    for index, (step, strengths) in enumerate(zip(evidence.plan.steps, evidence.strengths, strict=True)):
        unit = messages.share(sum(messages.exponents[index]))
        off, lit = unlinked(messages.forward[index], strengths)
        after = messages.backward[index].reshape(len(strengths.present), -1, len(messages.sums))
        on = shine(lit.copy(), strengths.links) if strengths.links else lit
        back = (by_columns(strengths.present)[:, None] * after).sum(axis=0)
        yield _Turn(step, strengths, messages.forward[index], lit, shine_back(back, strengths.links),
                    np.einsum("rk,jrk->jk", off, after) * unit, np.einsum("rk,jrk->jk", on, after) * unit, unit)
