"""The things a shop can set, by the names under which a person sets them."""

from __future__ import annotations

from typing import Any

from ..errors import HowdeepError
from ..model.knowledge import Knowledge

LETTERHEAD = ("name", "address", "phone", "email")
OWN = (
    "signs",
    "guarantee",
    "terms",
    "altitude",
    "units",
    "promise_floor",
    "firm_floor",
    "next_number",
    "number_prefix",
)
MOST_NUMBER = 99_999_999
"""No shop writes more papers."""
_NONE = ("", "none", "unknown", "-")


def keys(knowledge: Knowledge) -> tuple[str, ...]:
    """Every name that can be set."""
    return (*LETTERHEAD, *OWN, *knowledge.tools)


def place_of(knowledge: Knowledge, key: str) -> str | None:
    """'name' -> 'letterhead.name', 'vacuum_gauge' -> 'tools.vacuum_gauge'; None for what cannot be set."""
    name = key.strip().lower().replace("-", "_").replace(" ", "_")
    name = name.removeprefix("letterhead.").removeprefix("tools.")
    if name in LETTERHEAD:
        return f"letterhead.{name}"
    if name in knowledge.tools:
        return f"tools.{name}"
    return name if name in OWN else None


def plain_value(place: str, typed: str) -> Any:
    """What was typed as it stands in the file; None takes it out.

    Raises HowdeepError for a floor that is no chance and a number that is none; all else is checked where the file is.
    """
    text = typed.strip()
    if text.lower() in _NONE and not place.startswith("tools."):
        return None
    if place.startswith("tools."):
        return {"y": "yes", "n": "no", "true": "yes", "false": "no", "owned": "yes"}.get(text.lower(), text.lower())
    if place == "units":
        return {"in": "inch", "inches": "inch", "imperial": "inch", "mm": "metric", "m": "metric", "i": "inch"}.get(
            text.lower(), text.lower()
        )
    if place in ("promise_floor", "firm_floor"):
        return floor_of(text)
    if place == "next_number":
        if not text.isdecimal() or not 1 <= int(text) <= MOST_NUMBER:
            raise HowdeepError(f"'{typed}' is no number to go on from: write it like 1001")
        return int(text)
    if place == "letterhead.address":
        return text.replace("\\n", "\n")
    return text


def floor_of(typed: str) -> float:
    """0.7 from '0.7', '70 %' or '70'. Raises HowdeepError for anything else."""
    text = typed.replace(",", ".").rstrip("% ").strip()
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    value = value / 100 if "%" in typed or 1 < value <= 100 else value
    if not 0 <= value <= 1:
        raise HowdeepError(f"'{typed}' is not a chance: write it like 0.7 or '70 %'")
    return round(value, 4)
