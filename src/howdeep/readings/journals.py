"""Crankpins and main journals: wear, taper, out-of-round, oil clearance from sizes. Inches throughout.

A journal is a grid of readings: rows along its length, columns on two axes; None where not taken.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..model.frozen import dataclass
from ..model.values import Grid
from . import gauges
from .bores import cells, out_of_round, taper
from .figures import Band, Figure
from .judge import Judged, judge

REGRIND = 0.005
"""Undersizes from here up are cut by a grinder; smaller ones are shells for worn standard journals (judgement)."""


@dataclass(frozen=True, slots=True)
class Measured:
    """One journal as measured."""

    least: float
    most: float
    undersize: float
    """Undersize it was ground to before; 0 for standard."""
    wear: float
    """Low limit of its size less its least reading; 0 where it is inside."""
    taper: float | None
    out_of_round: float | None


def ground_to(most: float, standard: Band, undersizes: Sequence[float], error: float) -> float:
    """Undersize a journal was ground to: the largest regrind whose high limit its least-worn place does not pass."""
    if standard.high is None:
        return 0.0
    return max(
        (size for size in undersizes if size >= REGRIND and most <= standard.high.value - size + error), default=0.0
    )


def measure(grid: Grid, standard: Band, undersizes: Sequence[float], error: float) -> Measured | None:
    """Wear, taper and out-of-round of one journal; None where nothing was measured. Where nobody knows the standard
    size, only its shape tells: wear and undersize are taken as nothing."""
    taken = cells(grid)
    if not taken:
        return None
    if standard.low is None:
        return Measured(min(taken), max(taken), 0.0, 0.0, taper(grid), out_of_round(grid))
    under = ground_to(max(taken), standard, undersizes, error)
    return Measured(
        min(taken),
        max(taken),
        under,
        max(0.0, standard.low.value - under - min(taken)),
        taper(grid),
        out_of_round(grid),
    )


def judge_round(journal: Measured, limit: Figure | None, polish: float, error: float) -> Judged | None:
    """Out-of-round against its limit; good up to `polish`."""
    return _difference(journal.out_of_round, limit, polish, error)


def judge_taper(journal: Measured, limit: Figure | None, polish: float, error: float) -> Judged | None:
    """Taper against its limit; good up to `polish`."""
    return _difference(journal.taper, limit, polish, error)


def _difference(value: float | None, limit: Figure | None, polish: float, error: float) -> Judged | None:
    if value is None:
        return None
    new = None if limit is None else Figure(min(polish, limit.value), "in", limit.basis)
    return judge(value, "in", new=new, limit=limit, error=gauges.of_difference(error))


def shell_bore(standard: Band, clearance: Band) -> float | None:
    """Inside diameter of a standard shell in its housing, bolted up: middle of the journal and middle of the clearance.

    None where the sheet gives no bands. A shell of undersize u has a bore u smaller."""
    size, play = standard.middle(), clearance.middle()
    return None if size is None or play is None else size + play


def clearance_by_sizes(journal: float, shell: float, undersize: float = 0.0) -> float:
    """Oil clearance that a shell of `undersize` gives on a journal of this diameter."""
    return shell - undersize - journal


def bend_from_dial(reading: float) -> float:
    """Bend of a crankshaft is half of what the dial shows in one turn (TM 10-3930-653-14&P)."""
    return reading / 2.0
