"""How a job can go on: which rungs are blocked, what must still be reached, and what that costs without foresight.

Rungs are numbered 0 (outside work) to 5 (replacement engine). A cause *blocks* level l where it is open to view and not
cured (seen <= l < need): a job that stops there grows. So a job begun at s ends at the first level from s that is not
blocked. What is left undone shows afterwards only if it has a hand in what was noticed. A world therefore counts by

    B = the levels that present causes block
    M = the greatest need among the causes that have a hand in what must go (UNLISTED: a fault that is not on the list,
        NOBODY: all of it is normal or mistaken)

A shop that failed knows only that it failed, and goes on with what is left: another depth, or stop.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..arrays import Bools, Floats, Ints
from ..model.frozen import dataclass

LEVELS = 6
UNLISTED, NOBODY = 6, -1
KINDS_OF_M = 8
"""M from NOBODY (index 0) to UNLISTED (index 7)."""
OPENED = 2
"""From this level on the engine is open inside (top end)."""


@dataclass(frozen=True, slots=True)
class Terms:
    """What growth, comebacks and stopping cost."""

    growth_factor: float = 1.0
    comeback: float = 0.0
    reopening: float = 0.0
    growth_charge: float = 0.0
    stop: float = float("inf")
    """What the owner loses by stopping: value running less value as it stands; inf where neither is known."""
    look: tuple[float, ...] = ()
    """Price of opening to each level, looking and reporting; inf where it cannot be bought."""
    credit: float = 0.0
    """Share of that price which is credited when work follows."""


@dataclass(frozen=True, slots=True, eq=False)
class Blocks:
    """Which columns a network needs, and how they become chances of (B, M)."""

    need: Ints
    """[causes] level that cures the cause; NOBODY where the job at hand cures it whatever the depth."""
    levels: tuple[int, ...]
    """Levels that some cause blocks."""
    off: Bools
    """[causes, columns] True where the cause is switched off."""
    muted: Bools
    """[causes, columns] True where it may draw nothing in what must go."""
    cut: Bools
    """[columns] True where unlisted faults may draw nothing there."""


def blocks_of(need: Ints | Sequence[int], seen: Ints | Sequence[int], *, growing: bool = True) -> Blocks:
    """Columns for every set of unblocked levels and every M. Without `growing` only M is looked at."""
    needs: Ints = np.asarray(need)
    views: Ints = np.asarray(seen)
    levels = tuple(level for level in range(LEVELS - 1) if growing and ((views <= level) & (level < needs)).any())
    blocking = np.array(
        [[(views[cause] <= level) & (level < needs[cause]) for level in levels] for cause in range(len(needs))],
        dtype=bool,
    ).reshape(len(needs), len(levels))
    off, muted, cut = [], [], []
    for chosen in range(1 << len(levels)):
        places = [place for place in range(len(levels)) if chosen >> place & 1]
        away = blocking[:, places].any(axis=1)
        for m in range(NOBODY, UNLISTED + 1):
            off.append(away)
            muted.append(~away & (needs > m))
            cut.append(m < UNLISTED)
    return Blocks(needs, levels, np.array(off).T, np.array(muted).T, np.array(cut))


def chances_of(blocks: Blocks, sums: Floats) -> Floats:
    """[2^levels, KINDS_OF_M, batch] chance of each (B, M) from the columns' sums [columns, batch], those of the last
    column of the first set (nothing changed) being the whole."""
    count = len(blocks.levels)
    table = sums.reshape(1 << count, KINDS_OF_M, -1)
    table = np.diff(table, axis=1, prepend=0.0)
    for place in range(count):  # Moebius over the sets of unblocked levels
        view = table.reshape(1 << (count - place - 1), 2, 1 << place, KINDS_OF_M, -1)
        table = np.stack((view[:, 1], view[:, 0] - view[:, 1]), axis=1).reshape(table.shape)
    # index bit set now means: the level is blocked
    return np.maximum(table, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Worth:
    """What starting at a level costs in the end. [batch] each, joint with the chance of the batch."""

    total: Floats
    growth: Floats
    """Of it: growth seen on the way."""
    failing: Floats
    """Of it: comebacks and all that follows them."""


_Kept = dict[tuple[int, tuple[int, ...], int], Worth]
"""(level, rows, M that was ruled out) -> its cost, within one walk."""


def beyond(chances: Floats) -> Floats:
    """[..., KINDS_OF_M + 1, batch] chance of each kind of M and all after it, from [..., KINDS_OF_M, batch]."""
    after: Floats = np.cumsum(chances[:, ::-1], axis=1)[:, ::-1]
    return np.concatenate((after, np.zeros_like(after[:, :1])), axis=1)


class Ladder:
    """Costs of starting at each level, for some chances of (B, M)."""

    def __init__(self, blocks: Blocks, prices: Sequence[float], terms: Terms, in_use: Sequence[float] | None = None):
        """`in_use` [levels]: share of failures at each level that only use can show (1 where not given)."""
        self.prices, self.terms = tuple(prices), terms
        self.in_use = tuple(in_use) if in_use is not None else (1.0,) * LEVELS
        self.ends = np.array(
            [
                [
                    next(
                        level
                        for level in range(start, LEVELS)
                        if level not in blocks.levels or not blocked >> blocks.levels.index(level) & 1
                    )
                    for blocked in range(1 << len(blocks.levels))
                ]
                for start in range(LEVELS)
            ]
        )

    def worth(self, start: int, chances: Floats) -> Worth:
        """Cost of starting at a level. `chances` [blocked, KINDS_OF_M, batch], joint."""
        return self._worth(start, beyond(chances), tuple(range(chances.shape[0])), NOBODY, {})

    def totals(self, chances: Floats) -> Floats:
        """[levels, batch] cost of starting at each level."""
        kept: _Kept = {}
        left, rows = beyond(chances), tuple(range(chances.shape[0]))
        return np.array([self._worth(start, left, rows, NOBODY, kept).total for start in range(LEVELS)])

    def _worth(self, start: int, beyond_: Floats, rows: tuple[int, ...], above: int, kept: _Kept) -> Worth:
        """Cost of starting at a level in the worlds of `rows` whose M is greater than `above`."""
        key = (start, rows, above)
        if key in kept:
            return kept[key]
        batch = beyond_.shape[2]
        total, growth, failing = np.zeros(batch), np.zeros(batch), np.zeros(batch)
        ends = self.ends[start, list(rows)]
        for end in sorted(set(ends.tolist())):
            here = tuple(row for row, level in zip(rows, ends, strict=True) if level == end)
            mine = beyond_[list(here)].sum(axis=0) if len(here) > 1 else beyond_[here[0]]
            mass = mine[above + 2 if above > NOBODY else 0]
            total += mass * self.prices[start]
            if end > start:
                step = self.prices[end] - self.prices[start]
                more = mass * (self.terms.growth_charge + self.terms.growth_factor * max(step, 0.0))
                growth, total = growth + more, total + more
            bound = max(end, above)
            left = mine[bound + 2]
            if not left.any():
                continue
            after = left * (self.terms.comeback * self.in_use[end] + (self.terms.reopening if end >= OPENED else 0.0))
            best = left * self.last_resort()
            for other in range(end + 1, LEVELS):
                best = np.minimum(best, self._worth(other, beyond_, here, bound, kept).total)
            failing, total = failing + after + best, total + after + best
        kept[key] = Worth(total, growth, failing)
        return kept[key]

    def last_resort(self) -> float:
        """What stopping costs; where nobody says what the machine is worth, as much as another engine."""
        return self.terms.stop if np.isfinite(self.terms.stop) else self.prices[LEVELS - 1]


def looking(ladder: Ladder, price: float, credit: float, chances: Floats) -> Floats:
    """[batch] cost of opening first and deciding then. `chances` [greatest need seen + 1, KINDS_OF_M, batch]: joint
    chance of the greatest need among the causes that looking shows and of M. What is seen is cured by what follows."""
    total: Floats = price * chances.sum(axis=(0, 1))
    for shown in range(chances.shape[0]):
        here = chances[shown : shown + 1]
        mass = here.sum(axis=(0, 1))
        if not mass.any():
            continue
        best = mass * ladder.last_resort()
        kept: _Kept = {}
        left = beyond(here)
        for start in range(max(shown - 1, 0), LEVELS):
            worth = ladder._worth(start, left, (0,), NOBODY, kept).total - credit * price * mass
            best = np.minimum(best, worth)
        total = total + best
    return total
