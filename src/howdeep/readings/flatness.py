"""Flatness of a head or deck: straightedge and feeler, lengthwise and crosswise. Inches."""

from __future__ import annotations

from .figures import Figure
from .judge import Judged, Verdict, judge, worst

THINNEST_LEAF = 0.0015
"""A gap that the thinnest useful feeler leaf does not enter reads as nothing."""


def judge_flatness(
    gap: float,
    limit: Figure | None,
    *,
    error: float,
    hidden: float,
    takes_resurfacing: bool = True,
    usable_share: float = 0.5,
) -> Judged:
    """Largest leaf that enters under the straightedge, against the sheet's or the general limit.

    A leaf that enters proves a gap of its own thickness, so one that is thicker than the limit is beyond it; one that
    is just under the limit may hide a gap up to the next leaf, and is too close to call. A head that does not take
    resurfacing well has no second chance: where the sheet is silent any daylight is beyond (common practice). `error`
    is that of the leaf itself, `hidden` how far the next leaf is away.
    """
    if not takes_resurfacing and (limit is None or limit.basis != "engine sheet"):
        verdict: Verdict = "good" if gap <= 0 else "too_close" if gap < THINNEST_LEAF else "beyond"
        return Judged(
            gap,
            "in",
            None,
            0.0,
            0.0,
            THINNEST_LEAF,
            verdict,
            "arithmetic",
            "any daylight: this head does not take resurfacing, so it means another head",
        )
    new = None if limit is None else Figure(limit.value * usable_share, "in", limit.basis)
    return judge(gap, "in", new=new, limit=limit, error=error, below=hidden)


def verdict(*judged: Judged | None) -> Verdict | None:
    """The worst of the directions measured."""
    return worst(item.verdict for item in judged if item is not None)
