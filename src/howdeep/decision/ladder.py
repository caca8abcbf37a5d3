"""How a job that starts at a rung can end, and which sums of worlds tell what that costs.

Rungs are numbered 0 (outside) to 5 (replace). For each cause `seen` is the smallest rung whose work opens it to view,
`need` the smallest that cures it. A cause *blocks* level l where seen <= l < need: opened that far it is seen, and not
cured. Growth goes to the smallest level that cures all that is seen; what is newly opened is seen too. It therefore
ends at the first level from the start s that no present cause blocks: L(s) = min{l >= s: l not blocked}. The engine
comes back exactly if M > L(s), where M is the deepest need of the present causes; the second job then goes to M.

So everything depends on the world only through its *state* (blocked levels, M): at most 63 states, each a signed sum of
*columns*. A column (A, m) is the sum over the worlds in which no level of A is blocked and M <= m, that is, in which
the causes that block a level of A or need more than m are switched off. The signs stand outside the elimination.

What a state costs: the price of s; for growth, a charge and `growth_factor` times what the deeper price exceeds the
first (nothing where it does not); for a comeback, the price of M again, the comeback charge, and the cost of reopening
where the first job had opened the engine (top end or deeper). Prices of rungs are held as they are now, whatever an
outcome of a check or a flip would do to the list of operations.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ..model.knowledge import RUNGS, Rung
from ..pricing.money import whole_cents

LEVELS = len(RUNGS)
DEEPEST = LEVELS - 1
OPENED = RUNGS.index("top_end")
"""From this rung the first job has opened the engine."""


@dataclass(frozen=True, slots=True, eq=False)
class Ladder:
    """Columns and states of one set of causes."""

    need: tuple[int, ...]
    """Per cause of the network."""
    seen: tuple[int, ...]
    allowed: np.ndarray
    """[causes, columns] 1.0 where the cause is allowed; column 0 allows every cause."""
    states: tuple[tuple[int, int], ...]
    """(bits of the blocked levels, M) of every state that these causes can make, in order."""
    signs: np.ndarray
    """[states, columns]: chance of a state = signs @ sums / sums[0]."""
    enough: np.ndarray
    """[rungs, columns] picks the column 'M <= s'."""

    @property
    def columns(self) -> int:
        return self.allowed.shape[1]

    def ends_at(self, start: int, state: int) -> int:
        """The level at which a job begun at `start` stops growing."""
        return final_level(start, self.states[state][0])


@dataclass(frozen=True, slots=True)
class Terms:
    """What growth and comebacks cost, in one currency."""

    growth_factor: float = 1.10
    comeback_charge: float = 0.0
    reopening: float = 0.0
    growth_charge: float = 0.0
    """Each job that grows: the call and the customer's yes, a second order, the bench held meanwhile."""


@dataclass(frozen=True, slots=True, eq=False)
class Costs:
    """What each rung costs in each state; NaN where a price is missing."""

    growth: np.ndarray
    """[rungs, states]"""
    comeback: np.ndarray
    """[rungs, states]"""
    whole: np.ndarray
    """[rungs, states] price, growth and comeback together."""


def final_level(start: int, blocked: int) -> int:
    """The first level from `start` that is not blocked."""
    while blocked >> start & 1:
        start += 1
    return start


def ladder_of(causes: tuple[str, ...], need: Mapping[str, Rung], seen: Mapping[str, Rung]) -> Ladder:
    """The ladder for the causes of a network."""
    return _ladder(tuple(RUNGS.index(need[name]) for name in causes), tuple(RUNGS.index(seen[name]) for name in causes))


@lru_cache(maxsize=32)
def _ladder(need: tuple[int, ...], seen: tuple[int, ...]) -> Ladder:
    kinds = sorted({(_blocks(s, n), n) for s, n in zip(seen, need, strict=True)})
    states = _states(kinds)
    columns: dict[tuple[bool, ...], int] = {(True,) * len(kinds): 0}
    terms: list[tuple[int, tuple[bool, ...], float]] = []
    for index, (blocked, deepest) in enumerate(states):
        free = ((1 << DEEPEST) - 1) & ~blocked
        for more in _subsets(blocked):
            sign = -1.0 if more.bit_count() % 2 else 1.0
            terms.append((index, _allowed(kinds, free | more, deepest), sign))
            if deepest:
                terms.append((index, _allowed(kinds, free | more, deepest - 1), -sign))
    picks = [_allowed(kinds, 0, rung) for rung in range(LEVELS)]
    totals: dict[tuple[bool, ...], np.ndarray] = {}
    for index, column, sign in terms:
        totals.setdefault(column, np.zeros(len(states)))[index] += sign
    for column in sorted(totals):
        if totals[column].any():
            columns.setdefault(column, len(columns))
    for column in picks:
        columns.setdefault(column, len(columns))
    signs = np.zeros((len(states), len(columns)))
    for column, signed in totals.items():
        if column in columns:
            signs[:, columns[column]] = signed
    enough = np.zeros((LEVELS, len(columns)))
    for rung, column in enumerate(picks):
        enough[rung, columns[column]] = 1.0
    kind_of = {kind: number for number, kind in enumerate(kinds)}
    rows = [kind_of[_blocks(s, n), n] for s, n in zip(seen, need, strict=True)]
    allowed = np.array([[float(column[row]) for column in columns] for row in rows]).reshape(len(need), len(columns))
    return Ladder(need, seen, allowed, states, signs, enough)


def _blocks(seen: int, need: int) -> int:
    return sum(1 << level for level in range(seen, need))


def _allowed(kinds: list[tuple[int, int]], unblocked: int, deepest: int) -> tuple[bool, ...]:
    return tuple(blocks & unblocked == 0 and need <= deepest for blocks, need in kinds)


def _states(kinds: list[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """Every (blocked levels, M) that some set of causes makes; no cause at all counts as M = 0."""
    found = {(0, 0)}
    for blocks, need in kinds:
        found |= {(blocked | blocks, max(deepest, need)) for blocked, deepest in found}
    return tuple(sorted(found))


def _subsets(bits: int):
    part = bits
    while True:
        yield part
        if not part:
            return
        part = (part - 1) & bits


def costs_of(ladder: Ladder, prices: tuple[float, ...], terms: Terms) -> Costs:
    """What each rung costs in each state. `prices` of the six rungs, NaN where there is none."""
    growth = np.zeros((LEVELS, len(ladder.states)))
    comeback = np.zeros_like(growth)
    for start in range(LEVELS):
        for index, (blocked, deepest) in enumerate(ladder.states):
            end = final_level(start, blocked)
            if end > start:
                difference = prices[end] - prices[start]
                growth[start, index] = terms.growth_charge + (
                    terms.growth_factor * difference if not difference < 0 else 0.0)
            if deepest > end:
                comeback[start, index] = (prices[deepest] + terms.comeback_charge
                                          + (terms.reopening if end >= OPENED else 0.0))
    return Costs(growth, comeback, np.array(prices)[:, None] + growth + comeback)


def cheapest(expected: np.ndarray) -> int:
    """The rung with the least expected cost to the cent; of equals the shallowest. NaN is never chosen."""
    amounts = [(whole_cents(float(amount)), rung) for rung, amount in enumerate(expected) if amount == amount]
    return min(amounts)[1]
