"""Battery, cables, cranking and charging, on 6 and 12 volt systems. Volts and rpm."""

from __future__ import annotations

from typing import Literal

Rest = Literal["good", "low", "flat"]
UnderLoad = Literal["good", "low", "very_low"]


def rest(volts: float, *, good: float, flat: float) -> Rest:
    """Battery at rest: good from `good` up, flat below `flat`."""
    return "good" if volts >= good else "low" if volts >= flat else "flat"


def under_load(volts: float, *, least: float, very_low: float) -> UnderLoad:
    """Battery while cranking: good from `least` up, very low below `very_low`."""
    return "good" if volts >= least else "low" if volts >= very_low else "very_low"


def cable(worst_drop: float, *, most: float) -> Literal["good", "high_drop"]:
    """The worst drop of a single joint or cable while cranking."""
    return "good" if worst_drop <= most else "high_drop"


def cranking_speed(rpm: float, *, least: float) -> Literal["good", "slow"]:
    """Cranking speed against the least at which the engine starts and tests well."""
    return "good" if rpm >= least else "slow"


def charging(volts: float, *, low: float, high: float) -> Literal["good", "low", "over"]:
    """Charging voltage at a fast idle."""
    return "low" if volts < low else "over" if volts > high else "good"


def other_system(volts: float, system: str, *, most: float, like_6: tuple[float, float]) -> str:
    """Sentence where a resting voltage cannot come from this system; empty where it can.

    `most` is the most that a battery of this system shows at rest; a 12 V battery that shows what a good 6 V one does
    (from and to, `like_6`) is questioned too."""
    if system == "6" and volts > most:
        return (
            "too much for a 6 volt battery; perhaps the machine was changed to 12 volts (then the engine sheet must "
            "say so), or another battery was measured"
        )
    if system == "12" and volts > most:
        return "too much for a 12 volt battery at rest; perhaps it was measured while charging"
    if system == "12" and like_6[0] <= volts <= like_6[1]:
        return "what a good 6 volt battery shows; perhaps this is a 6 volt battery or the wrong terminal was measured"
    return ""
