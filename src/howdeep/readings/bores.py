"""Bores, pistons and rings as measured on the bench. Inches throughout.

A bore is a grid of readings: rows from top to bottom, columns along the thrust and along the pin; None where not taken.
Each public function names what it returns; all are pure.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..model.frozen import dataclass
from . import gauges
from .figures import Band, Figure, first
from .judge import Judged, Verdict, judge, verdict_of, worst

Grid = Sequence[Sequence[float | None]]


def cells(grid: Grid) -> list[float]:
    """Every reading of a grid that was taken."""
    return [cell for row in grid for cell in row if cell is not None]


def taper(grid: Grid) -> float | None:
    """Greatest difference along one axis between any two heights; None where no axis has two readings."""
    spans = []
    for column in zip(*grid, strict=True):
        taken = [cell for cell in column if cell is not None]
        if len(taken) > 1:
            spans.append(max(taken) - min(taken))
    return max(spans, default=None)


def out_of_round(grid: Grid) -> float | None:
    """Greatest difference between the axes at one height; None where no height has two readings."""
    spans = []
    for row in grid:
        taken = [cell for cell in row if cell is not None]
        if len(taken) > 1:
            spans.append(max(taken) - min(taken))
    return max(spans, default=None)


def size_now(least: float, standard: Band, oversizes: Sequence[float], error: float) -> float | None:
    """Oversize that the part stands at now (0 for standard): the largest whose low limit is not above its least-worn
    place. None where it is smaller than standard by more than the error, or the sheet gives no band."""
    if standard.low is None:
        return None
    fitting = [size for size in (0.0, *oversizes) if standard.low.value + size <= least + error]
    return max(fitting, default=None)


@dataclass(frozen=True, slots=True)
class Bore:
    """One bore against its limits."""

    least: float
    most: float
    oversize: float
    """Oversize it stands at now; 0 for standard."""
    wear: Judged
    """Largest reading over the high limit of its size; 0 where it is inside."""
    taper: Judged | None
    out_of_round: Judged | None
    verdict: Verdict | None


def judge_bore(
    grid: Grid,
    standard: Band,
    oversizes: Sequence[float],
    *,
    wear: Figure | None,
    taper_limit: Figure | None,
    round_limit: Figure | None,
    usable_share: float,
    error: float,
) -> Bore | None:
    """Judge one bore.

    `standard` is the band of a standard bore, `wear`, `taper_limit` and `round_limit` amounts; a bore is good up to
    `usable_share` (0 to 1) of each. `error` is that of one reading. None where nothing was
    measured or the bore is smaller than standard. Taper and out-of-round are differences of two readings.
    """
    taken = cells(grid)
    if not taken:
        return None
    oversize = size_now(min(taken), standard, oversizes, error)
    top = first(standard.high, standard.low)
    if oversize is None or top is None:
        return None
    amount = max(0.0, max(taken) - top.value - oversize)

    def judged_against(value: float, limit: Figure | None, uncertain: float) -> Judged:
        new = None if limit is None else Figure(limit.value * usable_share, "in", limit.basis)
        return judge(value, "in", new=new, limit=limit, error=uncertain)

    def against(value: float | None, limit: Figure | None, uncertain: float) -> Judged | None:
        return None if value is None else judged_against(value, limit, uncertain)

    worn = judged_against(amount, wear, error)
    two = gauges.of_difference(error)
    tapered, oval = against(taper(grid), taper_limit, two), against(out_of_round(grid), round_limit, two)
    parts = [item for item in (worn, tapered, oval) if item is not None]
    return Bore(min(taken), max(taken), oversize, worn, tapered, oval, worst(item.verdict for item in parts))


def skirt_bore(grid: Grid) -> float | None:
    """Bore that the skirt runs in: the thrust axis at the middle height, else the nearest reading below or above it."""
    rows = list(grid)
    order = sorted(range(len(rows)), key=lambda index: (abs(index - len(rows) // 2), -index))
    for index in order:
        for cell in rows[index]:
            if cell is not None:
                return cell
    return None


def judge_piston(bore: float, skirt: float, limits: Band, error: float) -> Judged:
    """Skirt clearance (bore less skirt) against its band. Error: that of both readings together."""
    return judge(bore - skirt, "in", low=limits.low, new=limits.high, limit=limits.wear, error=error)


def fitted_oversize(
    skirt: float, nominal: float, oversizes: Sequence[float], *, wear: float, error: float
) -> float | None:
    """Oversize of the piston that is in the engine, from its skirt against the nominal skirt of a standard one.

    A skirt wears smaller, never larger: it fits an oversize where it lies no more than `wear` below it and no more than
    twice the error above. None where it fits none, or more than one.
    """
    slack = 2.0 * error
    fitting = [size for size in (0.0, *oversizes) if -wear - slack <= skirt - nominal - size <= slack]
    return fitting[0] if len(fitting) == 1 else None


def judge_protrusion(
    values: Sequence[float | None], limits: Band, most_spread: Figure | None, error: float
) -> tuple[Judged | None, ...]:
    """Stand-out of wet sleeves over the deck: inside the band, and none far below the highest under the same head.

    Too proud is beyond as much as too low. `limits.wear` is the least (or most) in service, on whichever side of the
    new band it stands; where there is none the band itself is the limit.
    """
    taken = [value for value in values if value is not None]
    low, high, wear = limits.low, limits.high, limits.wear
    least = wear if wear is not None and low is not None and wear.value < low.value else None
    most = wear if wear is not None and high is not None and wear.value > high.value else None

    def side(value: float, sign: float, new: Figure | None, limit: Figure | None) -> Verdict | None:
        if new is None:
            return None
        if limit is None:
            past = sign * (value - new.value)
            return "beyond" if past > error + 1e-9 else "too_close" if past > 1e-9 else "good"
        return verdict_of(sign * value, new=sign * new.value, limit=sign * limit.value, error=error)

    def one(value: float) -> Judged:
        verdict, note = worst((side(value, -1.0, low, least), side(value, 1.0, high, most))), ""
        if most_spread is not None and max(taken) - value > most_spread.value + gauges.of_difference(error):
            verdict, note = "beyond", f"stands {max(taken) - value:.4f} in below the highest"
        basis = next((item.basis for item in (wear, low, high) if item), "arithmetic")
        limit = first(wear, low if low is not None and value < low.value else high)
        return Judged(
            value,
            "in",
            low.value if low else None,
            high.value if high else None,
            limit.value if limit else None,
            error,
            verdict,
            basis,
            note,
        )

    return tuple(None if value is None else one(value) for value in values)
