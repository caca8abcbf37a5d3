"""What a check makes the engine do, and what a danger forbids it to do."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from ..logic.stratify import once_per_value
from ..model.condition import FactTest, walk
from ..model.knowledge import Knowledge
from ..model.results import Danger
from ..model.terms import EngineDoes

Forbidden = frozenset[EngineDoes]
"""Nothing; running; or running and cranking."""
EFFORT: tuple[EngineDoes, ...] = ("", "cranks", "runs")


def forbidden_by(dangers: Collection[Danger]) -> Forbidden:
    """What the engine must not do while these dangers stand."""
    if not dangers:
        return frozenset()
    return frozenset({"runs", "cranks"}) if any(danger.cranking for danger in dangers) else frozenset({"runs"})


def takes(knowledge: Knowledge, name: str) -> EngineDoes:
    """What the engine does in a check or observation, and in what must be made with it for it to be valid."""
    return _taken(knowledge)[name]


def may_be_made(knowledge: Knowledge, names: Iterable[str], forbidden: Forbidden) -> tuple[str, ...]:
    """Those of the checks and observations in which the engine does nothing that is forbidden, in their order."""
    return tuple(name for name in names if takes(knowledge, name) not in forbidden)


@once_per_value(keep=4)
def _taken(knowledge: Knowledge) -> dict[str, EngineDoes]:
    found: dict[str, EngineDoes] = {}
    for name, item in knowledge.observations.items():
        asked = [item.runs_engine]
        if item.valid_when is not None:
            asked += [
                knowledge.observations[part.fact].runs_engine
                for part in walk(item.valid_when)
                if isinstance(part, FactTest) and part.fact in knowledge.observations
            ]
        found[name] = _most(asked)
    for name, check in knowledge.checks.items():
        found[name] = _most([found[item] for item in check.observations])
    return found


def _most(asked: Sequence[EngineDoes]) -> EngineDoes:
    return max(asked, key=EFFORT.index, default="")
