"""Exact sums over all worlds of causes: summed out group by group, a table kept over the open telling signs.

Causes that bring the same few signs are summed together (`grouped`), others one at a time. All columns run together.
Every term is positive, so nothing cancels.

One step has three branches: the cause absent, slight, marked. Along an axis with the cuts t1 < t2 < ... a branch takes

    state j  ->  C(tj) state j + (C(tj) - C(tj-1)) x (sum of the states below j),     C = 1 where the cause is absent

Signs of which the cause is the last are closed first (their states weighed and summed), those it opens come last, so a
table is never larger than what is open before or after the step.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TypeAlias

import numpy as np

from ..arrays import Floats
from ..model.frozen import dataclass
from .columns import Columns, at_most_of, close_of, start_of
from .elimination_order import Step
from .evidence import Evidence
from .grouped import Grouped, grouped_forward, grouped_of, is_grouped

CELLS = 1 << 18
"""Most cells of one table: more columns are worked off in groups (of 2^12 to 2^21 cells these took the least time)."""
SCALED_BELOW, SCALED_ABOVE = 1e-120, 1e120


@dataclass(frozen=True, slots=True, eq=False)
class Move:
    """The numbers of one step: for each branch (absent, slight, marked) and column."""

    cause: int
    closes: tuple[tuple[int, Floats], ...]
    """(cells below the axis, [branches, states, columns] what each state counts) of each sign closed."""
    links: tuple[tuple[int, Floats], ...]
    """(cells below the axis, [degrees, states, columns] chance of a draw at most each cut) of signs that stay open."""
    opens: Floats
    """[branches, new rows, columns] of the signs opened, with those that the cause alone brings."""
    odds: Floats
    """[branches, columns] weight of each branch."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where the axes of one step lie in the table."""

    step: Step
    closes: tuple[tuple[int, int], ...]
    """(cells below the axis, axis) of the signs closed."""
    links: tuple[tuple[int, int], ...]
    """(cells below the axis, axis) of the signs that stay open."""


def places_of(steps: Iterable[Step], evidence: Evidence, sizes: list[int]) -> tuple[Place, ...]:
    """Where the axes lie, step by step; `sizes`: states of the axes open before, the lowest first, and afterwards of
    those open after them."""
    places = []
    for step in steps:
        closes = []
        for place, axis in step.closes:
            closes.append((math.prod(sizes[:place]), axis))
            sizes.pop(place)
        links = tuple((math.prod(sizes[:place]), axis) for place, axis in step.links)
        sizes += [len(evidence.axes[axis].start) for axis in step.opens]
        places.append(Place(step, tuple(closes), links))
    return tuple(places)


@dataclass(frozen=True, slots=True, eq=False)
class Singles:
    """The causes of a group, one by one."""

    moves: tuple[Move, ...]
    places: tuple[Place, ...]


Stage: TypeAlias = Grouped | Singles


def stages_of(evidence: Evidence, columns: Columns) -> Iterator[Stage]:
    """The numbers of every group of the plan."""
    sizes: list[int] = []
    for group in evidence.plan.groups:
        if is_grouped(evidence, group):
            yield grouped_of(evidence, columns, group, sizes)
            places_of((group.whole,), evidence, sizes)
        else:
            places = places_of(group.steps, evidence, sizes)
            yield Singles(_moves(evidence, columns, places), places)


def moves_of(evidence: Evidence, columns: Columns) -> list[Move]:
    """The numbers of every cause of the plan, one by one."""
    sizes: list[int] = []
    return [
        move
        for group in evidence.plan.groups
        for move in _moves(evidence, columns, places_of(group.steps, evidence, sizes))
    ]


def forward_stage(table: Floats, stage: Stage) -> tuple[Floats, int]:
    """The table after a stage, and the power of two that was taken out of it."""
    if isinstance(stage, Grouped):
        return rescaled(grouped_forward(table, stage))
    power = 0
    for move in stage.moves:
        table, more = rescaled(forward_step(table, move))
        power += more
    return table, power


def _moves(evidence: Evidence, columns: Columns, places: Sequence[Place]) -> tuple[Move, ...]:
    """The numbers of causes that bring the same signs."""
    causes = np.array([place.step.cause for place in places])
    shares = {axis: at_most_of(evidence, columns, axis, causes) for axis in places[0].step.shows}
    return tuple(
        _move(evidence, columns, place, {axis: share[:, number] for axis, share in shares.items()})
        for number, place in enumerate(places)
    )


def move_of(evidence: Evidence, columns: Columns, place: Place) -> Move:
    """The numbers of one step."""
    return _moves(evidence, columns, (place,))[0]


def _move(evidence: Evidence, columns: Columns, place: Place, shares: Mapping[int, Floats]) -> Move:
    cause = place.step.cause
    opens = np.ones((3, 1, 1))
    for axis in place.step.alone:
        shown = _opening(evidence, columns, axis, shares[axis]) * close_of(evidence, columns, axis)
        opens = opens * shown.sum(axis=1)[:, None, :]
    for axis in place.step.opens:
        new = _opening(evidence, columns, axis, shares[axis])
        opens = (new[:, :, None, :] * opens[:, None, :, :]).reshape(3, -1, max(new.shape[-1], opens.shape[-1]))
    odds = columns.odds[:, cause]
    return Move(
        cause,
        tuple((inner, _closing(evidence, columns, axis, shares[axis])) for inner, axis in place.closes),
        tuple((inner, shares[axis]) for inner, axis in place.links),
        opens,
        np.concatenate((np.ones((1, odds.shape[-1])), odds)),
    )


def _gained(share: Floats) -> Floats:
    """[degrees, states, columns] chance that a draw lies above the cut before and at most at the state's own."""
    gained: Floats = share.copy()
    gained[:, 1:] -= share[:, :-1]
    gained[:, 0] = 0.0
    return gained


def _opening(evidence: Evidence, columns: Columns, axis: int, share: Floats) -> Floats:
    """[branches, states, columns]"""
    start = start_of(evidence, columns, axis)
    below = np.cumsum(start, axis=0) - start
    shown = share * start + _gained(share) * below
    return np.concatenate((np.broadcast_to(start, (1, *shown.shape[1:])), shown))


def _closing(evidence: Evidence, columns: Columns, axis: int, share: Floats) -> Floats:
    """[branches, states, columns] what each state before the step counts once the sign is closed."""
    close = close_of(evidence, columns, axis)
    weighed = _gained(share) * close
    above = np.cumsum(weighed[:, ::-1], axis=1)[:, ::-1] - weighed  # of the states above
    shown = share * close + above
    return np.concatenate((np.broadcast_to(close, (1, *shown.shape[1:])), shown))


def branches(table: Floats, move: Move, weights: Floats | None = None) -> tuple[Floats, Floats]:
    """([rows, columns], [degrees, rows, columns]) of a table [rows, columns]: the cause absent, and slight and marked,
    these times `weights` [degrees, columns]; its signs closed and its links drawn, odds not applied."""
    columns = table.shape[-1]
    parts = table[None]
    for inner, counts in move.closes:
        view = parts.reshape(parts.shape[0], -1, counts.shape[1], inner, columns)
        result = view[:, :, 0] * counts[:, None, 0, None]
        for state in range(1, counts.shape[1]):
            result += view[:, :, state] * counts[:, None, state, None]
        parts = result.reshape(3, -1, columns)
    absent, lit = parts[0], parts[-2:] if len(parts) > 1 else parts
    # the chance of a draw at most the last cut is common to all states of a sign
    common = np.ones((2, 1)) if weights is None else weights
    for _, share in move.links:
        common = common * share[:, -1]
    lit = (
        np.multiply(lit, common[:, None])
        if move.links or weights is not None
        else np.broadcast_to(lit, (2, *lit.shape[1:]))
    )
    for inner, share in move.links:
        draw(lit.reshape(2, -1, share.shape[1], inner, columns), share / share[:, -1:])
    return absent, lit


def draw(view: Floats, share: Floats) -> None:
    """One draw of a present cause along an axis, in place. `view` [degrees, outer, states, inner, columns]; `share`
    [degrees, states, columns] chance of a draw at most each cut, 1 in the last state."""
    gained = _gained(share)
    last = share.shape[1] - 1
    for state in range(last, 0, -1):
        below = view[:, :, 0] if state == 1 else view[:, :, :state].sum(axis=2)
        if state < last:
            view[:, :, state] *= share[:, None, state, None]
        view[:, :, state] += gained[:, None, state, None] * below
    view[:, :, 0] *= share[:, None, 0, None]


def draw_back(view: Floats, share: Floats) -> None:
    """The adjoint of a draw, in place; `share` need not come to 1."""
    gained = _gained(share)
    for state in range(share.shape[1] - 1):
        view[:, :, state] *= share[:, None, state, None]
        for other in range(state + 1, share.shape[1]):
            view[:, :, state] += gained[:, None, other, None] * view[:, :, other]
    view[:, :, -1] *= share[:, None, -1, None]


def forward_step(table: Floats, move: Move) -> Floats:
    """The table after a step."""
    weights = move.opens * move.odds[:, None]
    result: Floats
    if weights.shape[1] == 1 and move.links:
        absent, lit = branches(table, move, weights[1:, 0])
        result = lit[0]
        result += lit[1]
        result += absent * weights[0]
        return result
    absent, lit = branches(table, move)
    result = weights[0][:, None] * absent
    result = result + weights[1][:, None] * lit[0]
    result += weights[2][:, None] * lit[1]
    return result.reshape(-1, table.shape[-1])


def backward_step(adjoint: Floats, move: Move) -> tuple[Floats, Floats]:
    """([rows before, columns] adjoint before a step, [branches, rows, columns] adjoint of `branches` without odds)."""
    columns, parts = adjoint.shape[-1], opened_back(adjoint, move)
    back = parts * move.odds[:, None]
    for inner, share in move.links:
        draw_back(back[1:].reshape(2, -1, share.shape[1], inner, columns), share)
    for inner, counts in reversed(move.closes):
        view = back.reshape(3, -1, 1, inner, columns)
        back = (view * counts[:, None, :, None]).reshape(3, -1, columns)
    return back.sum(axis=0), parts


def opened_back(adjoint: Floats, move: Move) -> Floats:
    """[branches, rows, columns] the adjoint of what a step opens."""
    after = adjoint.reshape(move.opens.shape[1], -1, adjoint.shape[-1])
    if move.opens.shape[1] == 1:
        return move.opens * after
    summed: Floats = (move.opens[:, :, None] * after[None]).sum(axis=1)
    return summed


@dataclass(frozen=True, slots=True, eq=False)
class Sums:
    """The sum of every column: `mantissa` x 2^`power`."""

    mantissa: Floats
    power: int

    def relative(self, other: Sums | None = None) -> Floats:
        """[columns] relative to column 0 (of another pass)."""
        first = other or self
        first_column: float = first.mantissa[0]
        return self.mantissa / first_column * math.ldexp(1.0, max(-1000, min(1000, self.power - first.power)))

    def log(self) -> float:
        """Natural log of column 0."""
        return math.log(self.mantissa[0]) + self.power * math.log(2)


def rescaled(table: Floats) -> tuple[Floats, int]:
    """The table and the power of two that was taken out of it."""
    top = float(table.max())
    if SCALED_BELOW < top < SCALED_ABOVE or top == 0.0 or not math.isfinite(top):
        return table, 0
    power = math.frexp(top)[1]
    return np.ldexp(table, -power), power


def rows_of(evidence: Evidence) -> int:
    """Most rows of a table, or of the cells of a group's causes."""
    states = [len(axis.start) for axis in evidence.axes]
    cells = (
        len(group.causes) * math.prod(states[axis] for axis in group.whole.shows)
        for group in evidence.plan.groups
        if is_grouped(evidence, group)
    )
    return max(1 << min(evidence.width, 18), *cells, 1)


def sums_of(evidence: Evidence, columns: Columns) -> Sums:
    """The sum of every column, forward only."""
    size = max(1, CELLS // rows_of(evidence))
    parts: list[Sums] = []
    for start in range(0, columns.count, size):
        part = columns if size >= columns.count else columns.part(start, min(columns.count, start + size))
        table, power = np.ones((1, part.count)), 0
        for stage in stages_of(evidence, part):
            table, more = forward_stage(table, stage)
            power += more
        parts.append(Sums(table[0] * loose_factor(evidence, part), power))
    if len(parts) == 1:
        return parts[0]
    power = parts[0].power
    return Sums(np.concatenate([part.mantissa * math.ldexp(1.0, part.power - power) for part in parts]), power)


def loose_factor(evidence: Evidence, columns: Columns) -> Floats:
    """[columns] factor of the loose causes and of telling signs that no cause brings."""
    factor = (1 + columns.odds[:, evidence.loose].sum(axis=0)).prod(axis=0)
    for axis in evidence.plan.bare:
        factor = factor * (start_of(evidence, columns, axis) * close_of(evidence, columns, axis)).sum(axis=0)
    return np.broadcast_to(factor, (columns.count,))
