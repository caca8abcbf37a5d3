"""Interference fits: guides, bushings, liners, ring gears; and whether heat or cold is enough to drop them in.

Inches and °C. Mean coefficients of expansion between 20 °C and a temperature, for expansion grows with temperature:
cooling gives less than a single room-temperature figure promises, heating more. The tables are from memory of handbook
figures, held in the tests against printed ones; a casting may stand off by 5 %.
"""

from __future__ import annotations

from bisect import bisect_right
from typing import Literal

from ..errors import HowdeepError, listed
from ..model.frozen import dataclass

ROOM = 20.0
DRY_ICE, LIQUID_NITROGEN = -78.0, -196.0
"""°C. Both burn the skin and drive the air out of a closed room."""
CLEARANCE_PER_INCH = 0.001
"""Clearance on the diameter that lets a part drop in before it takes the other's warmth (judgement)."""

MEAN_COEFFICIENTS: dict[str, tuple[tuple[float, float], ...]] = {
    # material: (temperature °C, mean coefficient from 20 °C in millionths per °C)
    "cast iron": ((-196, 7.9), (-78, 9.4), (20, 10.4), (100, 10.8), (200, 11.4), (300, 12.0)),
    "steel": ((-196, 9.1), (-78, 10.7), (20, 11.6), (100, 12.0), (200, 12.5), (300, 13.1)),
    "bronze": ((-196, 15.2), (-78, 16.8), (20, 17.6), (100, 18.0), (200, 18.5), (300, 19.1)),
    "brass": ((-196, 16.3), (-78, 17.9), (20, 18.7), (100, 19.0), (200, 19.8), (300, 20.6)),
    "aluminium": ((-196, 17.8), (-78, 20.8), (20, 22.6), (100, 23.6), (200, 24.5), (300, 25.3)),
}


def mean_coefficient(material: str, temperature_c: float) -> float:
    """Mean linear coefficient between 20 °C and `temperature_c`, per °C. Raises HowdeepError for an unknown material or
    a temperature outside -196 to 300 °C."""
    if material not in MEAN_COEFFICIENTS:
        raise HowdeepError(f"there is no expansion table for '{material}'; known: {listed(sorted(MEAN_COEFFICIENTS))}")
    table = MEAN_COEFFICIENTS[material]
    low, high = table[0][0], table[-1][0]
    if not low <= temperature_c <= high:
        raise HowdeepError(f"{temperature_c:g} °C is outside the expansion table ({low:g} to {high:g} °C)")
    index = min(max(bisect_right([row[0] for row in table], temperature_c), 1), len(table) - 1)
    (a, fa), (b, fb) = table[index - 1], table[index]
    return (fa + (fb - fa) * (temperature_c - a) / (b - a)) * 1e-6


def growth(diameter: float, material: str, temperature_c: float) -> float:
    """Change of a diameter from 20 °C to `temperature_c`, in the unit of the diameter; negative for cooling."""
    return diameter * mean_coefficient(material, temperature_c) * (temperature_c - ROOM)


def interference(outside: float, hole: float) -> float:
    """How much larger the part is than its hole, both at 20 °C; negative for clearance."""
    return outside - hole


def rise_needed(wanted: float, diameter: float, coefficient: float) -> float:
    """Rise of temperature for a growth, with one constant coefficient per degree: wanted / (diameter x coefficient)."""
    return wanted / (diameter * coefficient)


@dataclass(frozen=True, slots=True)
class DropIn:
    """Whether a part drops into its hole at two temperatures."""

    gap: float
    """Clearance on the diameter at those temperatures; negative where it still binds."""
    wanted: float
    enough: bool
    how: str


def drop_in(
    outside: float,
    hole: float,
    *,
    part: str,
    housing: str,
    part_c: float = ROOM,
    housing_c: float = ROOM,
    wanted: float | None = None,
) -> DropIn:
    """Whether a part of material `part` at `part_c` drops into a `housing` at `housing_c`.

    Sizes at 20 °C; `wanted` is the clearance to work with (default 0.001 in per inch of diameter). Raises HowdeepError
    as `mean_coefficient` does."""
    _check(outside, hole)
    needed = CLEARANCE_PER_INCH * hole if wanted is None else wanted
    shrunk, opened = growth(outside, part, part_c), growth(hole, housing, housing_c)
    gap = hole + opened - outside - shrunk
    fit = interference(outside, hole)
    return DropIn(
        gap,
        needed,
        gap >= needed - 1e-9,
        f"interference {fit:.4f} in at 20 °C; at {part_c:g} °C the part changes by {shrunk:+.4f} in, at "
        f"{housing_c:g} °C the hole by {opened:+.4f} in: {gap:+.4f} in clear, {needed:.4f} in wanted",
    )


def temperature_needed(
    outside: float,
    hole: float,
    *,
    part: str,
    housing: str,
    heat: Literal["housing", "part"] = "housing",
    other_c: float = ROOM,
    wanted: float | None = None,
) -> float | None:
    """Temperature to which the housing must be heated (or the part cooled) so that the part drops in; None where the
    table's range is not enough. The other stays at `other_c`."""

    def enough(temperature: float) -> bool:
        at = (
            {"housing_c": temperature, "part_c": other_c}
            if heat == "housing"
            else {"part_c": temperature, "housing_c": other_c}
        )
        return drop_in(outside, hole, part=part, housing=housing, wanted=wanted, **at).enough

    near, far = ROOM, 300.0 if heat == "housing" else LIQUID_NITROGEN
    if enough(near):
        return near
    if not enough(far):
        return None
    for _ in range(60):
        middle = (near + far) / 2
        near, far = (near, middle) if enough(middle) else (middle, far)
    return far


def _check(outside: float, hole: float) -> None:
    if outside <= 0 or hole <= 0:
        raise HowdeepError("a part and its hole have sizes above nothing")
    if abs(outside - hole) > 0.02 * hole:
        raise HowdeepError(
            f"{outside:.4f} in and {hole:.4f} in differ by more than 2 %: that is no fit; check the unit and "
            "the decimal point"
        )
