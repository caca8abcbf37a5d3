"""How many of a part an engine takes."""

from __future__ import annotations

import re

from ..model.engine import Engine

_COUNTED = re.compile(r"(?:([1-9][0-9]*) )?each ([a-z_]+)\Z")


def quantity_of(text: str, engine: Engine) -> int:
    """'each cylinder', '2 each valve', 'each head_stud' or '3' as a number for this engine.

    Raises ValueError for a text that is no quantity (the loader of the rule base has refused those).
    """
    if text.isdigit():
        return int(text)
    match = _COUNTED.match(text)
    if not match:
        raise ValueError(f"'{text}' is not a quantity")
    cylinders = engine.build.cylinders
    head = engine.torques.get("head")
    counts = {
        "engine": 1,
        "cylinder": cylinders,
        "rod": engine.crankpins.count if engine.crankpins and engine.crankpins.count else cylinders,
        "inlet_valve": cylinders,
        "exhaust_valve": cylinders,
        "valve": 2 * cylinders,
        "main": engine.mains.count if engine.mains and engine.mains.count else cylinders + 1,
        "head_stud": head.count if head and head.count else 4 + 2 * cylinders,
    }
    if match.group(2) not in counts:
        raise ValueError(f"'{text}' is not a quantity")
    return int(match.group(1) or 1) * counts[match.group(2)]
