"""What slip of the pen an impossible value most likely is: wrong unit, misplaced decimal, wrong journal."""

from __future__ import annotations

from collections.abc import Mapping

from .figures import shown

_MISTAKEN: dict[str, tuple[tuple[str, float], ...]] = {
    "in": (("mm", 1 / 25.4), ("thou", 0.001)),
    "psi": (("kPa", 1 / 6.894757), ("bar", 14.503774), ("kg/cm2", 14.223343)),
    "V": (("mV", 0.001),),
    "inHg": (("kPa", 0.2953), ("mm of mercury", 1 / 25.4)),
    "lbf": (("N", 1 / 4.448222),),
    "ft-lb": (("Nm", 1 / 1.3558179), ("in-lb", 1 / 12)),
    "rpm": (),
}
"""Unit -> units often written in its place, and what one of them is in it."""
_SHIFTS = (
    ("one place too far right", 0.1),
    ("one place too far left", 10.0),
    ("two places too far right", 0.01),
    ("two places too far left", 100.0),
    ("three places too far right", 0.001),
)


def likely_slips(
    value: float, unit: str, low: float, high: float, places: Mapping[str, tuple[float, float]] | None = None
) -> tuple[str, ...]:
    """Slips that would bring `value` (in `unit`) into low..high, the likeliest first; empty where none does.

    `places` are other parts that could have been measured by mistake: name -> their least and most.
    """
    found = []
    for name, (least, most) in sorted((places or {}).items()):
        if least <= value <= most:
            found.append(f"it is the size of {name}, so perhaps {name} was measured")
    for other, factor in _MISTAKEN.get(unit, ()):
        if low <= value * factor <= high:
            found.append(f"if it was read in {other} it is {shown(value * factor, unit)}")
    for where, factor in _SHIFTS:
        if low <= value * factor <= high:
            found.append(f"if the decimal point stands {where} it is {shown(value * factor, unit)}")
    return tuple(found)


def question(
    value: float, unit: str, what: str, low: float, high: float, places: Mapping[str, tuple[float, float]] | None = None
) -> str:
    """One or two sentences that question a value and name the likely slip."""
    slips = likely_slips(value, unit, low, high, places)
    told = f"{shown(value, unit)} {what}"
    return f"{told}: {'; or '.join(slips[:2])}. Measure again." if slips else f"{told}. Measure again."
