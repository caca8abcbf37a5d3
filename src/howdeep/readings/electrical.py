"""Battery voltages that belong to another system. Volts."""

from __future__ import annotations


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
