"""Figures shown in a shop's units, inch or metric, with the figure as it stands beside it: nothing is rounded away."""

from __future__ import annotations

import math
import re

from .quantity import DIMENSION, QuantityError, parse

METRIC = {
    "in": "mm",
    "thou": "mm",
    "ft": "m",
    "psi": "bar",
    "inHg": "kPa",
    "inH2O": "mbar",
    "degF": "degC",
    "qt": "L",
    "pt": "L",
    "in3": "cm3",
    "ft3/h": "L/min",
    "ft-lb": "Nm",
    "in-lb": "Nm",
    "lbf": "N",
    "mile": "km",
}
"""Inch unit -> the metric one that is shown for it."""
INCH = {
    "mm": "in",
    "cm": "in",
    "m": "ft",
    "bar": "psi",
    "kPa": "psi",
    "kg/cm2": "psi",
    "Pa": "psi",
    "mmHg": "inHg",
    "mbar": "inH2O",
    "degC": "degF",
    "L": "qt",
    "cm3": "in3",
    "L/min": "ft3/h",
    "m3/h": "ft3/h",
    "Nm": "ft-lb",
    "N": "lbf",
    "km": "mile",
}
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
    fine = abs(step) * 10.0**-decimals
    places = max(0, math.ceil(-math.log10(fine))) if fine else 0
    return f"{value:.{places}f}"


_WORDS = {"in Hg": "inHg", "in H2O": "inH2O", "°F": "degF", "°C": "degC", "inch": "in", "inches": "in"}
"""Units as sentences write them besides their own spelling."""
_UNIT = "|".join(re.escape(word) for word in sorted({*METRIC, *INCH, *_WORDS}, key=lambda word: -len(word)))
_NUMBER = r"[-+]?\d+(?: \d+/\d+|/\d+|(?:\.\d+)?)"
_FIGURE = re.compile(
    rf"(?<![\w./])(?<![A-Z]{{3}} )(?:(?P<least>{_NUMBER})(?P<between> to | or |-))?(?P<most>{_NUMBER})"
    rf"(?: (?P<unit>{_UNIT})|(?P<close>°[FC]))(?![\w/]|-\w)"
)
_NOT_INCHES = re.compile(r" (?:all|total|the end|hand|full|the long run|\d)")
"""After 'in': what shows that it is the word and no unit ('1 in 5', '12.50 in all')."""
_LENGTH = re.compile(
    r" (?:wide|thick|thin|long|deep|high|square|across|apart|clear|away|below|above|past|beyond|bore|stroke|diameter"
    r"|radius|gap|hoses?|pipes?|tubes?|bolts?|studs?|screws?|nuts?|drills?|rods?|bars?|rules?|plates?|belts?|pulleys?"
    r"|holes?|strips?|pieces?|lengths?|blocks?|washers?|sockets?|spanners?|wrench(?:es)?|exhausts?|stacks?|lumber"
    r"|planks?)\b"
)
"""After a whole number and 'in': what has a length, so that it is the unit after all ('a 3 in hose'). Where the word
says nothing, such as 'is', it could be a vacuum in inches of mercury as well, and the sentence stays as it is."""


def in_prose(text: str, units: str) -> str:
    """A sentence with every figure in a shop's units, each with the figure as it stands beside it: 'below 30 psi' ->
    'below 2.07 bar (30 psi)', '79 to 94 psi' -> '5.45 to 6.48 bar (79 to 94 psi)'. A sentence that was put so already
    stays as it is."""
    if not units or not any(mark.isdigit() for mark in text):
        return text

    def shown(match: re.Match[str]) -> str:
        whole, word = match.group(), match["unit"] or match["close"]
        unit = _WORDS.get(word, word)
        to = unit_in(unit, units)
        if to == unit or (unit == "in" and not _is_length(text, match)) or _beside(text, match):
            return whole
        step = step_of(unit, to)
        figures = [
            rounded(parse(f"{figure} {unit}", unit=unit).to(to), figure, step)
            for figure in (match["least"], match["most"])
            if figure
        ]
        return f"{(match['between'] or '').join(figures)} {to} ({whole})"

    return _FIGURE.sub(shown, text)


def _is_length(text: str, match: re.Match[str]) -> bool:
    """Whether 'in' behind a figure is the unit: behind a decimal or a fraction, before what has a length, or where no
    word follows."""
    after = text[match.end() :]
    if _LENGTH.match(after):
        return True
    if _NOT_INCHES.match(after):
        return False
    return bool(re.search(r"[./]", match["most"])) or not re.match(r" [\w(]", after) or match["unit"] != "in"


def _beside(text: str, match: re.Match[str]) -> bool:
    """Whether a figure is the one that stands beside another already: '0.05 mm (0.0020 in)'."""
    return bool(re.search(rf"\d (?:{_UNIT}) \($", text[: match.start()])) and text[match.end() :].startswith(")")
