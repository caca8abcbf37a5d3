"""Valve clearance, guides, springs, seats, margins and cam lift. Inches; spring loads in lbf."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from . import gauges
from .figures import Band, Figure, times
from .judge import Judged, judge, judge_fit

Lash = Literal["right", "tight", "loose"]


def lash(measured: float, wanted: float, tolerance: float) -> Lash:
    """Clearance as found against the sheet's figure, in the state (hot or cold) the sheet gives it for."""
    if measured < wanted - tolerance - 1e-9:
        return "tight"
    return "loose" if measured > wanted + tolerance + 1e-9 else "right"


def judge_guide(clearance: float, limits: Band, error: float | None = None) -> Judged:
    """Stem in guide: clearance measured, or the valve's wobble at the guide halved."""
    return judge_fit(clearance, limits, "dial_gauge", error)


def judge_spring(load: float, limits: Band, least_share: Figure | None, error: float | None = None) -> Judged:
    """Spring load at the sheet's checking length: less is worse. Without a least load on the sheet, `least_share`
    percent of the new load."""
    least = limits.wear
    if least is None and limits.low is not None and least_share is not None:
        least = Figure(limits.low.value * least_share.value / 100.0, "lbf", least_share.basis)
    return judge(
        load,
        "lbf",
        new=limits.low,
        limit=least,
        worse="less",
        error=gauges.error("spring_tester") if error is None else error,
    )


def judge_cam_lift(lift: float, limits: Band, error: float | None = None) -> Judged:
    """Lift of a cam lobe: less is worse."""
    return judge(
        lift,
        "in",
        new=limits.low,
        limit=limits.wear,
        worse="less",
        error=gauges.error_of_difference("dial_gauge") if error is None else error,
    )


def judge_margin(margin: float, least: Figure, error: float | None = None) -> Judged:
    """Margin of a valve head after refacing: less is worse; a thin edge burns."""
    return judge(
        margin, "in", limit=least, worse="less", error=gauges.error("caliper") if error is None else error
    )


def judge_seat_width(width: float, limits: Band, over_percent: Figure | None, error: float | None = None) -> Judged:
    """Width of a valve seat: at most `over_percent` wider than new (15 %: TM 10-3930-647-14&P) where the sheet gives no
    limit of its own. A narrow seat is no worn one: it is cut wider when the seats are done, and condemns nothing."""
    most = limits.wear
    if most is None and limits.high is not None and over_percent is not None:
        most = times(Figure(limits.high.value, "in", over_percent.basis), 1.0 + over_percent.value / 100.0)
    judged = judge(
        width,
        "in",
        low=limits.low,
        new=limits.high,
        limit=most,
        error=gauges.error("dividers") if error is None else error,
    )
    return replace(judged, verdict="narrow", note="narrower than new") if judged.verdict == "tight" else judged


def recession(clearances: list[float]) -> bool:
    """Whether clearances logged at successive settings keep closing: the early sign of a sinking seat."""
    return len(clearances) > 2 and all(
        later < earlier for earlier, later in zip(clearances, clearances[1:], strict=False)
    )
