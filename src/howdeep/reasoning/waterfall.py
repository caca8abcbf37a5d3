"""The way from a cause's base odds to its posterior odds, step by step in decibans.

The order is fixed and the same for every cause: the base word; the history rules that hold, by id; the absent findings
that count, by id; the present ones, those that fewest causes show first (a test before a vague complaint), ties by id.
Steps are differences of one running figure, so they sum to the posterior. An absent finding always says what it says
alone; a present one may say less, because other causes take the blame, or say something of a cause that does not even
show it, because it moves the others.
"""

from __future__ import annotations

import math

import numpy as np

from ..model.results import WaterfallStep
from .elimination import Evidence
from .network import LEAST, Network
from .posteriors import decibans, posterior_odds

NOTHING = 1e-9
"""Steps below this many decibans are left to the next one."""
FALLS_SHORT = 0.5
"""Decibans by which a step must fall short of what it would say alone for the blame to be named."""
BLAMED = 2
"""Most causes named as taking the blame."""
LEAST_BLAME = 0.05
WIDEST = 14
"""Width up to which present findings are told one by one; beyond, together."""
TOGETHER = "present findings together"
_JEFFREYS = ((0.05, "nothing"), (5.0, "barely"), (10.0, "substantial"), (15.0, "strong"), (20.0, "very strong"))


def strength(step: float) -> str:
    """Strength in words, by half-units of log10 of the odds (Jeffreys, Theory of Probability, app. B)."""
    return next((word for limit, word in _JEFFREYS if abs(step) < limit), "decisive")


def waterfalls(evidence: Evidence) -> tuple[tuple[WaterfallStep, ...], ...]:
    """Per cause of the network the steps from base odds to posterior odds."""
    network = evidence.network
    present = telling_order(network, evidence.present)
    told = [(present[: count + 1], network.findings[name]) for count, name in enumerate(present)]
    if evidence.plan.width > WIDEST:
        told = [(present, TOGETHER)]
    running = np.repeat(evidence.odds[:, None], len(told) + 1, axis=1)
    if told:
        left_out = {name: np.array([1.0] + [float(name not in counted) for counted, _ in told]) for name in present}
        running, _ = posterior_odds(evidence, running, left_out)
    alone = np.array([says_alone(network, name) for name in present]).reshape(len(present), len(network.causes))
    if len(told) != len(present):
        alone = np.full((len(told), len(network.causes)), math.nan)
    posterior = running / (1 + running)
    running = decibans(running)
    result = []
    for cause in range(len(network.causes)):
        steps = _before_presents(evidence, cause)
        at = sum(step.decibans for step in steps)
        for number, (counted, label) in enumerate(told):
            step = float(running[cause, number + 1]) - at
            says = None if math.isnan(alone[number, cause]) else float(alone[number, cause])
            if abs(step) < NOTHING and abs(says or 0.0) < NOTHING:
                continue
            blame: tuple[str, ...] = ()
            if says is not None and says - step > FALLS_SHORT:
                blame = _blamed(network, cause, counted[-1], posterior[:, number], posterior[:, number + 1])
            steps.append(WaterfallStep(label, "present", step, says, strength(step), blame))
            at += step
        result.append(tuple(steps))
    return tuple(result)


def telling_order(network: Network, present: tuple[int, ...]) -> tuple[int, ...]:
    """Present findings in the order in which they are told."""
    causes = (network.q > 0).sum(axis=0)
    return tuple(sorted(present, key=lambda name: (int(causes[name]), name)))


def _before_presents(evidence: Evidence, cause: int) -> list[WaterfallStep]:
    """Base word, history and absent findings: what needs no elimination."""
    network = evidence.network
    least = float(decibans(LEAST / (1 - LEAST)))
    at = float(decibans(network.base[cause] / (1 - network.base[cause])))
    steps = [WaterfallStep("base", "base", at, None, "")]
    for rule, shifts in network.history:
        shift = dict(shifts).get(cause, 0.0)
        shift = min(max(at + shift, least), -least) - at  # odds stop where the network stops them
        if shift:
            steps.append(WaterfallStep(rule, "history", shift, None, strength(shift)))
            at += shift
    for finding in evidence.absent:
        if network.q[cause, finding] > 0:
            says = float(decibans(1 - network.q[cause, finding]))
            steps.append(WaterfallStep(network.findings[finding], "absent", says, says, strength(says)))
    return steps


def says_alone(network: Network, finding: int) -> np.ndarray:
    """[causes] decibans that a present finding would say with no other evidence."""
    spared = 1 - network.prior * network.q[:, finding]
    unseen = (1 - network.leak[finding]) * np.prod(spared) / spared  # with each cause absent
    return decibans((1 - unseen * (1 - network.q[:, finding])) / (1 - unseen))


def _blamed(network: Network, cause: int, finding: int, before: np.ndarray, after: np.ndarray) -> tuple[str, ...]:
    """Causes that account for the finding, or that it raised, the chief ones first."""
    blame = np.maximum(after * network.q[:, finding], after - before)
    blame[cause] = 0.0
    chief = sorted(np.flatnonzero(blame >= LEAST_BLAME).tolist(), key=lambda other: (-round(blame[other], 9), other))
    return tuple(network.causes[other] for other in chief[:BLAMED])
