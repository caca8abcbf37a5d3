"""The conditions of a test: what makes a reading valid, taken down once before it."""

from __future__ import annotations

from ..knowledge.engine_facts import engine_facts
from ..logic.applicability import applies
from ..model.condition import FactTest, walk
from ..model.job import OpenJob
from ..model.knowledge import Knowledge

CONDITIONS = "test_conditions"
"""The group in which they stand."""


def conditions_of(knowledge: Knowledge, job: OpenJob, name: str) -> tuple[str, ...]:
    """The conditions of a test that are not on record yet, in the order of the rule base: what makes this reading
    valid, and what its check takes down with it, as far as an engine of this build has them. They are taken down once
    and hold for the sitting."""
    item = knowledge.observations[name]
    if item.moment != "test" or item.group == CONDITIONS:
        return ()
    wanted = {
        part.fact
        for part in (walk(item.valid_when) if item.valid_when is not None else ())
        if isinstance(part, FactTest)
    }
    for check in knowledge.checks.values():
        if name in check.observations:
            wanted.update(check.observations)
    built = engine_facts(job.engine)
    return tuple(
        other
        for other, entry in knowledge.observations.items()
        if entry.group == CONDITIONS
        and other in wanted
        and other not in job.values
        and other not in job.unknown
        and applies(entry, built)
    )
