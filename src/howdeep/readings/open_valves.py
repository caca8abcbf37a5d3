"""Guides, springs, seats, margins and cam lobes as measured at teardown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ..model.engine import Fit
from . import valves
from .figures import SHEET, Band, Figure, above, band, figure, filled, first
from .judge import Judged
from .taken import Collect, Taken
from .telling import add_verdicts

KINDS = ("inlet", "exhaust")


def reduce_valves(taken: Taken, out: Collect) -> None:
    """Facts guide.*, spring.*, seat.*, margin.* and lobe.*."""
    for part in (_guides, _springs, _seats, _margins, _lobes):
        part(taken, out)


def guide_band(taken: Taken, kind: str) -> Band:
    """Stem in guide: the sheet's band, else general ones. A sheet that gives only the new band is widened by the
    general wear of stem and guide."""
    fit: Fit = taken.engine.valve_stem_inlet if kind == "inlet" else taken.engine.valve_stem_exhaust
    given = band(fit, "in")
    if given.low is None and given.high is None:
        return Band(
            None,
            taken.limits.get(f"guide_clearance_{kind}", "in"),
            first(given.wear, taken.limits.get(f"guide_clearance_{kind}_most", "in")),
        )
    stem, guide = taken.limits.get("valve_stem_wear", "in"), taken.limits.get("valve_guide_wear", "in")
    return Band(given.low, given.high, first(given.wear, above(above(given.high, stem), guide)))


def _guides(taken: Taken, out: Collect) -> None:
    for kind in KINDS:
        values = taken.numbers(f"guide_clearance_{kind}", "in")
        if values is not None:
            limits = guide_band(taken, kind)
            add_verdicts(
                out,
                f"guide.{kind}_verdict",
                f"guide_clearance_{kind}",
                [None if value is None else valves.judge_guide(value, limits) for value in values],
            )


def _springs(taken: Taken, out: Collect) -> None:
    values, sheet = taken.numbers("spring_load_measured", "lbf"), band(taken.engine.spring_load, "lbf")
    if values is None:
        return
    if sheet.low is None and sheet.wear is None:
        out.remark(
            "spring_load_measured",
            "conditions not recorded",
            "The engine sheet gives no spring load: compare each spring with the strongest, and with a new one.",
        )
        return
    least = taken.limits.get("spring_load_percent", "percent")
    add_verdicts(
        out,
        "spring.verdict",
        "spring_load_measured",
        [None if value is None else valves.judge_spring(value, sheet, least) for value in values],
    )


def _of_kind(inlet: Fit, exhaust: Fit, kind: str) -> Fit:
    """The figures of one kind of valve: exhausts have their own only where the sheet gives them."""
    return exhaust if kind == "exhaust" and exhaust != Fit() else inlet


def seat_band(taken: Taken, kind: str) -> Band:
    """Width of a seat: the sheet's band, else general ones."""
    fit = _of_kind(taken.engine.seat_width, taken.engine.seat_width_exhaust, kind)
    return filled(
        band(fit, "in"),
        low=taken.limits.get("valve_seat_width_low", "in"),
        high=taken.limits.get("valve_seat_width_high", "in"),
        # a sheet that gives only the new band is widened by the general percentage instead
        wear=taken.limits.get("valve_seat_width_most", "in") if fit == Fit() else None,
    )


def _seats(taken: Taken, out: Collect) -> None:
    over = taken.limits.get("valve_seat_width_percent", "percent")
    for kind in KINDS:
        name, values = f"seat_width_{kind}", taken.numbers(f"seat_width_{kind}", "in")
        if values is None:
            continue
        limits = seat_band(taken, kind)
        judged = [None if value is None else valves.judge_seat_width(value, limits, over) for value in values]
        add_verdicts(out, f"seat.{kind}_verdict", name, judged)


def _margins(taken: Taken, out: Collect) -> None:
    least = first(figure(taken.engine.valve_margin, "in"), taken.limits.get("valve_margin", "in"))
    for kind in KINDS:
        values = taken.numbers(f"valve_margin_{kind}", "in")
        if values is not None and least is not None:
            add_verdicts(
                out,
                f"margin.{kind}_verdict",
                f"valve_margin_{kind}",
                [None if value is None else valves.judge_margin(value, least) for value in values],
            )


def lobe_band(taken: Taken, kind: str, lifts: Sequence[float | None]) -> Band:
    """Lift of a lobe: the sheet's band. Without a wear limit a lobe may fall a general figure short of the least of a
    new one; where the sheet is silent, of the highest of its kind. Empty where there is no other to compare with."""
    given = band(_of_kind(taken.engine.cam_lift, taken.engine.cam_lift_exhaust, kind), "in")
    short = taken.limits.get("cam_lobe_short", "in")
    new = first(given.low, given.high)
    if new is None and given.wear is None:
        known = [lift for lift in lifts if lift is not None]
        new = Figure(max(known), "in", "arithmetic") if len(known) > 1 else None
    if new is None or given.wear is not None or short is None:
        return Band(new, given.high, given.wear)
    return Band(new, given.high, replace(short, value=new.value - short.value))


def _lobes(taken: Taken, out: Collect) -> None:
    for kind in KINDS:
        name, lifts = f"cam_lift_{kind}", taken.numbers(f"cam_lift_{kind}", "in")
        if lifts is None:
            continue
        limits = lobe_band(taken, kind, lifts)
        compared = limits.low is not None and limits.low.basis != SHEET
        if limits.low is None and limits.wear is None:
            out.remark(
                name,
                "conditions not recorded",
                "The engine sheet gives no lift, and one lobe alone has none to be compared with: measure the others.",
            )
            continue
        if compared:
            out.remark(
                name,
                "conditions not recorded",
                "The engine sheet gives no lift: each lobe is held to the highest of its kind, which does not show a "
                "shaft that is worn alike all over.",
            )
        judged: list[Judged | None] = [None if lift is None else valves.judge_cam_lift(lift, limits) for lift in lifts]
        add_verdicts(out, f"lobe.{kind}_verdict", name, judged)
