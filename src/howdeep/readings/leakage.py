"""Cylinder leakage with the piston at top dead centre: percent, grade, and the size of the hole.

Pressures in psi gauge, areas in mm², orifices in inches. Source of the 25 % mark and of the two orifices: FAA
AC 43.13-1B, para 8-14. The flow through an orifice is that of an ideal gas through a nozzle, choked or not.
"""

from __future__ import annotations

from math import pi, sqrt
from typing import Literal

from ..errors import HowdeepError
from ..model.frozen import dataclass
from . import atmosphere

GAMMA = 1.4
CRITICAL = (2.0 / (GAMMA + 1.0)) ** (GAMMA / (GAMMA - 1.0))
"""Pressure ratio at which air chokes: 0.528."""
Grade = Literal["good", "fair", "poor", "bad"]


def percent(supply: float, held: float) -> float:
    """Loss in percent of the supply: 80/62 is 22.5 %. Raises HowdeepError where more is held than supplied."""
    if supply <= 0 or not 0 <= held <= supply:
        raise HowdeepError(f"{supply:g}/{held:g}: the pressure held lies between nothing and the supply")
    return 100.0 * (supply - held) / supply


def held_at(loss_percent: float, supply: float = 80.0) -> float:
    """Pressure held at a loss in percent: the inverse of `percent`."""
    return supply * (1.0 - loss_percent / 100.0)


def grade(loss_percent: float, *, good: float, fair: float, poor: float) -> Grade:
    """Word for a loss: up to `good`, up to `fair`, up to `poor`, else bad. No single scale is agreed in the trade."""
    return (
        "good"
        if loss_percent <= good
        else "fair"
        if loss_percent <= fair
        else "poor"
        if loss_percent <= poor
        else "bad"
    )


def orifice_in(bore_in: float) -> float:
    """Diameter of the tester's restrictor: 0.040 in below a 5 in bore, 0.060 in from there (AC 43.13-1B, 8-14).

    Raises HowdeepError for a bore that is not positive."""
    if bore_in <= 0:
        raise HowdeepError(f"a bore of {bore_in:g} in is not credible")
    return 0.040 if bore_in < 5.0 else 0.060


def mass_flux(upstream_pa: float, downstream_pa: float, temperature_k: float = 293.15) -> float:
    """Air flow per effective area, kg/(s m²), from absolute pressures in Pa; choked below 0.528 of the upstream.

    Raises HowdeepError where the downstream pressure is above the upstream or either is not positive."""
    if not 0 < downstream_pa <= upstream_pa or temperature_k <= 0:
        raise HowdeepError("air flows from the higher to the lower absolute pressure")
    ratio = max(downstream_pa / upstream_pa, CRITICAL)
    term = 2.0 * GAMMA / (GAMMA - 1.0) * (ratio ** (2.0 / GAMMA) - ratio ** ((GAMMA + 1.0) / GAMMA))
    return upstream_pa * sqrt(max(term, 0.0) / (atmosphere.GAS * temperature_k))


@dataclass(frozen=True, slots=True)
class LeakArea:
    """The leak as one hole."""

    effective_mm2: float
    """Discharge coefficient times area."""
    hole_mm: float
    """Diameter of a sharp hole of the same flow (coefficient 0.62)."""
    flow_g_s: float
    choked: bool
    """Whether the leak itself flows at the speed of sound."""


def leak_area(
    supply: float, held: float, bore_in: float, *, altitude_ft: float = 0.0, coefficient: float = 0.9
) -> LeakArea:
    """Size of the hole that holds `held` behind the tester's orifice fed with `supply` (psi gauge).

    What passes the orifice passes the leak. `coefficient` is the orifice's (0.9 for a 60 degree approach: judgement);
    the figure serves to compare cylinders and testers, not as a measurement. Raises HowdeepError where all or nothing
    is held."""
    loss = percent(supply, held)
    if not 0.0 < loss < 100.0:
        raise HowdeepError("a leak that holds all or nothing has no size by this test")
    air = atmosphere.P0 * atmosphere.pressure_ratio(altitude_ft)
    up, between = supply * atmosphere.PSI + air, held * atmosphere.PSI + air
    diameter = orifice_in(bore_in) * 0.0254
    flow = coefficient * pi / 4.0 * diameter**2 * mass_flux(up, between)
    area = flow / mass_flux(between, air)
    return LeakArea(area * 1e6, 1000.0 * sqrt(4.0 * area / 0.62 / pi), flow * 1000.0, air / between <= CRITICAL)


HEARD: dict[str, str] = {
    "exhaust": "the exhaust valve",
    "inlet": "the inlet valve",
    "breather": "the rings, piston or bore",
    "radiator_bubbles": "the head gasket or a crack to the coolant",
    "next_cylinder": "the head gasket between the two cylinders",
}
"""Where the air is heard -> what it passes (TM 5-3805-260-24 for the valves; common practice for the rest)."""


def path(heard: str) -> str:
    """What the air passes on its way to where it is heard; empty where nothing is heard."""
    return HEARD.get(heard, "")
