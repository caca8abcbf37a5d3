"""What is believed of each cause, given the findings that count."""

from __future__ import annotations

from dataclasses import dataclass

from ..model.results import Belief, Counted
from .elimination import Evidence, evidence_of
from .network import Network, numbers_of
from .posteriors import posteriors
from .sampling import MOST_EXACT, sample_worlds
from .waterfall import waterfalls


@dataclass(frozen=True, slots=True)
class Beliefs:
    """Odds of every cause that this engine can have."""

    causes: tuple[Belief, ...]
    """Likeliest first; ties by id."""
    evidence: float
    """log10 of the probability of the evidence."""
    estimated: bool = False
    """True where the evidence is too tangled to be summed exactly and was sampled."""

    def odds(self) -> dict[str, float]:
        """Cause -> probability, in order of id."""
        return {belief.cause: belief.posterior for belief in sorted(self.causes, key=lambda belief: belief.cause)}


def believe(network: Network, counted: Counted, *, steps: bool = True) -> Beliefs:
    """Odds of every cause; with `steps`, how they came about.

    Exact up to a width of 20 open findings. Beyond that estimated by sampling (and told without steps); raises
    HowdeepError where even that is too rough.
    """
    evidence = evidence_from(network, counted)
    estimated = evidence.plan.width > MOST_EXACT
    if estimated:
        worlds = sample_worlds(evidence)
        posterior, log_evidence = worlds.posteriors(), worlds.log10_evidence
    else:
        posterior, log_evidence = posteriors(evidence)
    told = waterfalls(evidence) if steps and not estimated else ((),) * len(network.causes)
    beliefs = [Belief(cause, float(network.prior[number]), float(posterior[number]), told[number])
               for number, cause in enumerate(network.causes)]
    return Beliefs(tuple(sorted(beliefs, key=lambda belief: (-round(belief.posterior, 12), belief.cause))),
                   log_evidence, estimated)


def evidence_from(network: Network, counted: Counted) -> Evidence:
    """The findings that count, as evidence."""
    return evidence_of(network, numbers_of(network, counted.present), numbers_of(network, counted.absent))
