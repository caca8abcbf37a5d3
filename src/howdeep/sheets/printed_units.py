"""Units as manuals and mechanics write them, for each dimension of an engine sheet.

'lb' is a torque under a torque, a pressure under a pressure and a load under a spring: which it is hangs on the
field. A unit that sheets do not keep (metre-kilograms, thousandths) has its exact factor to one that they do; the
kilogram-force is 9.80665 N (NIST SP 811, appendix B.8).
"""

from __future__ import annotations

import re
from fractions import Fraction

_KGF = Fraction("9.80665")

_SAID: dict[str, dict[str, tuple[str, Fraction, str]]] = {
    "length": {
        "in": ("in", Fraction(1), 'in ins inch inches " in.'),
        "thou": (
            "in",
            Fraction(1, 1000),
            "thou thous thousandth thousandths thousandthsofaninch thousandthsinch mil mils "
            "thousandsofaninch thousands thouin thousofaninch",
        ),
        "tenth": ("in", Fraction(1, 10000), "tenths tenth tenthsofathou tenthsofathousandth"),
        "mm": ("mm", Fraction(1), "mm mms millimetre millimetres millimeter millimeters"),
        "cm": ("mm", Fraction(10), "cm cms centimetre centimetres centimeter centimeters"),
    },
    "pressure": {
        "psi": (
            "psi",
            Fraction(1),
            "psi psig lb lbs pound pounds lb/in2 lb/sqin lbs/sqin lbs/in2 lbf/in2 lbspersqin lbpersqin "
            "lbspersquareinch lbpersquareinch poundspersquareinch lbsqin lbssqin lbin2 lbsin2 "
            "poundspersqin lb/inch2 lbspersqinch lbsperin2",
        ),
        "kPa": ("kPa", Fraction(1), "kpa kilopascal kilopascals"),
        "MPa": ("kPa", Fraction(1000), "mpa megapascal megapascals"),
        "bar": ("bar", Fraction(1), "bar bars"),
        "kg/cm2": ("kg/cm2", Fraction(1), "kg/cm2 kg/sqcm kgpersqcm kgf/cm2 kp/cm2 kg kgs kgcm2 at ata kilos"),
        "atm": ("kPa", Fraction("101.325"), "atm atmosphere atmospheres"),
    },
    "torque": {
        "ft-lb": (
            "ft-lb",
            Fraction(1),
            "ftlb ftlbs lbft lbsft lbfft lbffeet lbfeet lbsfeet footpound footpounds poundfoot "
            "poundsfoot poundfeet poundsfeet ftpound ftpounds ftlbf ftlbsf lb lbs pound pounds lbsfoot "
            "lbfoot feetpounds feetlb feetlbs footlb footlbs",
        ),
        "in-lb": (
            "in-lb",
            Fraction(1),
            "inlb inlbs lbin lbsin inchpound inchpounds poundinch poundinches poundsinch inlbf "
            "lbfin inchlb inchlbs lbinch lbsinch inpounds",
        ),
        "Nm": ("Nm", Fraction(1), "nm newtonmetre newtonmetres newtonmeter newtonmeters nmetre nmetres"),
        "kgf-m": (
            "Nm",
            _KGF,
            "kgm mkg mkp kpm kgfm mkgf kgmetre kgmetres metrekilograms meterkilograms kilogrammetres kg kgs "
            "kgmeters kilos mkilos",
        ),
        "kgf-cm": ("Nm", _KGF / 100, "kgcm cmkg cmkp kgfcm"),
    },
    "force": {
        "lbf": ("lbf", Fraction(1), "lb lbs pound pounds lbf #"),
        "oz": ("lbf", Fraction(1, 16), "oz ounce ounces"),
        "N": ("N", Fraction(1), "n newton newtons"),
        "kgf": ("N", _KGF, "kg kgs kgf kp kilos kilogram kilograms"),
    },
    "speed": {
        "rpm": (
            "rpm",
            Fraction(1),
            "rpm rev/min revs/min revs rev r/min turns revolutions revsperminute "
            "revolutionsperminute revpermin revspermin rpms turnsperminute",
        )
    },
    "ratio": {"percent": ("percent", Fraction(1), "percent % percents pc p.c. percentage")},
    "flow": {
        "ft3/h": ("ft3/h", Fraction(1), "ft3/h ft3/hr cfh cuft/h cuft/hr cuftperhour cubicfeetperhour cubicfeetanhour"),
        "L/min": ("L/min", Fraction(1), "l/min litres/min liters/min lpm litresperminute litersperminute"),
        "m3/h": ("m3/h", Fraction(1), "m3/h m3/hr cum/h cubicmetresperhour cubicmetersperhour"),
    },
}

SAID: dict[str, dict[str, tuple[str, Fraction]]] = {
    dimension: {alias: (unit, factor) for unit, factor, aliases in units.values() for alias in aliases.split()}
    for dimension, units in _SAID.items()
}
"""Dimension -> spelling without spaces, dots and hyphens -> (unit of sheets, exact factor)."""

OFFERED = {
    "length": ("in", "mm", "thou"),
    "pressure": ("psi", "bar", "kPa", "kg/cm2"),
    "torque": ("ft-lb", "Nm", "in-lb", "kgf-m"),
    "force": ("lbf", "N", "kgf"),
    "speed": ("rpm",),
    "ratio": ("percent",),
    "flow": ("ft3/h", "L/min", "m3/h"),
}
"""What is offered where a bare figure needs its unit."""
PLURAL = {
    "length": "lengths",
    "pressure": "pressures",
    "torque": "torques",
    "force": "loads",
    "speed": "speeds",
    "ratio": "shares",
    "flow": "flows",
}
"""What several figures of a dimension are called."""


def squeezed(words: str) -> str:
    """A unit without what people put between its parts: 'ft. lbs.' and 'ft-lbs' are one."""
    return re.sub(r"[\s.·*'\-]+|\bof\b(?=\s*$)", "", words.lower())


def unit_named(text: str, dimension: str) -> tuple[str, Fraction] | None:
    """(unit of sheets, factor) of a unit as typed; None where it is none of this dimension."""
    return SAID[dimension].get(squeezed(text))
