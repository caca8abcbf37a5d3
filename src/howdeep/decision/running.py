"""What a check makes the engine do, and what a danger forbids it to do."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from ..logic.stratify import once_per_value
from ..model.condition import FactTest, walk
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.results import Danger
from ..model.terms import EngineDoes

EFFORT: tuple[EngineDoes, ...] = ("", "cranks", "runs")


@dataclass(frozen=True, slots=True)
class Forbidden:
    """What the engine must not do."""

    does: frozenset[EngineDoes] = frozenset()
    """Nothing; running; or running and cranking."""
    but_for: frozenset[str] = frozenset()
    """Observations for which it may all the same."""

    def keeps_from(self, name: str, takes: EngineDoes) -> bool:
        """Whether an observation is not to be made, in which the engine does so much."""
        return takes in self.does and name not in self.but_for


NOTHING = Forbidden()


def forbidden_by(dangers: Collection[Danger]) -> Forbidden:
    """What the engine must not do while these dangers stand."""
    if not dangers:
        return NOTHING
    but_for = frozenset.intersection(*(frozenset(danger.for_seconds) for danger in dangers))
    if any(danger.cranking for danger in dangers):
        return Forbidden(frozenset({"runs", "cranks"}), but_for)
    return Forbidden(frozenset({"runs"}), but_for)


def takes(knowledge: Knowledge, name: str) -> EngineDoes:
    """What the engine does in a check or observation, and in what must be made with it for it to be valid."""
    return _taken(knowledge)[name]


def may_be_made(knowledge: Knowledge, names: Iterable[str], forbidden: Forbidden) -> tuple[str, ...]:
    """Those of the checks and observations in which the engine does nothing that is forbidden, in their order."""

    def parts(name: str) -> Sequence[str]:
        return knowledge.checks[name].observations if name in knowledge.checks else (name,)

    return tuple(
        name for name in names if not any(forbidden.keeps_from(part, takes(knowledge, part)) for part in parts(name))
    )


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
