"""Values that cannot be right: each is questioned with the likely slip named, kept in the job, and draws no finding.

Up to where a value is believed stands in the rules (rules/limits/readings.yaml); what the rules do not say is believed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

from ..model.engine import Fit
from ..model.results import Remark
from ..model.values import Grid
from . import compression, electrical, vacuum
from .bores import cells
from .figures import Figure, amounts, band, bore_in, figure, shown
from .gauges import error
from .slips import question
from .taken import Taken

NAMES = {"cylinder": "cylinder", "crankpin": "crankpin", "main": "main journal"}
Item = TypeVar("Item")
Credible = tuple[float, float, dict[str, tuple[float, float]]]
"""Least and most credible value, and other parts that could have been measured by mistake."""
SMALL_CLEARANCES = ("rod_clearance", "main_clearance", "guide_clearance_inlet", "guide_clearance_exhaust",
                    "ring_side_clearance", "end_play_measured", "crank_bend_measured", "lash_inlet_measured",
                    "lash_exhaust_measured", "head_flatness_along", "head_flatness_across", "deck_flatness_along")
WIDTHS = {"seat_width_inlet": "seat", "seat_width_exhaust": "seat", "valve_margin_inlet": "margin",
          "valve_margin_exhaust": "margin"}
"""Observation -> what it is the width of."""
CLEARANCE_GAUGES = {
    "rod_clearance": "gauge_strip",
    "main_clearance": "gauge_strip",
    "guide_clearance_inlet": "dial_gauge",
    "guide_clearance_exhaust": "dial_gauge",
    "end_play_measured": "dial_gauge",
    "crank_bend_measured": "dial_gauge",
}


def question_values(taken: Taken) -> tuple[Taken, tuple[Remark, ...]]:
    """The readings without the questionable ones, and a remark for each of those."""
    remarks: list[Remark] = []
    checks = (_compression, _vacuum, _battery, _bores, _skirts, _journals, _clearances, _ring_gaps, _springs, _widths,
              _lobes)
    for check in checks:
        taken, said = check(taken)
        remarks += said
    return taken, tuple(remarks)


def _limit(taken: Taken, name: str, unit: str, times: float = 1.0) -> float:
    """A figure of the rules up to which a reading is believed, in `unit` (a share as a fraction); infinite without."""
    found = taken.limits.get(f"reading_{name}", unit, times)
    return float("inf") if found is None else found.value / (100.0 if unit == "percent" else 1.0)


def _each(taken: Taken, name: str, values: Sequence[Item | None] | None, what: str,
          judged: Callable[[Item], str]) -> tuple[Taken, list[Remark]]:
    """Question each value of a reading; `judged` gives the sentence, or an empty one for a credible value."""
    if values is None:
        return taken, []
    said = {index + 1: judged(value) for index, value in enumerate(values) if value is not None}
    bad = {number: text for number, text in said.items() if text}
    if not bad:
        return taken, []
    remarks = [Remark(name, "questioned", f"{what} {number}: {text}", name) for number, text in sorted(bad.items())]
    return taken.without(name, frozenset(bad)), remarks


def _one(taken: Taken, name: str, text: str) -> tuple[Taken, list[Remark]]:
    return (taken.without(name), [Remark(name, "questioned", text, name)]) if text else (taken, [])


def _compression(taken: Taken) -> tuple[Taken, list[Remark]]:
    engine = taken.engine
    most = compression.credible_most(engine.compression_ratio,
                                     _limit(taken, "compression_over_adiabatic_percent", "percent"),
                                     _limit(taken, f"compression_most_{engine.build.fuel}", "psi"))
    sheet = band(engine.cranking_compression, "psi")
    top = max((item.value for item in (sheet.low, sheet.high) if item), default=0.0)
    share = _limit(taken, "compression_over_sheet_percent", "percent")
    most = max(most, share * top) if top else most
    ratio = f" of {engine.compression_ratio:g}:1" if engine.compression_ratio else ""
    usual_low, usual_high = (0.3 * top, share * top) if top else (0.1 * most, most)
    told = f"is more than an engine{ratio} can show (at most about {most:.0f} psi)"
    bar_above, bar_below = (_limit(taken, f"compression_bar_{end}", "psi") for end in ("above", "below"))
    remarks: list[Remark] = []
    for name in ("compression_dry", "compression_wet"):
        values = [value for value in taken.numbers(name, "psi") or () if value is not None]
        if values and max(values) < bar_below and any(value > bar_above for value in values):
            bar = max(values) * 14.503774
            if usual_low <= bar <= usual_high:
                taken = taken.without(name)
                remarks.append(
                    Remark(
                        name,
                        "questioned",
                        f"{shown(max(values), 'psi')} at most on every cylinder: if it was "
                        f"read in bar it is {bar:.0f} psi. Measure again.",
                        name,
                    )
                )
                continue
        taken, said = _each(
            taken,
            name,
            taken.numbers(name, "psi"),
            "cylinder",
            lambda value: "" if value <= most else question(value, "psi", told, usual_low, usual_high),
        )
        remarks += said
    return taken, remarks


def _vacuum(taken: Taken) -> tuple[Taken, list[Remark]]:
    value = taken.number("vacuum_level", "inHg")
    most = vacuum.credible_most(taken.altitude_ft)
    if value is None or value <= most:
        return taken, []
    return _one(
        taken,
        "vacuum_level",
        question(value, "inHg", f"is deeper than the air outside is heavy ({most:.1f} in Hg)", 8.0, min(24.0, most)),
    )


def _battery(taken: Taken) -> tuple[Taken, list[Remark]]:
    value = taken.number("battery_rest", "V")
    volts = taken.engine.build.volts
    text = "" if value is None or volts == "none" else electrical.other_system(
        value, volts, most=_limit(taken, f"battery_rest_most_{volts}", "V"),
        like_6=(_limit(taken, "battery_rest_like_6_least", "V"), _limit(taken, "battery_rest_like_6_most", "V")))
    taken, remarks = _one(taken, "battery_rest",
                          f"{shown(value, 'V')} is {text}. Measure again." if text and value is not None else "")
    rest, cranking = taken.number("battery_rest", "V"), taken.number("battery_cranking", "V")
    if rest is not None and cranking is not None and cranking > rest + error("voltmeter"):
        taken, said = _one(
            taken,
            "battery_cranking",
            f"{shown(cranking, 'V')} while cranking is more than the {shown(rest, 'V')} "
            "at rest: perhaps the two were exchanged. Measure again.",
        )
        remarks = [*remarks, *said]
    return taken, remarks


def _bores(taken: Taken) -> tuple[Taken, list[Remark]]:
    standard = band(taken.engine.bore, "in")
    if standard.low is None:
        return taken, []
    top = standard.high.value if standard.high else standard.low.value
    over = max(amounts(taken.engine.oversizes, "in"), default=0.0)
    least, most = standard.low.value - 2 * error("bore_gauge"), top + over + _limit(taken, "bore_over_largest", "in")

    def judged(grid: Grid) -> str:
        for value in cells(grid):
            if value < least:
                return question(value, "in", f"is smaller than a standard bore ({standard.low})", least, most)
            if value > most:
                return question(
                    value,
                    "in",
                    f"is larger than any bore of this engine can be worn ({shown(most, 'in')})",
                    least,
                    most,
                )
        return ""

    return _each(taken, "bore_size", taken.grids("bore_size", "in"), "cylinder", judged)


def _skirts(taken: Taken) -> tuple[Taken, list[Remark]]:
    nominal = figure(taken.engine.piston_skirt, "in")
    bores = taken.grids("bore_size", "in") or ()
    numbered = {index + 1: max(cells(grid)) for index, grid in enumerate(bores) if grid is not None and cells(grid)}
    skirts = taken.numbers("piston_skirt_size", "in")
    if skirts is None:
        return taken, []
    bad: dict[int, str] = {}
    slack = error("bore_gauge") + error("micrometer")
    over = max(amounts(taken.engine.oversizes, "in"), default=0.0)
    size = nominal.value if nominal else bore_in(taken.engine)
    under, above = _limit(taken, "skirt_under_standard", "in"), _limit(taken, "skirt_over_largest", "in")
    for index, skirt in enumerate(skirts):
        if skirt is None:
            continue
        bore = numbered.get(index + 1)
        if bore is not None and skirt > bore + slack:
            bad[index + 1] = question(
                skirt,
                "in",
                f"is larger than its bore ({shown(bore, 'in')}), which leaves a clearance below nothing",
                bore - 0.03,
                bore,
            )
        elif size is not None and not size - under <= skirt <= size + over + above:
            bad[index + 1] = question(
                skirt, "in", f"is no piston of this engine ({shown(size, 'in')} standard)", size - under, size + over
            )
    remarks = [
        Remark("piston_skirt_size", "questioned", f"cylinder {number}: {text}", "piston_skirt_size")
        for number, text in sorted(bad.items())
    ]
    return (taken.without("piston_skirt_size", frozenset(bad)) if bad else taken), remarks


def _journals(taken: Taken) -> tuple[Taken, list[Remark]]:
    engine, remarks = taken.engine, []
    bands = {
        "crankpin": band(engine.crankpins.size, "in") if engine.crankpins else None,
        "main": band(engine.mains.size, "in") if engine.mains else None,
    }
    kinds = {"crankpin": ("crankpin_size", engine.crankpins), "main": ("main_size", engine.mains)}
    for kind, (name, journal) in kinds.items():
        size = bands[kind]
        if journal is None or size is None or size.low is None:
            continue
        high = size.high.value if size.high else size.low.value
        under = max(amounts(journal.undersizes, "in"), default=0.0)
        least = size.low.value - under - _limit(taken, "journal_under_smallest", "in")
        most = high + 2 * error("micrometer")
        other = "main" if kind == "crankpin" else "crankpin"
        places = {}
        far = bands[other]
        if far is not None and far.low is not None:
            places[f"a {NAMES[other]}"] = (far.low.value - 0.045, (far.high or far.low).value + 0.001)

        def judged(grid: Grid, least: float = least, most: float = most, high: float = high,
                   places: Mapping[str, tuple[float, float]] = places, kind: str = kind) -> str:
            for value in cells(grid):
                if value > most:
                    return question(
                        value,
                        "in",
                        f"is larger than a standard {NAMES[kind]} ({shown(high, 'in')})",
                        least,
                        most,
                        places,
                    )
                if value < least:
                    return question(
                        value, "in", f"is smaller than any {NAMES[kind]} of this engine is ground", least, most, places
                    )
            return ""

        taken, said = _each(taken, name, taken.grids(name, "in"), NAMES[kind], judged)
        remarks += said
    return taken, remarks


def _clearances(taken: Taken) -> tuple[Taken, list[Remark]]:
    remarks: list[Remark] = []
    for name in SMALL_CLEARANCES:
        most = _limit(taken, f"most_{name}", "in")
        slack = error(CLEARANCE_GAUGES.get(name, "feeler"))

        def judged(value: float, most: float = most, slack: float = slack) -> str:
            if value < -slack:
                return question(value, "in", "is less than nothing by more than the gauge's error", 0.0, most)
            if value > most:
                return question(
                    value, "in", f"is more than such a clearance can be ({shown(most, 'in')})", 0.0005, most * 0.5
                )
            return ""

        if isinstance(taken.values.get(name), tuple):
            what = (
                "valve"
                if name.startswith(("guide", "lash"))
                else "journal"
                if "clearance" in name and not name.startswith("ring")
                else "cylinder"
            )
            taken, said = _each(taken, name, taken.numbers(name, "in"), what, judged)
        else:
            value = taken.number(name, "in")
            taken, said = _one(taken, name, "" if value is None else judged(value))
        remarks += said
    return taken, remarks


def _ring_gaps(taken: Taken) -> tuple[Taken, list[Remark]]:
    bore = bore_in(taken.engine)
    if bore is None:
        return taken, []
    most = _limit(taken, "most_ring_gap_per_inch", "in", bore)
    return _each(
        taken,
        "ring_gap_measured",
        taken.numbers("ring_gap_measured", "in"),
        "cylinder",
        lambda value: (
            ""
            if 0 <= value <= most
            else question(value, "in", f"is no ring gap of a {bore:.3f} in bore", 0.001 * bore, 0.02 * bore)
        ),
    )


def _springs(taken: Taken) -> tuple[Taken, list[Remark]]:
    sheet = band(taken.engine.spring_load, "lbf")
    low = sheet.low
    if low is None:
        return taken, []
    most = _limit(taken, "most_spring_load_percent", "percent") * (sheet.high or low).value
    return _each(
        taken,
        "spring_load_measured",
        taken.numbers("spring_load_measured", "lbf"),
        "valve",
        lambda value: (
            ""
            if value <= most
            else question(
                value,
                "lbf",
                f"is more than a new spring carries at its checking length ({sheet.high or low})",
                0.5 * low.value,
                most,
            )
        ),
    )


def _widths(taken: Taken) -> tuple[Taken, list[Remark]]:
    """Seats and margins, often read in sixty-fourths or millimetres and written as inches."""
    remarks: list[Remark] = []
    for name, part in WIDTHS.items():
        most = _limit(taken, f"most_{name}", "in")

        def judged(value: float, most: float = most, part: str = part) -> str:
            if value > most:
                return question(value, "in", f"is wider than any {part} of a valve ({shown(most, 'in')})", 0.02, 0.1)
            return ""

        taken, said = _each(taken, name, taken.numbers(name, "in"), "valve", judged)
        remarks += said
    return taken, remarks


def _lobes(taken: Taken) -> tuple[Taken, list[Remark]]:
    """A lift above that of a new lobe was read at the valve, behind the rocker, or the sheet is another engine's."""
    engine, remarks = taken.engine, []
    for kind in ("inlet", "exhaust"):
        own = engine.cam_lift_exhaust if kind == "exhaust" and engine.cam_lift_exhaust != Fit() else engine.cam_lift
        sheet = band(own, "in")
        new = sheet.high or sheet.low
        if new is None:
            continue
        most = _limit(taken, "most_cam_lift_percent", "percent") * new.value
        rocker = _limit(taken, "cam_lift_behind_rocker_percent", "percent") * new.value

        def judged(value: float, new: Figure = new, most: float = most, rocker: float = rocker) -> str:
            if value <= most:
                return ""
            if value <= rocker:
                return (
                    f"{shown(value, 'in')} is more than a new lobe lifts ({new}): perhaps it was read at the valve, "
                    "behind the rocker. Measure again at the follower or its push rod."
                )
            return question(value, "in", f"is more than a new lobe lifts ({new})", 0.5 * new.value, most)

        name = f"cam_lift_{kind}"
        taken, said = _each(taken, name, taken.numbers(name, "in"), "valve", judged)
        remarks += said
    return taken, remarks
