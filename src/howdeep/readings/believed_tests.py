"""Readings of tests that cannot be right, where it takes more than one figure to say so."""

from __future__ import annotations

from ..model.results import Remark
from . import compression, electrical, vacuum
from .figures import band, shown
from .given import Given
from .plausibility import Questioned, question_each, question_one
from .slips import question


def believe_compression(given: Given) -> Questioned:
    """More than the engine can make, or read in bar."""
    taken, engine = given.taken, given.engine
    most = compression.credible_most(
        engine.compression_ratio, given.most("over_adiabatic", "percent"), given.most("most", "psi")
    )
    sheet = band(engine.cranking_compression, "psi")
    top = max((item.value for item in (sheet.low, sheet.high) if item), default=0.0)
    share = given.most("over_sheet", "percent")
    most = max(most, share * top) if top else most
    ratio = f" of {engine.compression_ratio:g}:1" if engine.compression_ratio else ""
    usual_low, usual_high = (0.3 * top, share * top) if top else (0.1 * most, most)
    told = f"is more than an engine{ratio} can show (at most about {most:.0f} psi)"
    bar_above, bar_below = (given.most(name, "psi") for name in ("bar_above", "bar_below"))
    remarks: list[Remark] = []
    for name in (given.reading("dry"), given.reading("wet")):
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
        taken, said = question_each(
            taken,
            name,
            taken.numbers(name, "psi"),
            "cylinder",
            lambda value: "" if value <= most else question(value, "psi", told, usual_low, usual_high),
        )
        remarks += said
    return taken, remarks


def believe_vacuum(given: Given) -> Questioned:
    """Deeper than the air outside is heavy."""
    taken, value = given.taken, given.number("level", "inHg")
    most = vacuum.credible_most(taken.altitude_ft)
    if value is None or value <= most:
        return taken, []
    return question_one(
        taken,
        given.reading("level"),
        question(value, "inHg", f"is deeper than the air outside is heavy ({most:.1f} in Hg)", 8.0, min(24.0, most)),
    )


def believe_battery(given: Given) -> Questioned:
    """A voltage of another system, or more while cranking than at rest."""
    taken, value, volts = given.taken, given.number("rest", "V"), given.engine.build.volts
    resting, turning = given.reading("rest"), given.reading("cranking")
    text = (
        ""
        if value is None or volts == "none"
        else electrical.other_system(
            value,
            volts,
            most=given.most("most", "V"),
            like_6=(given.most("like_6_from", "V"), given.most("like_6_to", "V")),
        )
    )
    told = f"{shown(value, 'V')} is {text}. Measure again." if text and value is not None else ""
    taken, remarks = question_one(taken, resting, told)
    rest, cranking = taken.number(resting, "V"), taken.number(turning, "V")
    if rest is not None and cranking is not None and cranking > rest + given.error("meter", "V"):
        taken, said = question_one(
            taken,
            turning,
            f"{shown(cranking, 'V')} while cranking is more than the {shown(rest, 'V')} "
            "at rest: perhaps the two were exchanged. Measure again.",
        )
        remarks = [*remarks, *said]
    return taken, remarks
