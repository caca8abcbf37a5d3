"""Conditions turned into positive rules: some conclude that a finding is present, some that it is absent.

A rule asks only for things that are known, never for something to be missing. `not` is pushed down to the tests (what
makes a part absent makes its negation present), so nothing is ever withdrawn and the order of firing cannot matter.
All tests of one fact that stand together become one test, and an alternative inside a conjunction becomes a step of
its own; multiplying alternatives out would explode.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field, replace

from ..model.condition import AllOf, AnyOf, Condition, FactTest, FindingTest, Not, facts_read, findings_read, walk
from ..model.frozen import dataclass


@dataclass(frozen=True, slots=True)
class FactPattern:
    """A fact is known and its own part of the condition has come out as wanted."""

    fact: str
    condition: Condition
    """Reads this fact alone; its limits are figures."""
    wanted: bool


@dataclass(frozen=True, slots=True)
class FindingPattern:
    """A finding is known to be present (wanted) or absent."""

    finding: str
    wanted: bool


@dataclass(frozen=True, slots=True)
class StepPattern:
    """A part of a condition has come out as wanted, by rules of its own."""

    step: int


Pattern = FactPattern | FindingPattern | StepPattern


@dataclass(frozen=True, slots=True)
class PositiveRule:
    """If every pattern matches, the finding (or step) has this truth."""

    name: str
    """Id of the finding; of the finding that first needed it where it concludes a step."""
    step: int
    """The step concluded, or -1 where it is the finding itself."""
    wanted: bool
    """True: present; False: absent."""
    alternative: int
    """Number of this alternative among those that conclude the same."""
    patterns: tuple[Pattern, ...]


@dataclass(frozen=True, slots=True)
class Compiled:
    """A rule set as positive rules, in order of id, truth (present first) and alternative."""

    rules: tuple[PositiveRule, ...]
    steps: int
    """How many steps there are."""


def resolve(condition: Condition, limits: Mapping[str, float]) -> Condition:
    """The condition with figures in place of the ids of limits (an id that is no limit stays: never known)."""
    if isinstance(condition, FactTest):
        bounds = tuple(
            (name, limits.get(bound, bound) if isinstance(bound, str) else bound) for name, bound in condition.bounds
        )
        return condition if bounds == condition.bounds else replace(condition, bounds=bounds)
    if isinstance(condition, (AllOf, AnyOf)):
        return type(condition)(tuple(resolve(part, limits) for part in condition.parts))
    return Not(resolve(condition.part, limits)) if isinstance(condition, Not) else condition


def compile_rules(conditions: Mapping[str, Condition]) -> Compiled:
    """Positive rules for every condition (limits already resolved)."""
    work = _Work()
    for name in sorted(conditions):
        for wanted in (True, False):
            work.conclude(name, -1, wanted, work.alternatives(name, conditions[name], wanted))
    ordered = sorted(work.rules, key=lambda rule: (rule.name, rule.step, not rule.wanted, rule.alternative))
    return Compiled(tuple(ordered), len(work.steps))


Alternative = tuple[Pattern, ...]


@dataclass(slots=True)
class _Work:
    """What is gathered while compiling: the rules so far and the steps, shared by equal parts of conditions."""

    rules: list[PositiveRule] = field(default_factory=list)
    steps: dict[tuple[Condition, bool], int] = field(default_factory=dict)

    def conclude(self, name: str, step: int, wanted: bool, alternatives: Iterable[Alternative]) -> None:
        for number, patterns in enumerate(alternatives):
            self.rules.append(PositiveRule(name, step, wanted, number, patterns))

    def alternatives(self, name: str, condition: Condition, wanted: bool) -> list[Alternative]:
        """Each alternative is a conjunction of patterns; any one is enough."""
        if isinstance(condition, Not):
            return self.alternatives(name, condition.part, not wanted)
        if isinstance(condition, FindingTest):
            return [(FindingPattern(condition.finding, wanted),)]
        if isinstance(condition, FactTest):
            return [(FactPattern(condition.fact, condition, wanted),)]
        fact = _only_fact(condition)
        if fact is not None:
            return [(FactPattern(fact, condition, wanted),)]
        parts = _together(condition)
        if isinstance(condition, AllOf) is not wanted:
            found = [item for part in parts for item in self.alternatives(name, part, wanted)]
            return list(dict.fromkeys(found))
        patterns: dict[Pattern, None] = {}
        for part in parts:
            inner = self.alternatives(name, part, wanted)
            if len(inner) == 1:
                patterns.update(dict.fromkeys(inner[0]))
            else:
                patterns[self.step(name, part, wanted, inner)] = None
        return [tuple(patterns)]

    def step(self, name: str, part: Condition, wanted: bool, inner: list[Alternative]) -> StepPattern:
        key = (part, wanted)
        if key not in self.steps:
            self.steps[key] = len(self.steps)
            self.conclude(name, self.steps[key], wanted, inner)
        return StepPattern(self.steps[key])


def _only_fact(condition: Condition) -> str | None:
    """The fact that the condition reads, where it reads nothing else (and no empty part settles it beforehand)."""
    facts = facts_read(condition)
    if len(facts) != 1 or findings_read(condition):
        return None
    if any(isinstance(part, (AllOf, AnyOf)) and not part.parts for part in walk(condition)):
        return None
    return next(iter(facts))


def _together(condition: AllOf | AnyOf) -> list[Condition]:
    """Its parts, those that read the same single fact put together: one test of a fact instead of several."""
    groups: dict[object, list[Condition]] = {}
    for index, part in enumerate(condition.parts):
        fact = _only_fact(part)
        groups.setdefault(index if fact is None else fact, []).append(part)
    return [parts[0] if len(parts) == 1 else type(condition)(tuple(parts)) for parts in groups.values()]
