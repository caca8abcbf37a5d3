"""Which findings are answers to one question, which of them lie inside others, and in what order they would be named.

A question with exclusive answers is one ordered variable (noisy-MAX: Henrion 1989; Diez 1993): what two faults would
each bring, the more alarming one is named. Findings that read the same facts belong together where one lies inside the
other (heavy blue inside blue) or the two exclude each other. Where two can be seen side by side (an oily plug beside a
sooty one, popping in the carburettor and in the exhaust) they are questions of their own.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence

from ..knowledge.questions import named_of, taken_as_sound
from ..logic.evaluate import Kleene, OfAll, compiled, value_test
from ..logic.stratify import in_order, once_per_value
from ..model.condition import Condition, FactTest, Not, facts_read, findings_read, walk
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.observations import Observation, Reduced
from ..model.values import Value, Values

MOST_COMBINATIONS = 4000
"""Combinations of answers tried for findings that read several facts; beyond, only pairs of facts are varied."""


@dataclass(frozen=True, slots=True)
class Question:
    """Findings that are answers to one question."""

    facts: tuple[str, ...]
    """Facts read, without engine facts, in order."""
    findings: tuple[str, ...]
    """The one that would be named last first: a finding stands before those that lie inside it."""
    inside: tuple[tuple[int, ...], ...]
    """Per finding the numbers of the findings that lie directly inside it."""


@dataclass(frozen=True, slots=True, eq=False)
class _Group:
    facts: tuple[str, ...]
    findings: tuple[str, ...]
    seen: tuple[tuple[frozenset[str], int], ...]
    """(findings present, how alarming the answer is) for every combination of answers tried."""


def all_facts(knowledge: Knowledge, finding: str) -> frozenset[str]:
    """Facts that a finding reads, also through the findings it reads."""
    return _read(knowledge)[finding]


@once_per_value(keep=4)
def _read(knowledge: Knowledge) -> dict[str, frozenset[str]]:
    conditions = {name: finding.when for name, finding in knowledge.findings.items()}
    result: dict[str, frozenset[str]] = {}
    for name in in_order(conditions):
        result[name] = facts_read(conditions[name]).union(*(result[other] for other in findings_read(conditions[name])))
    return result


def questions_of(knowledge: Knowledge, engine: Values, findings: Iterable[str]) -> tuple[Question, ...]:
    """The questions that these findings answer on an engine built so, in order of their facts and findings.

    Findings that no answer could make present on this engine are left out.
    """
    groups: dict[tuple[str, ...], list[str]] = {}
    for name in sorted(findings):
        facts = tuple(sorted(fact for fact in all_facts(knowledge, name) if not fact.startswith("engine.")))
        groups.setdefault(facts, []).append(name)
    kept = _kept(knowledge)
    result: list[Question] = []
    for facts, names in sorted(groups.items()):
        key = facts, tuple(names), _build_read(knowledge, engine, facts, names)
        if key not in kept:
            group = _tried(knowledge, engine, facts, tuple(names))
            kept[key] = tuple(_ordered(knowledge, group, part) for part in _apart(knowledge, group))
        result += kept[key]
    return tuple(result)


_Key = tuple[tuple[str, ...], tuple[str, ...], tuple[tuple[str, Value | None], ...]]


@once_per_value(keep=4)
def _kept(knowledge: Knowledge) -> dict[_Key, tuple[Question, ...]]:
    """Questions by the facts they read, their findings, and what these read of the engine's build: most engines share
    most of them."""
    return {}


def _build_read(
    knowledge: Knowledge, engine: Values, facts: tuple[str, ...], names: Iterable[str]
) -> tuple[tuple[str, Value | None], ...]:
    """(engine fact, value) of all that bears on these findings' question."""
    read = {fact for name in names for fact in all_facts(knowledge, name) if fact.startswith("engine.")}
    entries = (knowledge.observations.get(fact) or knowledge.reduced.get(fact) for fact in facts)
    if any(entry is not None and entry.each for entry in entries):
        read.add("engine.cylinders")
    return tuple((fact, engine.get(fact)) for fact in sorted(read))


def showing(knowledge: Knowledge, engine: Values, finding: str) -> dict[str, Value] | None:
    """Answers by which a finding is present on an engine built so, as few and as little alarming as will do; None where
    no answers that it tells apart make it so."""
    needed, conditions = _with_read(knowledge, (finding,)), _compiled(knowledge)
    facts = sorted(fact for fact in all_facts(knowledge, finding) if not fact.startswith("engine."))
    best: tuple[tuple[int, int], dict[str, Value]] | None = None
    values = {fact: tuple(_values(knowledge, engine, fact, needed)) for fact in facts}
    for answers in _combinations(values, {fact: len(part) for fact, part in values.items()}):
        given = {fact: value for fact, (value, _) in zip(facts, answers, strict=True) if value is not None}
        size = len(given), max((alarm for _, alarm in answers), default=0)
        if best is not None and size >= best[0]:
            continue
        known: dict[str, Kleene] = {}
        for name in needed:
            known[name] = conditions[name]({**engine, **given}, known)
        if known[finding] is True:
            best = size, given
    return None if best is None else best[1]


def _tried(knowledge: Knowledge, engine: Values, facts: tuple[str, ...], names: tuple[str, ...]) -> _Group:
    """What would be present under every combination of answers that the findings tell apart."""
    needed = _with_read(knowledge, names)
    conditions = _compiled(knowledge)
    holds = [(name, conditions[name]) for name in needed]
    values = {fact: tuple(_values(knowledge, engine, fact, needed)) for fact in facts}
    alike = {fact: _told_apart(knowledge, fact, values[fact], needed) for fact in facts}
    seen = set()
    given = dict(engine)
    for answers in _combinations(alike, {fact: len(part) for fact, part in values.items()}):
        alarm = 0
        for fact, (value, more) in zip(facts, answers, strict=True):
            if value is None:
                given.pop(fact, None)
            else:
                given[fact] = value
            alarm = max(alarm, more)
        known: dict[str, Kleene] = {}
        for name, condition in holds:
            known[name] = condition(given, known)
        seen.add((frozenset([name for name in names if known[name] is True]), alarm))
    possible = frozenset().union(*(present for present, _ in seen))
    return _Group(
        facts,
        tuple(name for name in names if name in possible),
        tuple(sorted(seen, key=lambda item: (sorted(item[0]), item[1]))),
    )


@once_per_value(keep=4)
def _compiled(knowledge: Knowledge) -> dict[str, OfAll]:
    limits = {name: limit.value for name, limit in knowledge.limits.items()}
    return {name: compiled(finding.when, limits) for name, finding in knowledge.findings.items()}


def _with_read(knowledge: Knowledge, names: tuple[str, ...]) -> tuple[str, ...]:
    """The findings and those they read, earlier ones first."""
    conditions: dict[str, Condition] = {}
    waiting = list(names)
    while waiting:
        name = waiting.pop()
        if name not in conditions:
            conditions[name] = knowledge.findings[name].when
            waiting += findings_read(conditions[name])
    return in_order(conditions)


def _told_apart(
    knowledge: Knowledge, fact: str, values: tuple[tuple[Value, int], ...], needed: tuple[str, ...]
) -> tuple[tuple[Value, int], ...]:
    """The values that some test of the findings, or the alarm of the answer, tells from those before them."""
    limits = {name: limit.value for name, limit in knowledge.limits.items()}
    tests = [
        value_test(part, limits)
        for name in needed
        for part in walk(knowledge.findings[name].when)
        if isinstance(part, FactTest) and part.fact == fact
    ]
    first: dict[tuple[int | Kleene, ...], tuple[Value, int]] = {}
    for value, alarm in values:
        first.setdefault((alarm, *(test(value) for test in tests)), (value, alarm))
    return tuple(first.values())


_Answer = tuple[Value | None, int]
_NOT_GIVEN: _Answer = (None, 0)


def _combinations(
    values: Mapping[str, tuple[tuple[Value, int], ...]], tried: Mapping[str, int]
) -> Iterator[Sequence[_Answer]]:
    """Every combination of the values, one a fact in order, with each fact also not given; only pairs of facts where
    `tried`, the number of values of each that can be given at all, makes too many."""
    total = 1
    for count in tried.values():
        total *= count + 1
    if total <= MOST_COMBINATIONS:
        yield from itertools.product(*((_NOT_GIVEN, *values[fact]) for fact in values))
        return
    for one, other in itertools.combinations_with_replacement(enumerate(values), 2):
        for first in values[one[1]]:
            for second in values[other[1]]:
                answers: list[_Answer] = [_NOT_GIVEN] * len(values)
                answers[one[0]], answers[other[0]] = first, second
                yield answers


def _values(knowledge: Knowledge, engine: Values, fact: str, needed: tuple[str, ...]) -> Iterator[tuple[Value, int]]:
    """(value, how alarming) of every answer that the findings could tell apart."""
    entry = knowledge.observations.get(fact) or knowledge.reduced.get(fact)
    if entry is None:
        return
    single: list[tuple[str | float, int]]
    if entry.kind == "choice":
        words = tuple(entry.answers)
        ranks = _ranks(entry, words)
        single = [(word, ranks[word]) for word in words]
    else:
        edges = sorted(
            {
                float(knowledge.limits[bound].value if isinstance(bound, str) else bound)
                for name in needed
                for part in walk(knowledge.findings[name].when)
                if isinstance(part, FactTest) and part.fact == fact
                for _, bound in part.bounds
            }
        )
        points = (
            [edges[0] - 1, *((low + high) / 2 for low, high in itertools.pairwise(edges)), edges[-1] + 1, *edges]
            if edges
            else []
        )
        single = [(point, 0) for point in sorted(points)]
    if not entry.each:
        yield from single
        return
    count = _count(engine, entry.each)
    sound = single[0][0] if single else None
    for value, rank in single:
        yield (value,) * count, rank
    for value, rank in single:
        for width in range(1, count):
            yield (value,) * width + (sound,) * (count - width), rank
            if count > 2 and width == 1:
                yield (value, sound, value) + (sound,) * (count - 3), rank
    for (first, rank), (second, other) in itertools.combinations(single, 2):
        if count > 1:
            yield (first, second) + (sound,) * (count - 2), max(rank, other)
            yield (first,) + (second,) * (count - 1), max(rank, other)


def _ranks(entry: Observation | Reduced, words: tuple[str, ...]) -> dict[str, int]:
    """How alarming each answer is: its place in `named`, or in `worsens`, else its place in the list."""
    sound, named = telling_answers(entry)
    order = {word: number for number, word in enumerate(named, start=1)}
    return {word: 0 if word in sound else order.get(word, 0) for word in words}


def telling_answers(entry: Observation | Reduced) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """(answers of a sound engine, telling answers with the most alarming last) of a choice."""
    return taken_as_sound(entry), named_of(entry)


def _count(engine: Values, each: str) -> int:
    known = engine.get("engine.cylinders", 4)
    cylinders = int(known) if isinstance(known, (int, float)) else 4
    return max(cylinders + 1 if each == "main" else cylinders, 1)


def _apart(knowledge: Knowledge, group: _Group) -> list[tuple[str, ...]]:
    """The findings of a group, those that can be seen side by side told apart."""
    parts: list[list[str]] = []
    for name in sorted(group.findings, key=lambda item: _first_seen(group, item)):
        fitting = [part for part in parts if not any(_beside(group, name, other) for other in part)]
        related = [
            part
            for part in fitting
            if any(_within(group, name, other) or _within(group, other, name) for other in part)
        ]
        same = [part for part in fitting if any(_words(knowledge, name) & _words(knowledge, other) for other in part)]
        several = any(isinstance(test, FactTest) and test.cylinders for test in walk(knowledge.findings[name].when))
        home = related or same or ([] if several else fitting)
        if home:
            home[0].append(name)
        else:
            parts.append([name])
    return [tuple(part) for part in parts]


def _first_seen(group: _Group, name: str) -> tuple[int, str]:
    return -sum(name in present for present, _ in group.seen), name


def _words(knowledge: Knowledge, name: str) -> frozenset[tuple[str, str]]:
    """The words and figures a finding tests for (not those it tests against)."""
    found = set()
    denied = set()
    for part in walk(knowledge.findings[name].when):
        if isinstance(part, Not):
            denied |= {id(test) for test in walk(part.part)}
    for part in walk(knowledge.findings[name].when):
        if isinstance(part, FactTest) and id(part) not in denied and not part.fact.startswith("engine."):
            found |= {(part.fact, word) for word in part.one_of} | {(part.fact, "number") for _ in part.bounds}
    return frozenset(found)


def _beside(group: _Group, one: str, other: str) -> bool:
    """Whether two findings can both be present without one lying inside the other."""
    return any(one in present and other in present for present, _ in group.seen) and not (
        _within(group, one, other) or _within(group, other, one)
    )


def _within(group: _Group, one: str, other: str) -> bool:
    """Whether the first is present only where the second is."""
    return all(other in present for present, _ in group.seen if one in present)


def _ordered(knowledge: Knowledge, group: _Group, part: tuple[str, ...]) -> Question:
    """The findings of one question in the order in which they would be named."""

    def key(name: str) -> tuple[int, int, float, str]:
        alarm = min(alarm for present, alarm in group.seen if name in present)
        outer = sum(_within(group, name, other) and other != name for other in part)
        rare = knowledge.settings.words[knowledge.findings[name].otherwise or "never"]
        return alarm, outer, -rare, name

    names = sorted(part, key=key)
    ordered: list[str] = []
    while names:  # what lies inside another stands after it
        chosen = next(
            (
                name
                for name in names
                if not any(
                    other != name and _within(group, name, other) and not _within(group, other, name) for other in names
                )
            ),
            names[0],
        )
        names.remove(chosen)
        ordered.append(chosen)
    inside = []
    for number, name in enumerate(ordered):
        all_inside = [other for other in range(number + 1, len(ordered)) if _within(group, ordered[other], name)]
        inside.append(
            tuple(
                other
                for other in all_inside
                if not any(
                    _within(group, ordered[other], ordered[between])
                    and (between < other or not _within(group, ordered[between], ordered[other]))
                    for between in all_inside
                    if between != other
                )
            )
        )
    return Question(group.facts, tuple(ordered), tuple(inside))
