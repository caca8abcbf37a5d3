"""What was done to an engine before it came in, and is not charged again."""

from __future__ import annotations

import dataclasses

from ..logic.evaluate import evaluate
from ..model.engine import Engine
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.truth import Truth


def as_it_comes(knowledge: Knowledge, job: OpenJob) -> OpenJob:
    """The job with no hours for what was done before the engine came in. Pure."""
    done = {
        name: 0.0
        for name, item in knowledge.operations.items()
        if item.spared is not None and evaluate(item.spared, job.values, {}, {}) is Truth.PRESENT
    }
    if not done:
        return job
    return dataclasses.replace(job, engine=dataclasses.replace(job.engine, hours={**job.engine.hours, **done}))


def is_spared(knowledge: Knowledge, engine: Engine) -> bool:
    """Whether hours were taken off this engine's sheet for what was done before it came in."""
    return any(item.spared is not None and engine.hours.get(name) == 0.0 for name, item in knowledge.operations.items())
