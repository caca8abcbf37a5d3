"""Exact sums over all worlds of causes: one cause summed out at a time, a table kept over the open present findings.

A *column* is one pass with some causes switched off (`decision/ladder.py` says which columns a decision needs); all
columns run together, contiguous in memory. Every term is positive, so nothing cancels. A power of two common to all
columns is taken out where numbers get small: columns never exceed column 0, in which every cause is allowed.

Words used here: a cause is *linked* if it shows a finding that is present, else *loose* (its sum is a plain factor). A
finding is *open* from the first of its causes to the last; its axis of the table says whether it is explained yet.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from .network import Network

RESTART_ABOVE = 8
"""Width above which other orders are tried."""
RESTARTS = 30
NARROW = 3
"""A table this narrow costs less than looking for a better order."""
SEED = 20
"""Seed of those tries: the same evidence always gets the same order."""
TINY, HUGE = 2.0**-200, 2.0**200


@dataclass(frozen=True, slots=True)
class Step:
    """One linked cause summed out."""

    cause: int
    opens: tuple[int, ...]
    """Findings opened before it, each as the topmost axis."""
    links: tuple[tuple[int, int], ...]
    """(axis, finding) of the present findings it shows."""
    closes: tuple[int, ...]
    """Axes closed after it, one after the other."""
    closing: tuple[int, ...]
    """The findings whose axes those are."""


@dataclass(frozen=True, slots=True)
class Plan:
    """In which order the linked causes are summed out."""

    steps: tuple[Step, ...]
    width: int
    """Most findings open at once."""
    bare: tuple[int, ...]
    """Present findings that no cause of this engine shows."""


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What counts, as numbers ready to be summed."""

    network: Network
    present: tuple[int, ...]
    absent: tuple[int, ...]
    odds: np.ndarray
    """[causes] prior odds x the chance that the cause shows none of the absent findings."""
    log_scale: float
    """Natural log of what all worlds have in common: prod(1 - prior) x the leaks of absent and bare findings."""
    plan: Plan
    loose: np.ndarray
    """Numbers of the causes that show no present finding."""


def evidence_of(network: Network, present: tuple[int, ...], absent: tuple[int, ...], *,
                like: Evidence | None = None) -> Evidence:
    """Evidence from numbers of present and absent findings.

    With `like`, evidence that differs little from it, the order that was found for that one is taken over where it does
    as well as a first try: right for evidence that is summed once.
    """
    present, absent = tuple(sorted(present)), tuple(sorted(absent))
    odds = network.prior / (1 - network.prior)
    if absent:
        odds = odds * np.prod(1 - network.q[:, absent], axis=1)
    linked = network.q[:, present] > 0 if present else np.zeros((len(network.causes), 0), dtype=bool)
    masks = []
    for cause in np.flatnonzero(linked.any(axis=1)):
        masks.append((int(cause), sum(1 << int(bit) for bit in np.flatnonzero(linked[cause]))))
    plan = plan_of(tuple(masks), present) if like is None else _plan_like(like.plan, masks, present)
    loose = np.flatnonzero(~linked.any(axis=1))
    return Evidence(network, present, absent, odds, _log_scale(network, absent, plan.bare), plan, loose)


def on_network(evidence: Evidence, network: Network) -> Evidence:
    """The same evidence on a network with the same links at other strengths."""
    dark = np.prod(1 - network.q[:, evidence.absent], axis=1)
    return replace(evidence, network=network, odds=network.prior / (1 - network.prior) * dark,
                   log_scale=_log_scale(network, evidence.absent, evidence.plan.bare))


def _log_scale(network: Network, absent: tuple[int, ...], bare: tuple[int, ...]) -> float:
    return float(np.log1p(-network.prior).sum() + np.log1p(-network.leak[list(absent)]).sum()
                 + np.log(network.leak[list(bare)]).sum())


@lru_cache(maxsize=512)
def plan_of(masks: tuple[tuple[int, int], ...], present: tuple[int, ...]) -> Plan:
    """An order of the linked causes (number, bits of the present findings they show) that keeps few findings open.

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
    return _steps(best, dict(masks), present, width)


def _plan_like(plan: Plan, masks: list[tuple[int, int]], present: tuple[int, ...]) -> Plan:
    """The order of another plan for causes both have, new ones last, or the greedy order if that is less work.

    Where the taken-over order opens no more findings than before, looking for a better one costs more than it saves.
    """
    given = dict(masks)
    order = [step.cause for step in plan.steps if step.cause in given]
    order += [cause for cause, _ in masks if cause not in set(order)]
    width, work = _work_of(order, given)
    if width <= max(plan.width, NARROW):
        return _steps(order, given, present, width)
    other, other_width, other_work = _greedy(tuple(masks), None, limit=work)
    return _steps(order, given, present, width) if work <= other_work else _steps(other, given, present, other_width)


def _work_of(order: list[int], masks: dict[int, int]) -> tuple[int, float]:
    """(width, sum of 2^open x (1 + links)) of an order."""
    after = [0]
    for cause in reversed(order):
        after.append(after[-1] | masks[cause])
    opened, width, work = 0, 0, 0.0
    for place, cause in enumerate(order):
        opened |= masks[cause]
        open_now = (opened & after[len(order) - place]).bit_count()
        width, work = max(width, open_now), work + 2.0**open_now * (1 + masks[cause].bit_count())
    return width, work


def _greedy(masks: tuple[tuple[int, int], ...], noise: random.Random | None,
            limit: float = math.inf) -> tuple[list[int], int, float]:
    """(order, width, sum of 2^open x (1 + links)). Stops early beyond `limit`."""
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
        score = [(mask & ~opened).bit_count() - (mask & last).bit_count() for _, mask in left]
        if noise is not None:
            score = [value + 2.0 * noise.random() for value in score]
        chosen = score.index(min(score))  # of equals the first by number
        cause, mask = left.pop(chosen)
        open_now += (mask & ~opened).bit_count()
        opened |= mask
        width = max(width, open_now)
        work += 2.0**open_now * (1 + mask.bit_count())
        open_now -= (mask & last).bit_count()
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


def _steps(order: list[int], masks: dict[int, int], present: tuple[int, ...], width: int) -> Plan:
    bits_of = {cause: [bit for bit in range(len(present)) if masks[cause] >> bit & 1] for cause in order}
    last_cause = {bit: cause for cause in order for bit in bits_of[cause]}
    axes: list[int] = []
    steps = []
    for cause in order:
        bits = bits_of[cause]
        opens = [bit for bit in bits if bit not in axes]
        axes += opens
        links = tuple((axes.index(bit), present[bit]) for bit in bits)
        closing = [bit for bit in axes if last_cause[bit] == cause]
        closes = []
        for bit in closing:
            closes.append(axes.index(bit))
            axes.remove(bit)
        steps.append(Step(cause, tuple(present[bit] for bit in opens), links, tuple(closes),
                          tuple(present[bit] for bit in closing)))
    return Plan(tuple(steps), width, tuple(number for bit, number in enumerate(present) if bit not in last_cause))


def shine(table: np.ndarray, links: tuple[tuple[int, float], ...]) -> np.ndarray:
    """Apply, in place, what one present cause explains: along each linked axis unexplained goes over with chance q."""
    columns = table.shape[1]
    for axis, q in links:
        view = table.reshape(-1, 2, columns << axis)
        view[:, 1] += q * view[:, 0]
        view[:, 0] *= 1 - q
    return table


def shine_back(table: np.ndarray, links: tuple[tuple[int, float], ...]) -> np.ndarray:
    """The adjoint of `shine`, in place."""
    columns = table.shape[1]
    for axis, q in links:
        view = table.reshape(-1, 2, columns << axis)
        view[:, 0] *= 1 - q
        view[:, 0] += q * view[:, 1]
    return table


def opened(table: np.ndarray, leaks: tuple[float, ...]) -> np.ndarray:
    """The table with an axis more for each finding opened: not explained, or explained by its leak."""
    for leak in leaks:
        table = np.concatenate((table * (1 - leak), table * leak))
    return table


def closed(table: np.ndarray, axes: tuple[int, ...]) -> np.ndarray:
    """The table with each closed axis kept at 'explained'."""
    columns = table.shape[1]
    for axis in axes:
        table = table.reshape(-1, 2, columns << axis)[:, 1].reshape(-1, columns)
    return table


def rescaled(table: np.ndarray) -> tuple[np.ndarray, int]:
    """The table and the power of two that was taken out of it."""
    top = float(table.max())
    if TINY < top < HUGE or top == 0.0 or not math.isfinite(top):
        return table, 0
    power = math.frexp(top)[1]
    return np.ldexp(table, -power), power
