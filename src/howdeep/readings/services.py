"""Oil pressure, cooling and blow-by: test readings reduced to words where more than marks are needed."""

from __future__ import annotations

from . import pressures
from .figures import displacement_in3, figure, first, shown, times
from .given import Given
from .measured import Collect


def reduce_oil_pressure(given: Given, out: Collect) -> None:
    """A hot oil pressure in a word, by how the engine is oiled; refused where it is oiled by splash."""
    name, reading, oiling = given.reading("pressure"), given.number("pressure", "psi"), given.engine.build.oiling
    if oiling == "splash":
        if reading is not None:
            out.remark(
                name,
                "refused",
                "A splash-oiled engine makes no pressure worth judging; look at the level, the "
                "dippers and the troughs.",
            )
        return
    sheet, none = given.band("band", "psi"), given.limit("none", "psi")
    general = given.limit("least_part_splash" if oiling == "part_splash" else "least", "psi")
    least = first(sheet.wear, sheet.low, general)
    if reading is None or none is None or least is None:
        return
    most = first(times(sheet.high, 1.25), given.limit("most", "psi"))
    # an engine that makes only a few psi in health is not without pressure at one or two
    nothing = min(none.value, least.value / 2)
    word = pressures.oil(reading, none=nothing, least=least.value, most=most.value if most else None)
    told = f"{shown(reading, 'psi')} hot; at least {least} is wanted" + (f", above {most} is high" if most else "")
    if abs(reading - least.value) > given.error("gauge", "psi"):
        out.fact(given.fact("state"), word, told, least.basis)
    else:  # neither enough nor too little: it says nothing
        out.remark(
            name,
            "too close to call",
            f"{shown(reading, 'psi')} lies within the gauge's error of {least}: check it with another gauge.",
            name,
        )


def reduce_cooling(given: Given, out: Collect) -> None:
    """Whether the cooling system held its test pressure, with the pressure to test at where the sheet has the cap's."""
    lost, most, name = given.number("lost", "psi"), given.limit("most", "psi"), given.reading("lost")
    if lost is None or most is None:
        return
    cap, over = figure(given.engine.cap_pressure, "psi"), given.limit("over_cap", "psi")
    tested = f"; the test pressure is {pressures.test_pressure(cap.value, over.value):g} psi" if cap and over else ""
    out.fact(
        given.fact("holds"),
        pressures.holds_pressure(lost, most=most.value),
        f"{lost:.2g} psi lost in 5 minutes; more than {most.value:g} psi is a leak{tested}",
        most.basis,
    )
    if abs(lost - most.value) <= given.error("gauge", "psi") and lost != 0:
        out.remark(
            name,
            "too close to call",
            f"{lost:.2g} psi lost lies within the tester's error of "
            f"{most.value:g} psi: pump it up again and wait longer.",
            name,
        )


def reduce_blow_by(given: Given, out: Collect) -> None:
    """The maker's own figure goes first, brought to the speed of the test; else the general one by displacement."""
    flow, general = given.number("flow", "ft3/h"), given.limit("most", "ft3/h")
    if flow is None:
        return
    sheet, at = figure(given.engine.blow_by, "ft3/h"), figure(given.engine.blow_by_rpm, "rpm")
    rpm, swept = given.number("speed", "rpm"), displacement_in3(given.engine)
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
        given.fact("state"),
        "high" if flow > most else "good",
        f"{shown(flow, 'ft3/h')}; about {most:.0f} ft3/h is the most for {of}",
        basis,
    )
