"""The order of work through an engine: which steps belong to which stage, and what comes before what in each."""

from __future__ import annotations

import heapq
from collections.abc import Collection, Mapping
from graphlib import CycleError, TopologicalSorter

from ..errors import Fault, HowdeepError
from ..logic.applicability import steps_on
from ..model.operations import Operation
from ..model.terms import STAGES, Stage
from ..model.values import Values


def steps_by_stage(operation: Operation, engine_facts: Values) -> dict[Stage, tuple[str, ...]]:
    """Stage -> its steps on an engine with these engine.* facts, in order. Every step belongs to one stage; each of its
    stages is there even without steps."""
    starts = sorted((operation.begins or {operation.stage: 1}).items(), key=lambda item: STAGES.index(item[0]))
    found: dict[Stage, list[str]] = {stage: [] for stage, _ in starts}
    for number, text in steps_on(operation, engine_facts):
        found[next(stage for stage, first in reversed(starts) if first <= number)].append(text)
    return {stage: tuple(texts) for stage, texts in found.items()}


def before_in(stage: Stage, operations: Mapping[str, Operation]) -> dict[str, frozenset[str]]:
    """Operation with steps in a stage -> those of them that come before it there."""
    here = {name for name, item in operations.items() if stage == item.stage or stage in item.begins}
    return {name: frozenset(operations[name].after.get(stage, ())) & here for name in here}


def in_order(operations: Mapping[str, Operation], chosen: Collection[str]) -> tuple[tuple[Stage, str], ...]:
    """(stage, operation) of the chosen operations as they follow each other: by stage, in a stage by what comes before
    what, else by id. What comes before what also holds through operations that are not chosen. Raises HowdeepError
    where operations wait for each other."""
    result: list[tuple[Stage, str]] = []
    for stage in STAGES:
        try:
            result += [(stage, name) for name in _sorted(before_in(stage, operations), chosen)]
        except CycleError as error:
            raise HowdeepError(
                Fault(
                    "",
                    0,
                    0,
                    f"operations wait for each other at the stage '{stage}': " + " -> ".join(reversed(error.args[1])),
                    "howdeep rules check",
                )
            ) from None
    return tuple(result)


def _sorted(before: Mapping[str, frozenset[str]], chosen: Collection[str]) -> list[str]:
    """The chosen among the keys, each after those before it. Raises CycleError."""
    order: TopologicalSorter[str] = TopologicalSorter({name: sorted(others) for name, others in sorted(before.items())})
    order.prepare()
    ready, result = list(order.get_ready()), []
    heapq.heapify(ready)
    while ready:
        name = heapq.heappop(ready)
        result.append(name)
        order.done(name)
        for other in order.get_ready():
            heapq.heappush(ready, other)
    return [name for name in result if name in chosen]
