"""What can be asked, looked at or measured on this engine as it stands: one answer for talk, page and checks."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from ..knowledge.engine_facts import engine_facts
from ..knowledge.questions import stands_open
from ..knowledge.tools import tools_lacking
from ..logic.evaluate import OfAll, compiled
from ..logic.stratify import once_per_value
from ..model.condition import Condition, facts_read
from ..model.engine import Engine
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.observations import Observation
from ..model.terms import EngineDoes
from ..model.values import Values
from .running import NOTHING, Forbidden, takes

MUST_TURN = frozenset({"runs", "turns_over"})
"""Answers that say whether the engine can run or turn: what needs one of them cannot be told of an open engine."""


@dataclass(frozen=True, slots=True, eq=False)
class _Grounds:
    """What must be so for one observation, its conditions compiled once per rule base."""

    moment: str
    turns: bool
    """Whether the engine turns in it, or must be able to: what stands open can do neither."""
    takes: EngineDoes
    lacking: bool
    """Whether it cannot be made without a tool that the shop does not own."""
    applies: OfAll
    follows: OfAll | None
    needs: OfAll
    valid_when: OfAll


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
    opened: frozenset[str]
    """The operations by which the engine stands open: it can then do nothing."""
    forbidden: Forbidden
    """What the engine must not do, by a danger."""
    grounds: Mapping[str, _Grounds]

    def applies(self, name: str) -> bool:
        """Whether an engine built like this is asked it at all."""
        return self.grounds[name].applies(self.built, {}) is True

    def able(self, name: str) -> bool:
        """Whether the engine as it stands can do, and may do, what it takes, and has not been opened past it."""
        ground = self.grounds[name]
        if self.forbidden.keeps_from(name, ground.takes) or (self.opened and ground.turns):
            return False
        return not self.opened.intersection(self.knowledge.observations[name].laid_open_by)

    def able_to_make(self, names: Iterable[str]) -> tuple[str, ...]:
        """Those of checks and observations of which each part is able to be made, in their order."""
        checks = self.knowledge.checks
        return tuple(
            name for name in names if all(map(self.able, checks[name].observations if name in checks else (name,)))
        )

    def stands(self, name: str, *, later: bool = False) -> bool:
        """Whether its ground is there and the engine can do, and may do, what it takes; answered or not, at whatever
        moment. With `later` a ground that is not known yet will do: the observation before it in a check tells it."""
        ground = self.grounds[name]
        if ground.lacking or not self.able(name):
            return False
        if ground.follows is not None:
            holds = ground.follows(self.facts, {})
            if holds is False or (holds is None and not later):
                return False
        return ground.needs(self.facts, {}) is not False and self.applies(name)

    def valid(self, name: str) -> bool:
        """Whether a test would not be wrong from the start, by the conditions that are known."""
        return self.grounds[name].valid_when(self.facts, {}) is not False

    def now(self, name: str, *, later: bool = False) -> bool:
        """Whether it can be asked or made now, with the engine closed, and has no answer."""
        moment = self.grounds[name].moment
        if moment == "teardown" or name in self.made or (moment == "talk" and name in self.facts):
            return False
        return self.stands(name, later=later) and self.valid(name)

    def names(self) -> Iterator[str]:
        """Every question and check that can be asked or made now, in order of id."""
        return (name for name in self.knowledge.observations if self.now(name))


@once_per_value(keep=4)
def _grounds_of(knowledge: Knowledge) -> dict[str, _Grounds]:
    limits = {name: limit.value for name, limit in knowledge.limits.items()}

    def holds(condition: Condition | None, where: Mapping[str, float] = limits) -> OfAll:
        return _always if condition is None else compiled(condition, where)

    return {
        name: _Grounds(
            item.moment,
            _turns(knowledge, item, name),
            takes(knowledge, name),
            bool(tools_lacking(knowledge, name)),
            holds(item.applies, {}),
            None if item.follows is None else holds(item.follows),
            holds(item.needs),
            holds(item.valid_when),
        )
        for name, item in knowledge.observations.items()
    }


def _always(facts: Values, findings: Mapping[str, bool | None]) -> bool:
    return True


def _turns(knowledge: Knowledge, item: Observation, name: str) -> bool:
    return bool(takes(knowledge, name)) or (item.needs is not None and bool(facts_read(item.needs) & MUST_TURN))


def askable(
    knowledge: Knowledge, engine: Engine, facts: Values, made: Collection[str], forbidden: Forbidden = NOTHING
) -> Askable:
    """What can be asked of an engine. `facts`: answers and readings, with what follows from them; `made`: observations
    that have an answer, "don't know" included; `forbidden`: what it must not do."""
    built = engine_facts(engine)
    opened = frozenset(
        operation for operation, _ in stands_open(knowledge, facts, (name for name in made if name in facts))
    )
    return Askable(knowledge, {**built, **facts}, built, frozenset(made), opened, forbidden, _grounds_of(knowledge))


__all__ = ["Askable", "askable"]
