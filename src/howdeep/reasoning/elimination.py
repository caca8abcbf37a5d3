"""Exact sums over all worlds of causes: one cause summed out at a time, a table kept over the open present findings.

A *column* is one pass with some causes switched off (`decision/ladder.py` says which columns a decision needs); all
columns run together, contiguous in memory. Every term is positive, so nothing cancels. A power of two common to all
columns is taken out where numbers get small: columns never exceed column 0, in which every cause is allowed.

One step, for a cause of odds r: let t be the table before it. Closing a finding keeps its explained half t1; where the
cause is present, t1 + q t0. Along findings that stay open q of the unexplained goes over. A finding that opens, or that
the cause alone shows, splits each row into unexplained and explained: (1 - l, l) without the cause,
((1 - l)(1 - q), 1 - (1 - l)(1 - q)) with it. So a table is never larger than what is open before or after the step.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from .network import Network
from .plan import Plan, Step, plan_like, plan_of

TINY, HUGE = 2.0**-200, 2.0**200

Share = float | np.ndarray
"""A chance that is the same in all columns, or [columns]."""


@dataclass(frozen=True, slots=True, eq=False)
class Strengths:
    """The numbers of one step."""

    closes: tuple[tuple[int, Share | None, Share], ...]
    """(axis, share of the unexplained that is kept without the cause, and with it) of each finding closed; None for
    nothing."""
    links: tuple[tuple[int, Share], ...]
    """(axis, q) of the findings that stay open."""
    without: np.ndarray
    """[2^opens] or [2^opens, columns] what each row is multiplied with where the cause is absent, for each combination
    of the findings opened: bit i says that the i-th is explained."""
    present: np.ndarray
    """The same where the cause is present."""


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
    strengths: tuple[Strengths, ...]
    """Of each step of the plan."""
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
    masks = tuple((int(cause), sum(1 << int(bit) for bit in np.flatnonzero(linked[cause])))
                  for cause in np.flatnonzero(linked.any(axis=1)))
    plan = plan_of(masks, present) if like is None else plan_like(like.plan, masks, present)
    loose = np.flatnonzero(~linked.any(axis=1))
    return Evidence(network, present, absent, odds, _log_scale(network, absent, plan.bare), plan,
                    strengths_of(plan, network.q, network.leak), loose)


def on_network(evidence: Evidence, network: Network) -> Evidence:
    """The same evidence on a network with the same links at other strengths."""
    dark = np.prod(1 - network.q[:, evidence.absent], axis=1)
    return replace(evidence, network=network, odds=network.prior / (1 - network.prior) * dark,
                   log_scale=_log_scale(network, evidence.absent, evidence.plan.bare),
                   strengths=strengths_of(evidence.plan, network.q, network.leak))


def _log_scale(network: Network, absent: tuple[int, ...], bare: tuple[int, ...]) -> float:
    return float(np.log1p(-network.prior).sum() + np.log1p(-network.leak[list(absent)]).sum()
                 + np.log(network.leak[list(bare)]).sum())


def strengths_of(plan: Plan, q: np.ndarray | Mapping[int, np.ndarray], leak: np.ndarray) -> tuple[Strengths, ...]:
    """The numbers of every step, from q by cause and finding and from the leaks; each a number or [columns]."""
    leaks = leak.tolist() if leak.ndim == 1 else leak
    result = []
    for step in plan.steps:
        shown = q[step.cause].tolist() if leak.ndim == 1 else q[step.cause]
        result.append(Strengths(tuple((axis, None, shown[name]) for axis, name in step.closes),
                                tuple((axis, shown[name]) for axis, name in step.links),
                                *_split(step, [leaks[name] for name in (*step.alone, *step.opens)],
                                        [shown[name] for name in (*step.alone, *step.opens)])))
    return tuple(result)


WHOLE = np.ones(1)
"""Strengths of a step that opens nothing and shows nothing alone."""


def _split(step: Step, leaks: list[Share], shown: list[Share]) -> tuple[np.ndarray, np.ndarray]:
    """Factors without and with the cause of the findings that it alone shows, then of those opened."""
    if not leaks:
        return WHOLE, WHOLE
    without = present = np.ones((1,) * (1 + np.ndim(leaks[0])))
    for number, (leak, q) in enumerate(zip(leaks, shown, strict=True)):
        unlit = (1 - leak) * (1 - q)
        if number < len(step.alone):
            without, present = without * leak, present * (1 - unlit)
        else:
            without = np.concatenate((without * (1 - leak), without * leak))
            present = np.concatenate((present * unlit, present * (1 - unlit)))
    return without, present


def leaving_out(step: Step, strengths: Strengths, network: Network, left_out: dict[int, np.ndarray]) -> Strengths:
    """The numbers of a step where some columns do not count some of the findings it closes.

    `left_out` is finding -> [columns] 1.0 where the column does not count it, else 0.0. There both halves of the
    finding's axis are kept.
    """
    if not any(name in left_out for name in step.closing):
        return strengths
    closes = []
    for (axis, name), given in zip(step.closes, strengths.closes, strict=True):
        if name in left_out:
            q = given[2]
            given = (axis, left_out[name], q + left_out[name] * (1 - q))
        closes.append(given)
    without, present = strengths.without, strengths.present
    for name in step.alone:
        if name in left_out:
            leak = network.leak[name]
            shown = 1 - (1 - leak) * (1 - network.q[step.cause, name])
            without = by_columns(without) * (1 + left_out[name] * (1 / leak - 1))
            present = by_columns(present) * (1 + left_out[name] * (1 / shown - 1))
    return Strengths(tuple(closes), strengths.links, without, present)


def summed(table: np.ndarray, strengths: Strengths, rates: Share) -> np.ndarray:
    """The table [rows, columns] after a step whose cause has the odds `rates`."""
    without, present = strengths.without, strengths.present
    if not strengths.closes and not strengths.links:
        return _outer(by_columns(without) + by_columns(present) * rates, table)
    off, on = unlinked(table, strengths)
    if len(present) > 1:
        on = shine(on * rates, strengths.links)
        result = _outer(by_columns(without), off)
        result += _outer(by_columns(present), on)
        return result
    if present is not WHOLE:
        rates, off = rates * present[0], off * without[0]
    on = shine(on * rates, strengths.links)
    on += off
    return on


def summed_back(adjoint: np.ndarray, strengths: Strengths, rates: Share) -> np.ndarray:
    """The adjoint of `summed`, in the table."""
    without, present = strengths.without, strengths.present
    if not strengths.closes and not strengths.links:
        return _inner(by_columns(without) + by_columns(present) * rates, adjoint)
    off = adjoint if present is WHOLE else _inner(without, adjoint)
    on = shine_back((adjoint if present is WHOLE else _inner(present, adjoint)) * rates, strengths.links)
    for axis, kept, q in reversed(strengths.closes):
        off, on = _unclosed(off, axis, kept), _unclosed(on, axis, q)
    on += off
    return on


def off_and_on(table: np.ndarray, strengths: Strengths, after: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """[columns] sums without the cause of a step and with it (per unit of its odds), from the table before the step and
    the adjoint after it."""
    off, on = unlinked(table, strengths)
    if strengths.links:
        on = shine(on.copy(), strengths.links)
    return (np.einsum("rk,rk->k", off, _inner(strengths.without, after)),
            np.einsum("rk,rk->k", on, _inner(strengths.present, after)))


def unlinked(table: np.ndarray, strengths: Strengths) -> tuple[np.ndarray, np.ndarray]:
    """The table with the findings closed, without the cause and with it (per unit of its odds)."""
    off = on = table
    for axis, kept, q in strengths.closes:
        off, on = _closed(off, axis, kept), _closed(on, axis, q)
    return off, on


def shine(table: np.ndarray, links: tuple[tuple[int, Share], ...]) -> np.ndarray:
    """Apply, in place, what one present cause explains: along each linked axis unexplained goes over with chance q."""
    for axis, q in links:
        below, above = _halves(table, axis, q)
        above += q * below
        below *= 1 - q
    return table


def shine_back(table: np.ndarray, links: tuple[tuple[int, Share], ...]) -> np.ndarray:
    """The adjoint of `shine`, in place."""
    for axis, q in links:
        below, above = _halves(table, axis, q)
        below *= 1 - q
        below += q * above
    return table


def unclosed(table: np.ndarray, strengths: Strengths) -> np.ndarray:
    """The adjoint of the closing where the cause is present."""
    for axis, _, q in reversed(strengths.closes):
        table = _unclosed(table, axis, q)
    return table


def _closed(table: np.ndarray, axis: int, kept: Share | None) -> np.ndarray:
    below, above = _halves(table, axis, kept)
    return (above if kept is None else kept * below + above).reshape(-1, table.shape[1])


def _unclosed(adjoint: np.ndarray, axis: int, kept: Share | None) -> np.ndarray:
    columns = adjoint.shape[1]
    if isinstance(kept, np.ndarray):
        narrow = adjoint.reshape(-1, 1 << axis, columns)
        wide = np.empty((len(narrow), 2, 1 << axis, columns))
    else:
        narrow = adjoint.reshape(-1, columns << axis)
        wide = np.empty((len(narrow), 2, columns << axis))
    wide[:, 0] = 0.0 if kept is None else kept * narrow
    wide[:, 1] = narrow
    return wide.reshape(-1, columns)


def _halves(table: np.ndarray, axis: int, share: Share | None) -> tuple[np.ndarray, np.ndarray]:
    """Views of the unexplained and the explained half of an axis, shaped so that `share` multiplies them."""
    columns = table.shape[1]
    if isinstance(share, np.ndarray):
        view = table.reshape(-1, 2, 1 << axis, columns)
    else:
        view = table.reshape(-1, 2, columns << axis)
    return view[:, 0], view[:, 1]


def by_columns(factors: np.ndarray) -> np.ndarray:
    """Factors of a step as [2^opens, columns] (or one column that stands for all)."""
    return factors if factors.ndim > 1 else factors[:, None]


def _outer(factors: np.ndarray, table: np.ndarray) -> np.ndarray:
    """[2^opens x rows, columns] the table once for each combination of the findings opened, times its factor."""
    return (factors[:, None, :] * table).reshape(-1, table.shape[1])


def _inner(factors: np.ndarray, adjoint: np.ndarray) -> np.ndarray:
    """The adjoint of `_outer`."""
    if len(factors) == 1:
        return factors[0] * adjoint
    combined = adjoint.reshape(len(factors), -1, adjoint.shape[1])
    if factors.ndim == 1:
        return (factors @ combined.reshape(len(factors), -1)).reshape(combined.shape[1:])
    return np.einsum("jk,jrk->rk", factors, combined)


def rescaled(table: np.ndarray) -> tuple[np.ndarray, int]:
    """The table and the power of two that was taken out of it."""
    top = float(table.max())
    if TINY < top < HUGE or top == 0.0 or not math.isfinite(top):
        return table, 0
    power = math.frexp(top)[1]
    return np.ldexp(table, -power), power
