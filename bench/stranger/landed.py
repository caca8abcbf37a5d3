"""The rule for choosing a depth as it stood on 28 November 2026, kept as a reference that nothing else moves.

Every finding is a variable of its own, absent with probability (1 - leak) x the product over the causes present of
(1 - q); of a line of evidence one finding counts. A job grows to the first depth that no present cause blocks, and a
job that fails goes straight to the depth that cures (it is told the truth). The depth with the least expected cost is
recommended. Written anew and plainly: causes are summed out one at a time in one dense table, and every figure is a
ratio of sums with some causes switched off. Base odds, links and words are those of that day too; findings are read by
the conditions of today, and what the tables do not know says nothing. `landed_kept.json` holds the tables, and what the
rule itself said on forty worked cases.
"""

from __future__ import annotations

import json
import math
import random
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from howdeep.model.knowledge import Knowledge

from .kleene import Kleene, all_findings, holds

KEPT = Path(__file__).with_name("landed_kept.json")
LEAST = 1e-6
SEEN_OPEN = 0.1
"""Share of the usual misreading for what lies open on the bench, or is the fault itself seen from outside."""
OPENED = 2
"""From this depth (top end) the first job has opened the engine."""
DEPTHS = 6
WIDEST = 20
"""Most open findings at once; beyond, findings are left out from the end (none in the worked cases)."""
CELLS = 1 << 20
TRIES = 12
"""Random orders tried where the first leaves many findings open at once."""


@dataclass(frozen=True, slots=True)
class Tables:
    """Of a rule base, what the odds are made of."""

    base: dict[str, float]
    links: dict[str, dict[str, str]]
    """Finding -> cause -> frequency word."""
    otherwise: dict[str, str]
    direct: frozenset[str]
    opened: frozenset[str]
    """Findings that rest on the open engine alone."""
    lines: dict[str, tuple[str, ...]]
    shifts: dict[str, dict[str, float]]
    """History rule -> cause -> decibans."""
    words: dict[str, float]
    misread: float
    direct_shown: float
    direct_mistaken: float


@dataclass(frozen=True, slots=True)
class Money:
    """What growth and comebacks cost."""

    growth_factor: float
    growth_charge: float
    comeback: float
    reopening: float


@dataclass(frozen=True, slots=True)
class Landed:
    """What the rule says."""

    odds: dict[str, float]
    enough: tuple[float, ...]
    """Per depth, the chance that no fault is left."""
    noticed: tuple[float, ...]
    """Per depth, the chance that no fault is left that shows a finding which is present."""
    states: dict[tuple[int, int], float]
    """(blocked depths as bits, deepest need) -> chance."""


def kept_tables() -> Tables:
    """The tables of the rule base of that day."""
    kept = json.loads(KEPT.read_text(encoding="utf-8"))["tables"]
    return Tables(
        kept["base"],
        kept["links"],
        kept["otherwise"],
        frozenset(kept["direct"]),
        frozenset(kept["opened"]),
        {name: tuple(line) for name, line in kept["lines"].items()},
        kept["shifts"],
        kept["words"],
        kept["misread"],
        kept["direct_shown"],
        kept["direct_mistaken"],
    )


def truths_of(knowledge: Knowledge, facts: Mapping[str, Any]) -> tuple[dict[str, Kleene], frozenset[str]]:
    """Truth of every finding, and the history rules that are present. `facts` hold engine facts too."""
    limits = {name: item.value for name, item in knowledge.limits.items()}
    truths = all_findings({name: item.when for name, item in knowledge.findings.items()}, facts, limits)
    told = frozenset(
        name for name, item in knowledge.history.items() if holds(item.when, facts, truths, limits) is True
    )
    return truths, told


def counted(tables: Tables, truths: Mapping[str, Kleene]) -> tuple[list[str], list[str]]:
    """Findings that count, present and absent: of a line one, before which none of its line counts."""
    known = {name: truth for name, truth in sorted(truths.items()) if truth is not None and name in tables.links}
    lines = []
    for name in sorted(tables.lines):
        line = [item for item in dict.fromkeys(tables.lines[name]) if item in known]
        lines.append(sorted(line, key=lambda item: not known[item]))
    lines = [line for line in lines if line]
    in_lines = {name for line in lines for name in line}
    taken = [name for name in known if name not in in_lines]
    for group in _groups(lines):
        waiting = list(dict.fromkeys(name for line in group for name in line))
        mine: list[str] = []
        while waiting:
            name = next(
                (
                    name
                    for name in waiting
                    if not any(other in waiting for line in group if name in line for other in line[: line.index(name)])
                ),
                None,
            )
            if name is None:  # two lines contradict each other: the first decides
                name = next(item for line in group for item in line if item in waiting)
            waiting.remove(name)
            if not any(mate in mine for line in group if name in line for mate in line):
                mine.append(name)
        taken += mine
    return sorted(name for name in taken if known[name]), sorted(name for name in taken if not known[name])


def _groups(lines: list[list[str]]) -> list[list[list[str]]]:
    """Lines joined where they share a finding, each group in the order given."""
    groups: list[list[list[str]]] = []
    for line in lines:
        touched = [group for group in groups if any(set(line) & set(other) for other in group)]
        groups = [group for group in groups if group not in touched]
        groups.append([other for group in touched for other in group] + [line])
    return [sorted(group, key=lines.index) for group in groups]


def believed(
    tables: Tables, need: Mapping[str, int], seen: Mapping[str, int], truths: Mapping[str, Kleene], told: frozenset[str]
) -> Landed:
    """The odds. `need` and `seen` give the causes that this engine can have."""
    causes = sorted(need)
    present, absent = counted(tables, truths)
    log_odds = np.array([log_odds_of(tables.base[cause]) for cause in causes])
    for rule in sorted(told):
        for cause, decibans in tables.shifts[rule].items():
            if cause in need:
                log_odds[causes.index(cause)] += decibans * math.log(10) / 10
    prior = np.clip(1 / (1 + np.exp(-log_odds)), LEAST, 1 - LEAST)
    shown = {name: shown_by(tables, name, causes) for name in (*present, *absent)}
    rates = prior / (1 - prior)
    for name in absent:
        rates = rates * (1 - shown[name][0])
    telling = {name for name, truth in truths.items() if truth and name in tables.links}
    behind = {cause for name in telling for cause in tables.links[name]}
    columns, where = _columns(causes, need, seen, behind)
    sums, posterior = _summed(rates, {name: shown[name] for name in present}, columns)
    sums = sums / sums[0]
    states = {
        state: float(sum(sign * sums[where[key]] for key, sign in terms))
        for state, terms in _states(need, seen).items()
    }
    odds = {cause: float(chance / (1 + chance)) for cause, chance in zip(causes, posterior, strict=True)}
    enough = tuple(float(sums[where[0, depth]]) for depth in range(DEPTHS))
    noticed = tuple(float(sums[where["noticed", depth]]) for depth in range(DEPTHS)) if present else enough
    return Landed(odds, enough, noticed, states)


def expected(states: Mapping[tuple[int, int], float], prices: tuple[float, ...], money: Money) -> tuple[float, ...]:
    """Per depth at which the job begins, what it is expected to cost in the end."""
    return tuple(
        sum(chance * _cost(start, blocked, deepest, prices, money) for (blocked, deepest), chance in states.items())
        for start in range(DEPTHS)
    )


def cheapest(costs: tuple[float, ...]) -> int:
    """The depth with the least expected cost to the cent; of equals the shallowest."""
    return min(range(DEPTHS), key=lambda depth: (math.floor(round(costs[depth] * 100, 4) + 0.5), depth))


def _cost(start: int, blocked: int, deepest: int, prices: tuple[float, ...], money: Money) -> float:
    end = start
    while blocked >> end & 1:
        end += 1
    cost = prices[start]
    if end > start:
        cost += money.growth_charge + money.growth_factor * max(0.0, prices[end] - prices[start])
    if deepest > end:
        cost += prices[deepest] + money.comeback + (money.reopening if end >= OPENED else 0.0)
    return cost


def log_odds_of(chance: float) -> float:
    """Natural log of the odds, off 0 and 1."""
    chance = min(max(chance, LEAST), 1 - LEAST)
    return math.log(chance) - math.log1p(-chance)


def shown_by(tables: Tables, name: str, causes: list[str]) -> tuple[np.ndarray, float]:
    """[causes] chance that each shows the finding, and the chance that it is seen with none of them."""
    direct, opened = name in tables.direct, name in tables.opened
    doubt = (
        tables.direct_mistaken / tables.misread
        if direct and opened and tables.misread
        else SEEN_OPEN
        if direct or opened
        else 1.0
    )
    sure = 1 - tables.misread * doubt
    most, least = max(tables.words.values()), min(tables.words.values())

    def strength(cause: str) -> float:
        word = tables.links[name].get(cause)
        value = 0.0 if word is None else tables.words[word]
        return tables.direct_shown if direct and value == most else value

    leak = tables.words[tables.otherwise[name]]
    leak = 0.0 if direct and leak == least else leak
    q = np.minimum(np.array([strength(cause) for cause in causes]) * sure, 1 - LEAST)
    return q, min(max(1 - (1 - leak) * sure, LEAST), 1 - LEAST)


def _blocks(seen: int, need: int) -> int:
    return sum(1 << depth for depth in range(seen, need))


def _columns(
    causes: list[str], need: Mapping[str, int], seen: Mapping[str, int], behind: set[str]
) -> tuple[np.ndarray, dict[Any, int]]:
    """[causes, columns] 1.0 where a cause is allowed; and name -> column. Column 0 allows all."""
    where: dict[Any, int] = {"all": 0}
    rows = [[1.0] * len(causes)]

    def add(key: Any, allowed: list[float]) -> None:
        where[key] = len(rows)
        rows.append(allowed)

    for bits in range(1 << (DEPTHS - 1)):
        for deepest in range(DEPTHS):
            add(
                (bits, deepest),
                [float(not _blocks(seen[cause], need[cause]) & bits and need[cause] <= deepest) for cause in causes],
            )
    for depth in range(DEPTHS):
        add(("noticed", depth), [float(cause not in behind or need[cause] <= depth) for cause in causes])
    unique: dict[tuple[float, ...], int] = {}
    for row in rows:
        unique.setdefault(tuple(row), len(unique))
    return np.array(list(unique)).T, {key: unique[tuple(rows[number])] for key, number in where.items()}


def _states(need: Mapping[str, int], seen: Mapping[str, int]) -> dict[tuple[int, int], list[tuple[Any, int]]]:
    """(blocked depths, deepest need) of every world -> (column, sign) whose sum is its chance."""
    found = {(0, 0)}
    for cause in need:
        bits = _blocks(seen[cause], need[cause])
        found |= {(blocked | bits, max(deepest, need[cause])) for blocked, deepest in found}
    result = {}
    for blocked, deepest in sorted(found):
        free = ((1 << (DEPTHS - 1)) - 1) & ~blocked
        terms: list[tuple[Any, int]] = []
        part = blocked
        while True:
            sign = -1 if part.bit_count() % 2 else 1
            terms.append(((free | part, deepest), sign))
            if deepest:
                terms.append(((free | part, deepest - 1), -sign))
            if not part:
                break
            part = (part - 1) & blocked
        result[blocked, deepest] = terms
    return result


def _summed(
    rates: np.ndarray, present: Mapping[str, tuple[np.ndarray, float]], allowed: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """[columns] sums over all worlds of their weight with the column's causes allowed, as shares of column 0's; and
    [causes] odds of each cause by column 0."""
    names = sorted(present)
    steps, width = _order(names, present)
    while width > WIDEST:
        names = names[:-1]
        steps, width = _order(names, present)
    size = max(1, CELLS >> width)
    parts = []
    for start in range(0, allowed.shape[1], size):  # column 0 goes along each time: parts share no common factor
        part, _ = _forward(
            rates, names, present, steps, allowed[:, [0, *range(start, min(start + size, allowed.shape[1]))]]
        )
        parts.append(part[1:] / part[0])
    sums = np.concatenate(parts)
    odds = rates.copy()
    _, kept = _forward(rates, names, present, steps, np.ones((len(rates), 1)))
    adjoint = np.ones((1, 1))
    for cause, opened, links, closed, off, on in reversed(kept):
        for axis in reversed(closed):  # only worlds in which the finding is explained went on
            wide = np.zeros((len(adjoint) >> axis, 2, 1 << axis, 1))
            wide[:, 1] = adjoint.reshape(-1, 1 << axis, 1)
            adjoint = wide.reshape(-1, 1)
        odds[cause] = float((on * adjoint).sum() / (off * adjoint).sum())
        back = adjoint.copy()
        for axis, q in links:
            view = back.reshape(-1, 2, 1 << axis, 1)
            view[:, 0] = (1 - q) * view[:, 0] + q * view[:, 1]
        adjoint = adjoint + back * rates[cause]
        for leak in reversed(opened):
            half = len(adjoint) // 2
            adjoint = adjoint[:half] * (1 - leak) + adjoint[half:] * leak
        adjoint = adjoint / adjoint.max()
    return sums, odds


def _forward(
    rates: np.ndarray,
    names: list[str],
    present: Mapping[str, tuple[np.ndarray, float]],
    order: list[int],
    allowed: np.ndarray,
) -> tuple[np.ndarray, list]:
    """The sums, and of one column every step: (cause, leaks opened, (axis, q) shown, axes closed, table without the
    cause, table with it)."""
    columns = allowed.shape[1]
    last = {name: max((order.index(cause) for cause in np.flatnonzero(present[name][0])), default=-1) for name in names}
    table, axes, kept = np.ones((1, columns)), [], []
    for place, cause in enumerate(order):
        shows = [name for name in names if present[name][0][cause] > 0]
        opened = [present[name][1] for name in shows if name not in axes]
        for name in shows:
            if name not in axes:
                leak = present[name][1]
                table = np.concatenate((table * (1 - leak), table * leak))
                axes.append(name)
        links = [(axes.index(name), float(present[name][0][cause])) for name in shows]
        on = table * (rates[cause] * allowed[cause])
        for axis, q in links:
            view = on.reshape(-1, 2, 1 << axis, columns)
            view[:, 1] += q * view[:, 0]
            view[:, 0] *= 1 - q
        closed, off = [], table
        table = off + on
        for name in shows:
            if last[name] == place:
                closed.append(axes.index(name))
                table = table.reshape(-1, 2, 1 << closed[-1], columns)[:, 1].reshape(-1, columns)
                axes.remove(name)
        table = table / table.max()
        if columns == 1:
            kept.append((cause, opened, links, closed, off, on))
    loose = [cause for cause in range(len(rates)) if cause not in order]
    return table[0] * np.prod(1 + rates[loose, None] * allowed[loose], axis=0), kept


def _order(names: list[str], present: Mapping[str, tuple[np.ndarray, float]]) -> tuple[list[int], int]:
    """Causes that show a present finding, so ordered that few findings stand open at once; and how many at most."""
    masks: dict[int, int] = {}
    for bit, name in enumerate(names):
        for cause in np.flatnonzero(present[name][0]):
            masks[int(cause)] = masks.get(int(cause), 0) | 1 << bit
    masks = dict(sorted(masks.items()))
    best = _greedy(masks, None)
    rng = random.Random(0)
    for _ in range(TRIES if best[1] > 10 else 0):
        best = min(best, _greedy(masks, rng), key=lambda found: found[1])
    return best


def _greedy(masks: dict[int, int], noise: random.Random | None) -> tuple[list[int], int]:
    left, opened, open_now, width, order = dict(masks), 0, 0, 0, []
    while left:
        seen, twice = 0, 0
        for mask in left.values():
            twice |= seen & mask
            seen |= mask
        scores = {
            cause: (mask & ~opened).bit_count() - (mask & ~twice).bit_count() + (2 * noise.random() if noise else 0.0)
            for cause, mask in left.items()
        }
        cause = min(scores, key=lambda item: (scores[item], item))
        opened |= left[cause]
        open_now |= left[cause]
        width = max(width, open_now.bit_count())
        open_now &= ~(left.pop(cause) & ~twice)
        order.append(cause)
    return order, width
