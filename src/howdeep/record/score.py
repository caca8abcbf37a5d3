"""How good the advice was: scores, calibration with honest intervals, and what happened to the promises."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

from ..model.frozen import dataclass
from ..model.terms import DEPTH
from .row import CENT, Row

BINS = (0.0, 0.05, 0.15, 0.3, 0.5, 0.7, 0.85, 0.95, 1.0)
"""Edges of the calibration table."""
LEAST = 1e-4
"""Probabilities are held this far from 0 and 1 for the log score, so that one surprise is not infinite."""
MISSED_BELOW, CALLED_ABOVE = 0.2, 0.6


@dataclass(frozen=True, slots=True)
class Bin:
    """One line of a calibration table."""

    low: float
    high: float
    count: int
    said: float
    """Mean of the stated chances."""
    true: float
    """Share that turned out true."""
    true_low: float
    true_high: float
    """95 % interval of the true share (Wilson)."""


@dataclass(frozen=True, slots=True)
class Scores:
    """Scores of stated chances against what was found."""

    count: int
    brier: float
    log: float
    """Mean negative log likelihood, natural logarithm; lower is better."""
    base_brier: float
    """Of always saying the overall share (base rate of each cause)."""
    base_log: float
    bins: tuple[Bin, ...]


@dataclass(frozen=True, slots=True)
class CauseScore:
    """One cause over all jobs in which it was looked at."""

    cause: str
    looked_at: int
    there: int
    expected: float
    """Sum of the stated probabilities."""
    missed: int
    """There, though it was said to be unlikely."""
    over_called: int
    """Not there, though it was said to be likely."""


@dataclass(frozen=True, slots=True)
class Promises:
    """What happened to the promised scopes."""

    promised: int
    held: int
    grew: int
    came_back: int
    unknown: int
    held_low: float
    held_high: float
    """95 % interval of the share that held (Wilson)."""
    cost_ratio: tuple[float, float, float] | None
    """Real over promised cost: lower quartile, median, upper quartile."""
    hours: float


@dataclass(frozen=True, slots=True)
class Bills:
    """Final bills beside what was promised, with tax."""

    billed: int
    """Jobs of which both are known."""
    within: int
    """The bill was no more than the promise."""
    in_range: int
    """More than the promise, and within the range that was said."""
    over: int
    """Beyond the range; beyond the promise where none was said."""
    agreed: int
    """Of those above the promise, the bills that a recorded yes covers."""
    over_by: tuple[float, float] | None
    """Of those above the promise: by what share of it, median and most; None where there are none."""


@dataclass(frozen=True, slots=True)
class Record:
    """The whole record."""

    jobs: int
    without_promise: int
    causes: Scores | None
    enough: Scores | None
    promises: Promises
    by_cause: tuple[CauseScore, ...]
    bills: Bills = Bills(0, 0, 0, 0, 0, None)


def wilson(hits: int, count: int, z: float = 1.959963984540054) -> tuple[float, float]:
    """95 % interval of a share by Wilson (1927); (0, 1) where nothing was counted."""
    if count == 0:
        return 0.0, 1.0
    share = hits / count
    centre = (share + z * z / (2 * count)) / (1 + z * z / count)
    half = z / (1 + z * z / count) * math.sqrt(share * (1 - share) / count + z * z / (4 * count * count))
    return max(0.0, centre - half), min(1.0, centre + half)


def brier(pairs: Sequence[tuple[float, bool]]) -> float:
    """Mean squared difference of stated chance and what happened (Brier 1950)."""
    return sum((chance - happened) ** 2 for chance, happened in pairs) / len(pairs)


def log_score(pairs: Sequence[tuple[float, bool]]) -> float:
    """Mean negative natural logarithm of the chance given to what happened."""
    return -sum(math.log(_held(chance if happened else 1 - chance)) for chance, happened in pairs) / len(pairs)


def _held(chance: float) -> float:
    return min(max(chance, LEAST), 1 - LEAST)


def calibration(pairs: Sequence[tuple[float, bool]], edges: Sequence[float] = BINS) -> tuple[Bin, ...]:
    """Stated chances in bins beside the share that came true; a bin with nothing in it is left out."""
    result = []
    for low, high in itertools.pairwise(edges):
        inside = [
            (chance, happened)
            for chance, happened in pairs
            if low <= chance < high or (high == edges[-1] and chance == high)
        ]
        if inside:
            hits = sum(happened for _, happened in inside)
            true_low, true_high = wilson(hits, len(inside))
            result.append(
                Bin(
                    low,
                    high,
                    len(inside),
                    sum(chance for chance, _ in inside) / len(inside),
                    hits / len(inside),
                    true_low,
                    true_high,
                )
            )
    return tuple(result)


def scores(pairs: Sequence[tuple[float, bool]], base: Sequence[float]) -> Scores | None:
    """Scores of (stated chance, what happened), with `base` the chance a base rate would have given each."""
    if not pairs:
        return None
    base_pairs = [(share, happened) for share, (_, happened) in zip(base, pairs, strict=True)]
    return Scores(
        len(pairs), brier(pairs), log_score(pairs), brier(base_pairs), log_score(base_pairs), calibration(pairs)
    )


def record_of(rows: Iterable[Row]) -> Record:
    """Score all closed jobs. Order of the rows does not matter."""
    rows = sorted(rows, key=lambda row: row.name)
    looked: dict[str, list[tuple[float, bool]]] = {}
    for row in rows:
        for cause, truth in row.truths.items():
            if cause in row.odds:
                looked.setdefault(cause, []).append((row.odds[cause], truth))
    pairs, base = [], []
    for _, seen in sorted(looked.items()):
        rate = sum(truth for _, truth in seen) / len(seen)
        pairs += seen
        base += [rate] * len(seen)
    known = [
        (row.enough[row.promised_rung], held)
        for row in rows
        if (held := row.held) is not None and row.promised_rung in row.enough
    ]
    overall = sum(held for _, held in known) / len(known) if known else 0.0
    return Record(
        len(rows),
        sum(not row.from_promise for row in rows),
        scores(pairs, base),
        scores(known, [overall] * len(known)),
        _promises(rows),
        _by_cause(looked),
        _bills(rows),
    )


def _by_cause(looked: dict[str, list[tuple[float, bool]]]) -> tuple[CauseScore, ...]:
    result = [
        CauseScore(
            cause,
            len(seen),
            sum(truth for _, truth in seen),
            sum(chance for chance, _ in seen),
            sum(truth and chance < MISSED_BELOW for chance, truth in seen),
            sum(not truth and chance > CALLED_ABOVE for chance, truth in seen),
        )
        for cause, seen in looked.items()
    ]
    return tuple(sorted(result, key=lambda item: (-(item.missed + item.over_called), item.cause)))


def _promises(rows: Sequence[Row]) -> Promises:
    held = sum(row.held is True for row in rows)
    back = sum(row.came_back == "yes" for row in rows)
    grew = sum(
        row.came_back != "yes" and row.scope_done is not None and DEPTH[row.scope_done] > DEPTH[row.promised_rung]
        for row in rows
    )
    unknown = len(rows) - held - back - grew
    low, high = wilson(held, held + back + grew)
    ratios = sorted(row.cost / row.promised_cost for row in rows if row.cost is not None and row.promised_cost)
    return Promises(
        len(rows),
        held,
        grew,
        back,
        unknown,
        low,
        high,
        (_quantile(ratios, 0.25), _quantile(ratios, 0.5), _quantile(ratios, 0.75)) if ratios else None,
        sum(row.hours or 0.0 for row in rows),
    )


def _bills(rows: Sequence[Row]) -> Bills:
    known = [row for row in rows if row.money]
    above = [row for row in known if row.money != "within"]
    shares = sorted(row.cost / row.promised_cost - 1 for row in above if row.cost is not None and row.promised_cost)
    return Bills(
        len(known),
        len(known) - len(above),
        sum(row.money == "range" for row in known),
        sum(row.money == "over" for row in known),
        sum(row.agreed is not None and row.cost is not None and row.cost <= row.agreed + CENT for row in above),
        (_quantile(shares, 0.5), shares[-1]) if shares else None,
    )


def _quantile(ordered: Sequence[float], share: float) -> float:
    place = share * (len(ordered) - 1)
    low = int(place)
    high = min(low + 1, len(ordered) - 1)
    return ordered[low] + (place - low) * (ordered[high] - ordered[low])
