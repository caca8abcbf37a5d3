"""General limits in the unit they are compared in: a shop may write its own in another, but in none of another kind."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from typing import Any

from ..errors import Fault, nearest
from ..files.strict_yaml import Path_
from ..model.condition import AllOf, AnyOf, Condition, FactTest, Not
from ..model.knowledge import Knowledge
from ..model.limits import Limit
from ..model.observations import Observation, Reduced
from ..model.quantity import DIMENSION, Quantity, unit_hint
from .condition_names import conditions_of


def compared(
    knowledge: Knowledge, documents: Mapping[str, tuple[Any, Path_]], first: Mapping[str, Limit]
) -> tuple[dict[str, Limit], list[Fault]]:
    """The limits in the unit of the facts they are held beside, else in that of the limit they take the place of.

    `first` are the limits as the first folder has them. Faults: a unit that is not known, one of another kind than the
    facts or the limit replaced, and another `per` than that of the limit replaced, which is what it is counted for.
    """
    limits, faults = dict(knowledge.limits), []
    beside = _facts_beside(knowledge)
    for name, limit in knowledge.limits.items():
        document, path = documents[f"limits/{name}"]
        replaced = first.get(name, limit)
        wanted = beside.get(name, ("", replaced.unit))[1]
        kind = DIMENSION.get(wanted, "")
        if limit.unit not in DIMENSION:
            faults.append(
                document.fault((*path, "unit"), f"'{limit.unit}' is not a unit known here", unit_hint(limit.unit, kind))
            )
        elif kind and DIMENSION[limit.unit] != kind:
            said = f"the fact '{beside[name][0]}'" if name in beside else f"the limit '{name}'"
            faults.append(
                document.fault(
                    (*path, "unit"),
                    f"'{limit.unit}' is a {DIMENSION[limit.unit]}, and {said} is a {kind}",
                    f"write it in {wanted}" if wanted else 'write ""',
                )
            )
        elif kind:
            limits[name] = dataclasses.replace(limit, unit=wanted, value=_in(limit, wanted))
        if limit.per != replaced.per:
            where = (*path, "per") if limit.per else path
            faults.append(
                document.fault(
                    where,
                    f"'{limit.per}': this limit is counted per '{replaced.per}'"
                    if replaced.per
                    else f"'{limit.per}': this limit is a plain figure, counted per nothing",
                    nearest(limit.per, [replaced.per])
                    or (f"write per: {replaced.per}" if replaced.per else "leave it out"),
                    at_key=not limit.per,
                )
            )
    return limits, faults


def in_unit_of(limit: Limit, other: Limit) -> Limit:
    """A limit in the unit of another of its kind."""
    if DIMENSION.get(limit.unit) != DIMENSION.get(other.unit):
        return limit
    return dataclasses.replace(limit, unit=other.unit, value=_in(limit, other.unit))


def _in(limit: Limit, unit: str) -> float:
    return limit.value if limit.unit == unit else Quantity(limit.value, limit.unit).to(unit)


def _facts_beside(knowledge: Knowledge) -> dict[str, tuple[str, str]]:
    """Limit -> a fact that conditions hold beside it, and its unit."""
    found: dict[str, tuple[str, str]] = {}
    shapes: dict[str, Reduced | Observation] = {**knowledge.reduced, **knowledge.observations}
    for kind in dataclasses.fields(knowledge):
        entries = getattr(knowledge, kind.name)
        for entry in entries.values() if isinstance(entries, dict) else ():
            for _, _, condition in conditions_of(entry):
                for test in _tests(condition):
                    for _, bound in test.bounds:
                        if isinstance(bound, str) and test.fact in shapes:
                            found.setdefault(bound, (test.fact, shapes[test.fact].unit))
    return found


def _tests(condition: Condition) -> Iterator[FactTest]:
    if isinstance(condition, (AllOf, AnyOf)):
        for part in condition.parts:
            yield from _tests(part)
    elif isinstance(condition, Not):
        yield from _tests(condition.part)
    elif isinstance(condition, FactTest):
        yield condition
