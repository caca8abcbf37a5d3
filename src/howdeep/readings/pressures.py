"""Oil pressure hot, the cooling system's pressure test, and blow-by. psi and ft³/h."""

from __future__ import annotations

from typing import Literal

OilWord = Literal["good", "low", "none", "high"]
BLOW_BY_ENGINE_IN3 = 100.0
"""Displacement that the general blow-by limit is given for."""
BLOW_BY_ENGINE_RPM = 1500.0
"""Speed that the general blow-by limit is given for (judgement): governed speed of a small old engine."""


def oil(psi: float, *, none: float, least: float, most: float | None) -> OilWord:
    """Word for a hot oil pressure: below `none` none, below `least` low, above `most` high."""
    if psi < none:
        return "none"
    if psi < least:
        return "low"
    return "high" if most is not None and psi > most else "good"


def holds_pressure(lost_in_5_min: float, *, most: float) -> Literal["yes", "no"]:
    """Whether the cooling system held its test pressure for five minutes."""
    return "yes" if lost_in_5_min <= most else "no"


def test_pressure(cap: float, over: float) -> float:
    """Pressure to put on the cooling system: the cap's figure and `over` (TM 5-3805-291-23-1: 3 psi) more."""
    return cap + over


def blow_by_limit(general: float, displacement_in3: float | None) -> float:
    """The general limit scaled with displacement; as it stands where the displacement is not known."""
    return general if displacement_in3 is None else general * displacement_in3 / BLOW_BY_ENGINE_IN3


def at_speed(limit: float, given_rpm: float | None, rpm: float | None) -> float:
    """A blow-by limit at the speed of the test: what passes the pistons goes with the air that they draw, and that with
    the speed (rpm / 2 x displacement an hour). As it stands where either speed is not known."""
    return limit if given_rpm is None or rpm is None else limit * rpm / given_rpm


def blow_by_per_hour(volume_ft3: float, minutes: float) -> float:
    """Blow-by in ft³/h from a volume caught in some minutes (5 minutes x 12: TM 9-2815-255-24, para 3-6)."""
    return volume_ft3 * 60.0 / minutes
