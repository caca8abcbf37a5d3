"""Causes that bring the same telling signs, summed together before they meet the table.

What one cause does to its signs is a *spread*: the weight of each way in which its draws can lie in the states of the
signs (all at the bottom where it is absent). The highest draw of two causes lies at the higher of both, so two spreads
join to one, state by state, and a whole group to one spread over very few cells; the large table is gone through once a
group and not once a cause. Going back, the table's adjoint is brought down to the cells of the group, and from there to
each cause: the same joins backwards. Every term is positive, so nothing cancels.

Cells are numbered with the opened signs first (the last opened highest), then the linked, the closed, and those that
the group alone brings.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from ..arrays import Floats, Ints
from ..model.frozen import dataclass
from .columns import Columns, at_most_of, close_of, start_of
from .elimination_order import Group
from .evidence import Evidence

MOST_CELLS = 16
"""Most cells of a group that is summed together."""
FEW, FEW_MORE = 30, 20
"""Products of table slices that a group of one cause may take, and how many more each further cause earns: beyond, its
causes are worth less one by one. Of 10 to 100 these took the least time."""
SMALL = 1000
"""Numbers up to which spreads are joined in one go, cell pair by cell pair; beyond, state by state, with fewer
products."""


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """How the table and the cells of a group lie to each other; depends on sizes and places only."""

    before: tuple[int, ...]
    """Shape of the table before the group: runs of axes that it leaves alone are one axis."""
    after: tuple[int, ...]
    """The same after it, the opened signs as one axis at the top."""
    products: tuple[tuple[int, tuple[int | slice, ...], tuple[int | slice, ...], bool], ...]
    """(coefficient, slice before, slice after, whether it is the first of this slice after): each slice after is the
    sum of its products."""
    pairs: Floats
    """[pairs, linked cells] 1 where a linked cell brings a slice from one state of the linked signs to another."""


@lru_cache(maxsize=256)
def layout_of(
    sizes: tuple[int, ...], links: tuple[int, ...], closes: tuple[int, ...], opens: tuple[int, ...]
) -> Layout:
    """`sizes` of the open axes, the lowest first; numbers of those linked and closed; sizes of those opened."""
    before: list[int] = []
    after: list[int] = [math.prod(opens)]
    place: dict[int, tuple[int, int | None]] = {}  # axis -> its dimension before and after
    run = 1
    for number in range(len(sizes) - 1, -1, -1):
        if number not in links and number not in closes:
            run *= sizes[number]
            continue
        if run > 1:
            before.append(run)
            after.append(run)
            run = 1
        place[number] = (len(before), len(after) if number in links else None)
        before.append(sizes[number])
        if number in links:
            after.append(sizes[number])
    if run > 1:
        before.append(run)
        after.append(run)
    each = [[(to, at) for to in range(sizes[number]) for at in range(to, -1, -1)] for number in links]
    pairs = sorted(itertools.product(*each), key=lambda pair: [to for to, _ in pair])
    cells = list(itertools.product(*(range(sizes[number]) for number in links)))
    brings = np.array(
        [
            [float(all(max(at, cell) == to for (to, at), cell in zip(pair, row, strict=True))) for row in cells]
            for pair in pairs
        ]
    )
    closing = list(itertools.product(*(range(sizes[number]) for number in closes)))
    products, begun = [], set()
    for opened in range(math.prod(opens)):
        for number, pair in enumerate(pairs):
            for rank, closed in enumerate(closing):
                one: list[int | slice] = [slice(None)] * len(before)
                other: list[int | slice] = [slice(None)] * len(after)
                other[0] = opened
                for axis, (to, at) in zip(links, pair, strict=True):
                    one[place[axis][0]] = at
                    other[place[axis][1] or 0] = to
                for axis, state in zip(closes, closed, strict=True):
                    one[place[axis][0]] = state
                reached = (opened, *(to for to, _ in pair))
                coefficient = (opened * len(pairs) + number) * len(closing) + rank
                products.append((coefficient, (*one, slice(None)), (*other, slice(None)), reached not in begun))
                begun.add(reached)
    return Layout(tuple(before), tuple(after), tuple(products), brings)


@lru_cache(maxsize=256)
def _joins(sizes: tuple[int, ...]) -> tuple[Ints, Ints, Ints, Ints]:
    """(one cell, other cell, where each joined cell begins in them; [cells, cells] joined cell) of spreads."""
    cells = list(itertools.product(*map(range, sizes)))
    number = {cell: place for place, cell in enumerate(cells)}
    higher = np.array([[number[tuple(map(max, one, other))] for other in cells] for one in cells])
    order = np.argsort(higher.ravel(), kind="stable")
    one, other = order // len(cells), order % len(cells)
    return one, other, np.searchsorted(higher.ravel()[order], np.arange(len(cells))), higher


def joined(first: Floats, second: Floats, sizes: tuple[int, ...]) -> Floats:
    """[..., cells, columns] spread of the higher of two draws, cause by cause."""
    together: Floats
    if first.size <= SMALL:
        one, other, begins, _ = _joins(sizes)
        together = np.add.reduceat(first[:, one] * second[:, other], begins, axis=1)
        return together
    if not sizes:
        together = first * second
        return together
    shape = (len(first), sizes[0], -1, first.shape[-1])
    a, b = first.reshape(shape), second.reshape(*shape[:3], second.shape[-1])
    below, up_to = a[:, 0], b[:, 0]
    together = np.empty((*a.shape[:3], max(a.shape[-1], b.shape[-1])))
    together[:, 0] = joined(below, up_to, sizes[1:])
    for state in range(1, sizes[0]):
        up_to = up_to + b[:, state]
        together[:, state] = joined(a[:, state], up_to, sizes[1:])
        together[:, state] += joined(below, b[:, state], sizes[1:])
        below = below + a[:, state]
    return together.reshape(len(first), -1, together.shape[-1])


def joined_back(adjoint: Floats, other: Floats, sizes: tuple[int, ...]) -> Floats:
    """[..., cells, columns] adjoint of one of two joined spreads, from that of the joined one and the other."""
    back: Floats
    if other.size <= SMALL:
        higher = _joins(sizes)[3]
        back = (adjoint[:, higher] * other[:, None]).sum(axis=2)
        return back
    if not sizes:
        back = adjoint * other
        return back
    shape = (len(other), sizes[0], -1, other.shape[-1])
    h, q = adjoint.reshape(*shape[:3], adjoint.shape[-1]), other.reshape(shape)
    back = np.empty((*h.shape[:3], max(h.shape[-1], q.shape[-1])))
    above: Floats | None = None
    for state in range(sizes[0] - 1, -1, -1):
        back[:, state] = joined_back(h[:, state], q[:, : state + 1].sum(axis=1), sizes[1:])
        if above is not None:
            back[:, state] += above
        if state:
            own = joined_back(h[:, state], q[:, state], sizes[1:])
            above = own if above is None else above + own
    return back.reshape(len(other), -1, back.shape[-1])


@dataclass(frozen=True, slots=True, eq=False)
class Grouped:
    """The numbers of one group."""

    group: Group
    axes: tuple[int, ...]
    """Its signs in the order of the cells."""
    sizes: tuple[int, ...]
    """States of each of them."""
    draws: Floats
    """[degrees, causes, cells, columns] chance of each cell where the cause is there."""
    levels: tuple[Floats, ...]
    """[spreads, cells, columns] of the causes, then of ever more of them joined, down to one."""
    maps: tuple[Floats | None, ...]
    """Sign by sign [outer, states, columns] from the states of the group to what the table takes; None as it is."""
    layout: Layout
    coefficients: Floats
    """[products, columns] of the slices of the table."""


def is_grouped(evidence: Evidence, group: Group) -> bool:
    """Whether the group is summed together, and not cause by cause."""
    whole, axes = group.whole, evidence.axes
    size = [len(axes[axis].start) for axis in whole.shows]
    if math.prod(size) > MOST_CELLS:
        return False
    linked = math.prod(count * (count + 1) // 2 for count in (len(axes[axis].start) for _, axis in whole.links))
    rest = math.prod(len(axes[axis].start) for axis in (*(name for _, name in whole.closes), *whole.opens))
    return linked * rest <= FEW + FEW_MORE * (len(group.causes) - 1)


def grouped_of(evidence: Evidence, columns: Columns, group: Group, sizes: Sequence[int]) -> Grouped:
    """The numbers of a group. `sizes`: states of the axes open before it, the lowest first."""
    whole, causes = group.whole, np.array(group.causes)
    closes = [axis for _, axis in whole.closes]
    axes = (*reversed(whole.opens), *(axis for _, axis in whole.links), *closes, *whole.alone)
    states = tuple(len(evidence.axes[axis].start) for axis in axes)
    draws = draws_of(evidence, columns, axes, causes)
    odds = columns.odds[:, causes][:, :, None]
    spreads = (odds[0] * draws[0]) + (odds[1] * draws[1])
    spreads[:, 0] += 1.0
    levels = [spreads]
    while len(levels[-1]) > 1:
        last = levels[-1]
        half = len(last) // 2
        one = joined(last[:half], last[half : 2 * half], states)
        levels.append(one if len(last) == 2 * half else np.concatenate((one, last[2 * half :])))
    maps = _maps(evidence, columns, whole.opens[::-1], len(whole.links), closes, whole.alone)
    # links are counted once the closed axes are gone; here all are numbered as they lie before
    below = sorted(place for place, _ in whole.closes)
    links = []
    for place, _ in whole.links:
        for closed in below:
            place += closed <= place
        links.append(place)
    layout = layout_of(
        tuple(sizes),
        tuple(links),
        tuple(place for place, _ in whole.closes),
        tuple(len(evidence.axes[axis].start) for axis in whole.opens),
    )
    taken = _mapped(levels[-1][0], states, maps)
    opened = math.prod(layout.after[:1])
    count = taken.shape[-1]
    linked = taken.reshape(opened, layout.pairs.shape[1], -1)
    return Grouped(group, axes, states, draws, tuple(levels), maps, layout, (layout.pairs @ linked).reshape(-1, count))


def draws_of(evidence: Evidence, columns: Columns, axes: Sequence[int], causes: Ints) -> Floats:
    """[degrees, causes, cells, columns] chance of each cell where the cause is there."""
    draws: Floats | None = None
    for axis in axes:
        at_most = at_most_of(evidence, columns, axis, causes)
        own = at_most.copy()
        own[:, :, 1:] -= at_most[:, :, :-1]
        draws = (
            own
            if draws is None
            else (draws[:, :, :, None] * own[:, :, None]).reshape(
                2, len(causes), -1, max(draws.shape[-1], own.shape[-1])
            )
        )
    assert draws is not None  # a linked cause brings a sign
    return draws


def _maps(
    evidence: Evidence, columns: Columns, opens: Sequence[int], links: int, closes: Sequence[int], alone: Sequence[int]
) -> tuple[Floats | None, ...]:
    maps: list[Floats | None] = []
    for axis in opens:  # the state that the table begins with joins that of the group
        start = start_of(evidence, columns, axis)
        higher = np.arange(len(start))
        below = np.cumsum(start, axis=0)
        own = np.where((higher[:, None] > higher)[..., None], start[:, None], 0.0)
        own[higher, higher] = below
        maps.append(own)
    maps += [None] * links
    for axis in closes:
        close = close_of(evidence, columns, axis)
        higher = np.arange(len(close))
        maps.append(close[np.maximum(higher[:, None], higher)])
    for axis in alone:
        start, close = start_of(evidence, columns, axis), close_of(evidence, columns, axis)
        higher = np.arange(len(close))
        maps.append((close[np.maximum(higher[:, None], higher)] * start[:, None]).sum(axis=0)[None])
    return tuple(maps)


def _mapped(spread: Floats, sizes: Sequence[int], maps: Sequence[Floats | None]) -> Floats:
    """[cells, columns] what the table takes of a spread [cells, columns]."""
    above, below = 1, math.prod(sizes)
    for size, own in zip(sizes, maps, strict=True):
        below //= size
        if own is None:
            above *= size
            continue
        view = spread.reshape(above, 1, size, below, spread.shape[-1])
        mapped = (own[None, :, :, None] * view).sum(axis=2)
        above *= own.shape[0]
        spread = mapped.reshape(above * below, mapped.shape[-1])
    return spread


def _mapped_back(adjoint: Floats, sizes: Sequence[int], maps: Sequence[Floats | None]) -> Floats:
    """[cells, columns] adjoint of a spread, from that of what the table takes."""
    outer = [size if own is None else own.shape[0] for size, own in zip(sizes, maps, strict=True)]
    above, below = math.prod(outer), 1
    for size, rows, own in zip(reversed(sizes), reversed(outer), reversed(maps), strict=True):
        above //= rows
        if own is not None:
            view = adjoint.reshape(above, rows, 1, below, adjoint.shape[-1])
            adjoint = (own[None, :, :, None] * view).sum(axis=1)
            adjoint = adjoint.reshape(above * size * below, adjoint.shape[-1])
        below *= size
    return adjoint


def grouped_forward(table: Floats, group: Grouped) -> Floats:
    """[rows, columns] the table after a group."""
    layout, count = group.layout, table.shape[-1]
    before = table.reshape(*layout.before, count)
    after = np.empty((*layout.after, count))
    for number, one, other, first in layout.products:
        if first:
            np.multiply(group.coefficients[number], before[one], out=after[other])
        else:
            after[other] += group.coefficients[number] * before[one]
    return after.reshape(-1, count)


def grouped_back(before: Floats, after: Floats, group: Grouped) -> tuple[Floats, Floats]:
    """([rows, columns] adjoint of the table before a group, [causes, cells, columns] adjoint of each cause's spread),
    from the table before it and the adjoint after it."""
    layout, count = group.layout, after.shape[-1]
    table, adjoint = before.reshape(*layout.before, count), after.reshape(*layout.after, count)
    back = np.zeros_like(table)
    moved = np.empty((len(layout.products), count))
    for number, one, other, _ in layout.products:
        part = adjoint[other]
        moved[number] = (part * table[one]).reshape(-1, count).sum(axis=0)
        back[one] += group.coefficients[number] * part
    opened = layout.after[0]
    linked = layout.pairs.T @ moved.reshape(opened, layout.pairs.shape[0], -1)
    spread = _mapped_back(linked.reshape(-1, count), group.sizes, group.maps)[None]
    for level in reversed(group.levels[:-1]):
        half = len(level) // 2
        above = spread[:half]
        spread = np.concatenate(
            (
                joined_back(above, level[half : 2 * half], group.sizes),
                joined_back(above, level[:half], group.sizes),
                spread[half:],
            )
        )
    return back.reshape(-1, count), spread
