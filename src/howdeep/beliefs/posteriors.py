"""Odds of every cause, and the chance that it has a hand in what was noticed, from one forward and one backward pass.

A cause *has a hand in* a telling sign when its own draw reached the answer given. With G the chance of the evidence and
G(c) the same where no draw of cause c reaches any answer, hand(c) = 1 - G(c) / G. What nothing on the list explains is
asked of the whole network: no draw of any cause reaches the answer.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..arrays import Bools, Floats, Ints
from ..model.frozen import dataclass
from .columns import Columns
from .elimination import (
    Move,
    Place,
    Sums,
    backward_step,
    branches,
    forward_stage,
    forward_step,
    loose_factor,
    move_of,
    opened_back,
    rescaled,
    stages_of,
    sums_of,
)
from .evidence import Axis, Evidence, shares_and_cuts
from .grouped import Grouped, draws_of, grouped_back
from .network import LEAST

STRIDE_ABOVE = 1 << 16
"""Cells above which only every STRIDE-th forward table is stored and the others are worked out again."""
STRIDE = 6
SO_FEW = 1e-3
"""Share of the worlds that is not ruled out where only the order of checks and questions hangs on it."""
ROUNDING = 1e-12
"""Odds worked out as a difference are kept so far off 0 and 1, above what rounding does to them."""


@dataclass(frozen=True, slots=True, eq=False)
class Posteriors:
    """What is believed. Arrays [causes, columns]."""

    present: Floats
    """Probability of the cause."""
    marked: Floats
    """Probability that it is there and marked."""
    hand: Floats
    """Chance that it has a hand in any telling sign."""
    hand_noticed: Floats
    """Chance that it has a hand in any telling sign that was not seen or measured on the open engine."""
    sums: Sums
    """Of the evidence."""
    nobody: float = 0.0
    """Chance that nobody is behind what must go, before that is ruled out; 0 where it is not."""


def plain_columns(evidence: Evidence) -> Columns:
    """One column, nothing changed."""
    return Columns(1, evidence.odds[:, :, None])


class _Found:
    """What the way back through the stages fills in: arrays [causes, columns]."""

    def __init__(self, evidence: Evidence, columns: Columns, hands: bool) -> None:
        count, causes = columns.count, len(evidence.network.causes)
        loose = columns.odds / (1 + columns.odds.sum(axis=0))
        self.evidence, self.columns, self.hands = evidence, columns, hands
        self.present = np.broadcast_to(loose.sum(axis=0), (causes, count)).copy()
        self.marked = np.broadcast_to(loose[1], (causes, count)).copy()
        self.hand, self.noticed = np.zeros((causes, count)), np.zeros((causes, count))

    def of_cause(self, before: Floats, after: Floats, parts: Floats, move: Move, place: Place) -> None:
        """One cause, from the table before it, the adjoint after it and that of its branches."""
        values = _values(before, move, parts)
        shorts = _short(self.evidence, self.columns, place, before, after, values) if self.hands else None
        self.fill(move.cause, move.odds[1:], values, shorts)

    def of_group(self, stage: Grouped, spreads: Floats) -> None:
        """The causes of a group, from the adjoint of the spread of each."""
        causes = np.array(stage.group.causes)
        values = np.concatenate((spreads[None, :, 0], (stage.draws * spreads).sum(axis=2)))
        shorts = _short_of_group(self.evidence, self.columns, stage, spreads, values) if self.hands else None
        self.fill(causes, self.columns.odds[:, causes], values, shorts)

    def fill(self, causes: int | Ints, odds: Floats, values: Floats, shorts: tuple[Floats, Floats] | None) -> None:
        """`values` [branches, ..., columns] sums with the cause absent, slight, marked, odds left out; `shorts` those
        in which it is there and none of its draws reaches an answer: in any telling sign, and in any noticed before the
        engine was opened."""
        weighed = values[1:] * odds
        total = values[0] + weighed.sum(axis=0)
        self.present[causes] = weighed.sum(axis=0) / total
        self.marked[causes] = weighed[1] / total
        if shorts is not None:
            self.hand[causes] = ((weighed - odds * shorts[0]) / total).sum(axis=0)
            self.noticed[causes] = ((weighed - odds * shorts[1]) / total).sum(axis=0)


def posteriors_of(evidence: Evidence, columns: Columns | None = None, *, hands: bool = True) -> Posteriors:
    """Odds of every cause in every column, and with `hands` its hand in what was noticed (else 0)."""
    columns = columns or plain_columns(evidence)
    stages = list(stages_of(evidence, columns))
    stride = STRIDE if (1 << evidence.width) * columns.count > STRIDE_ABOVE else 1
    kept: dict[int, Floats] = {}
    table, power = np.ones((1, columns.count)), 0
    for index, stage in enumerate(stages):
        if index % stride == 0:
            kept[index] = table
        table, more = forward_stage(table, stage)
        power += more
    sums = Sums(table[0] * loose_factor(evidence, columns), power)
    found = _Found(evidence, columns, hands)
    adjoint = np.ones((1, columns.count))
    for index in range(len(stages) - 1, -1, -1):
        if index not in kept:
            for again in range(index - index % stride, index):
                kept[again + 1] = forward_stage(kept[again], stages[again])[0]
        stage, before = stages[index], kept.pop(index)
        if isinstance(stage, Grouped):
            adjoint, spreads = grouped_back(before, adjoint, stage)
            found.of_group(stage, spreads)
            adjoint, _ = rescaled(adjoint)
            continue
        tables = [before]
        for move in stage.moves[:-1]:
            tables.append(rescaled(forward_step(tables[-1], move))[0])
        for move, place, before in zip(stage.moves[::-1], stage.places[::-1], tables[::-1], strict=True):
            after = adjoint
            adjoint, parts = backward_step(after, move)
            found.of_cause(before, after, parts, move, place)
            adjoint, _ = rescaled(adjoint)
    return Posteriors(
        found.present, found.marked, np.clip(found.hand, 0.0, 1.0), np.clip(found.noticed, 0.0, 1.0), sums
    )


def without_unlisted(evidence: Evidence, number: int) -> Floats:
    """[states] start of an axis with unlisted faults drawing nothing."""
    sign = evidence.axes[number].sign
    node = evidence.network.nodes[sign.node]
    _, cuts = shares_and_cuts(sign)
    return np.diff(node.normal[cuts] * node.unlisted[0] * node.misread[cuts], prepend=0.0)


def nobody_column(evidence: Evidence) -> Columns:
    """Two columns: nothing changed; and nobody, neither a cause nor an unlisted fault, behind what must go."""
    muted = np.zeros((len(evidence.network.causes), 2), dtype=bool)
    muted[:, 1] = True
    start = {
        number: np.stack((axis.start, without_unlisted(evidence, number)), axis=1)
        for number, axis in enumerate(evidence.axes)
        if axis.must_go
    }
    return Columns(2, evidence.odds[:, :, None], muted, start)


def to_rule_out(nobody: float) -> float:
    """The chance of the worlds in which nobody is behind what must go, as far as it can be ruled out: nothing of it
    where no other world is left, as with a sign that no cause of this engine gives."""
    return 0.0 if nobody > 1 - LEAST else nobody


def believed(evidence: Evidence) -> Posteriors:
    """Odds and hands of every cause in one column: where the engine was brought in for its trouble, given that somebody
    is behind it (the whole less the column in which nobody is)."""
    if not evidence.brought_in:
        return posteriors_of(evidence)
    found = posteriors_of(evidence, nobody_column(evidence))
    nobody = to_rule_out(float(found.sums.relative()[1]))
    left = 1 - nobody

    def given(part: Floats) -> Floats:
        return np.clip((part[:, :1] - nobody * part[:, 1:]) / left, 0.0, 1.0)

    present = np.clip(given(found.present), ROUNDING, 1 - ROUNDING)
    return Posteriors(present, given(found.marked), given(found.hand), given(found.hand_noticed), found.sums, nobody)


def posteriors_after(evidence: Evidence, factors: Floats, nobody: float) -> tuple[Floats, Floats]:
    """([columns] chance of the evidence with the odds times `factors` [degrees, causes, columns], beside that of the
    first column; [causes, columns] chance of a hand in what was noticed), given that somebody is behind what must go,
    as in `believed`. `nobody`: the chance that nobody is, before that is ruled out; where it is at most SO_FEW it is
    left in, which moves no figure by more than that share."""
    count = factors.shape[-1]
    odds = evidence.odds[:, :, None] * factors
    if nobody <= SO_FEW:
        found = posteriors_of(evidence, Columns(count, odds))
        return found.sums.relative(), found.hand
    muted = np.zeros((odds.shape[1], 2 * count), dtype=bool)
    muted[:, count:] = True
    start = {
        number: np.repeat(np.stack((axis.start, without_unlisted(evidence, number)), axis=1), count, axis=1)
        for number, axis in enumerate(evidence.axes)
        if axis.must_go
    }
    found = posteriors_of(evidence, Columns(2 * count, np.concatenate((odds, odds), axis=-1), muted, start))
    sums = found.sums.relative()
    left = np.maximum(sums[:count] - sums[count:], 0.0)
    joint = sums[:count] * found.hand[:, :count] - sums[count:] * found.hand[:, count:]
    told = left > LEAST * sums[:count]  # else nothing but nobody gives such an answer
    hands = np.where(told, joint / np.where(told, left, 1.0), 0.0)
    return left / left[0], np.clip(hands, 0.0, 1.0)


def _values(before: Floats, move: Move, parts: Floats) -> Floats:
    """[branches, columns] sums of each branch, odds left out."""
    absent, lit = branches(before, move)
    return np.concatenate(((absent * parts[0]).sum(axis=0)[None], np.einsum("brk,brk->bk", lit, parts[1:])))


def _short(
    evidence: Evidence, columns: Columns, place: Place, before: Floats, after: Floats, values: Floats
) -> tuple[Floats, Floats]:
    """[degrees, columns] sums in which the cause is there and none of its draws reaches an answer: in any telling sign,
    and in any that was not seen or measured on the open engine."""
    cause = place.step.cause
    shown = place.step.shows
    short = np.ones((2, columns.count))
    for axis in shown:
        item = evidence.axes[axis]
        factor = item.short[:, cause, None]
        if columns.muted is not None and item.must_go:
            factor = np.where(columns.muted[cause], item.silent[:, cause, None], factor)
        short = short * (np.where(columns.left_out[axis], 1.0, factor) if axis in columns.left_out else factor)
    whole = short * values[0]
    bench = [axis for axis in shown if evidence.axes[axis].bench]
    if not bench:
        return whole, whole
    if len(bench) == len(shown):
        return whole, values[1:]
    capped = {axis: np.ones(columns.count, dtype=bool) for axis in shown if axis not in bench}
    other = move_of(evidence, replace(columns, capped={**columns.capped, **capped}), place)
    return whole, _values(before, other, opened_back(after, other))[1:]


def _short_of_group(
    evidence: Evidence, columns: Columns, stage: Grouped, spreads: Floats, values: Floats
) -> tuple[Floats, Floats]:
    """[degrees, causes, columns] the same of every cause of a group."""
    causes = np.array(stage.group.causes)
    none = dict.fromkeys(stage.axes, np.ones(columns.count, dtype=bool))
    whole = draws_of(evidence, replace(columns, capped={**columns.capped, **none}), stage.axes, causes)[:, :, 0]
    whole = whole * values[0]
    bench = [axis for axis in stage.axes if evidence.axes[axis].bench]
    if not bench:
        return whole, whole
    if len(bench) == len(stage.axes):
        return whole, values[1:]
    capped = {axis: none[axis] for axis in stage.axes if axis not in bench}
    draws = draws_of(evidence, replace(columns, capped={**columns.capped, **capped}), stage.axes, causes)
    return whole, (draws * spreads).sum(axis=2)


def unexplained(evidence: Evidence, detail_from: float = 0.0) -> list[tuple[float, float, float]]:
    """Per telling sign: chance that nothing on the list explains it; of it, that it was only misread, and that only an
    unlisted fault is behind it (these two 0 where the first is below `detail_from`)."""
    count = len(evidence.axes)
    if not count:
        return []
    sums = _without_the_list(evidence, [(axis, None) for axis in range(count)])
    nothing = sums[1:]
    told = [axis for axis in range(count) if nothing[axis] >= detail_from]
    detail = dict.fromkeys(range(count), (0.0, 0.0))
    if told:
        parts = _without_the_list(evidence, [(axis, only) for axis in told for only in ("misread", "unlisted")])[1:]
        detail |= {axis: (float(parts[2 * place]), float(parts[2 * place + 1])) for place, axis in enumerate(told)}
    return [(float(nothing[axis]), *detail[axis]) for axis in range(count)]


def _without_the_list(evidence: Evidence, asked: list[tuple[int, str | None]]) -> Floats:
    """[1 + asked] sums in which no cause's draw reaches the answer of a sign, and only one ladder of the leak may."""
    columns = 1 + len(asked)
    capped: dict[int, Bools] = {}
    start: dict[int, Floats] = {}
    for place, (axis, only) in enumerate(asked, start=1):
        capped.setdefault(axis, np.zeros(columns, dtype=bool))[place] = True
        if only is not None:
            item = evidence.axes[axis]
            start.setdefault(axis, np.repeat(item.start[:, None], columns, axis=1))[:, place] = _start_by(
                evidence, item, only
            )
    odds = np.broadcast_to(evidence.odds[:, :, None], (*evidence.odds.shape, 1))
    return sums_of(evidence, Columns(columns, odds, start=start, capped=capped)).relative()


def _start_by(evidence: Evidence, axis: Axis, only: str) -> Floats:
    """[states] the leak's start where only one of its ladders may reach the answer."""
    node = evidence.network.nodes[axis.sign.node]
    _, cuts = shares_and_cuts(axis.sign)
    ladders = {"normal": node.normal, "unlisted": node.unlisted, "misread": node.misread}
    at_most = np.ones(len(cuts))
    for name, given in ladders.items():
        part = given[cuts]
        at_most = at_most * (part if name == only else np.minimum(part, part[0]))
    return np.diff(at_most, prepend=0.0)
