"""The open engine: what is looked at and measured, in the order in which an engine comes apart."""

from __future__ import annotations

from ..decision.askable import askable
from ..knowledge.engine_facts import engine_facts
from ..knowledge.questions import TOGETHER_AGAIN
from ..logic.applicability import rung_on
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.results import Assessment
from ..model.terms import DEPTH

GROUPS = ("head", "valves", "bores", "bottom_end", "found")
"""Parts of an engine as they come apart from above; what stands in none of them comes last."""


def opened(knowledge: Knowledge, job: OpenJob, answer: Assessment) -> tuple[str, ...]:
    """What can be looked at or measured on the engine once it is open and has no answer: what lies open at the least
    depth first, part by part, looks before measurements."""
    made = frozenset(job.values) | job.unknown | job.later
    asked = askable(knowledge, job.engine, answer.facts.values, made)
    built = engine_facts(job.engine)

    def place(name: str) -> tuple[int, int, bool, str]:
        item = knowledge.observations[name]
        rungs = [rung_on(knowledge.operations[operation].rung, built) for operation in item.opened_by]
        # what only puts together again an engine that came in pieces opens nothing
        depth = min((DEPTH[rung] for rung in rungs if rung not in (None, "outside")), default=DEPTH["refresh"])
        if name == TOGETHER_AGAIN:  # after all that is looked at
            depth = len(DEPTH)
        group = GROUPS.index(item.group) if item.group in GROUPS else len(GROUPS)
        return depth, group, item.kind == "number", name

    names = [
        name
        for name, item in knowledge.observations.items()
        if item.moment == "teardown" and name not in made and asked.stands(name)
    ]
    return tuple(sorted(names, key=place))
