"""Tests that were made and do not count: they are made again, in the right way, before another test is."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from ..knowledge.questions import facts_of
from ..model.engine import Engine
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.results import Remark
from ..model.values import Values
from .askable import askable
from .running import NOTHING, Forbidden, takes

NOT_VALID = "not valid"
"""Kind of the remark on a reading whose conditions were not met."""
RUNS = "runs"
"""Question whether it runs."""


@dataclass(frozen=True, slots=True)
class Again:
    """What is to be made again."""

    observations: frozenset[str] = frozenset()
    """Readings that do not count, as far as they can be made in the right way."""
    conditions: frozenset[str] = frozenset()
    """How they were made, which is open again with them."""


def to_be_made_again(
    knowledge: Knowledge,
    engine: Engine,
    facts: Values,
    made: Collection[str],
    remarks: Iterable[Remark],
    forbidden: Forbidden = NOTHING,
) -> Again:
    """Readings that were left out as not valid and can be taken in the right way now.

    One that wants a warm engine cannot where the engine does not run, or must not.
    """
    observations, conditions = set(), set()
    for name in {remark.observation for remark in remarks if remark.kind == NOT_VALID}:
        wanted = knowledge.observations[name].valid_when
        asked = {fact for fact in (facts_of(knowledge, wanted) if wanted else ()) if fact in knowledge.observations}
        if facts.get(RUNS) == "no":  # what wants a running engine stays as it was noted
            asked = {fact for fact in asked if takes(knowledge, fact) != "runs"}
        how = asked & set(made)
        fresh = {fact: value for fact, value in facts.items() if fact not in how}
        can = askable(knowledge, engine, fresh, frozenset(made) - how - {name}, forbidden)
        if all(can.now(fact, later=True) for fact in (name, *how)):
            observations.add(name)
            conditions |= how
    return Again(frozenset(observations), frozenset(conditions))
