"""Estimates where the signs are too tangled for exact sums: Gibbs sampling over the worlds of causes.

Many chains side by side, each cause drawn anew given all the others (Geman & Geman 1984; the conditional odds of one
cause need only the signs it brings). Seeded: the same evidence gives the same estimate. It is labelled an estimate
wherever it is shown.
"""

from __future__ import annotations

import numpy as np

from ..arrays import Ints
from ..logic.stratify import once_per_value
from ..model.frozen import dataclass
from .elimination import Sums
from .evidence import Evidence
from .posteriors import Posteriors

MOST_EXACT = 15
"""Width up to which sums are exact, as those of every worked case are: one more takes twice as long, 18 up to 40 s."""
SEED = 20
CHAINS = 600
BURN, KEPT = 30, 25
"""Sweeps thrown away, and sweeps kept (every one)."""


@dataclass(frozen=True, slots=True, eq=False)
class Worlds:
    """Worlds drawn from what is believed, all of the same weight."""

    degrees: Ints
    """[draws, causes] 0 absent, 1 slight, 2 marked."""


@once_per_value(keep=2)
def draw_worlds(evidence: Evidence) -> Worlds:
    """Worlds given the evidence."""
    rng = np.random.default_rng(SEED)
    causes = len(evidence.network.causes)
    ladders = [np.concatenate((np.ones((1, *axis.at_most.shape[1:])), axis.at_most)) for axis in evidence.axes]
    below = [np.log(np.cumsum(axis.start)) for axis in evidence.axes]
    shown: list[list[int]] = [[] for _ in range(causes)]
    for number, ladder in enumerate(ladders):
        for cause in np.flatnonzero((ladder < 1.0).any(axis=(0, 2))):
            shown[cause].append(number)
    linked = [cause for cause in range(causes) if shown[cause]]
    loose = [cause for cause in range(causes) if not shown[cause]]  # these hang on nothing
    state = np.zeros((CHAINS, causes), dtype=np.int8)
    logs = [np.repeat(given[None], CHAINS, axis=0) for given in below]  # [chains, states] log P(at most the cut)
    odds = np.concatenate((np.ones((1, causes)), evidence.odds))
    kept = []
    for sweep in range(BURN + KEPT):
        for cause in rng.permutation(linked):
            weights = np.repeat(odds[None, :, cause], CHAINS, axis=0)
            for axis in shown[cause]:
                step = np.log(ladders[axis][:, cause])  # [branches, states]
                rest = logs[axis] - step[state[:, cause]]
                at_most = np.exp(rest[:, None] + step[None])
                weights = weights * (np.diff(at_most, prepend=0.0, axis=-1) * evidence.axes[axis].close).sum(axis=-1)
            total = np.cumsum(weights, axis=1)
            drawn = (rng.random(CHAINS)[:, None] * total[:, -1:] > total).sum(axis=1).clip(0, 2).astype(np.int8)
            for axis in shown[cause]:
                step = np.log(ladders[axis][:, cause])
                logs[axis] = logs[axis] + step[drawn] - step[state[:, cause]]
            state[:, cause] = drawn
        if sweep >= BURN:
            total = np.cumsum(odds[:, loose], axis=0)
            state[:, loose] = (rng.random((CHAINS, len(loose)))[None] * total[-1] > total[:, None]).sum(axis=0)
            kept.append(state.copy())
    return Worlds(np.concatenate(kept))


def sampled(evidence: Evidence) -> Posteriors:
    """Estimated odds and hands of every cause."""
    degrees = draw_worlds(evidence).degrees
    causes = degrees.shape[1]
    hand, noticed = np.zeros(causes), np.zeros(causes)
    at_most = []
    for axis in evidence.axes:
        logs = np.log(np.cumsum(axis.start))[None].repeat(len(degrees), axis=0)
        for cause in range(causes):
            if (axis.at_most[:, cause] < 1.0).any():
                logs = (
                    logs
                    + np.log(np.concatenate((np.ones((1, len(axis.start))), axis.at_most[:, cause])))[degrees[:, cause]]
                )
        at_most.append(np.exp(logs))
    for cause in range(causes):
        keeps = np.ones((2, len(degrees)))
        here = degrees[:, cause] > 0
        for axis, whole in zip(evidence.axes, at_most, strict=True):
            own = axis.at_most[:, cause]
            if not (own < 1.0).any():
                continue
            ladder = np.concatenate((np.ones((1, own.shape[1])), own))[degrees[:, cause]]
            short = np.concatenate(([1.0], axis.short[:, cause]))[degrees[:, cause]]
            given = (np.diff(whole, prepend=0.0, axis=1) * axis.close).sum(axis=1)
            capped = (np.diff(whole / ladder * short[:, None], prepend=0.0, axis=1) * axis.close).sum(axis=1)
            ratio = np.where(here, capped / given, 1.0)
            keeps[0] *= ratio
            if not axis.bench:
                keeps[1] *= ratio
        hand[cause], noticed[cause] = (1 - keeps[0]).mean(), (1 - keeps[1]).mean()
    present = (degrees > 0).mean(axis=0)
    return Posteriors(
        np.clip(present, 1e-6, 1 - 1e-6)[:, None],
        (degrees == 2).mean(axis=0)[:, None],
        hand[:, None],
        noticed[:, None],
        Sums(np.ones(1), 0),
    )
