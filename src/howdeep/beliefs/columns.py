"""What is changed in each pass of an elimination, and the numbers of a sign with it.

A *column* is one pass with something changed: causes switched off, causes that may draw nothing, other odds, a sign
left out. All columns run together, contiguous in memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import TypeVar

import numpy as np

from ..arrays import Bools, Floats, Ints
from ..model.frozen import dataclass
from .evidence import Evidence

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


def at_most_of(evidence: Evidence, columns: Columns, axis: int, causes: Ints) -> Floats:
    """[degrees, causes, states, columns or 1] chance that each cause's own draw is at most the cut of each state."""
    item = evidence.axes[axis]
    share = item.at_most[:, causes, :, None]
    if columns.muted is not None and item.must_go:
        muted = columns.muted[causes]
        if muted.any():
            share = np.where(muted[:, None], item.silent[:, causes, None, None], share)
    if axis in columns.capped:
        share = np.where(columns.capped[axis], np.minimum(share, item.short[:, causes, None, None]), share)
    if axis in columns.left_out:
        share = np.where(columns.left_out[axis], 1.0, share)
    return share


def start_of(evidence: Evidence, columns: Columns, axis: int) -> Floats:
    """[states, columns or 1] chance of each state with no cause present."""
    item = evidence.axes[axis]
    start = columns.start.get(axis, item.start[:, None])
    if axis in columns.left_out:
        last = np.zeros((len(item.start), 1))
        last[-1] = 1.0
        start = np.where(columns.left_out[axis], last, start)
    return start


def close_of(evidence: Evidence, columns: Columns, axis: int) -> Floats:
    """[states, columns or 1] how far each state counts."""
    close = evidence.axes[axis].close[:, None]
    return np.where(columns.left_out[axis], 1.0, close) if axis in columns.left_out else close
