"""What may be found together: worlds drawn from what is believed now. The one place where quotes reach the beliefs."""

from __future__ import annotations

import numpy as np

from ..arrays import Bools, Floats
from ..beliefs.evidence import evidence_of
from ..beliefs.signs import signs_of
from ..beliefs.worlds import SEED, worlds_given
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.results import Assessment
from ..work.job_network import brought_in, network_for

DRAWS = 1_000
"""Worlds drawn: the standard error of a share of one in twenty is then 0.7 percent, of a half 1.6: less than the odds
themselves are known to."""


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """Distinct sets of causes that may be found present, with their shares."""

    present: Bools
    """[sets, causes] whether each of the causes asked for is present."""
    shares: Floats
    """[sets] shares that sum to 1."""


def worlds_of(
    knowledge: Knowledge, answer: Assessment, causes: tuple[str, ...], met: tuple[float, ...] | None = None
) -> Drawn:
    """How often these causes turn up together; the same answer gives the same worlds.

    `met` is, for each cause, how often it turns up where it is there (always where not given): a fault that has no hand
    in what was noticed, and that no work opens to view, is not met. That share is drawn for each by itself.

    Drawn from the joint distribution given the evidence, so that causes which explain each other away, or come
    together, do so here.
    """
    if not causes:
        return Drawn(np.zeros((1, 0), dtype=bool), np.ones(1))
    facts, findings = answer.facts.values, answer.conclusions.findings
    network = network_for(knowledge, answer.job, answer.facts, findings)
    signs = signs_of(network, knowledge, facts, findings).signs
    worlds = worlds_given(evidence_of(network, signs, brought_in=brought_in(knowledge, answer.facts)), DRAWS)
    present = worlds.present[:, [network.causes.index(name) for name in causes]]
    if met is not None:
        present = present & (np.random.default_rng(SEED).random(present.shape) < np.array(met))
    return _distinct(present, np.full(DRAWS, 1 / DRAWS))


def _distinct(present: Bools, weights: Floats) -> Drawn:
    sets, which = np.unique(present, axis=0, return_inverse=True)
    shares = np.bincount(which.reshape(-1), weights=weights, minlength=len(sets))
    return Drawn(sets, shares.astype(np.float64, copy=False))
