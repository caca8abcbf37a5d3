"""Inlet vacuum of a petrol engine, idling warm. Readings in inches of mercury below the air outside."""

from __future__ import annotations

from typing import Literal

from . import atmosphere

Level = Literal["high", "normal", "low", "very_low"]


def to_sea_level(reading: float, altitude_ft: float) -> float:
    """What the gauge would show at sea level: it loses what the air outside loses (about 1 in Hg per 1000 ft)."""
    return reading + atmosphere.pressure_in_hg(0.0) - atmosphere.pressure_in_hg(altitude_ft)


def at_altitude(reading: float, altitude_ft: float) -> float:
    """The inverse of `to_sea_level`."""
    return reading - atmosphere.pressure_in_hg(0.0) + atmosphere.pressure_in_hg(altitude_ft)


def level(corrected: float, *, normal: float, band: float, very_low: float) -> Level:
    """Word for a reading at sea level: normal within `band` of `normal`. The tables disagree on what is normal (15-22,
    17-21, about 20), so the pattern of the needle says more than the figure."""
    if corrected > normal + band:
        return "high"
    if corrected >= normal - band:
        return "normal"
    return "low" if corrected >= very_low else "very_low"


def credible_most(altitude_ft: float) -> float:
    """No vacuum is deeper than the air outside is heavy."""
    return atmosphere.pressure_in_hg(altitude_ft)
