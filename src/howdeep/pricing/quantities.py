"""How many: 'each cylinder', 'each valve' or a number, on one engine."""

from __future__ import annotations

from collections.abc import Iterator

from ..errors import HowdeepError
from ..knowledge.engine_facts import count_of, engine_facts
from ..logic.applicability import applies
from ..model.engine import Engine
from ..model.knowledge import Knowledge
from ..model.operations import Operation

HEAD_STUDS_A_CYLINDER = 5
"""Stands in where the engine sheet does not count its head studs (a judgement)."""


def quantity_of(quantity: str, engine: Engine) -> int:
    """The count that a quantity of the rule base means on this engine. Raises HowdeepError for one it does not know."""
    cylinders = engine.build.cylinders
    if quantity.isdecimal():
        return int(quantity)
    head = engine.torques.get("head")
    counts = {
        "each engine": 1,
        "each cylinder": cylinders,
        "each valve": 2 * cylinders,
        "each inlet_valve": cylinders,
        "each exhaust_valve": cylinders,
        "each rod": count_of(engine, "crankpin"),
        "each main": count_of(engine, "main"),
        "each head_stud": head.count if head and head.count else HEAD_STUDS_A_CYLINDER * cylinders,
    }
    if quantity not in counts:
        raise HowdeepError(f"'{quantity}' is no quantity; known: a number, {', '.join(counts)}")
    return counts[quantity]


def parts_of(knowledge: Knowledge, operation: Operation, engine: Engine) -> Iterator[tuple[str, int]]:
    """(part, how many) that an operation needs on this engine: none that this engine has not got."""
    built = engine_facts(engine)
    for part, quantity in operation.parts.items():
        count = quantity_of(quantity, engine)
        if count and applies(knowledge.parts[part], built):
            yield part, count
