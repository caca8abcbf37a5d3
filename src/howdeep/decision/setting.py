"""One decision with its numbers: what is believed, how the job can end, what that costs, what is recommended now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from ..model.knowledge import RUNGS, Rung
from ..model.results import Counted
from ..reasoning.beliefs import evidence_from
from ..reasoning.elimination import Evidence
from ..reasoning.messages import sums_of
from ..reasoning.network import Network, numbers_of
from ..reasoning.order import once_per_value
from ..reasoning.sampling import MOST_EXACT, Worlds, sample_worlds
from .ladder import Costs, Ladder, Terms, cheapest, costs_of, ladder_of

SUMMED_EXACTLY = 13
"""Width up to which checks and flip points are exact too; up to MOST_EXACT only posteriors and expected costs are."""
ENOUGH = 0.8
"""Without prices the shallowest rung at least this likely to be enough stands in for the cheapest."""


@dataclass(frozen=True, slots=True, eq=False)
class Setting:
    """Everything that the steps of the decision share."""

    network: Network
    counted: Counted
    evidence: Evidence
    ladder: Ladder
    prices: tuple[float, ...]
    """Per rung; NaN where missing."""
    terms: Terms
    costs: Costs
    states: np.ndarray
    """[states] chance of each state."""
    enough: np.ndarray
    """[rungs] chance that each is enough."""
    noticed: np.ndarray
    """[rungs] chance that each cures every present cause that shows a finding which is present, counted or not."""
    expected: np.ndarray
    """[rungs] expected cost; NaN where a price it needs is missing."""
    rung: int
    """Recommended."""
    provisional: bool
    estimated: bool
    worlds: Worlds | None = None
    """Draws, where the figures are estimated."""


def setting_of(network: Network, counted: Counted, need: Mapping[str, Rung], seen: Mapping[str, Rung],
               prices: Mapping[Rung, Decimal | None], terms: Terms) -> Setting:
    """Work out a decision. Exact up to a width of 20 open findings, estimated beyond.

    Raises HowdeepError where an estimate would be too rough.
    """
    ladder = ladder_of(network.causes, need, seen)
    evidence = evidence_from(network, counted)
    numbers = tuple(np.nan if prices.get(rung) is None else float(prices[rung]) for rung in RUNGS)
    worlds = None
    left = left_by(network, counted, ladder)
    if evidence.plan.width <= MOST_EXACT:
        sums, _, _ = sums_of(evidence, np.concatenate((ladder.allowed, 1.0 - left), axis=1))
        sums, noticed = sums[: ladder.columns], sums[ladder.columns:]
        states, enough = ladder.signs @ sums, ladder.enough @ sums
    else:
        worlds = sample_worlds(evidence)
        states, enough = state_shares(ladder, worlds)
        noticed = worlds.weights @ (worlds.present @ left == 0)
    if not counted.present:
        noticed = enough  # nothing was noticed that could be cured
    costs = costs_of(ladder, numbers, terms)
    return with_costs(Setting(network, counted, evidence, ladder, numbers, terms, costs, states,
                              enough, noticed, enough, 0, False, worlds is not None, worlds))


def left_by(network: Network, counted: Counted, ladder: Ladder) -> np.ndarray:
    """[causes, rungs] 1.0 where the rung does not cure a cause that shows a finding which is present."""
    shown = numbers_of(network, (*counted.present, *counted.shown_too))
    behind = (network.q[:, list(shown)] > 0).any(axis=1)
    return (behind[:, None] & (np.array(ladder.need)[:, None] > np.arange(len(RUNGS)))).astype(float)


def with_costs(setting: Setting, prices: tuple[float, ...] | None = None, terms: Terms | None = None) -> Setting:
    """The same beliefs at other prices or terms."""
    prices, terms = prices or setting.prices, terms or setting.terms
    costs = costs_of(setting.ladder, prices, terms)
    expected = expected_of(costs.whole, setting.states)
    provisional = bool(np.isnan(expected[:-1]).any())
    if provisional:
        likely = (index for index, chance in enumerate(setting.enough) if round(float(chance), 9) >= ENOUGH)
        rung = next(likely, len(RUNGS) - 1)
    else:
        rung = cheapest(expected)
    return replace(setting, prices=prices, terms=terms, costs=costs, expected=expected, rung=rung,
                   provisional=provisional)


def expected_of(costs: np.ndarray, states: np.ndarray) -> np.ndarray:
    """[rungs] expected cost; NaN where a state that can happen has no price."""
    return np.where(np.isnan(costs).any(axis=1), np.nan, np.nan_to_num(costs) @ states)


def coefficients_of(setting: Setting) -> np.ndarray:
    """[rungs, columns] expected costs as sums over the columns; NaN where prices are missing."""
    costs = setting.costs.whole
    return np.where(np.isnan(costs).any(axis=1)[:, None], np.nan, np.nan_to_num(costs) @ setting.ladder.signs)


@once_per_value(keep=2)
def contending(setting: Setting) -> tuple[np.ndarray, np.ndarray]:
    """[rungs, columns] expected costs of the rungs that could ever be the cheapest (NaN for the others), and
    [causes, columns] what the columns that these need allow; column 0 allows every cause."""
    coefficients = np.where(_contenders(setting)[:, None], coefficients_of(setting), np.nan)
    needed = (np.abs(np.nan_to_num(coefficients)) > 1e-9).any(axis=0)
    needed[0] = True
    return coefficients[:, needed], setting.ladder.allowed[:, needed]


def _contenders(setting: Setting) -> np.ndarray:
    """[rungs] whether a rung could be the cheapest under some beliefs: not if another is so in every state."""
    costs = setting.costs.whole
    keep = ~np.isnan(costs).any(axis=1)
    for rung in range(len(RUNGS)):
        beaten = any(keep[other] and ((costs[other] <= costs[rung]).all() if other < rung
                                      else (costs[other] < costs[rung] - 0.01).all())
                     for other in range(len(RUNGS)) if other != rung)
        keep[rung] &= rung == setting.rung or not beaten
    return keep


def lead_of(expected: np.ndarray, rung: int) -> float:
    """Expected cost of a rung less that of its best rival. `expected` [rungs], NaN where it is not known."""
    rivals = [cost for other, cost in enumerate(expected) if other != rung and cost == cost]
    return float(expected[rung] - min(rivals, default=expected[rung]))


def state_numbers(ladder: Ladder, present: np.ndarray) -> np.ndarray:
    """[worlds] number of the state of each world, from [worlds, causes] which causes are present."""
    blocked = np.zeros(len(present), dtype=np.int64)
    deepest = np.zeros(len(present), dtype=np.int64)
    for cause, (seen, need) in enumerate(zip(ladder.seen, ladder.need, strict=True)):
        here = present[:, cause]
        blocked |= np.where(here, sum(1 << level for level in range(seen, need)), 0)
        deepest = np.where(here & (deepest < need), need, deepest)
    number = {state: index for index, state in enumerate(ladder.states)}
    keys, inverse = np.unique(blocked * 8 + deepest, return_inverse=True)
    return np.array([number[int(key) // 8, int(key) % 8] for key in keys])[inverse]


def state_shares(ladder: Ladder, worlds: Worlds) -> tuple[np.ndarray, np.ndarray]:
    """Chance of each state and chance that each rung is enough, from weighted worlds."""
    numbers = state_numbers(ladder, worlds.present)
    states = np.bincount(numbers, weights=worlds.weights, minlength=len(ladder.states))
    deepest = np.array([deepest for _, deepest in ladder.states])
    return states, np.array([states[deepest <= rung].sum() for rung in range(len(RUNGS))])
