"""Worlds drawn from what is believed: exactly, backwards through the elimination; by Gibbs sampling where too tangled.

Forward tables keep the sum of all ways to each state. Going back, each draw picks the branch of a step (absent, slight,
marked) and then, axis by axis, from which state the step came, each in proportion to its sum. Where the engine was
brought in, a world counts by the chance that somebody in it is behind what must go. Seeded: the same evidence gives the
same worlds.
"""

from __future__ import annotations

import math

import numpy as np

from ..arrays import Bools, Floats, Ints
from ..model.frozen import dataclass
from .elimination import Move, forward_step, moves_of, rescaled
from .evidence import Evidence
from .gibbs import MOST_EXACT, draw_worlds
from .network import LEAST
from .posteriors import plain_columns, to_rule_out, without_unlisted

SEED = 20
ENOUGH_LEFT, MOST_AGAIN = 0.5, 20
"""Share of draws with somebody behind them below which more are drawn, and how many times as many at most."""


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """Worlds, all of the same weight."""

    degrees: Ints
    """[draws, causes] 0 absent, 1 slight, 2 marked."""

    @property
    def present(self) -> Bools:
        """[draws, causes] whether the cause is there."""
        return self.degrees > 0


def worlds_given(evidence: Evidence, draws: int) -> Drawn:
    """So many worlds given the evidence, and that somebody is behind it where the engine was brought in."""
    if evidence.width > MOST_EXACT:
        degrees = draw_worlds(evidence).degrees
        return Drawn(degrees[np.linspace(0, len(degrees) - 1, draws).astype(int)])
    if not evidence.brought_in:
        return Drawn(_drawn(evidence, draws))
    degrees = _drawn(evidence, draws)
    counts = somebody_behind(evidence, degrees)
    left = float(counts.mean())
    if not left or not to_rule_out(1 - left):
        return Drawn(degrees)  # nobody cannot be ruled out, or stands for next to nothing
    if left < ENOUGH_LEFT:  # few are left of the first: more are drawn
        degrees = _drawn(evidence, draws * min(MOST_AGAIN, math.ceil(1 / left)))
        counts = somebody_behind(evidence, degrees)
    whole = np.cumsum(counts)
    return Drawn(degrees[np.searchsorted(whole, (np.arange(draws) + 0.5) / draws * whole[-1])])


def somebody_behind(evidence: Evidence, degrees: Ints) -> Floats:
    """[draws] chance, in a world given the evidence, that a cause or an unlisted fault is behind what must go."""
    nobody = np.ones(len(degrees))
    for number, axis in enumerate(evidence.axes):
        if axis.must_go:
            ladder = np.log(np.maximum(axis.at_most, LEAST))
            silent = np.log(np.maximum(axis.silent, LEAST))
            some, none = np.log(np.maximum(np.cumsum(axis.start), LEAST)), np.zeros(len(degrees))
            up_to = np.repeat(some[None], len(degrees), axis=0)
            for degree in (1, 2):
                there = degrees == degree
                up_to += there @ ladder[degree - 1]
                none += there @ silent[degree - 1]
            quiet = np.exp(none)[:, None] * np.cumsum(without_unlisted(evidence, number))
            nobody *= _counted(quiet, axis.close) / _counted(np.exp(up_to), axis.close)
    return np.clip(1 - nobody, 0.0, 1.0)


def _counted(up_to: Floats, close: Floats) -> Floats:
    """[draws] chance of a sign from that of each state or a lower one."""
    counted: Floats = np.diff(up_to, prepend=0.0, axis=1) @ close
    return counted


def _drawn(evidence: Evidence, draws: int) -> Ints:
    """[draws, causes] degrees, backwards through the elimination."""
    rng = np.random.default_rng(SEED)
    moves = moves_of(evidence, plain_columns(evidence))
    tables, table = [], np.ones((1, 1))
    for move in moves:
        tables.append(table)
        table, _ = rescaled(forward_step(table, move))
    degrees = np.zeros((draws, evidence.odds.shape[1]), dtype=np.int8)
    rows: Ints = np.zeros(draws, dtype=np.int64)
    for move, table in zip(reversed(moves), reversed(tables), strict=True):
        branch, rows = _back(move, table, rows, rng)
        degrees[:, move.cause] = branch
    loose = evidence.odds[:, evidence.loose]
    bounds = np.cumsum(np.concatenate((np.ones((1, loose.shape[1])), loose)), axis=0)
    drawn = rng.random((draws, loose.shape[1])) * bounds[-1]
    degrees[:, evidence.loose] = (drawn[:, None] > bounds[None]).sum(axis=1).clip(0, 2)
    return degrees


def _back(move: Move, table: Floats, rows: Ints, rng: np.random.Generator) -> tuple[Ints, Ints]:
    """([draws] branch of a step, [draws] row of the table before it) from the rows after it."""
    stages = [_stages(move, table[:, 0], branch) for branch in range(3)]
    inner = len(stages[0][-1])
    opened, kept = rows // inner, rows % inner
    weights = np.empty((len(rows), 3))
    for branch in range(3):
        weights[:, branch] = move.odds[branch, 0] * move.opens[branch, opened, 0] * stages[branch][-1][kept]
    picked = _pick(weights, rng)
    before = np.zeros_like(kept)
    for branch in range(3):
        here = np.flatnonzero(picked == branch)
        if here.size:
            before[here] = _through(move, stages[branch], branch, kept[here], rng)
    return picked, before


def _pick(weights: Floats, rng: np.random.Generator) -> Ints:
    """[draws] a column of each row in proportion to its weight."""
    bounds = weights.cumsum(axis=1)
    place: Ints = (rng.random(len(weights))[:, None] * bounds[:, -1:] > bounds).sum(axis=1)
    place[place >= weights.shape[1]] = weights.shape[1] - 1
    return place


def _gain(at_most: Floats) -> Floats:
    """[states] chance that a draw lies above the cut before and at most at the state's own; of the first, nothing."""
    gain = np.zeros_like(at_most)
    np.subtract(at_most[1:], at_most[:-1], out=gain[1:])
    return gain


def _stages(move: Move, table: Floats, branch: int) -> list[Floats]:
    """The table of one branch after each closing and each link, the first as it was."""
    stages = [table]
    for inner, counts in move.closes:
        view = stages[-1].reshape(-1, counts.shape[1], inner)
        stages.append((view * counts[branch, :, 0][None, :, None]).sum(axis=1).reshape(-1))
    for inner, share in move.links:
        if branch == 0:
            stages.append(stages[-1])
            continue
        view = stages[-1].reshape(-1, share.shape[1], inner)
        at_most = share[branch - 1, :, 0]
        below = view.cumsum(axis=1) - view
        stages.append((at_most[None, :, None] * view + _gain(at_most)[None, :, None] * below).reshape(-1))
    return stages


def _through(move: Move, stages: list[Floats], branch: int, rows: Ints, rng: np.random.Generator) -> Ints:
    """Rows of the first stage from those of the last."""
    place = len(stages) - 1
    for inner, share in reversed(move.links):
        place -= 1
        if branch == 0:
            continue
        states = share.shape[1]
        at_most = share[branch - 1, :, 0]
        # [from, to] what a draw weighs: it stays at its state, or is lifted to it from one below
        weighs = np.triu(np.broadcast_to(_gain(at_most), (states, states)), 1)
        np.fill_diagonal(weighs, at_most)
        outer, rest = rows // (states * inner), rows % (states * inner)
        state, low = rest // inner, rest % inner
        came = np.empty((len(rows), states))
        for start in range(states):
            came[:, start] = stages[place][(outer * states + start) * inner + low] * weighs[start, state]
        rows = (outer * states + _pick(came, rng)) * inner + low
    for inner, counts in reversed(move.closes):
        place -= 1
        states = counts.shape[1]
        outer, low = rows // inner, rows % inner
        came = np.empty((len(rows), states))
        for start in range(states):
            came[:, start] = stages[place][(outer * states + start) * inner + low] * counts[branch, start, 0]
        rows = (outer * states + _pick(came, rng)) * inner + low
    return rows
