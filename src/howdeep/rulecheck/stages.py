"""The order of work: stages of operations, their steps, and what comes before what."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from typing import Any

from ..model.terms import STAGES
from ..work.stages import before_in
from .base import Check, Complaint
from .subject import Subject


class StageSteps(Check):
    """The steps of an operation are shared out among stages in a way that cannot be.

    Why it matters: the sheet would print a step at the wrong stage, or not at all.
    What to do: let the first stage begin at step 1 and each later stage at a later step that exists; name the
    operation's own stage among them.
    Bad: stage: head, begins {strip: 2, top: 8} with seven steps.
    Good: stage: head, begins {strip: 1, head: 5}.
    """

    code, severity = "stage-steps", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if kind != "operations":
            return
        key, has = f"operations/{name}", {entry.stage, *entry.begins}
        for stage in entry.after:
            if stage not in has:
                yield Complaint(
                    key,
                    f"'after' speaks of the stage '{stage}', at which it has no steps",
                    f"one of {', '.join(stage for stage in STAGES if stage in has)}",
                    ("after", stage),
                )
        if not entry.begins:
            return
        starts = [entry.begins[stage] for stage in STAGES if stage in entry.begins]
        if entry.stage not in entry.begins:
            yield Complaint(key, f"its own stage '{entry.stage}' begins nowhere", "name it in begins", ("begins",))
        if starts[0] != 1 or any(first >= then for first, then in itertools.pairwise(starts)):
            yield Complaint(
                key,
                f"stages begin at the steps {', '.join(map(str, starts))}",
                "begin at 1 and rise in the order of the stages",
                ("begins",),
            )
        if starts[-1] > len(entry.steps):
            yield Complaint(
                key, f"a stage begins at step {starts[-1]} of {len(entry.steps)}", "correct the number", ("begins",)
            )


class StageOrder(Check):
    """An operation is to come after one that the stages put later, or two wait for each other.

    Why it matters: the assembly sheet is followed from top to bottom; a valve clearance set before the head is on, or
    an ignition timed before the timing gears are in, is set twice.
    What to do: correct the stage, or drop the order that is not meant.
    Bad: set_valve_clearance at the stage top, after remove_refit_head at the stage head.
    Good: set_valve_clearance at the stage settings.
    """

    code, severity = "stage-order", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        operations = subject.knowledge.operations
        for name, item in sorted(operations.items()):
            for stage, others in item.after.items():
                for index, other in enumerate(others):
                    there = operations[other]
                    if stage in {there.stage, *there.begins} or STAGES.index(there.stage) < STAGES.index(stage):
                        continue
                    yield Complaint(
                        f"operations/{name}",
                        f"it comes after {other} at the stage '{stage}', but that "
                        f"belongs to the later stage '{there.stage}'",
                        "correct one of the stages",
                        ("after", stage, index),
                        also=(f"operations/{other}",),
                    )
        for stage in STAGES:
            try:
                before = before_in(stage, operations)
                TopologicalSorter({name: sorted(before[name]) for name in sorted(before)}).prepare()
            except CycleError as error:
                circle = tuple(reversed(error.args[1]))
                yield Complaint(
                    f"operations/{min(circle)}",
                    f"wait for each other at the stage '{stage}': {' -> '.join(circle)}",
                    "drop the order that is not meant",
                    ("after", stage),
                    also=tuple(f"operations/{other}" for other in sorted(set(circle) - {min(circle)})),
                )
