"""Fasteners: threads, grades, nut factors, and whether a torque suits its fastener.

T = K D F (torque, nut factor, thread diameter, pull), with K 0.20-0.25 dry and 0.15-0.20 oiled, and a pull of about
75 % of the proof load for a fastener that comes off again. At one wrench figure the pull may stray by a third, so the
check only catches a wrong unit, a wrong bolt or a slip of the pen.
"""

from __future__ import annotations

import re
from math import pi
from typing import Literal

from ..errors import HowdeepError
from ..model.frozen import dataclass
from ..model.quantity import Quantity

NUT_FACTORS: dict[bool, tuple[float, float]] = {False: (0.20, 0.25), True: (0.15, 0.20)}
"""Oiled or not -> least and most K (a tutorial that names Shigley and Machinery's Handbook)."""
PROOF_MPA: dict[str, float] = {
    # SAE J429 grades, in the sizes used on engines (memory: 55, 85, 120 ksi)
    "2": 379.2,
    "5": 586.1,
    "8": 827.4,
    # ISO 898-1 property classes (memory; 8.8 is 580 up to 16 mm, 600 above)
    "4.6": 225.0,
    "5.8": 380.0,
    "8.8": 580.0,
    "9.8": 650.0,
    "10.9": 830.0,
    "12.9": 970.0,
}
PLAUSIBLE = (35.0, 115.0)
"""Percent of proof load that a sheet's figure should reach at some credible nut factor (judgement)."""
_METRIC_PITCH = {5: 0.8, 6: 1.0, 8: 1.25, 10: 1.5, 12: 1.75, 14: 2.0, 16: 2.0, 18: 2.5, 20: 2.5}
_INCH_THREAD = re.compile(r"(?:(\d+)[ -])?(\d+)/(\d+)\s*-\s*(\d+)\Z")
_METRIC_THREAD = re.compile(r"[Mm](\d+(?:\.\d+)?)(?:\s*[xX×]\s*(\d+(?:\.\d+)?))?\Z")


@dataclass(frozen=True, slots=True)
class Thread:
    """Nominal diameter and tensile stress area."""

    diameter_mm: float
    area_mm2: float


def thread(size: str) -> Thread:
    """Thread '7/16-14', '1 1/8-7' or 'M10', 'M10x1.25'. Raises HowdeepError for what is no such size.

    Stress area: pi/4 (D - 0.9743/n)² for n threads an inch, pi/4 (d - 0.9382 p)² for a pitch p."""
    if match := _INCH_THREAD.fullmatch(size.strip()):
        whole, top, bottom, count = (int(part or 0) for part in match.groups())
        if bottom and count:
            diameter = whole + top / bottom
            return Thread(diameter * 25.4, pi / 4 * ((diameter - 0.9743 / count) * 25.4) ** 2)
    if match := _METRIC_THREAD.fullmatch(size.strip()):
        diameter = float(match.group(1))
        pitch = float(match.group(2)) if match.group(2) else _METRIC_PITCH.get(int(diameter))
        if pitch:
            return Thread(diameter, pi / 4 * (diameter - 0.9382 * pitch) ** 2)
    raise HowdeepError(f"'{size}' is no thread size such as '7/16-14' or 'M10'")


def torque_nm(nut_factor: float, diameter_mm: float, pull_n: float) -> float:
    """T = K D F in N·m."""
    return nut_factor * diameter_mm / 1000.0 * pull_n


def pull_n(torque: float, nut_factor: float, diameter_mm: float) -> float:
    """F = T / (K D) in N; `torque` in N·m."""
    return torque / (nut_factor * diameter_mm / 1000.0)


Suits = Literal["plausible", "low", "high"]


@dataclass(frozen=True, slots=True)
class TorqueCheck:
    """A sheet's figure against its fastener."""

    low_percent: float
    """Percent of proof load at the higher nut factor."""
    high_percent: float
    """Percent of proof load at the lower nut factor."""
    word: Suits
    slips: tuple[str, ...]
    """Likely slips, where it is not plausible."""
    how: str


def check(value: Quantity, size: str, grade: str, *, lubricated: bool | None) -> TorqueCheck:
    """Whether a torque suits thread and grade; `lubricated` None where nobody says, which spans both.

    Raises HowdeepError for a thread or grade that is not known, and QuantityError where the value is no torque."""
    if grade not in PROOF_MPA:
        raise HowdeepError(f"'{grade}' is no grade known here; known: {', '.join(sorted(PROOF_MPA))}")
    fastener, torque = thread(size), value.to("Nm")
    proof = fastener.area_mm2 * PROOF_MPA[grade]
    states = (False, True) if lubricated is None else (lubricated,)
    least_k, most_k = min(NUT_FACTORS[one][0] for one in states), max(NUT_FACTORS[one][1] for one in states)

    def percents(newton_metres: float) -> tuple[float, float]:
        def at(k: float) -> float:
            return 100.0 * pull_n(newton_metres, k, fastener.diameter_mm) / proof

        return at(most_k), at(least_k)

    low, high = percents(torque)
    word: Suits = "low" if high < PLAUSIBLE[0] else "high" if low > PLAUSIBLE[1] else "plausible"
    slips = []
    if word != "plausible":
        for unit in ("ft-lb", "Nm", "in-lb"):
            least, most = percents(Quantity(value.value, unit).to("Nm"))
            if unit != value.unit and most >= PLAUSIBLE[0] and least <= PLAUSIBLE[1]:
                slips.append(f"{value.value:g} {unit} would suit it")
        for factor, told in ((10.0, "one place too far left"), (0.1, "one place too far right")):
            least, most = percents(torque * factor)
            if most >= PLAUSIBLE[0] and least <= PLAUSIBLE[1]:
                slips.append(f"the decimal point may stand {told}")
    state = "oiled or dry" if lubricated is None else "oiled" if lubricated else "dry"
    return TorqueCheck(
        low,
        high,
        word,
        tuple(slips),
        f"{value} on {size} grade {grade}, {state} (K {least_k:.2f} to {most_k:.2f}), is {low:.0f} to {high:.0f} % "
        f"of the proof load",
    )


def suggested(size: str, grade: str, *, lubricated: bool, share: float = 75.0) -> tuple[float, float]:
    """Least and most torque in N·m for `share` percent of the proof load, for the span of nut factors: a plausibility
    figure, never a substitute for the sheet's. Raises HowdeepError as `check` does."""
    if grade not in PROOF_MPA:
        raise HowdeepError(f"'{grade}' is no grade known here; known: {', '.join(sorted(PROOF_MPA))}")
    fastener = thread(size)
    pull = fastener.area_mm2 * PROOF_MPA[grade] * share / 100.0
    least, most = NUT_FACTORS[lubricated]
    return torque_nm(least, fastener.diameter_mm, pull), torque_nm(most, fastener.diameter_mm, pull)
