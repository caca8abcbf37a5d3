"""Exact sums over all worlds of causes: one cause summed out at a time, a table kept over the open telling signs.

A *column* is one pass with something changed: causes switched off, causes that may draw nothing, other odds, a sign
left out. All columns run together, contiguous in memory. Every term is positive, so nothing cancels.

One step has three branches: the cause absent, slight, marked. Along an axis with the cuts t1 < t2 < ... a branch takes

    state j  ->  C(tj) state j + (C(tj) - C(tj-1)) x (sum of the states below j),     C = 1 where the cause is absent

Signs of which the cause is the last are closed first (their states weighed and summed), those it opens come last, so a
table is never larger than what is open before or after the step.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np

from ..arrays import Bools, Floats
from .elimination_order import Step
from .evidence import Evidence

CELLS = 1 << 18
"""Most cells of one table: more columns are worked off in groups (of 2^12 to 2^21 cells these took the least time)."""
SCALED_BELOW, SCALED_ABOVE = 1e-120, 1e120


_Numbers = TypeVar("_Numbers", Floats, Bools)


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """What is changed in each column. `None` and missing entries change nothing."""

    count: int
    odds: Floats
    """[degrees, causes, columns] (or [..., 1]) odds of every cause and degree."""
    muted: Bools | None = None
    """[causes, columns] True where the cause may draw nothing in a sign that must go."""
    start: Mapping[int, Floats] = field(default_factory=dict)
    """Axis -> [states, columns] in place of its own start."""
    capped: Mapping[int, Bools] = field(default_factory=dict)
    """Axis -> [columns] True where no cause's draw may reach the answer."""
    left_out: Mapping[int, Bools] = field(default_factory=dict)
    """Axis -> [columns] True where the sign is not counted."""

    def part(self, start: int, stop: int) -> Columns:
        """Some of the columns."""

        def cut(array: _Numbers) -> _Numbers:
            return array[..., start:stop] if array.shape[-1] == self.count else array

        return Columns(
            stop - start,
            cut(self.odds),
            None if self.muted is None else cut(self.muted),
            {axis: cut(array) for axis, array in self.start.items()},
            {axis: cut(array) for axis, array in self.capped.items()},
            {axis: cut(array) for axis, array in self.left_out.items()},
        )


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


def places_of(evidence: Evidence) -> tuple[Place, ...]:
    """Where the axes lie, step by step."""
    sizes: list[int] = []
    places = []
    for step in evidence.plan.steps:
        closes = []
        for place, axis in step.closes:
            closes.append((math.prod(sizes[:place]), axis))
            sizes.pop(place)
        links = tuple((math.prod(sizes[:place]), axis) for place, axis in step.links)
        sizes += [len(evidence.axes[axis].start) for axis in step.opens]
        places.append(Place(step, tuple(closes), links))
    return tuple(places)


def moves_of(evidence: Evidence, columns: Columns) -> list[Move]:
    """The numbers of every step of the plan."""
    return [move_of(evidence, columns, place) for place in places_of(evidence)]


def move_of(evidence: Evidence, columns: Columns, place: Place) -> Move:
    """The numbers of one step."""
    cause = place.step.cause
    opens = np.ones((3, 1, 1))
    for axis in place.step.alone:
        opens = opens * _alone(evidence, columns, axis, cause)[:, None, :]
    for axis in place.step.opens:
        new = _opening(evidence, columns, axis, cause)
        opens = (new[:, :, None, :] * opens[:, None, :, :]).reshape(3, -1, max(new.shape[-1], opens.shape[-1]))
    odds = columns.odds[:, cause]
    return Move(
        cause,
        tuple((inner, _closing(evidence, columns, axis, cause)) for inner, axis in place.closes),
        tuple((inner, _at_most(evidence, columns, axis, cause)) for inner, axis in place.links),
        opens,
        np.concatenate((np.ones((1, odds.shape[-1])), odds)),
    )


def _at_most(evidence: Evidence, columns: Columns, axis: int, cause: int) -> Floats:
    """[degrees, states, columns or 1]"""
    item = evidence.axes[axis]
    share = item.at_most[:, cause, :, None]
    if columns.muted is not None and item.must_go and columns.muted[cause].any():
        share = np.where(columns.muted[cause], item.silent[:, cause, None, None], share)
    if axis in columns.capped:
        share = np.where(columns.capped[axis], np.minimum(share, item.short[:, cause, None, None]), share)
    if axis in columns.left_out:
        share = np.where(columns.left_out[axis], 1.0, share)
    return share


def _start(evidence: Evidence, columns: Columns, axis: int) -> Floats:
    """[states, columns or 1]"""
    item = evidence.axes[axis]
    start = columns.start.get(axis, item.start[:, None])
    if axis in columns.left_out:
        last = np.zeros((len(item.start), 1))
        last[-1] = 1.0
        start = np.where(columns.left_out[axis], last, start)
    return start


def _close(evidence: Evidence, columns: Columns, axis: int) -> Floats:
    """[states, columns or 1]"""
    close = evidence.axes[axis].close[:, None]
    return np.where(columns.left_out[axis], 1.0, close) if axis in columns.left_out else close


def _stepped(share: Floats, states: Floats) -> Floats:
    """[degrees, states, columns] the states after a draw."""
    below = np.cumsum(states, axis=0) - states
    gained = np.diff(share, axis=1, prepend=0.0)
    gained[:, 0] = 0.0
    return share * states + gained * below


def _opening(evidence: Evidence, columns: Columns, axis: int, cause: int) -> Floats:
    """[branches, states, columns]"""
    start = _start(evidence, columns, axis)
    shown = _stepped(_at_most(evidence, columns, axis, cause), start)
    return np.concatenate((np.broadcast_to(start, (1, *shown.shape[1:])), shown))


def _alone(evidence: Evidence, columns: Columns, axis: int, cause: int) -> Floats:
    """[branches, columns]"""
    shown: Floats = (_opening(evidence, columns, axis, cause) * _close(evidence, columns, axis)).sum(axis=1)
    return shown


def _closing(evidence: Evidence, columns: Columns, axis: int, cause: int) -> Floats:
    """[branches, states, columns] what each state before the step counts once the sign is closed."""
    share, close = _at_most(evidence, columns, axis, cause), _close(evidence, columns, axis)
    gained = np.diff(share, axis=1, prepend=0.0)
    gained[:, 0] = 0.0
    weighed = gained * close
    above = np.cumsum(weighed[:, ::-1], axis=1)[:, ::-1] - weighed  # of the states above
    shown = share * close + above
    return np.concatenate((np.broadcast_to(close, (1, *shown.shape[1:])), shown))


def branches(table: Floats, move: Move) -> Floats:
    """[branches, rows, columns] of a table [rows, columns], its signs closed and its links drawn; odds not applied."""
    columns = table.shape[-1]
    parts = table[None]
    for inner, counts in move.closes:
        view = parts.reshape(parts.shape[0], -1, counts.shape[1], inner, columns)
        result = view[:, :, 0] * counts[:, None, 0, None]
        for state in range(1, counts.shape[1]):
            result += view[:, :, state] * counts[:, None, state, None]
        parts = result.reshape(3, -1, columns)
    if move.links:
        if parts.shape[0] == 1:
            parts = np.repeat(parts, 3, axis=0)
        for inner, share in move.links:
            view = parts[1:].reshape(2, -1, share.shape[1], inner, columns)
            draw(view, share)
    return parts


def draw(view: Floats, share: Floats) -> None:
    """One draw of a present cause along an axis, in place. `view` [degrees, outer, states, inner, columns]."""
    for state in range(share.shape[1] - 1, 0, -1):
        top = share[:, None, state, None]
        gain = top - share[:, None, state - 1, None]
        below = view[:, :, 0] if state == 1 else view[:, :, :state].sum(axis=2)
        view[:, :, state] *= top
        view[:, :, state] += gain * below
    view[:, :, 0] *= share[:, None, 0, None]


def draw_back(view: Floats, share: Floats) -> None:
    """The adjoint of `draw`, in place."""
    gains = np.diff(share, axis=1)
    for state in range(share.shape[1] - 1):
        view[:, :, state] *= share[:, None, state, None]
        for other in range(state + 1, share.shape[1]):
            view[:, :, state] += gains[:, None, other - 1, None] * view[:, :, other]
    view[:, :, -1] *= share[:, None, -1, None]


def forward_step(table: Floats, move: Move) -> Floats:
    """The table after a step."""
    parts = branches(table, move)
    weights = move.opens * move.odds[:, None]
    result: Floats
    if parts.shape[0] == 1:
        result = weights.sum(axis=0)[:, None] * parts[0][None]
        return result.reshape(-1, table.shape[-1])
    result = weights[0][:, None] * parts[0]
    result = result + weights[1][:, None] * parts[1]
    result += weights[2][:, None] * parts[2]
    return result.reshape(-1, table.shape[-1])


def backward_step(adjoint: Floats, move: Move) -> tuple[Floats, Floats]:
    """([rows before, columns] adjoint before a step, [branches, rows, columns] adjoint of `branches` without odds)."""
    columns, parts = adjoint.shape[-1], opened_back(adjoint, move)
    back = parts * move.odds[:, None]
    if move.links:
        back = back.copy()
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


def sums_of(evidence: Evidence, columns: Columns) -> Sums:
    """The sum of every column, forward only."""
    size = max(1, CELLS >> min(evidence.width, 18))
    parts: list[Sums] = []
    for start in range(0, columns.count, size):
        part = columns if size >= columns.count else columns.part(start, min(columns.count, start + size))
        table, power = np.ones((1, part.count)), 0
        for move in moves_of(evidence, part):
            table, more = rescaled(forward_step(table, move))
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
        factor = factor * (_start(evidence, columns, axis) * _close(evidence, columns, axis)).sum(axis=0)
    return np.broadcast_to(factor, (columns.count,))
