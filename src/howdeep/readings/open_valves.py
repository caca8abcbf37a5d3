"""Cam lobes as measured at teardown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from . import valves
from .figures import SHEET, Band, Figure, first
from .given import Given
from .judge import Judged
from .measured import Collect
from .verdict_text import add_verdicts


def lobe_band(given: Given, lifts: Sequence[float | None]) -> Band:
    """Lift of a lobe: the sheet's band. Without a wear limit a lobe may fall a general figure short of the least of a
    new one; where the sheet is silent, of the highest of its kind. Empty where there is no other to compare with."""
    sheet, short = given.band("lift", "in"), given.limit("short", "in")
    new = first(sheet.low, sheet.high)
    if new is None and sheet.wear is None:
        known = [lift for lift in lifts if lift is not None]
        new = Figure(max(known), "in", "arithmetic") if len(known) > 1 else None
    if new is None or sheet.wear is not None or short is None:
        return Band(new, sheet.high, sheet.wear)
    return Band(new, sheet.high, replace(short, value=new.value - short.value))


def reduce_lobes(given: Given, out: Collect) -> None:
    """Lobes of one kind of valve."""
    name, lifts = given.reading("lift"), given.numbers("lift", "in")
    if lifts is None:
        return
    limits = lobe_band(given, lifts)
    if limits.low is None and limits.wear is None:
        out.remark(
            name,
            "conditions not recorded",
            "The engine sheet gives no lift, and one lobe alone has none to be compared with: measure the others.",
        )
        return
    if limits.low is not None and limits.low.basis != SHEET:
        out.remark(
            name,
            "conditions not recorded",
            "The engine sheet gives no lift: each lobe is held to the highest of its kind, which does not show a "
            "shaft that is worn alike all over.",
        )
    judged: list[Judged | None] = [
        None if lift is None else valves.judge_cam_lift(lift, limits, given.error("gauge")) for lift in lifts
    ]
    add_verdicts(out, given.fact("verdict"), name, judged)
