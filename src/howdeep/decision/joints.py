"""Sums of columns under changed evidence, many changes from one pair of messages.

'Finding f absent' only multiplies the weights of causes by (1 - q_cf); 'present' is the whole less absent. So a change
with p newly present findings is a signed sum of 2^p sets of absent ones, for which only the causes touched are summed
again. Findings that no longer count as absent divide their factors out; where a present one no longer counts, the
messages are made without it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from ..reasoning.elimination import Evidence, evidence_of
from ..reasoning.messages import messages_of, sums_of
from ..reasoning.sampling import Worlds
from .whatif import Change

MOST_SIGNED = 3
"""With more newly present findings a fresh pass is made instead of a signed sum."""
BYTES = 200_000_000
"""Most memory for the messages of one group of columns."""


def joint_sums(evidence: Evidence, allowed: np.ndarray, changes: Iterable[Change]) -> dict[Change, np.ndarray]:
    """Change -> [columns] sums under the changed evidence, relative to column 0's under the evidence without its
    `no_longer_present` findings (that is, to the evidence itself where the change only adds). Column 0 allows all.
    Where history would move odds, only the columns of one change compare with each other.
    """
    groups: dict[tuple[int, ...], list[Change]] = {}
    for change in sorted(set(changes), key=_order):
        groups.setdefault(change.no_longer_present, []).append(change)
    result: dict[Change, np.ndarray] = {}
    for gone, group in groups.items():
        base = evidence
        if gone:
            base = evidence_of(evidence.network, tuple(set(evidence.present) - set(gone)), evidence.absent)
        signed = [change for change in group if len(change.present) <= MOST_SIGNED]
        result.update(_signed_sums(base, allowed, signed))
        for change in group:
            if len(change.present) > MOST_SIGNED:
                result[change] = _fresh_sums(base, allowed, change)
    return result


def _order(change: Change) -> tuple:
    return change.no_longer_present, change.present, change.absent, change.no_longer_absent, change.odds


def _signed_sums(base: Evidence, allowed: np.ndarray, changes: list[Change]) -> Iterator[tuple[Change, np.ndarray]]:
    sets: dict[tuple[tuple[int, ...], tuple[int, ...], tuple[tuple[int, float], ...]], int] = {}
    terms = [[(sets.setdefault((tuple(sorted((*change.absent, *more))), change.no_longer_absent, change.odds),
                               len(sets)), sign)
              for more, sign in _subsets(change.present)] for change in changes]
    weights, scale = np.ones((len(sets), len(base.network.causes))), np.ones(len(sets))
    dark, unlit = 1 - base.network.q, 1 - base.network.leak
    for (added, gone, odds), row in sets.items():
        if added:
            weights[row] = np.prod(dark[:, added], axis=1)
            scale[row] = np.prod(unlit[list(added)])
        if gone:
            weights[row] /= np.prod(dark[:, gone], axis=1)
            scale[row] /= np.prod(unlit[list(gone)])
        for cause, factor in odds:
            weights[row, cause] *= factor
    sums, total = np.empty((len(sets), allowed.shape[1])), None
    size = max(1, BYTES // (16 * max(1, len(base.plan.steps)) << base.plan.width))
    for start in range(0, allowed.shape[1], size):
        messages = messages_of(base, allowed[:, start: start + size], total)
        total = messages.total
        sums[:, start: start + size] = messages.with_weights(weights)
    sums *= scale[:, None]
    for change, signed in zip(changes, terms, strict=True):
        yield change, sum(sign * sums[row] for row, sign in signed)


def _subsets(present: tuple[int, ...]) -> Iterator[tuple[tuple[int, ...], float]]:
    for bits in range(1 << len(present)):
        yield tuple(name for i, name in enumerate(present) if bits >> i & 1), -1.0 if bits.bit_count() % 2 else 1.0


def _fresh_sums(base: Evidence, allowed: np.ndarray, change: Change) -> np.ndarray:
    changed = evidence_of(base.network, (*base.present, *change.present),
                          (*sorted(set(base.absent) - set(change.no_longer_absent)), *change.absent), like=base)
    if change.odds:
        odds = changed.odds.copy()
        for cause, factor in change.odds:
            odds[cause] *= factor
        changed = replace(changed, odds=odds)
    sums, log_changed, _ = sums_of(changed, allowed)
    _, log_base, _ = sums_of(base, allowed[:, :1])
    return sums * 10.0 ** (log_changed - log_base)


def sampled_weights(evidence: Evidence, worlds: Worlds, changes: Iterable[Change]) -> dict[Change, np.ndarray]:
    """Change -> [draws] weights of worlds under the changed evidence; they sum to its chance where it only adds."""
    network = evidence.network
    dark = (1 - network.leak) * np.exp(worlds.present @ np.log1p(-network.q))
    result = {}
    for change in sorted(set(changes), key=_order):
        weights = (worlds.weights * np.prod(1 - dark[:, change.present], axis=1)
                   * np.prod(dark[:, change.absent], axis=1))
        weights = weights / np.prod(1 - dark[:, change.no_longer_present], axis=1)
        weights = weights / np.prod(dark[:, change.no_longer_absent], axis=1)
        for cause, factor in change.odds:
            weights = weights * np.where(worlds.present[:, cause], factor, 1.0)
        result[change] = weights
    return result
