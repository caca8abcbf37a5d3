"""One decision with its numbers: how the job can end, what each way costs, and how likely each job is to be enough."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from ..arrays import Bools, Floats, Ints
from ..beliefs.columns import Columns
from ..beliefs.elimination import sums_of
from ..beliefs.evidence import Evidence
from ..beliefs.gibbs import MOST_EXACT, draw_worlds
from ..beliefs.posteriors import to_rule_out, without_unlisted
from ..model.frozen import dataclass
from ..model.terms import DEPTH, RUNGS, Rung
from .ladder import KINDS_OF_M, LEVELS, NOBODY, UNLISTED, Blocks, Ladder, Terms, Worth, blocks_of, chances_of, looking

ColumnGroup = tuple[Bools, Bools, Bools]
"""[causes, columns] causes off, [causes, columns] causes muted, [columns] unlisted faults cut out."""
LOOKS = (2, 3)
"""Levels to which an engine is opened to look: head off, and head and pan off."""


@dataclass(frozen=True, slots=True, eq=False)
class Job:
    """Work that can be promised: the package of a rung, or only what cures what was noticed."""

    rung: Rung
    whole: bool
    """Whether it is the rung's package."""
    price: float
    """NaN where a price is missing."""
    cures: frozenset[str]
    """Causes that a job of this kind cures whatever else is found; for a package everything that the rung cures."""
    idle: bool = False
    """Whether it cures next to nothing that is suspected, as long as nothing more is found."""


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """A job with what it is worth."""

    job: Job
    enough: float
    """Chance that everything noticed goes away."""
    expected: float
    """What it costs in the end; NaN where prices are missing."""
    growth: float
    failing: float
    came_for: float | None = None
    """Chance that what it was brought in for goes away; None where more was not noticed, or nobody said what it was."""


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """Everything that the steps of the decision share."""

    evidence: Evidence
    need: Ints
    """[causes] rung that cures each cause."""
    seen: Ints
    """[causes] rung that opens it to view."""
    terms: Terms
    prices: tuple[float, ...]
    """Of the packages; NaN where missing."""
    blocks: Blocks
    ladder: Ladder | None
    """None where prices are missing."""
    chances: Floats
    """[blocked, KINDS_OF_M] chance of each way it can be."""
    weighed: tuple[Weighed, ...]
    """Packages in order of rung, then the targeted jobs in order of rung."""
    looks: Mapping[int, float]
    """Level -> cost of opening to it first and deciding then; empty where it cannot be bought."""
    stop: float
    """Cost of stopping now; inf where the machine's value is not known."""
    every: tuple[float, ...]
    """Per rung the chance that no fault at all is left, noticed or not."""
    estimated: bool
    nobody: float = 0.0
    """Chance, before it was ruled out, that nobody is behind what must go."""

    def cured_at(self) -> dict[str, int]:
        """Cause -> number of the rung that cures it."""
        return dict(zip(self.evidence.network.causes, self.need.tolist(), strict=True))

    def shown_at(self) -> dict[str, int]:
        """Cause -> number of the rung that opens it to view."""
        return dict(zip(self.evidence.network.causes, self.seen.tolist(), strict=True))

    @property
    def provisional(self) -> bool:
        """Whether prices are missing."""
        return self.ladder is None


def levels_in_order(network_causes: Sequence[str], by_cause: Mapping[str, Rung]) -> Ints:
    """[causes] numbers of rungs."""
    return np.array([DEPTH[by_cause[cause]] for cause in network_causes])


def problem_of(
    evidence: Evidence,
    need: Mapping[str, Rung],
    seen: Mapping[str, Rung],
    packages: Sequence[float],
    targeted: Sequence[Job],
    terms: Terms,
    found: Sequence[float] = (0.0,) * LEVELS,
    idle: Sequence[bool] = (False,) * LEVELS,
    about: frozenset[str] | None = None,
) -> Problem:
    """Weigh every job. `packages` are the prices of the six rungs, NaN where missing; `found` what each is expected to
    cost more for cures at its own depth that are not in it and may be called for; `idle` whether it cures next to
    nothing; `about` the questions about what it was brought in for, where that was told."""
    causes = evidence.network.causes
    needs, views = levels_in_order(causes, need), levels_in_order(causes, seen)
    blocks = blocks_of(needs, views)
    only = [
        blocks_of(np.where([cause in job.cures for cause in causes], NOBODY, needs), views, growing=False)
        for job in targeted
    ]
    looks = [level for level in LOOKS if level < len(terms.look) and np.isfinite(terms.look[level])]
    seen_sets = [_look_columns(needs, views, level) for level in looks]
    every = np.array([needs > rung for rung in range(LEVELS)]).T
    groups = [
        (blocks.off, blocks.muted, blocks.cut),
        *((item.off, item.muted, item.cut) for item in only),
        *seen_sets,
        (every, np.zeros_like(every), np.zeros(LEVELS, dtype=bool)),
    ]
    estimated = evidence.width > MOST_EXACT
    sums = (_sampled if estimated else _summed)(evidence, groups)
    whole = sums[0][KINDS_OF_M - 1]
    parts = [group / whole for group in sums]
    chances = chances_of(blocks, parts[0][:, None])
    nobody = to_rule_out(float(chances[:, NOBODY + 1].sum())) if evidence.brought_in else 0.0
    chances = given_trouble(chances, nobody)
    in_use = _in_use(evidence, needs, parts[0][:KINDS_OF_M]) if not estimated else (1.0,) * LEVELS
    priced = not any(price != price for price in packages)
    ladder = (
        Ladder(blocks, [price + more for price, more in zip(packages, found, strict=True)], terms, in_use)
        if priced
        else None
    )
    weighed = []
    by_m = chances.sum(axis=0)[:, 0]
    for rung in range(LEVELS):
        worth = ladder.worth(rung, chances) if ladder else None
        weighed.append(
            Weighed(
                Job(
                    RUNGS[rung],
                    True,
                    packages[rung],
                    frozenset(cause for cause, level in zip(causes, needs, strict=True) if level <= rung),
                    idle[rung],
                ),
                float(by_m[: rung + 2].sum()),
                *_figures(worth, found[rung]),
            )
        )
    for job, item, part in zip(targeted, only, parts[1 : 1 + len(only)], strict=True):
        left = chances_of(item, part[:, None])
        if nobody:  # not all of it is normal or mistaken
            left[0, NOBODY + 1] = max(float(left[0, NOBODY + 1, 0]) - nobody, 0.0)
            left = left / (1 - nobody)
        weighed.append(_targeted(job, left, ladder, in_use))
    if about is not None and not estimated:
        weighed = _with_came_for(evidence, weighed, about, nobody)
    shown = {}
    for level, part in zip(looks, parts[1 + len(only) :], strict=False):
        if ladder is not None:
            table = np.diff(np.diff(part.reshape(LEVELS + 1, KINDS_OF_M), axis=0, prepend=0.0), axis=1, prepend=0.0)
            table = given_trouble(np.maximum(table, 0.0)[:, :, None], nobody)
            shown[level] = float(looking(ladder, terms.look[level], terms.credit, table)[0])
    return Problem(
        evidence,
        needs,
        views,
        terms,
        tuple(packages),
        blocks,
        ladder,
        chances[:, :, 0],
        tuple(weighed),
        shown,
        terms.stop,
        tuple(float(item) for item in parts[-1]),
        estimated,
        nobody,
    )


def given_trouble(chances: Floats, nobody: float) -> Floats:
    """[..., KINDS_OF_M, batch] chances of M once it is ruled out that nobody is behind it; else as they are."""
    if not nobody:
        return chances
    left = chances.copy()
    left[:, NOBODY + 1] = 0.0
    return left / (1 - nobody)


def _figures(worth: Worth | None, found: float = 0.0) -> tuple[float, float, float]:
    """(expected, growth, failing); what is found at its own depth counts as growth."""
    if worth is None:
        return float("nan"), float("nan"), float("nan")
    return float(worth.total[0]), float(worth.growth[0]) + found, float(worth.failing[0])


def _targeted(job: Job, left: Floats, ladder: Ladder | None, in_use: Sequence[float]) -> Weighed:
    """A job that cures only some causes: where it fails, the shop goes on with the package of some rung, or stops."""
    enough = float(left[0, NOBODY + 1, 0])
    if ladder is None or job.price != job.price:
        return Weighed(job, enough, *_figures(None))
    failing = left.copy()
    failing[:, NOBODY + 1] = 0.0
    mass = float(failing.sum())
    rung = DEPTH[job.rung]
    after = mass * (ladder.terms.comeback * in_use[rung] + (ladder.terms.reopening if rung >= 2 else 0.0))
    best = mass * ladder.last_resort()
    if mass:
        best = min(best, float(ladder.totals(failing).min()))
    return Weighed(job, enough, job.price + after + best, 0.0, after + best)


def _with_came_for(evidence: Evidence, weighed: list[Weighed], about: frozenset[str], nobody: float) -> list[Weighed]:
    """The same jobs with the chance that each takes away what the engine was brought in for."""
    nodes, causes = evidence.network.nodes, evidence.network.causes
    own = [axis.must_go and bool(nodes[axis.sign.node].readings & about) for axis in evidence.axes]
    if not any(own) or own == [axis.must_go for axis in evidence.axes]:
        return weighed
    axes = tuple(replace(axis, must_go=mine) for axis, mine in zip(evidence.axes, own, strict=True))
    left = [[cause not in item.job.cures for cause in causes] for item in weighed]
    muted = np.array([[False] * len(causes), *left]).T
    none, cut = np.zeros_like(muted), np.arange(len(weighed) + 1) > 0
    narrow = replace(evidence, axes=axes)
    quiet = sums_of(narrow, columns_with(narrow, none, muted, cut)).relative()[1:]
    chances = np.clip((quiet - nobody) / (1 - nobody), 0.0, 1.0)
    return [replace(item, came_for=float(chance)) for item, chance in zip(weighed, chances, strict=True)]


def _look_columns(need: Ints, seen: Ints, level: int) -> ColumnGroup:
    """Columns for the greatest need among the causes seen at a level, and for M."""
    off, muted, cut = [], [], []
    for deepest in range(NOBODY, LEVELS):
        away = (seen <= level) & (need > deepest)
        for m in range(NOBODY, UNLISTED + 1):
            off.append(away)
            muted.append(~away & (need > m))
            cut.append(m < UNLISTED)
    return np.array(off).T, np.array(muted).T, np.array(cut)


def _summed(evidence: Evidence, groups: Sequence[ColumnGroup]) -> list[Floats]:
    off, muted = (np.concatenate([group[part] for group in groups], axis=1) for part in (0, 1))
    cut = np.concatenate([group[2] for group in groups])
    alike = alike_of(evidence, off, muted, cut)
    sums = sums_of(evidence, columns_with(evidence, *alike.of(off, muted, cut))).mantissa
    loose = evidence.odds[:, evidence.loose].sum(axis=0)[:, None] * ~off[evidence.loose]
    sums = alike.spread(sums, loose)
    ends = np.cumsum([group[2].size for group in groups])
    return np.split(sums, ends[:-1])


@dataclass(frozen=True, slots=True, eq=False)
class Alike:
    """Columns that differ at most by loose causes switched off need one pass together."""

    kept: Ints
    """[distinct] numbers of the columns that are summed."""
    place: Ints
    """[columns] place in `kept` of the column with the same pass."""

    def of(self, *parts: Bools) -> tuple[Bools, ...]:
        """The kept columns of arrays [..., columns]."""
        return tuple(part[..., self.kept] for part in parts)

    def spread(self, sums: Floats, loose: Floats) -> Floats:
        """[..., columns] from the sums [..., distinct] of the kept ones. `loose` [..., loose causes, columns]: odds."""
        factor: Floats = (1 + loose).prod(axis=-2)
        return sums[..., self.place] * (factor / factor[..., self.kept][..., self.place])


def alike_of(evidence: Evidence, off: Bools, muted: Bools, cut: Bools) -> Alike:
    """Which columns need a pass of their own: loose causes are plain factors, muting changes only what must go."""
    linked = np.ones(len(off), dtype=bool)
    linked[evidence.loose] = False
    draws = np.zeros(len(off), dtype=bool)
    for axis in evidence.axes:
        if axis.must_go:
            draws |= (axis.silent < 1.0).any(axis=0)
    changes = np.concatenate((off[linked], muted[draws], cut[None]))
    _, kept, place = np.unique(np.packbits(changes, axis=0), axis=1, return_index=True, return_inverse=True)
    return Alike(kept, place.reshape(-1))


def columns_with(evidence: Evidence, off: Bools, muted: Bools, cut: Bools) -> Columns:
    """Columns with causes off, muted, and unlisted faults cut out of what must go."""
    start = {}
    if cut.any():
        for number, axis in enumerate(evidence.axes):
            if axis.must_go:
                start[number] = np.where(cut, without_unlisted(evidence, number)[:, None], axis.start[:, None])
    return Columns(off.shape[1], evidence.odds[:, :, None] * ~off, muted if muted.any() else None, start)


def _in_use(evidence: Evidence, need: Ints, every: Floats) -> tuple[float, ...]:
    """[levels] of the failures at each level, the share in which nothing that is proved on the bench is left.

    `every` [KINDS_OF_M]: chance of each M and of all below.
    """
    if all(axis.in_use for axis in evidence.axes if axis.must_go):
        return (1.0,) * LEVELS
    muted = np.array([need > level for level in range(LEVELS)]).T
    muted = np.concatenate((np.zeros_like(muted[:, :1]), muted), axis=1)
    cut = np.r_[False, np.ones(LEVELS, dtype=bool)]
    none = np.zeros_like(muted)
    bench = tuple(replace(axis, must_go=axis.must_go and not axis.in_use) for axis in evidence.axes)
    at_once = replace(evidence, axes=bench)
    quiet = sums_of(at_once, columns_with(at_once, none, muted, cut)).relative()
    shares = []
    for level in range(1, LEVELS + 1):
        failing = 1 - every[level]
        shares.append(float(np.clip((quiet[level] - every[level]) / failing, 0.0, 1.0)) if failing > 1e-12 else 1.0)
    return tuple(shares)


def _sampled(evidence: Evidence, groups: Sequence[ColumnGroup]) -> list[Floats]:
    """The same sums from drawn worlds, where the signs are too tangled: shares of worlds (and of draws in them)."""
    off, muted = (np.concatenate([group[part] for group in groups], axis=1) for part in (0, 1))
    cut = np.concatenate([group[2] for group in groups])
    alike = alike_of(evidence, off, muted, cut)
    gone, quiet, listed_alone = alike.of(off, muted, cut)
    degrees = draw_worlds(evidence).degrees
    linked = np.setdiff1d(np.arange(len(off)), evidence.loose)
    weight = ((degrees[:, linked] > 0).astype(float) @ gone[linked].astype(float) == 0).astype(float)
    for number, axis in enumerate(evidence.axes):
        brings = np.flatnonzero((axis.at_most < 1.0).any(axis=(0, 2)) | (axis.silent < 1.0).any(axis=0))
        if not axis.must_go:
            continue
        drawn, silent = (
            np.log(np.concatenate((np.ones((1, *part.shape[1:])), part))[degrees[:, brings], np.arange(len(brings))])
            for part in (axis.at_most[:, brings], axis.silent[:, brings])
        )
        mute = quiet[brings].astype(float)
        start, listed = np.log(np.cumsum(axis.start)), np.log(np.cumsum(without_unlisted(evidence, number)))
        given, below = np.zeros(len(degrees)), np.zeros(len(degrees))
        changed, beneath = np.zeros(weight.shape), np.zeros(weight.shape)
        for state, close in enumerate(axis.close):
            whole = np.exp(drawn[:, :, state].sum(axis=1) + start[state])
            other = np.exp(
                drawn[:, :, state] @ (1 - mute) + silent @ mute + np.where(listed_alone, listed[state], start[state])
            )
            given, changed = given + (whole - below) * close, changed + (other - beneath) * close
            below, beneath = whole, other
        weight *= changed / given[:, None]
    loose = evidence.odds[:, evidence.loose].sum(axis=0)[:, None]
    factor = ((1 + loose * ~off[evidence.loose]) / (1 + loose)).prod(axis=0)
    ends = np.cumsum([group[2].size for group in groups])
    return np.split(weight.mean(axis=0)[alike.place] * factor, ends[:-1])
