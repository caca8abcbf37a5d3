"""What can be asked, looked at or measured on this engine as it stands: one answer for talk, page and checks."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from ..knowledge.engine_facts import engine_facts
from ..knowledge.questions import stands_open
from ..knowledge.tools import tools_lacking
from ..logic.applicability import applies
from ..logic.evaluate import evaluate
from ..model.condition import facts_read
from ..model.engine import Engine
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.observations import Observation
from ..model.truth import Truth
from ..model.values import Values
from .running import Forbidden, takes

MUST_TURN = frozenset({"runs", "turns_over"})
"""Answers that say whether the engine can run or turn: what needs one of them cannot be told of an open engine."""


@dataclass(frozen=True, slots=True, eq=False)
class Askable:
    """An engine as it stands, asked what can be asked of it."""

    knowledge: Knowledge
    facts: Values
    """Answers, what follows from them, reduced readings and engine.* facts."""
    built: Values
    """The engine.* facts alone."""
    made: frozenset[str]
    """Observations that have an answer, "don't know" included."""
    opened: bool
    """Whether the engine stands open: it can then do nothing."""
    forbidden: Forbidden
    """What the engine must not do, by a danger."""
    limits: Mapping[str, float]

    def applies(self, name: str) -> bool:
        """Whether an engine built like this is asked it at all."""
        return applies(self.knowledge.observations[name], self.built)

    def stands(self, name: str, *, later: bool = False) -> bool:
        """Whether its ground is there and the engine can do, and may do, what it takes; answered or not, at whatever
        moment. With `later` a ground that is not known yet will do: the observation before it in a check tells it."""
        item = self.knowledge.observations[name]
        if not self.applies(name) or (self.opened and _turns(self.knowledge, item, name)):
            return False
        if takes(self.knowledge, name) in self.forbidden or tools_lacking(self.knowledge, name):
            return False
        if item.follows is not None:
            ground = evaluate(item.follows, self.facts, {}, self.limits)
            if ground is Truth.ABSENT or (ground is Truth.UNKNOWN and not later):
                return False
        return item.needs is None or evaluate(item.needs, self.facts, {}, self.limits) is not Truth.ABSENT

    def valid(self, name: str) -> bool:
        """Whether a test would not be wrong from the start, by the conditions that are known."""
        condition = self.knowledge.observations[name].valid_when
        return condition is None or evaluate(condition, self.facts, {}, self.limits) is not Truth.ABSENT

    def now(self, name: str, *, later: bool = False) -> bool:
        """Whether it can be asked or made now, with the engine closed, and has no answer."""
        item = self.knowledge.observations[name]
        if item.moment == "teardown" or name in self.made or (item.moment == "talk" and name in self.facts):
            return False
        return self.stands(name, later=later) and self.valid(name)

    def names(self) -> Iterator[str]:
        """Every question and check that can be asked or made now, in order of id."""
        return (name for name in self.knowledge.observations if self.now(name))


def _turns(knowledge: Knowledge, item: Observation, name: str) -> bool:
    """Whether the engine turns in it, or must be able to: what stands open can do neither."""
    return bool(takes(knowledge, name)) or (item.needs is not None and bool(facts_read(item.needs) & MUST_TURN))


def askable(
    knowledge: Knowledge, engine: Engine, facts: Values, made: Collection[str], forbidden: Forbidden = frozenset()
) -> Askable:
    """What can be asked of an engine. `facts`: answers and readings, with what follows from them; `made`: observations
    that have an answer, "don't know" included; `forbidden`: what it must not do."""
    built = engine_facts(engine)
    opened = bool(stands_open(knowledge, facts, (name for name in made if name in facts)))
    return Askable(
        knowledge,
        {**built, **facts},
        built,
        frozenset(made),
        opened,
        forbidden,
        {name: limit.value for name, limit in knowledge.limits.items()},
    )


__all__ = ["Askable", "askable"]
