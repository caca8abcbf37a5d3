"""Measured values with their units, typed the way people write them.

A table of exact factors stands in for a units library: a whole assessment must start in well under a second, and a
general library alone takes a third of that. Every factor is held against pint and NIST SP 811 in the tests.
"""

from __future__ import annotations

import difflib
import re
from functools import lru_cache

from .frozen import dataclass

# dimension -> unit -> (factor, offset): value in the dimension's base unit = value * factor + offset
UNITS: dict[str, dict[str, tuple[float, float]]] = {
    "length": {
        "in": (25.4, 0.0),
        "thou": (0.0254, 0.0),
        "mm": (1.0, 0.0),
        "cm": (10.0, 0.0),
        "m": (1000.0, 0.0),
        "ft": (304.8, 0.0),
    },
    "pressure": {
        "psi": (6894.757293168361, 0.0),
        "kPa": (1000.0, 0.0),
        "bar": (1e5, 0.0),
        "kg/cm2": (98066.5, 0.0),
        "inHg": (3386.389, 0.0),
        "inH2O": (249.08891, 0.0),
        "Pa": (1.0, 0.0),
        "mmHg": (133.322387415, 0.0),
        "mbar": (100.0, 0.0),
    },
    "temperature": {"degC": (1.0, 273.15), "degF": (5 / 9, 273.15 - 32 * 5 / 9), "K": (1.0, 0.0)},
    "voltage": {"V": (1.0, 0.0), "mV": (0.001, 0.0)},
    "current": {"A": (1.0, 0.0)},
    "speed": {"rpm": (1.0, 0.0)},
    "volume": {
        "cm3": (1.0, 0.0),
        "in3": (16.387064, 0.0),
        "qt": (946.352946, 0.0),
        "L": (1000.0, 0.0),
        "pt": (473.176473, 0.0),
    },
    "flow": {"ft3/h": (7.865790720e-6, 0.0), "L/min": (1 / 60000, 0.0), "m3/h": (1 / 3600, 0.0)},
    "torque": {"ft-lb": (1.3558179483314004, 0.0), "Nm": (1.0, 0.0), "in-lb": (0.1129848290276167, 0.0)},
    "force": {"lbf": (4.4482216152605, 0.0), "N": (1.0, 0.0)},
    "angle": {"deg": (1.0, 0.0)},
    "ratio": {"percent": (1.0, 0.0)},
    "time": {"h": (3600.0, 0.0), "min": (60.0, 0.0), "s": (1.0, 0.0), "year": (31557600.0, 0.0)},
    "distance": {"mile": (1609.344, 0.0), "km": (1000.0, 0.0)},
    "count": {"": (1.0, 0.0)},
}

_SPELLINGS = {
    "in": "in",
    '"': "in",
    "inch": "in",
    "inches": "in",
    "thou": "thou",
    "mil": "thou",
    "mm": "mm",
    "cm": "cm",
    "m": "m",
    "ft": "ft",
    "feet": "ft",
    "psi": "psi",
    "lb/in2": "psi",
    "kpa": "kPa",
    "bar": "bar",
    "kg/cm2": "kg/cm2",
    "kg/cm²": "kg/cm2",
    "inhg": "inHg",
    "in hg": "inHg",
    "in. hg": "inHg",
    "in.hg": "inHg",
    "inh2o": "inH2O",
    "in h2o": "inH2O",
    "in water": "inH2O",
    "pa": "Pa",
    "mmhg": "mmHg",
    "mm hg": "mmHg",
    "mbar": "mbar",
    "°f": "degF",
    "f": "degF",
    "degf": "degF",
    "deg f": "degF",
    "°c": "degC",
    "c": "degC",
    "degc": "degC",
    "deg c": "degC",
    "k": "K",
    "v": "V",
    "volt": "V",
    "volts": "V",
    "mv": "mV",
    "a": "A",
    "amp": "A",
    "amps": "A",
    "rpm": "rpm",
    "rev/min": "rpm",
    "cm3": "cm3",
    "cm³": "cm3",
    "cc": "cm3",
    "in3": "in3",
    "in³": "in3",
    "cu in": "in3",
    "qt": "qt",
    "quart": "qt",
    "quarts": "qt",
    "pt": "pt",
    "pint": "pt",
    "l": "L",
    "litre": "L",
    "litres": "L",
    "liter": "L",
    "liters": "L",
    "ft3/h": "ft3/h",
    "cfh": "ft3/h",
    "l/min": "L/min",
    "m3/h": "m3/h",
    "ft-lb": "ft-lb",
    "ft lb": "ft-lb",
    "lb-ft": "ft-lb",
    "lbf·ft": "ft-lb",
    "lbf ft": "ft-lb",
    "nm": "Nm",
    "n·m": "Nm",
    "n m": "Nm",
    "n-m": "Nm",
    "in-lb": "in-lb",
    "in lb": "in-lb",
    "lbf": "lbf",
    "lb": "lbf",
    "lbs": "lbf",
    "n": "N",
    "deg": "deg",
    "°": "deg",
    "degrees": "deg",
    "%": "percent",
    "percent": "percent",
    "h": "h",
    "hr": "h",
    "hours": "h",
    "hour": "h",
    "min": "min",
    "minutes": "min",
    "s": "s",
    "sec": "s",
    "seconds": "s",
    "year": "year",
    "years": "year",
    "mile": "mile",
    "miles": "mile",
    "km": "km",
}

_FRACTION = re.compile(r"\s*([-+]?)(?:(\d+)[ -])?(\d+)/([1-9]\d*)(?![\d/.])\s*(\D.*?)?\s*\Z", re.DOTALL)
_TYPED = re.compile(r"\s*([-+]?(?:\d{1,3}(?:,\d{3})+|\d+)?(?:\.\d*)?(?:[eE][-+]?\d+)?)\s*(\D.*?)?\s*\Z", re.DOTALL)

DIMENSION = {unit: dimension for dimension, units in UNITS.items() for unit in units}


def unit_hint(spelled: str, dimension: str = "") -> str:
    """The nearest right spelling of a unit, of one dimension where it is given; else the units that can be written."""
    known = {**{unit.lower(): unit for unit in DIMENSION if unit}, **_SPELLINGS}
    names = sorted(name for name, unit in known.items() if dimension in ("", DIMENSION[unit]))
    close = difflib.get_close_matches(str(spelled).lower(), names, n=3, cutoff=0.6)
    units = dict.fromkeys(known[name] for name in close)
    if units:
        return f"did you mean {' or '.join(units)}?"
    if dimension:
        return f"use {', '.join(UNITS[dimension])}" if dimension != "count" else "a number alone"
    return f"known: {', '.join(unit for unit in DIMENSION if unit)}"


class QuantityError(ValueError):
    """A typed value that is no quantity, or has the wrong kind of unit; the text says why."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number and its unit, e.g. 1.497 in."""

    value: float
    unit: str

    @property
    def dimension(self) -> str:
        return DIMENSION[self.unit]

    def to(self, unit: str) -> float:
        """The number in another unit of the same dimension. Raises QuantityError across dimensions."""
        if unit == self.unit:
            return self.value
        if unit not in DIMENSION:
            raise QuantityError(f"'{unit}' is not a unit known here")
        if DIMENSION[unit] != self.dimension:
            raise QuantityError(f"{self} is a {self.dimension}, not a {DIMENSION[unit]}")
        factor, offset = UNITS[self.dimension][self.unit]
        target, shift = UNITS[self.dimension][unit]
        return (self.value * factor + offset - shift) / target

    def __str__(self) -> str:
        return f"{self.value:g} {self.unit}".strip()


@lru_cache(maxsize=4096, typed=True)  # one sheet's figures are read for every job and every what-if
def parse(text: str | int | float, *, unit: str, bare: bool = False) -> Quantity:
    """Read '1.497 in', '38.02mm', '112 psi', '3 7/16 in'.

    `unit` tells the dimension wanted. A bare number is taken in `unit` only where `bare` is true or the dimension has
    no unit that could be confused (volts, rpm, percent, counts). Raises QuantityError.
    """
    wanted = DIMENSION[unit]
    if isinstance(text, bool) or text is None:
        raise QuantityError(f"'{text}' is not a number with a unit")
    if isinstance(text, (int, float)):
        number, spelled = float(text), ""
    elif match := _FRACTION.match(text):
        sign, whole, top, bottom, spelled = match.groups()
        try:
            number, spelled = int(whole or 0) + int(top) / int(bottom), (spelled or "").strip()
        except (OverflowError, ValueError):  # hundreds or thousands of digits
            raise QuantityError(f"'{text[:40]}...' is not a number with a unit such as '12 {unit}'") from None
        number = -number if sign == "-" else number
    else:
        match = _TYPED.match(text)
        if not match or not match.group(1) or not re.search(r"\d", match.group(1)):
            raise QuantityError(f"'{text}' is not a number with a unit such as '12 {unit}'")
        try:
            number, spelled = float(match.group(1).replace(",", "")), (match.group(2) or "").strip()
        except ValueError:
            raise QuantityError(f"'{text}' is not a number with a unit such as '12 {unit}'") from None
    if number != number or number in (float("inf"), float("-inf")):
        raise QuantityError(f"'{text}' is not a finite number")
    if not spelled:
        if bare or len(UNITS[wanted]) == 1 or wanted == "voltage":
            return Quantity(number, unit)
        raise QuantityError(f"'{text}' has no unit; write for example '{text} {unit}'")
    known = _SPELLINGS.get(spelled.lower()) or (spelled if spelled in DIMENSION else None)
    if known is None:
        raise QuantityError(
            f"'{_short(spelled)}' in '{_short(str(text))}' is not a unit known here; {unit_hint(spelled, wanted)}"
        )
    if DIMENSION[known] != wanted:
        raise QuantityError(f"'{_short(str(text))}' is a {DIMENSION[known]}; a {wanted} is wanted, e.g. '12 {unit}'")
    return Quantity(number, known)


def _short(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:57]}..."
