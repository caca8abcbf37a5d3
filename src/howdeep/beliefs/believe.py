"""What is believed of each cause, given the signs that count."""

from __future__ import annotations

import numpy as np

from ..model.frozen import dataclass
from ..model.results import Belief, Unexplained
from .evidence import Evidence
from .gibbs import MOST_EXACT, sampled
from .posteriors import Posteriors, believed, unexplained
from .waterfall import waterfalls

CERTAIN = 0.995
"""From this chance on a hand is told as certain: it is shown as more than 99 in a hundred."""


@dataclass(frozen=True, slots=True)
class Beliefs:
    """Odds of every cause that this engine can have."""

    causes: tuple[Belief, ...]
    """Those likeliest to have a hand in what was noticed first; of those as likely to a hundredth, those with a hand in
    what was told or tested before those that only the open engine shows, then by probability and id; of those found for
    certain the rarer, which is as a rule what brought the other about."""
    unexplained: tuple[Unexplained, ...]
    """Every telling sign with the chance that nothing on the list explains it, in order of node; empty where that was
    not asked for."""
    evidence: float
    """log10 of the probability of the evidence."""
    estimated: bool = False
    """True where the evidence is too tangled to be summed exactly and was sampled."""

    def odds(self) -> dict[str, float]:
        """Cause -> probability, in order of id."""
        return {belief.cause: belief.posterior for belief in sorted(self.causes, key=lambda belief: belief.cause)}

    def hands(self) -> dict[str, float]:
        """Cause -> chance that it has a hand in anything noticed, in order of id."""
        return {belief.cause: belief.hand for belief in sorted(self.causes, key=lambda belief: belief.cause)}


def believe(evidence: Evidence, *, steps: bool = True, said_from: float | None = None) -> Beliefs:
    """Odds and hands of every cause; with `steps` how the odds came about, with `said_from` too what nothing on the
    list explains, from that chance on.

    Exact up to a width of MOST_EXACT open signs; beyond that estimated by sampling, and told without steps.
    """
    network = evidence.network
    estimated = evidence.width > MOST_EXACT
    found: Posteriors = sampled(evidence) if estimated else believed(evidence)
    told = waterfalls(evidence, found) if steps and not estimated else ((),) * len(network.causes)
    nothing = unexplained(evidence, said_from) if steps and said_from is not None and not estimated else []
    nothing = [
        (_less(chance, found.nobody) if axis.must_go else chance, _less(misread, found.nobody), unlisted)
        for axis, (chance, misread, unlisted) in zip(evidence.axes, nothing, strict=False)
    ]
    beliefs = [
        Belief(
            cause,
            float(network.prior[number]),
            float(found.present[number, 0]),
            told[number],
            float(found.hand[number, 0]),
            float(found.hand_noticed[number, 0]),
            float(found.marked[number, 0]),
        )
        for number, cause in enumerate(network.causes)
    ]
    ranked = sorted(
        beliefs,
        key=lambda belief: (
            -round(belief.hand, 2),
            -round(belief.hand_outside, 9),
            -round(belief.posterior, 9) if belief.hand < CERTAIN else 0.0,
            belief.prior if belief.hand >= CERTAIN else 0.0,
            belief.cause,
        ),
    )
    return Beliefs(
        tuple(ranked),
        tuple(
            Unexplained(network.nodes[axis.sign.node].findings[axis.sign.answer - 1], *chances)
            for axis, chances in zip(evidence.axes, nothing, strict=False)
        ),
        (found.sums.log() + evidence.log_scale) / float(np.log(10)),
        estimated,
    )


def _less(chance: float, nobody: float) -> float:
    """A chance that holds all the worlds with nobody behind it, once these are ruled out."""
    return max(chance - nobody, 0.0) / (1 - nobody)
