"""Guides and springs as measured at teardown."""

from __future__ import annotations

from ..model.engine import Fit
from . import valves
from .figures import Band, above, band, first
from .taken import Collect, Taken
from .telling import add_verdicts


def reduce_valves(taken: Taken, out: Collect) -> None:
    """Facts guide.* and spring.*."""
    _guides(taken, out)
    _springs(taken, out)


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
    for kind in ("inlet", "exhaust"):
        values = taken.each(f"guide_clearance_{kind}", "in")
        if values is not None:
            limits = guide_band(taken, kind)
            add_verdicts(
                out,
                f"guide.{kind}_verdict",
                f"guide_clearance_{kind}",
                [None if value is None else valves.judge_guide(value, limits) for value in values],
            )


def _springs(taken: Taken, out: Collect) -> None:
    values, sheet = taken.each("spring_load_measured", "lbf"), band(taken.engine.spring_load, "lbf")
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
