"""Figures shown in a shop's units, inch or metric, with the figure as it stands beside it: nothing is rounded away."""

from __future__ import annotations

import math
import re

from .quantity import DIMENSION, QuantityError, parse

METRIC = {"in": "mm", "thou": "mm", "ft": "m", "psi": "bar", "inHg": "kPa", "inH2O": "mbar", "degF": "degC", "qt": "L",
          "pt": "L", "in3": "cm3", "ft3/h": "L/min", "ft-lb": "Nm", "in-lb": "Nm", "lbf": "N", "mile": "km"}
"""Inch unit -> the metric one that is shown for it."""
INCH = {"mm": "in", "cm": "in", "m": "ft", "bar": "psi", "kPa": "psi", "kg/cm2": "psi", "Pa": "psi", "mmHg": "inHg",
        "mbar": "inH2O", "degC": "degF", "L": "qt", "cm3": "in3", "L/min": "ft3/h", "m3/h": "ft3/h", "Nm": "ft-lb",
        "N": "lbf", "km": "mile"}
"""Metric unit -> the inch one that is shown for it."""


def unit_in(unit: str, units: str) -> str:
    """The unit of a shop's choice for another one: 'psi' -> 'bar' in metric; as it is where the shop chose none."""
    return {"metric": METRIC, "inch": INCH}.get(units, {}).get(unit, unit)


def in_units(text: str, units: str) -> str:
    """'0.0020 in' -> '0.051 mm (0.0020 in)' for a metric shop; what is in its units, or is no quantity, as it is.

    As many decimals are shown as the figure had, in its own unit.
    """
    match = re.fullmatch(r"\s*([-+]?[0-9][0-9./ -]*)\s*([^0-9\s].*?)\s*", text)
    if match is None:
        return text
    for unit in DIMENSION:
        if not unit:
            continue
        try:
            typed = parse(text.strip(), unit=unit)
        except QuantityError:
            continue
        to = unit_in(typed.unit, units)
        if to == typed.unit:
            return text
        return f"{rounded(typed.to(to), match.group(1), step_of(typed.unit, to))} {to} ({text.strip()})"
    return text


def step_of(unit: str, to: str) -> float:
    """How much one of a unit is in another: the size of a step, without an offset."""
    return parse(f"1 {unit}", unit=unit).to(to) - parse(f"0 {unit}", unit=unit).to(to)


def rounded(value: float, typed: str, step: float) -> str:
    """A figure rounded to a step no coarser than the last digit typed."""
    decimals = len(typed.strip().partition(".")[2]) if "/" not in typed else 3
    fine = abs(step) * 10.0 ** -decimals
    places = max(0, math.ceil(-math.log10(fine))) if fine else 0
    return f"{value:.{places}f}"
