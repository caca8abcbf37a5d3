"""Sums of every column under other weights of the causes, many sets of weights from one pair of messages.

A change of several causes at once (what a finding not yet known would do, or another answer) needs only the steps
between the first and the last cause it touches, ended by a product with the message of the rest.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from .elimination import Strengths, leaving_out, summed_back
from .messages import Messages

SET_CELLS = 600_000
"""Cells of one table: more sets are worked off in groups."""
SHARED_FROM = 8
"""Width from which finding out what sets have in common costs less than it saves."""


def sums_with_weights(messages: Messages, weights: np.ndarray,
                      left_out: Mapping[int, np.ndarray] | None = None) -> np.ndarray:
    """[sets, columns] sums with the odds of the causes multiplied by each row of `weights` [sets, causes].

    `left_out` is present finding -> [sets] 1.0 where the set does not count it, else 0.0.
    """
    left_out = left_out or {}
    steps = messages.evidence.plan.steps
    result = _loosely(messages, weights)
    for finding in messages.evidence.plan.bare:
        if finding in left_out:
            result *= np.where(left_out[finding], 1 / messages.evidence.network.leak[finding], 1.0)[:, None]
    if not steps:
        return result
    touched = weights[:, [step.cause for step in steps]] != 1.0
    for number, step in enumerate(steps):
        for finding in step.closing:
            if finding in left_out:
                touched[:, number] |= left_out[finding] != 0.0
    any_touched = touched.any(axis=1)
    result[~any_touched] *= messages.sums / messages.loose
    busy = np.flatnonzero(any_touched)
    size = max(1, SET_CELLS // (len(messages.sums) << messages.evidence.plan.width))
    if len(busy) > size:  # those that touch the same late steps into the same group
        last = len(steps) - 1 - touched[busy, ::-1].argmax(axis=1)
        busy = busy[np.lexsort((busy, *weights[busy][:, [step.cause for step in steps]].T, last))]
    for start in range(0, len(busy), size):
        group = busy[start: start + size]
        outs = {name: here[group] for name, here in left_out.items()}
        sweep = _swept if messages.evidence.plan.width < SHARED_FROM else _swept_sharing
        result[group] *= sweep(messages, touched[group], weights[group], outs)
    return result


def _loosely(messages: Messages, weights: np.ndarray) -> np.ndarray:
    """[sets, columns] factor of the loose causes under other weights, relative to column 0."""
    loose = messages.evidence.loose
    moved = loose[(weights[:, loose] != 1.0).any(axis=0)]
    result = np.empty((len(weights), len(messages.sums)))
    base = 1 + messages.odds[moved]
    size = max(1, SET_CELLS // max(1, base.size))
    for start in range(0, len(weights), size):
        part = slice(start, start + size)
        ratio = (1 + weights[part][:, moved, None] * messages.odds[moved]) / base
        result[part] = ratio.prod(axis=1) * messages.loose
    return result


def _swept(messages: Messages, touched: np.ndarray, weights: np.ndarray,
           left_out: Mapping[int, np.ndarray]) -> np.ndarray:
    """[sets, columns] sums over the linked causes, relative to column 0's, of sets with other weights.

    From the last step that any set touches back to the first, ended by a product with the forward message.
    """
    columns, steps = len(messages.sums), messages.evidence.plan.steps
    span = np.flatnonzero(touched.any(axis=0))
    first, last = int(span[0]), int(span[-1])
    causes = [step.cause for step in steps]
    rates = (weights[:, causes].T[:, :, None] * messages.odds[causes][:, None, :]).reshape(len(steps), -1)
    table = np.tile(messages.backward[last], len(weights))
    for index in range(last, first - 1, -1):
        table = summed_back(table, _without(messages, index, left_out), rates[index])
        if messages.back_powers[index]:
            table = np.ldexp(table, -messages.back_powers[index])
    unit = messages.share(sum(messages.exponents[first]) + messages.back_powers[first])
    return np.einsum("rk,rnk->nk", messages.forward[first], table.reshape(len(table), -1, columns)) * unit


def _without(messages: Messages, index: int, left_out: Mapping[int, np.ndarray]) -> Strengths:
    """The numbers of a step where sets (each with all columns) leave out findings: finding -> [sets]."""
    step, strengths = messages.evidence.plan.steps[index], messages.evidence.strengths[index]
    told = {name: np.repeat(left_out[name], len(messages.sums)) for name in step.closing
            if name in left_out and left_out[name].any()}
    return leaving_out(step, strengths, messages.evidence.network, told) if told else strengths


def _swept_sharing(messages: Messages, touched: np.ndarray, weights: np.ndarray,
                   left_out: Mapping[int, np.ndarray]) -> np.ndarray:
    """The same where tables are wide: each set goes from the last step it touches back to the first, and sets that
    are alike so far share one part of the table: `branch` [sets] is which, -1 where nothing was touched yet.
    """
    sets, columns = len(weights), len(messages.sums)
    result, branch = np.empty((sets, columns)), np.full(sets, -1)
    first, span = touched.argmax(axis=1), np.flatnonzero(touched.any(axis=0))
    going = np.zeros(sets, dtype=bool)
    table = np.empty((0, 0, columns))
    for index in range(int(span[-1]), int(span[0]) - 1, -1):
        step, strengths = messages.evidence.plan.steps[index], messages.evidence.strengths[index]
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
            table = _branched(messages, index, table, branch[stands_for])
            branch[going] = branches
            strengths = _without(messages, index, {name: out[stands_for] for name, out in left_out.items()})
            rates = (weights[stands_for, step.cause][:, None] * messages.odds[step.cause]).ravel()
        else:
            rates = np.tile(messages.odds[step.cause], table.shape[1])
        table = summed_back(table.reshape(len(table), -1), strengths, rates)
        if messages.back_powers[index]:
            table = np.ldexp(table, -messages.back_powers[index])
        table = table.reshape(len(table), -1, columns)
        ending = going & (first == index)
        if ending.any():
            done = np.unique(branch[ending])
            sums = np.einsum("rk,rnk->nk", messages.forward[index], table[:, done])
            unit = messages.share(sum(messages.exponents[index]) + messages.back_powers[index])
            result[ending] = sums[np.searchsorted(done, branch[ending])] * unit
            going &= ~ending
            kept, branches = np.unique(branch[going], return_inverse=True)
            if len(kept) < table.shape[1]:
                table = table[:, kept]
            branch[going] = branches
    return result


def _branched(messages: Messages, index: int, table: np.ndarray, parents: np.ndarray) -> np.ndarray:
    """[rows, branches, columns] adjoints after a step for branches that come of these; -1: of the evidence."""
    after = messages.backward[index]
    if len(parents) == table.shape[1] and np.array_equal(parents, np.arange(len(parents))):
        return table
    result = np.empty((len(after), len(parents), after.shape[1]))
    new = parents < 0
    result[:, new] = after[:, None]
    if not new.all():
        result[:, ~new] = table[:, parents[~new]]
    return result
