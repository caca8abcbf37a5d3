"""Sums of columns under changed evidence, many changes from one pair of messages.

'Finding f absent' only multiplies the weights of causes by (1 - q_cf); 'present' is the whole less absent. So a change
with p newly present findings is a signed sum of 2^p sets of absent ones, for which only the causes touched are summed
again. Findings that no longer count as absent divide their factors out; where a present one no longer counts, both
halves of its axis are kept where it would be closed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from ..reasoning.elimination import Evidence, evidence_of
from ..reasoning.messages import messages_of, sums_of
from ..reasoning.reweighted import sums_with_weights
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
    ordered = sorted(set(changes), key=_order)
    result = dict(_signed_sums(evidence, allowed, [change for change in ordered if len(change.present) <= MOST_SIGNED]))
    for change in ordered:
        if len(change.present) > MOST_SIGNED:
            result[change] = _fresh_sums(evidence, allowed, change)
    return result


def _order(change: Change) -> tuple:
    return change.no_longer_present, change.present, change.absent, change.no_longer_absent, change.odds


_Set = tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...], tuple[tuple[int, float], ...]]
"""(present findings left out, absent ones added, absent ones taken away, history's factors on odds)."""


def _signed_sums(base: Evidence, allowed: np.ndarray, changes: list[Change]) -> Iterator[tuple[Change, np.ndarray]]:
    sets: dict[_Set, int] = {}
    terms = []
    for change in changes:
        gone = change.no_longer_present
        whole = sets.setdefault((gone, (), (), ()), len(sets)) if gone else None
        signed = [(sets.setdefault((gone, tuple(sorted((*change.absent, *more))), change.no_longer_absent, change.odds),
                                   len(sets)), sign) for more, sign in _subsets(change.present)]
        terms.append((whole, signed))
    weights, scale, left_out = _as_weights(base, sets)
    sums, total = np.empty((len(sets), allowed.shape[1])), None
    size = max(1, BYTES // (16 * max(1, len(base.plan.steps)) << base.plan.width))
    for start in range(0, allowed.shape[1], size):
        messages = messages_of(base, allowed[:, start: start + size], total)
        total = messages.total
        sums[:, start: start + size] = sums_with_weights(messages, weights, left_out)
    sums *= scale[:, None]
    for change, (whole, signed) in zip(changes, terms, strict=True):
        joint = sum(sign * sums[row] for row, sign in signed)
        yield change, joint if whole is None else joint / sums[whole, 0]


def _as_weights(base: Evidence, sets: Iterable[_Set]) -> tuple[np.ndarray, np.ndarray, dict[int, np.ndarray]]:
    """[sets, causes] what each set multiplies odds with, [sets] what it multiplies all with, and per present finding
    [sets] 1.0 where it is left out."""
    sets = list(sets)
    names = sorted({name for _, added, gone, _ in sets for name in (*added, *gone)})
    place = {name: 1 + number for number, name in enumerate(names)}
    dark, unlit = 1 - base.network.q[:, names].T, 1 - base.network.leak[names]
    one = np.ones((1, len(base.network.causes)))
    factors, scales = np.concatenate((one, dark, 1 / dark)), np.concatenate((one[0, :1], unlit, 1 / unlit))
    chosen: list[int] = []
    starts: list[int] = []
    left_out: dict[int, np.ndarray] = {}
    for row, (out, added, gone, _) in enumerate(sets):
        starts.append(len(chosen))
        chosen += [0, *(place[name] for name in added), *(place[name] + len(names) for name in gone)]
        for name in out:
            left_out.setdefault(name, np.zeros(len(sets)))[row] = 1.0
    weights = np.multiply.reduceat(factors[chosen], starts, axis=0) if sets else one[:0]
    scale = np.multiply.reduceat(scales[chosen], starts) if sets else one[0, :0]
    for row, (_, _, _, odds) in enumerate(sets):
        for cause, factor in odds:
            weights[row, cause] *= factor
    return weights, scale, left_out


def _subsets(present: tuple[int, ...]) -> Iterator[tuple[tuple[int, ...], float]]:
    for bits in range(1 << len(present)):
        yield tuple(name for i, name in enumerate(present) if bits >> i & 1), -1.0 if bits.bit_count() % 2 else 1.0


def _fresh_sums(base: Evidence, allowed: np.ndarray, change: Change) -> np.ndarray:
    if change.no_longer_present:
        still_present = tuple(set(base.present) - set(change.no_longer_present))
        base = evidence_of(base.network, still_present, base.absent, like=base)
    sums, log_changed, _ = sums_of(evidence_under(base, change), allowed)
    _, log_base, _ = sums_of(base, allowed[:, :1])
    return sums * 10.0 ** (log_changed - log_base)


def evidence_under(evidence: Evidence, change: Change) -> Evidence:
    """The evidence as it would be under a change."""
    present = {*evidence.present, *change.present} - set(change.no_longer_present)
    absent = {*evidence.absent, *change.absent} - set(change.no_longer_absent)
    changed = evidence_of(evidence.network, tuple(present), tuple(absent), like=evidence)
    if not change.odds:
        return changed
    odds = changed.odds.copy()
    for cause, factor in change.odds:
        odds[cause] *= factor
    return replace(changed, odds=odds)


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
