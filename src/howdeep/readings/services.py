"""Electrics, oil pressure, cooling, blow-by and valve clearance: test readings reduced to words."""

from __future__ import annotations

from . import electrical, gauges, pressures, valves
from .figures import SHEET, Figure, band, displacement_in3, figure, first, shown, times
from .taken import Collect, Taken
from .telling import listed


def reduce_services(taken: Taken, out: Collect) -> None:
    """Facts cranking.*, charging.*, oil_pressure.*, cooling.*, blow_by.* and lash.*."""
    for part in (_electrical, _oil, _cooling, _blow_by, _lash):
        part(taken, out)


def _electrical(taken: Taken, out: Collect) -> None:
    volts = taken.engine.build.volts
    rest, load = taken.number("battery_rest", "V"), taken.number("battery_cranking", "V")
    drop, charge, rpm = (
        taken.number("cable_drop", "V"),
        taken.number("charge_volts", "V"),
        taken.number("cranking_rpm", "rpm"),
    )

    def mark(name: str, unit: str = "V") -> Figure | None:
        return taken.limits.get(name, unit)

    good, flat = mark(f"battery_rest_good_{volts}"), mark(f"battery_rest_flat_{volts}")
    if rest is not None and good and flat:
        out.fact(
            "cranking.rest",
            electrical.rest(rest, good=good.value, flat=flat.value),
            f"{shown(rest, 'V')} at rest on a {volts} volt system; good from {good}, flat below {flat}",
            good.basis,
        )
    least, very = mark(f"battery_cranking_{volts}"), mark(f"battery_cranking_very_low_{volts}")
    if load is not None and least and very:
        out.fact(
            "cranking.under_load",
            electrical.under_load(load, least=least.value, very_low=very.value),
            f"{shown(load, 'V')} while cranking on a {volts} volt system; good from {least}, very low below {very}",
            least.basis,
        )
    joint = mark("cable_drop_joint")
    if drop is not None and joint:
        out.fact(
            "cranking.cable",
            electrical.cable(drop, most=joint.value),
            f"the worst joint drops {shown(drop, 'V')}; at most {joint} is allowed",
            joint.basis,
        )
    low, high = mark(f"charge_low_{volts}"), mark(f"charge_high_{volts}")
    if charge is not None and low and high:
        out.fact(
            "charging.state",
            electrical.charging(charge, low=low.value, high=high.value),
            f"{shown(charge, 'V')} charging on a {volts} volt system; good from {low} to {high}",
            low.basis,
        )
    slowest = first(
        times(figure(taken.engine.cranking_rpm, "rpm"), 0.75), mark(f"cranking_rpm_{taken.engine.build.fuel}", "rpm")
    )
    if rpm is not None and slowest:
        by_speed = taken.engine.cranking_rpm
        source = " (three quarters of the sheet's figure)" if slowest.basis == SHEET else (
            " (three quarters of what its kind is cranked at)" if by_speed else "")
        out.fact(
            "cranking.speed",
            electrical.cranking_speed(rpm, least=slowest.value),
            f"{shown(rpm, 'rpm')}; good from {slowest}{source}",
            slowest.basis,
        )


def _oil(taken: Taken, out: Collect) -> None:
    build, engine = taken.engine.build, taken.engine
    if build.oiling == "splash":
        for name in ("oil_pressure_idle", "oil_pressure_speed"):
            if taken.number(name, "psi") is not None:
                out.remark(
                    name,
                    "refused",
                    "A splash-oiled engine makes no pressure worth judging; look at the level, the "
                    "dippers and the troughs.",
                )
        return
    none = taken.limits.get("oil_pressure_none", "psi")
    for state, fit in (("idle", engine.oil_pressure_idle), ("speed", engine.oil_pressure_speed)):
        reading, sheet = taken.number(f"oil_pressure_{state}", "psi"), band(fit, "psi")
        general = taken.limits.get(
            f"{'part_splash' if build.oiling == 'part_splash' else 'oil_pressure'}_{state}_least", "psi"
        )
        least = first(sheet.wear, sheet.low, general)
        if reading is None or none is None or least is None:
            continue
        most = first(times(sheet.high, 1.25), taken.limits.get("oil_pressure_high", "psi"))
        # an engine that makes only a few psi in health is not without pressure at one or two
        nothing = min(none.value, least.value / 2)
        word = pressures.oil(reading, none=nothing, least=least.value, most=most.value if most else None)
        out.fact(
            f"oil_pressure.{state}",
            word,
            f"{shown(reading, 'psi')} hot; at least {least} is wanted" + (f", above {most} is high" if most else ""),
            least.basis,
        )
        if abs(reading - least.value) <= gauges.error("oil_gauge"):
            out.remark(
                f"oil_pressure_{state}",
                "too close to call",
                f"{shown(reading, 'psi')} lies within the gauge's error of {least}: check it with another gauge.",
                f"oil_pressure_{state}",
            )


def _cooling(taken: Taken, out: Collect) -> None:
    lost, most = taken.number("coolant_pressure_test", "psi"), taken.limits.get("coolant_loss_in_5_min", "psi")
    if lost is None or most is None:
        return
    cap, over = figure(taken.engine.cap_pressure, "psi"), taken.limits.get("coolant_test_over_cap", "psi")
    tested = f"; the test pressure is {pressures.test_pressure(cap.value, over.value):g} psi" if cap and over else ""
    out.fact(
        "cooling.holds_pressure",
        pressures.holds_pressure(lost, most=most.value),
        f"{lost:.2g} psi lost in 5 minutes; more than {most.value:g} psi is a leak{tested}",
        most.basis,
    )
    if abs(lost - most.value) <= gauges.error("cooling_tester") and lost != 0:
        out.remark(
            "coolant_pressure_test",
            "too close to call",
            f"{lost:.2g} psi lost lies within the tester's error of "
            f"{most.value:g} psi: pump it up again and wait longer.",
            "coolant_pressure_test",
        )


def _blow_by(taken: Taken, out: Collect) -> None:
    """The maker's own figure goes first, brought to the speed of the test; else the general one by displacement."""
    flow, general = taken.number("blow_by", "ft3/h"), taken.limits.get("blow_by_ft3_h", "ft3/h")
    if flow is None:
        return
    sheet, at = figure(taken.engine.blow_by, "ft3/h"), figure(taken.engine.blow_by_rpm, "rpm")
    rpm, swept = taken.number("blow_by_speed", "rpm"), displacement_in3(taken.engine)
    if sheet is not None:
        most, basis = pressures.at_speed(sheet.value, at.value if at else None, rpm), sheet.basis
        of = "the engine sheet" + (f" at {shown(rpm, 'rpm')}" if at and rpm else "")
    elif general is not None:
        most, basis = (
            pressures.at_speed(pressures.blow_by_limit(general.value, swept), pressures.BLOW_BY_ENGINE_RPM, rpm),
            general.basis,
        )
        of = f"{swept:.0f} cubic inches" if swept else "an engine of about 100 cubic inches"
        of += f" at {shown(rpm, 'rpm')}" if rpm else ""
    else:
        return
    out.fact(
        "blow_by.state",
        "high" if flow > most else "good",
        f"{shown(flow, 'ft3/h')}; about {most:.0f} ft3/h is the most for {of}",
        basis,
    )


def _lash(taken: Taken, out: Collect) -> None:
    engine, tolerance = taken.engine, taken.limits.get("lash_tolerance", "in")
    for kind, text in (("inlet", engine.lash_inlet), ("exhaust", engine.lash_exhaust)):
        values, wanted = taken.numbers(f"lash_{kind}_measured", "in"), figure(text, "in")
        if values is None:
            continue
        if wanted is None or tolerance is None:
            out.remark(
                f"lash_{kind}_measured",
                "conditions not recorded",
                f"The engine sheet gives no {kind} valve clearance: the readings are kept but not judged.",
            )
            continue
        words = tuple(None if value is None else valves.lash(value, wanted.value, tolerance.value) for value in values)
        state = f" {engine.lash_state}" if engine.lash_state else ""
        whose = "the sheet wants" if wanted.basis == SHEET else "engines of its kind want about"
        out.fact(
            f"lash.{kind}",
            words,
            f"{listed(values, 'in')}; {whose} {wanted}{state}, give or take {tolerance}",
            wanted.basis,
        )
