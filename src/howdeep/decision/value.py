"""The arithmetic of the value of information, on plain arrays."""

from __future__ import annotations

import numpy as np


def perfect_information(costs: np.ndarray, states: np.ndarray, chosen: int) -> float:
    """What knowing the state would save: E[cost of the choice now] - E[least cost of each state].

    `costs` [choices, states], `states` their chances; a choice with NaN is left out.
    """
    usable = ~np.isnan(costs).any(axis=1)
    return float(max(0.0, (costs[chosen] - costs[usable].min(axis=0)) @ states))


def sample_information(joint: np.ndarray, chosen: int) -> float:
    """What seeing an outcome would save: the sum over outcomes of what changing the choice would save.

    `joint` [outcomes, choices]: chance of the outcome x expected cost of the choice given it. Outcomes exclude each
    other; what they leave uncovered is no news and saves nothing. Never negative.
    """
    if not len(joint):
        return 0.0
    return float(np.maximum(0.0, joint[:, chosen] - np.nanmin(joint, axis=1)).sum())
