"""Cranking compression: what to expect, altitude, cylinder against cylinder, dry against wet.

Gauge pressures in psi unless a name says otherwise; one value per cylinder, None where not taken. The peak that a
tester shows after several strokes depends on the pressure of the air that is drawn in, hardly on its temperature (the
warm engine heats it anyway), so only the altitude is corrected for: (gauge + local air) is proportional to local air.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sin, sqrt
from typing import Literal

from ..errors import HowdeepError
from ..model.frozen import dataclass
from . import atmosphere

Values = Sequence[float | None]
Level = Literal["high", "normal", "doubtful", "low", "very_low"]
LOW: tuple[Level, ...] = ("low", "very_low")
Spread = Literal["within", "too_close", "past"]

SEA_LEVEL_PSI = atmosphere.P0 / atmosphere.PSI
INDEX_LOW, INDEX_HIGH = 1.2, 1.3
"""Polytropic index of cranking compression: below 1.4, for the cold walls take heat and some air leaks (judgement)."""
CLOSING = 45.0
"""Degrees after bottom dead centre at which the inlet valve shuts, where nobody says (judgement)."""
ROD_RATIO = 0.28
"""Crank radius over rod length of a common engine (judgement)."""


def trapped_share(closing_deg: float = CLOSING, rod_ratio: float = ROD_RATIO) -> float:
    """Share of the stroke that is left when the inlet valve shuts `closing_deg` after bottom dead centre (0 to 90).

    Slider-crank geometry: 1 for a valve that shuts at bottom dead centre. Raises HowdeepError out of range.
    """
    if not 0.0 <= closing_deg <= 90.0:
        raise HowdeepError(
            f"an inlet valve that shuts {closing_deg:g} degrees after bottom dead centre is not credible"
        )
    angle = radians(180.0 + closing_deg)
    return ((1.0 - cos(angle)) + rod_ratio / 2.0 * sin(angle) ** 2) / 2.0


def effective_ratio(ratio: float, closing_deg: float = CLOSING, rod_ratio: float = ROD_RATIO) -> float:
    """Compression ratio counted from the moment the inlet valve shuts: 1 + (ratio - 1) x trapped share."""
    _check_ratio(ratio)
    return 1.0 + (ratio - 1.0) * trapped_share(closing_deg, rod_ratio)


def polytropic(ratio: float, index: float, local_psi: float = SEA_LEVEL_PSI) -> float:
    """Gauge pressure of air compressed `ratio` to 1: local x (ratio^index - 1), in the unit of `local_psi`."""
    _check_ratio(ratio)
    return local_psi * (float(ratio**index) - 1.0)


def _check_ratio(ratio: float) -> None:
    if not 1.0 < ratio <= 30.0:
        raise HowdeepError(f"a compression ratio of {ratio:g} is not between 1 and 30")


def to_sea_level(gauge: float, altitude_ft: float) -> float:
    """What a gauge reading taken at `altitude_ft` would be at sea level."""
    local = atmosphere.pressure_psi(altitude_ft)
    return (gauge + local) * SEA_LEVEL_PSI / local - SEA_LEVEL_PSI


def at_altitude(gauge: float, altitude_ft: float) -> float:
    """What a sea-level figure becomes at `altitude_ft`: the inverse of `to_sea_level`."""
    local = atmosphere.pressure_psi(altitude_ft)
    return (gauge + SEA_LEVEL_PSI) * local / SEA_LEVEL_PSI - local


@dataclass(frozen=True, slots=True)
class Expected:
    """What a sound engine should show at the place of the test, psi."""

    low: float
    high: float
    least: float | None
    """Lowest serviceable, where the sheet gives one."""
    basis: str
    firm: bool
    """Whether a reading may be judged low by it; otherwise cylinders are only compared with each other."""
    how: str


def expected_from_ratio(ratio: float, altitude_ft: float = 0.0, *, firm: bool = True) -> Expected:
    """Band of cranking compression from the compression ratio: from n = 1.2 with the ratio that is left after a late
    inlet valve to n = 1.3 with the full ratio, at the air pressure of the altitude. Basis: arithmetic with a stated
    judgement of n; it can only say roughly, for cranking speed and valve timing pull it down."""
    local = atmosphere.pressure_psi(altitude_ft)
    low, high = polytropic(effective_ratio(ratio), INDEX_LOW, local), polytropic(ratio, INDEX_HIGH, local)
    return Expected(
        low,
        high,
        None,
        "arithmetic",
        firm,
        f"from the compression ratio {ratio:g}:1 about {low:.0f} to {high:.0f} psi may be expected here "
        f"(polytropic index {INDEX_LOW} to {INDEX_HIGH}, inlet valve shutting up to {CLOSING:.0f} degrees late)",
    )


def expected_from_sheet(
    low: float | None, high: float | None, least: float | None, altitude_ft: float = 0.0
) -> Expected:
    """The maker's figure, given at sea level, brought to the altitude of the test. One of `low` and `high` is enough.

    Raises HowdeepError where the sheet gives neither."""
    known = [figure for figure in (low, high) if figure is not None]
    if not known:
        raise HowdeepError("the engine sheet gives no cranking compression")
    down = [at_altitude(figure, altitude_ft) for figure in (min(known), max(known))]
    lowest = None if least is None else at_altitude(least, altitude_ft)
    here = "" if altitude_ft == 0 else f", corrected from sea level to {altitude_ft:g} ft"
    span = f"{down[0]:.0f} psi" if down[0] == down[1] else f"{down[0]:.0f} to {down[1]:.0f} psi"
    return Expected(down[0], down[1], lowest, "engine sheet", True, f"the engine sheet gives {span}{here}")


def expected_of_kind(low: float, high: float, altitude_ft: float, basis: str) -> Expected:
    """What sound engines of a kind show, brought to the altitude of the test. Makers differ, so there is no least: a
    reading is called low only far below the low end, and is not judged just under it."""
    here = "" if altitude_ft == 0 else f", corrected from sea level to {altitude_ft:g} ft"
    down = [at_altitude(figure, altitude_ft) for figure in (low, high)]
    return Expected(
        down[0],
        down[1],
        None,
        basis,
        True,
        f"sound engines of its kind show about {down[0]:.0f} to {down[1]:.0f} psi{here}",
    )


def percent_of_expected(values: Values, expected: Expected) -> tuple[float | None, ...]:
    """Each reading in percent of what is expected: of the nearer end of the band, so 100 for anything inside it."""

    def one(value: float) -> float:
        nearer = min(max(value, expected.low), expected.high)
        return 100.0 * value / nearer if nearer > 0 else 100.0

    return tuple(None if value is None else one(value) for value in values)


@dataclass(frozen=True, slots=True)
class Compared:
    """Cylinder against cylinder."""

    lowest: float
    highest: float
    mean: float
    spread: float
    """Highest less lowest, psi."""
    spread_percent: float
    """(highest - lowest) / highest x 100."""
    lowest_to_highest: float
    """lowest / highest x 100."""
    below_average: tuple[float | None, ...]
    """How far each is below the average of all, percent; negative for one above it."""


def compare(values: Values) -> Compared | None:
    """Compare the cylinders; None where fewer than two were taken. All of them at zero count as even."""
    taken = [value for value in values if value is not None]
    if len(taken) < 2:
        return None
    low, high, mean = min(taken), max(taken), sum(taken) / len(taken)
    share = 100.0 * low / high if high > 0 else 100.0
    below = tuple(None if value is None else (100.0 * (mean - value) / mean if mean > 0 else 0.0) for value in values)
    return Compared(low, high, mean, high - low, 100.0 - share, share, below)


def spread_verdict(
    compared: Compared, most_psi: float | None, most_percent: float | None, error: float
) -> Spread | None:
    """Spread of the cylinders against the maker's own limits, in pounds and in percent of the highest; past one of
    them is past. None where the sheet gives neither. `error` is that of one reading, so a difference has sqrt(2) times
    it."""
    apart = error * sqrt(2.0)
    limits = [
        (compared.spread, most_psi, apart),
        (compared.spread_percent, most_percent, 100.0 * apart / compared.highest if compared.highest > 0 else 0.0),
    ]
    known = [(value, most, uncertain) for value, most, uncertain in limits if most is not None]
    if not known:
        return None
    if any(value > most + uncertain for value, most, uncertain in known):
        return "past"
    return "too_close" if any(value > most - uncertain for value, most, uncertain in known) else "within"


def wet_rise(dry: Values, wet: Values) -> tuple[float | None, ...]:
    """Wet less dry, psi, for each cylinder with both."""
    return tuple(None if a is None or b is None else b - a for a, b in zip(dry, wet, strict=True))


def wet_rise_percent(dry: Values, wet: Values) -> tuple[float | None, ...]:
    """Wet less dry in percent of dry; a dry reading below 1 psi counts as 1 psi."""
    return tuple(
        None if a is None or b is None else 100.0 * (b - a) / max(a, 1.0) for a, b in zip(dry, wet, strict=True)
    )


def adjacent_low(low: Sequence[bool | None]) -> tuple[tuple[int, int], ...]:
    """Pairs of neighbouring cylinders (numbered from 1) that are both low: think of the gasket first."""
    return tuple((index + 1, index + 2) for index in range(len(low) - 1) if low[index] and low[index + 1])


def levels(
    values: Values,
    expected: Expected | None,
    *,
    low_percent: float,
    very_low_percent: float,
    high_percent: float,
    neighbour_percent: float,
    most_above: float | None = None,
    error: float = 0.0,
) -> tuple[Level | None, ...]:
    """A word for each cylinder.

    A reading that is not low but lies within the gauge's `error` above a mark is doubtful, so that a pound more or less
    does not part a sound engine from a worn one. `most_above` is how many pounds a reading may stand above the maker's
    highest before it is high; without it `high_percent` decides.

    Against the sheet's figure, where it gives one. Otherwise a cylinder is low beside the highest of the others (below
    `neighbour_percent` of it, very low below `very_low_percent`), or where it falls far short of a roughly expected
    band that is firm; it is normal where it reaches that band, and unknown (None) in between: even and unknown is not
    proof of health, and no engine is called low by a figure that is not its own.
    """
    taken = [value for value in values if value is not None]
    highest = max(taken, default=0.0)

    def word(percent: float, low: float) -> Level | None:
        return "very_low" if percent < very_low_percent else "low" if percent < low else None

    def one(value: float) -> Level | None:
        told = plain(value)
        return "doubtful" if told not in LOW and error > 0 and plain(value - error) in LOW else told

    def plain(value: float) -> Level | None:
        value = max(value, 0.0)
        percent = 0.0 if expected is None else percent_of_expected((value,), expected)[0] or 0.0
        if expected is not None and expected.basis == "engine sheet":
            short = expected.least is not None and value < expected.least
            told = word(percent, low_percent) or ("low" if short else None)
            above = percent > high_percent if most_above is None else value > expected.high + most_above
            return told or ("high" if above else "normal")
        beside = word(100.0 * value / highest, neighbour_percent) if len(taken) > 1 and highest > 0 else None
        if beside or expected is None:
            return beside
        if expected.firm and (told := word(percent, low_percent)):
            return told
        if value < expected.low:
            return None
        return "high" if percent > high_percent else "normal"

    return tuple(None if value is None else one(value) for value in values)


def all_even_low(
    words: Sequence[Level | None], lowest_to_highest: float | None, even_percent: float = 85.0
) -> bool | None:
    """Whether every cylinder is low and none stands out (lowest at least `even_percent` of highest): valve timing, a
    wrong gauge or slow cranking before worn rings. None where a level is unknown."""
    if not words or any(word is None for word in words) or lowest_to_highest is None:
        return None
    return all(word in LOW for word in words) and lowest_to_highest >= even_percent


def credible_most(ratio: float | None, share: float, unknown: float) -> float:
    """Gauge pressure above which a reading cannot be right: so many times (`share`) the adiabatic figure of the ratio,
    else what is believed of an engine of `unknown` ratio."""
    return unknown if ratio is None else share * polytropic(ratio, 1.4)
