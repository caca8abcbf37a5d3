"""Operations as rules: what calls each of them into a job, as conditions over scope, odds and facts.

An operation joins where the rung reaches it and one of these holds: the scope always holds it, a cause it is the first
choice for is probable enough, its own condition holds, or an operation that brings it joins.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field

from ..logic.applicability import applies, brought_by, rung_on
from ..logic.evaluate import Kleene, compiled
from ..logic.stratify import once_per_value
from ..model.condition import AllOf, AnyOf, Condition, FactTest, facts_read
from ..model.engine import Build, Engine
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.terms import DEPTH, RUNGS, Rung
from ..model.values import Values

Holds = Callable[[Values, Mapping[str, Kleene]], Kleene]


@dataclass(frozen=True, slots=True)
class WorkRules:
    """The rules of one rule base for one way of building an engine."""

    conditions: dict[str, Condition]
    """Operation -> when it joins the job; only operations that this engine can have, in order of id."""
    reasons: dict[str, tuple[tuple[str, Condition], ...]]
    """Operation -> ('kind/id' of a reason, the condition under which it is one)."""
    rungs: dict[str, Rung]
    """Operation -> the smallest rung at which it can be done on this engine."""
    cures: dict[str, tuple[str, ...]]
    """Cause -> operations that cure it on this engine, the usual one first."""
    joins: dict[str, Holds] = field(default_factory=dict, compare=False)
    """Operation -> its condition, compiled."""
    calls: dict[str, tuple[tuple[str, Holds], ...]] = field(default_factory=dict, compare=False)
    """Operation -> its reasons, compiled."""
    odds_read: dict[str, frozenset[str]] = field(default_factory=dict, compare=False)
    """Operation -> causes whose odds its condition reads."""


@once_per_value(keep=4)
def _kept(knowledge: Knowledge) -> dict[Build, WorkRules]:
    """Rules compiled for a rule base so far, by how the engine is built; a shop has few kinds."""
    return {}


def rules_for(knowledge: Knowledge, engine: Engine, engine_facts: Values) -> WorkRules:
    """The same as `work_rules`, compiled once for each rule base and way of building an engine."""
    kept = _kept(knowledge)
    if engine.build not in kept:
        kept[engine.build] = work_rules(knowledge, engine_facts)
    return kept[engine.build]


def work_rules(knowledge: Knowledge, engine_facts: Values) -> WorkRules:
    """Compile the operations for an engine built as `engine_facts` say."""
    rungs: dict[str, Rung] = {}
    for name, operation in knowledge.operations.items():
        rung = rung_on(operation.rung, engine_facts) if applies(operation, engine_facts) else None
        if rung is not None:
            rungs[name] = rung
    cures = {
        cause: tuple(name for name in item.cured_by if name in rungs)
        for cause, item in knowledge.causes.items()
        if applies(item, engine_facts)
    }
    brings = {name: brought_by(knowledge.operations[name], engine_facts) for name in rungs}
    held = {scope: _always_held(knowledge, scope, rungs, brings) for scope in knowledge.scopes}
    own = {name: _own_reasons(knowledge, name, rungs, cures, held) for name in rungs}
    bringers = _bringers(brings)
    reasons = {name: tuple(own[name]) + _brought(name, rungs, own, bringers) for name in rungs}
    conditions: dict[str, Condition] = {
        name: AllOf((_scope_from(rungs[name]), AnyOf(tuple(condition for _, condition in reasons[name]))))
        for name in rungs
        if reasons[name]
    }
    limits = {name: item.value for name, item in knowledge.limits.items()}
    return WorkRules(
        conditions,
        reasons,
        rungs,
        cures,
        {name: compiled(condition, limits) for name, condition in conditions.items()},
        {name: tuple((reason, compiled(part, limits)) for reason, part in reasons[name]) for name in conditions},
        {
            name: frozenset(fact.removeprefix("odds.") for fact in facts_read(condition) if fact.startswith("odds."))
            for name, condition in conditions.items()
        },
    )


def _scope_from(rung: Rung) -> Condition:
    return FactTest("scope", one_of=RUNGS[DEPTH[rung] :])


def _always_held(
    knowledge: Knowledge, scope: Rung, rungs: dict[str, Rung], brings: Mapping[str, tuple[str, ...]]
) -> frozenset[str]:
    """Operations that the scope holds whatever is believed: its own list and all that those bring."""
    reach = {name for name, rung in rungs.items() if DEPTH[rung] <= DEPTH[scope]}
    held: set[str] = set()
    fringe = [name for name in knowledge.scopes[scope].always if name in reach]
    while fringe:
        name = fringe.pop()
        if name not in held:
            held.add(name)
            fringe.extend(other for other in brings[name] if other in reach)
    return frozenset(held)


def _own_reasons(
    knowledge: Knowledge,
    name: str,
    rungs: dict[str, Rung],
    cures: dict[str, tuple[str, ...]],
    held: dict[Rung, frozenset[str]],
) -> list[tuple[str, Condition]]:
    """Reasons that do not pass through another operation."""
    result: list[tuple[str, Condition]] = []
    for scope, item in knowledge.scopes.items():
        if name in item.always:
            result.append((f"scopes/{scope}", FactTest("scope", one_of=(scope,))))
    threshold = 100.0 * knowledge.settings.include_at
    for cause, operations in cures.items():
        if name in operations:
            # Only the first choice that the rung reaches is taken: a shallower cure is dropped where a deeper, better
            # one that stands before it in the list is reached as well.
            better = [rungs[other] for other in operations[: operations.index(name)]]
            first = min((DEPTH[rung] for rung in better), default=len(RUNGS))
            reach = tuple(
                rung
                for rung in RUNGS[DEPTH[rungs[name]] : first]
                if rung not in held or name in held[rung] or not held[rung] & set(operations)
            )
            if not reach:
                continue
            result.append(
                (
                    f"causes/{cause}",
                    AllOf(
                        (FactTest("scope", one_of=reach), FactTest(f"odds.{cause}", bounds=(("at_least", threshold),)))
                    ),
                )
            )
    when = knowledge.operations[name].when
    if when is not None:
        result.append((f"operations/{name}", when))
    return result


def _bringers(brings: Mapping[str, tuple[str, ...]]) -> dict[str, list[str]]:
    """Operation -> operations that bring it directly, on this engine."""
    found: dict[str, list[str]] = {}
    for other, names in brings.items():
        for name in names:
            found.setdefault(name, []).append(other)
    return found


def _brought(
    name: str, rungs: dict[str, Rung], own: dict[str, list[tuple[str, Condition]]], bringers: dict[str, list[str]]
) -> tuple[tuple[str, Condition], ...]:
    """Reasons of every operation that brings this one, directly or through others."""
    met: set[str] = set()
    fringe = [name]
    while fringe:
        new = set(bringers.get(fringe.pop(), ())) - met - {name}
        met |= new
        fringe += new
    result = []
    for other in sorted(met):
        conditions = tuple(condition for _, condition in own[other])
        if conditions:
            result.append((f"operations/{other}", AllOf((_scope_from(rungs[other]), AnyOf(conditions)))))
    return tuple(result)
