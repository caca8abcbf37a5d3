"""Cam lift and sinking seats. Inches."""

from __future__ import annotations

import itertools

from . import gauges
from .figures import Band
from .judge import Judged, judge


def judge_cam_lift(lift: float, limits: Band, error: float) -> Judged:
    """Lift of a cam lobe, a difference of two readings with an error each: less is worse."""
    return judge(lift, "in", new=limits.low, limit=limits.wear, worse="less", error=gauges.of_difference(error))


def recession(clearances: list[float]) -> bool:
    """Whether clearances logged at successive settings keep closing: the early sign of a sinking seat."""
    return len(clearances) > 2 and all(later < earlier for earlier, later in itertools.pairwise(clearances))
