"""The work of a rung: operations with their reasons, allowances with their chance, parts and tests."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping

from ..knowledge.engine_facts import engine_facts
from ..knowledge.questions import stands_open
from ..logic.applicability import applies, brought_by, hours_on, rung_on
from ..logic.evaluate import KLEENE, Kleene
from ..logic.stratify import once_per_value
from ..model.condition import facts_read, findings_read
from ..model.engine import Engine
from ..model.knowledge import Knowledge
from ..model.operations import Operation
from ..model.results import PartLine, Work, WorkItem
from ..model.terms import DEPTH, Rung
from ..model.truth import Truth
from ..model.values import Value, Values
from ..pricing.quantities import parts_of, quantity_of
from ..readings.order_sizes import SizeChoice
from .rules import WorkRules

ENGINES_KEPT = 4
_INSIDE = DEPTH["top_end"]


def work_facts(facts: Values, posteriors: Mapping[str, float], rung: Rung) -> dict[str, Value]:
    """The facts that operations may read: all facts, the scope and the odds of each cause in percent."""
    odds = {f"odds.{cause}": 100.0 * probability for cause, probability in posteriors.items()}
    return {**facts, "scope": rung, **odds}


def work_at(
    knowledge: Knowledge,
    rules: WorkRules,
    engine: Engine,
    facts: Values,
    findings: Mapping[str, Truth],
    posteriors: Mapping[str, float],
    rung: Rung,
    sizes: Mapping[str, SizeChoice] | None = None,
    answered: frozenset[str] = frozenset(),
    *,
    hands: Mapping[str, float] | None = None,
    only: bool = False,
    done: Collection[str] = (),
    noticed: Mapping[str, float] | None = None,
) -> Work:
    """What would be done at `rung`: its package, or with `only` no more than what cures what was noticed.

    `posteriors` are the odds of each cause, `noticed` the chance that it has a hand in what was noticed, for
    allowances; `hands` the latter as it calls for work (the odds where either is not given); `sizes` (size fact ->
    choice with .size and .measured_from) come from teardown measurements; `answered` are observations already made,
    `done` operations that were already done for this trouble. Pure.
    """
    opened = stands_open(knowledge, facts, answered)
    chosen = package_at(
        knowledge, rules, engine, facts, findings, posteriors if hands is None else hands, rung, opened, done
    )
    if only:
        chosen = only_of(knowledge, rules, engine, chosen)
    return work_of(knowledge, rules, engine, posteriors, rung, chosen, sizes, answered, noticed=noticed)


def package_at(
    knowledge: Knowledge,
    rules: WorkRules,
    engine: Engine,
    facts: Values,
    findings: Mapping[str, Truth],
    hands: Mapping[str, float],
    rung: Rung,
    opened: tuple[tuple[str, str], ...] = (),
    done: Collection[str] = (),
) -> dict[str, WorkItem]:
    """The operations of the package at `rung`, by name; `opened` are the operations by which the engine stands open,
    each with the observation that says so, the other parameters as for `work_at`. Pure."""
    known = work_facts(facts, hands, rung)
    told = {name: KLEENE[truth] for name, truth in findings.items()}
    chosen: dict[str, WorkItem] = {}
    for name, opened_by in joined(
        knowledge, rules, rung, lambda name: rules.joins[name](known, told) is True, opened
    ).items():
        because = (
            (f"observations/{opened_by}",)
            if opened_by
            else tuple(reason for reason, calls in rules.calls[name] if calls(known, told))
        )
        if not (name in done and _is_spent(knowledge, rules, name, because)):
            chosen[name] = _item(knowledge, engine, name, because)
    return chosen


def only_of(
    knowledge: Knowledge, rules: WorkRules, engine: Engine, chosen: Mapping[str, WorkItem]
) -> dict[str, WorkItem]:
    """Of a package no more than what cures what was noticed, with what that brings. Pure."""
    names = needed(
        knowledge,
        rules,
        engine,
        chosen,
        lambda name: any(_calls_alone(knowledge, name, reason) for reason in chosen[name].because),
    )
    return {name: chosen.get(name) or _item(knowledge, engine, name, (f"operations/{name}",)) for name in names}


def work_of(
    knowledge: Knowledge,
    rules: WorkRules,
    engine: Engine,
    posteriors: Mapping[str, float],
    rung: Rung,
    chosen: Mapping[str, WorkItem],
    sizes: Mapping[str, SizeChoice] | None = None,
    answered: frozenset[str] = frozenset(),
    *,
    noticed: Mapping[str, float] | None = None,
) -> Work:
    """The whole work of chosen operations: allowances, parts, tests; parameters as for `work_at`. Pure."""
    allowances = _allowances(knowledge, rules, engine, posteriors, noticed, rung, chosen)
    items = (*chosen.values(), *allowances)
    ordered = tuple(sorted(items, key=lambda item: (item.if_found, DEPTH[rules.rungs[item.operation]], item.operation)))
    operations = [knowledge.operations[item.operation] for item in ordered if not item.if_found]
    built = engine_facts(engine)
    before = _unique(
        check for operation in operations for check in operation.before if _can_be_made(knowledge, check, built)
    )
    during = _unique(
        name
        for operation in operations
        for name in operation.during
        if name in knowledge.observations and _can_be_made(knowledge, name, built)
    )
    after = _unique(
        check for operation in operations for check in operation.proved_by if _can_be_made(knowledge, check, built)
    )
    return Work(
        rung,
        ordered,
        _parts(knowledge, engine, operations, chosen, sizes or {}),
        tuple(check for check in before if check not in answered),
        during,
        after,
    )


def chance_of_turning_up(
    knowledge: Knowledge, built: Values, cause: str, rung: Rung, odds: float, noticed: float | None
) -> float:
    """Chance that a job at `rung` meets a cause of these odds: that it is there, where the job opens it to view;
    elsewhere that it has a hand in what was noticed (`noticed`; the odds where None). What nothing noticed speaks for
    and nobody will see turns up in no bill. `built` holds the engine.* facts. Pure."""
    if noticed is None:
        return odds
    seen = rung_on(knowledge.causes[cause].seen_at, built)
    in_view = seen is not None and _INSIDE <= DEPTH[seen] <= DEPTH[rung]
    return odds if in_view else min(noticed, odds)


def joined(
    knowledge: Knowledge,
    rules: WorkRules,
    rung: Rung,
    joins: Callable[[str], bool],
    opened: tuple[tuple[str, str], ...] = (),
) -> dict[str, str]:
    """Operations of the job at `rung` -> the observation by which one stands open already, empty where it joins by its
    own condition. `joins` tells of an operation whether its condition holds."""
    chosen: dict[str, str] = {}
    for name in rules.joins:
        if rung == "replace" and (
            rules.rungs[name] not in ("outside", "replace") or knowledge.operations[name].comes_with_engine
        ):
            continue  # a replacement engine comes with its inside; only faults of what is hung on it remain to be cured
        if joins(name):
            chosen[name] = ""
    displaced = {other for name in chosen for other in knowledge.operations[name].instead_of}
    for name in displaced:
        chosen.pop(name, None)
    if rung != "replace":
        for name, observation in opened:
            if name in rules.rungs and name not in displaced:  # it stands open and has to be put together again
                chosen.setdefault(name, observation)
    return chosen


def needed(
    knowledge: Knowledge, rules: WorkRules, engine: Engine, chosen: Collection[str], called: Callable[[str], bool]
) -> tuple[str, ...]:
    """Of a package the operations that are called for by themselves, with what they bring and the proof at the end."""
    built = engine_facts(engine)
    wanted = [name for name in chosen if called(name)]
    depths = {rules.rungs[name] for name in wanted}
    wanted += [name for rung in depths for name in knowledge.scopes[rung].access]
    found: dict[str, None] = {}
    while wanted:
        name = wanted.pop()
        if name not in found and name in chosen:
            found[name] = None
            wanted += brought_by(knowledge.operations[name], built)
    endings = sorted(
        (name for name in rules.rungs if knowledge.operations[name].ends_job),
        key=lambda name: (hours_of(knowledge.operations[name], name, engine), name),
    )
    result = [name for name in chosen if name in found]
    if found and endings and not any(name in found for name in endings):
        result.append(endings[0])
    return tuple(result)


def called_alone(knowledge: Knowledge, rules: WorkRules, name: str, known: Values, told: Mapping[str, Kleene]) -> bool:
    """Whether a cause or a finding calls for an operation, and not the depth of the job alone."""
    return any(calls(known, told) for reason, calls in rules.calls[name] if _calls_alone(knowledge, name, reason))


def _is_spent(knowledge: Knowledge, rules: WorkRules, name: str, because: tuple[str, ...]) -> bool:
    """Whether a cure that was done already is called for by the depth of the job alone: it is not done twice."""
    return any(name in operations for operations in rules.cures.values()) and not any(
        _calls_alone(knowledge, name, reason) or (reason.startswith("operations/") and reason != f"operations/{name}")
        for reason in because
    )


def _calls_alone(knowledge: Knowledge, name: str, reason: str) -> bool:
    return reason.startswith(("causes/", "observations/")) or (
        reason == f"operations/{name}" and not _of_the_scope(knowledge, name)
    )


def _of_the_scope(knowledge: Knowledge, name: str) -> bool:
    """Whether an operation is called for by the depth of the job rather than by what was found."""
    when = knowledge.operations[name].when
    return (
        when is not None
        and not findings_read(when)
        and all(fact == "scope" or fact.startswith(("odds.", "engine.")) for fact in facts_read(when))
    )


def _can_be_made(knowledge: Knowledge, name: str, built: Values) -> bool:
    """Whether an observation, or any observation of a check, makes sense on an engine built in this way."""
    check = knowledge.checks.get(name)
    names = check.observations if check else (name,)
    return any(applies(knowledge.observations[item], built) for item in names if item in knowledge.observations)


def _item(
    knowledge: Knowledge,
    engine: Engine,
    name: str,
    because: tuple[str, ...],
    *,
    if_found: bool = False,
    chance: float = 1.0,
) -> WorkItem:
    hours, cautions = _on_engine(knowledge, engine, name)
    return WorkItem(name, hours, because, cautions, if_found, chance)


def _on_engine(knowledge: Knowledge, engine: Engine, name: str) -> tuple[float, tuple[str, ...]]:
    """Hours and cautions of an operation on one engine, worked out once for each engine."""
    kept = _kept(knowledge)
    if id(engine) not in kept:
        while len(kept) >= ENGINES_KEPT:
            kept.pop(next(iter(kept)))
        kept[id(engine)] = (engine, {})  # holding the engine, so that its identity cannot pass to another
    known = kept[id(engine)][1]
    if name not in known:
        operation, facts = knowledge.operations[name], engine_facts(engine)
        known[name] = (
            hours_of(operation, name, engine),
            tuple(caution for caution in operation.cautions if applies(knowledge.cautions[caution], facts)),
        )
    return known[name]


@once_per_value(keep=4)
def _kept(knowledge: Knowledge) -> dict[int, tuple[Engine, dict[str, tuple[float, tuple[str, ...]]]]]:
    return {}


def hours_of(operation: Operation, name: str, engine: Engine) -> float:
    """Hours of an operation on this engine: the sheet's, else the rule base's for engines built so, times what they are
    counted for."""
    if name in engine.hours:
        return engine.hours[name]
    return hours_on(operation, engine_facts(engine)) * quantity_of(f"each {operation.per}", engine)


def _allowances(
    knowledge: Knowledge,
    rules: WorkRules,
    engine: Engine,
    posteriors: Mapping[str, float],
    noticed: Mapping[str, float] | None,
    rung: Rung,
    chosen: Mapping[str, WorkItem],
) -> list[WorkItem]:
    """Operations that would join if a cause not cured by the chosen work turned up."""
    built = engine_facts(engine)
    done = with_displaced(knowledge, chosen)
    chances: dict[str, list[tuple[str, float]]] = {}
    for cause, operations in rules.cures.items():
        probability = posteriors.get(cause, 0.0)
        if not operations or probability < knowledge.settings.own_line_from or any(name in done for name in operations):
            continue
        if rung == "replace":
            continue
        probability = chance_of_turning_up(
            knowledge, built, cause, rung, probability, None if noticed is None else noticed.get(cause, 0.0)
        )
        if probability < knowledge.settings.own_line_from:
            continue
        reached = [name for name in operations if DEPTH[rules.rungs[name]] <= DEPTH[rung]]
        name = (
            reached[0]
            if reached
            else min(operations, key=lambda other: (DEPTH[rules.rungs[other]], operations.index(other)))
        )
        chances.setdefault(name, []).append((cause, probability))
    result = []
    for name in sorted(chances):
        missed = 1.0
        for _, probability in chances[name]:
            missed *= 1.0 - probability
        because = tuple(f"causes/{cause}" for cause, _ in chances[name])
        result.append(_item(knowledge, engine, name, because, if_found=True, chance=1.0 - missed))
    return result


def with_displaced(knowledge: Knowledge, chosen: Collection[str]) -> frozenset[str]:
    """These operations and those whose place they take: what those cure is cured."""
    return frozenset(chosen).union(*(knowledge.operations[name].instead_of for name in chosen))


def _parts(
    knowledge: Knowledge,
    engine: Engine,
    operations: list[Operation],
    chosen: Mapping[str, WorkItem],
    sizes: Mapping[str, SizeChoice],
) -> tuple[PartLine, ...]:
    wanted: dict[str, tuple[int, list[str]]] = {}
    names = {id(item): name for name, item in knowledge.operations.items()}
    for operation in operations:
        for part, need in parts_of(knowledge, operation, engine):
            count, by = wanted.get(part, (0, []))
            # two operations that need the same gasket need it once
            wanted[part] = (max(count, need), [*by, names[id(operation)]])
    lines = []
    for part in sorted(wanted):
        count, by = wanted[part]
        item = knowledge.parts[part]
        size = sizes.get(item.size_fact) if item.size_fact else None
        lines.append(
            PartLine(
                part,
                count,
                size.size if size else "",
                "" if size or not item.sized_by else item.sized_by,
                tuple(sorted(by)),
                size.measured_from if size else "",
            )
        )
    return tuple(lines)


def _unique(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(names))
