"""In which order causes are summed out, so that few signs are open at once: those that bring the same signs together.

Words used here: a cause is *linked* if it can bring a telling sign, else *loose* (its sum is a plain factor). A sign
that several causes bring is *open* from the first of them to the last; its axis of the table says how far its answer
has got. A sign that one cause alone brings never needs an axis.
"""

from __future__ import annotations

import math
import random
from functools import lru_cache

from ..model.frozen import dataclass

RESTART_ABOVE = 7
"""Width above which other orders are tried."""
RESTARTS = 30
SEED = 20
"""Seed of those tries: the same evidence always gets the same order."""


@dataclass(frozen=True, slots=True)
class Step:
    """One linked cause summed out."""

    cause: int
    closes: tuple[tuple[int, int], ...]
    """(axis, finding) of the open findings of which it is the last cause, the topmost axis first."""
    links: tuple[tuple[int, int], ...]
    """(axis, finding) of the open findings it shows that stay open; axes as they are once the others are closed."""
    opens: tuple[int, ...]
    """Findings opened by it, each as the topmost axis."""
    alone: tuple[int, ...]
    """Findings that it alone shows."""

    @property
    def shows(self) -> tuple[int, ...]:
        """Every present finding it shows, in order of number."""
        return tuple(
            sorted((*(name for _, name in self.closes), *(name for _, name in self.links), *self.opens, *self.alone))
        )

    @property
    def closing(self) -> tuple[int, ...]:
        """Every present finding of which it is the last cause, in order of number."""
        return tuple(sorted((*(name for _, name in self.closes), *self.alone)))


@dataclass(frozen=True, slots=True)
class Group:
    """Causes that bring the same telling signs, one after the other in the plan."""

    causes: tuple[int, ...]
    whole: Step
    """All of them as if they were one cause: what only they show stands under `alone`."""
    steps: tuple[Step, ...]
    """One by one."""


@dataclass(frozen=True, slots=True)
class Plan:
    """In which order the linked causes are summed out."""

    groups: tuple[Group, ...]
    width: int
    """Most findings open between two causes, taken one by one: the tables have up to 2^width rows."""
    bare: tuple[int, ...]
    """Present findings that no cause of this engine shows."""

    @property
    def steps(self) -> tuple[Step, ...]:
        """Every linked cause, one by one."""
        return tuple(step for group in self.groups for step in group.steps)


Masks = tuple[tuple[int, int], ...]
"""(cause, bits of the present findings it shows) of every linked cause, in order of number."""


@lru_cache(maxsize=128)
def plan_of(masks: Masks, present: tuple[int, ...]) -> Plan:
    """An order of the linked causes that keeps few findings open; those that show the same stand together.

    Greedy: next the group that opens least and closes most. Where more than RESTART_ABOVE findings would be open
    at once, RESTARTS further orders are tried with noise from a fixed seed.
    """
    alike: dict[int, list[int]] = {}
    for cause, mask in masks:
        alike.setdefault(mask, []).append(cause)
    first = tuple((causes[0], mask) for mask, causes in alike.items())
    best, width, work = _greedy(first, None)
    if width > RESTART_ABOVE:
        noise = random.Random(SEED)
        for _ in range(RESTARTS):
            order, wide, cells = _greedy(first, noise, limit=work)
            if cells < work:
                best, width, work = order, wide, cells
    given = dict(masks)
    wholes, _, bare = _steps(best, dict(first), present)
    causes = [tuple(alike[given[cause]]) for cause in best]
    singles, width, _ = _steps([cause for group in causes for cause in group], given, present)
    groups, place = [], 0
    for group, whole in zip(causes, wholes, strict=True):
        groups.append(Group(group, whole, singles[place : place + len(group)]))
        place += len(group)
    return Plan(tuple(groups), width, bare)


def _cells(before: int, after: int, links: int) -> float:
    """A measure of what a step costs, from the findings open before and after it and how many it shows."""
    return (2.0**before + 2.0**after) * (1 + links)


def _greedy(masks: Masks, noise: random.Random | None, limit: float = math.inf) -> tuple[list[int], int, float]:
    """(order, width, work). Stops early beyond `limit`."""
    left = list(masks)
    remaining: dict[int, int] = {}
    last = many = 0
    for _, mask in masks:
        many |= last & mask
        last |= mask
    for _, mask in masks:
        bits = mask & many
        while bits:
            low = bits & -bits
            remaining[low] = remaining.get(low, 0) + 1
            bits ^= low
    last &= ~many  # findings that only one of the causes still to come shows
    opened, open_now, order, width, work = 0, 0, [], 0, 0.0
    while left:
        score: list[float] = [(mask & ~opened).bit_count() - (mask & last).bit_count() for _, mask in left]
        if noise is not None:
            score = [value + 2.0 * noise.random() for value in score]
        chosen = score.index(min(score))  # of equals the first by number
        cause, mask = left.pop(chosen)
        before = open_now
        open_now += (mask & ~opened).bit_count() - (mask & last).bit_count()
        opened |= mask
        width = max(width, open_now)
        work += _cells(before, open_now, mask.bit_count())
        order.append(cause)
        if work >= limit:
            return order, width, math.inf
        bits = mask & ~last
        while bits:
            low = bits & -bits
            remaining[low] -= 1
            if remaining[low] == 1:
                last |= low
            bits ^= low
    return order, width, work


def _steps(
    order: list[int], masks: dict[int, int], present: tuple[int, ...]
) -> tuple[tuple[Step, ...], int, tuple[int, ...]]:
    """(steps, width, findings that none of them shows)."""
    bits_of = {cause: [bit for bit in range(len(present)) if masks[cause] >> bit & 1] for cause in order}
    last_cause = {bit: cause for cause in order for bit in bits_of[cause]}
    axes: list[int] = []
    steps, width = [], 0
    for cause in order:
        closes: list[tuple[int, int]] = []
        opens: list[int] = []
        alone: list[int] = []
        for bit in sorted((bit for bit in bits_of[cause] if bit in axes), key=axes.index, reverse=True):
            if last_cause[bit] == cause:
                closes.append((axes.index(bit), present[bit]))
                axes.remove(bit)
        links = tuple((axes.index(bit), present[bit]) for bit in bits_of[cause] if bit in axes)
        for bit in bits_of[cause]:
            if bit not in axes and present[bit] not in [name for _, name in closes]:
                (alone if last_cause[bit] == cause else opens).append(bit)
        axes += opens
        width = max(width, len(axes))
        steps.append(
            Step(
                cause, tuple(closes), links, tuple(present[bit] for bit in opens), tuple(present[bit] for bit in alone)
            )
        )
    return tuple(steps), width, tuple(number for bit, number in enumerate(present) if bit not in last_cause)
