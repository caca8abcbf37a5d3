"""In which order causes are summed out, so that few signs are open at once.

Words used here: a cause is *linked* if it can bring a telling sign, else *loose* (its sum is a plain factor). A sign
that several causes bring is *open* from the first of them to the last; its axis of the table says how far its answer
has got. A sign that one cause alone brings never needs an axis.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from functools import lru_cache

RESTART_ABOVE = 7
"""Width above which other orders are tried."""
RESTARTS = 30
NARROW = 3
"""A table this narrow costs less than looking for a better order."""
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
class Plan:
    """In which order the linked causes are summed out."""

    steps: tuple[Step, ...]
    width: int
    """Most findings open between two steps: the tables have up to 2^width rows."""
    bare: tuple[int, ...]
    """Present findings that no cause of this engine shows."""


Masks = tuple[tuple[int, int], ...]
"""(cause, bits of the present findings it shows) of every linked cause, in order of number."""


@lru_cache(maxsize=512)
def plan_of(masks: Masks, present: tuple[int, ...]) -> Plan:
    """An order of the linked causes that keeps few findings open.

    Greedy: next the cause that opens least and closes most. Where more than RESTART_ABOVE findings would be open
    at once, RESTARTS further orders are tried with noise from a fixed seed.
    """
    best, width, work = _greedy(masks, None)
    if width > RESTART_ABOVE:
        noise = random.Random(SEED)
        for _ in range(RESTARTS):
            order, wide, cells = _greedy(masks, noise, limit=work)
            if cells < work:
                best, width, work = order, wide, cells
    return _steps(best, dict(masks), present)


def plan_like(plan: Plan, masks: Masks, present: tuple[int, ...]) -> Plan:
    """The order of another plan for causes both have, new ones last, or the greedy order if that is less work.

    Where the taken-over order opens no more findings than before, looking for a better one costs more than it saves.
    """
    given = dict(masks)
    before = [step.cause for step in plan.steps]
    order = [cause for cause in before if cause in given] + sorted(given.keys() - set(before))
    width, work = _work_of(order, given)
    if width > max(plan.width, NARROW):
        other, _, other_work = _greedy(masks, None, limit=work)
        if other_work < work:
            order = other
    return _steps(order, given, present)


def _cells(before: int, after: int, links: int) -> float:
    """A measure of what a step costs, from the findings open before and after it and how many it shows."""
    return (2.0**before + 2.0**after) * (1 + links)


def _work_of(order: list[int], masks: dict[int, int]) -> tuple[int, float]:
    """(width, work) of an order."""
    after = [0]
    for cause in reversed(order):
        after.append(after[-1] | masks[cause])
    opened, open_before, width, work = 0, 0, 0, 0.0
    for place, cause in enumerate(order):
        opened |= masks[cause]
        open_now = (opened & after[len(order) - place - 1]).bit_count()
        width, work = max(width, open_now), work + _cells(open_before, open_now, masks[cause].bit_count())
        open_before = open_now
    return width, work


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


def _steps(order: list[int], masks: dict[int, int], present: tuple[int, ...]) -> Plan:
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
    return Plan(tuple(steps), width, tuple(number for bit, number in enumerate(present) if bit not in last_cause))
