"""What depends on how the engine is built: whether an entry applies to it, and at which rung."""

from __future__ import annotations

from dataclasses import replace
from typing import Protocol

from ..model.condition import Condition
from ..model.observations import Observation
from ..model.operations import Operation, Step
from ..model.terms import Rung
from ..model.truth import Truth
from ..model.values import Values
from .evaluate import evaluate


class ForSome(Protocol):
    """An entry that is for some engines alone."""

    @property
    def applies(self) -> Condition | None:
        """How the engine must be built; None for every one."""


def applies(entry: ForSome, engine_facts: Values) -> bool:
    """Whether an entry with an `applies` condition makes sense on an engine with these engine.* facts.

    Every figure of the build is always known, so nothing is unknown here; if one were, the entry would not apply.
    """
    condition = entry.applies
    return condition is None or evaluate(condition, engine_facts, {}, {}) is Truth.PRESENT


def asked_on(item: Observation, engine_facts: Values, kept: object = None) -> Observation:
    """An observation with the answers that are offered on an engine with these engine.* facts; `kept` stays: it is on
    record."""
    stands = {kept} if isinstance(kept, str) else {*kept} if isinstance(kept, tuple) else set()
    gone = {
        answer
        for step in item.only_on
        if evaluate(step.when, engine_facts, {}, {}) is Truth.ABSENT
        for answer in step.answers
        if answer not in stands
    }
    if not gone:
        return item
    return replace(item, answers={answer: text for answer, text in item.answers.items() if answer not in gone})


def rung_on(steps: tuple[Step, ...], engine_facts: Values) -> Rung | None:
    """The rung of the first step that holds on an engine with these engine.* facts; None where none does."""
    for step in steps:
        if step.when is None or evaluate(step.when, engine_facts, {}, {}) is Truth.PRESENT:
            return step.rung
    return None


def hours_on(operation: Operation, engine_facts: Values) -> float:
    """Hours of an operation on an engine with these engine.* facts, counted as the operation counts them."""
    for step in operation.hours_by:
        if evaluate(step.when, engine_facts, {}, {}) is Truth.PRESENT:
            return step.hours
    return operation.hours


def brought_by(operation: Operation, engine_facts: Values) -> tuple[str, ...]:
    """The operations that one brings on an engine with these engine.* facts."""
    more = (
        step.operations for step in operation.brings_where if evaluate(step.when, engine_facts, {}, {}) is Truth.PRESENT
    )
    return tuple(dict.fromkeys((*operation.brings, *(name for names in more for name in names))))


def steps_on(operation: Operation, engine_facts: Values) -> tuple[tuple[int, str], ...]:
    """(number, text) of the steps that an operation has on an engine with these engine.* facts, counted from 1 among
    all of its steps."""
    return tuple(
        (number, step.text)
        for number, step in enumerate(operation.steps, start=1)
        if step.when is None or evaluate(step.when, engine_facts, {}, {}) is Truth.PRESENT
    )
