"""One change at a time to a rule base: each mutant is a small, believable slip of the pen."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from howdeep.knowledge.condition_names import conditions_of
from howdeep.model.condition import AllOf, AnyOf, Condition, FactTest, Not
from howdeep.model.knowledge import Knowledge
from howdeep.model.operations import Step
from howdeep.model.terms import BASE_WORDS, RUNGS, WORDS
from howdeep.rulecheck.pairs import say

LINKS, ODDS, RULES, READINGS, WORK, HOLDS = "links", "odds", "rules", "readings", "work", "holds"
"""What a mutant can change: what findings say of causes; other odds; what is concluded; what readings come to; the
work and its rungs; holds and contradictions."""


@dataclass(frozen=True, slots=True)
class Mutant:
    """One changed rule base, made when it is wanted."""

    id: str
    """'kind/id field: from -> to'; stays the same as long as the rule does."""
    kind: str
    """Family of the change, e.g. 'word', 'threshold'."""
    touches: str
    """LINKS, ODDS, RULES, READINGS, WORK or HOLDS."""
    make: Callable[[Knowledge], Knowledge]
    finding: str = ""
    """For LINKS: the only finding whose meaning changes."""
    causes: tuple[str, ...] = ()
    """For LINKS: the only causes it changes for; empty for all."""


def mutants(knowledge: Knowledge) -> Iterator[Mutant]:
    """Every mutant, in order of kind and id of the entries; no two have one id."""
    seen: Counter[str] = Counter()
    for mutant in _all(knowledge):
        seen[mutant.id] += 1
        again = seen[mutant.id]
        yield mutant if again == 1 else dataclasses.replace(mutant, id=f"{mutant.id} ({again})")


def _all(knowledge: Knowledge) -> Iterator[Mutant]:
    yield from _words(knowledge)
    yield from _odds(knowledge)
    yield from _lines(knowledge)
    for kind, touches in (
        ("findings", RULES),
        ("history", ODDS),
        ("observations", READINGS),
        ("holds", HOLDS),
        ("contradictions", HOLDS),
        ("operations", WORK),
    ):
        for name, entry in getattr(knowledge, kind).items():
            yield from _conditions(kind, name, entry, touches)
    yield from _limits(knowledge)
    yield from _work(knowledge)
    yield from _holds(knowledge)
    yield from _settings(knowledge)


def _replace(kind: str, name: str, **changes: Any) -> Callable[[Knowledge], Knowledge]:
    def make(knowledge: Knowledge) -> Knowledge:
        entries = dict(getattr(knowledge, kind))
        entries[name] = dataclasses.replace(entries[name], **changes)
        return dataclasses.replace(knowledge, **{kind: entries})

    return make


def _without(kind: str, name: str) -> Callable[[Knowledge], Knowledge]:
    def make(knowledge: Knowledge) -> Knowledge:
        entries = {key: entry for key, entry in getattr(knowledge, kind).items() if key != name}
        return dataclasses.replace(knowledge, **{kind: entries})

    return make


def _steps(word: str, order: tuple[str, ...]) -> Iterator[str]:
    """The words one step down and up."""
    place = order.index(word)
    yield from order[max(place - 1, 0) : place]
    yield from order[place + 1 : place + 2]


def _words(knowledge: Knowledge) -> Iterator[Mutant]:
    causes = list(knowledge.causes)
    for name, finding in knowledge.findings.items():
        links = finding.explained_by
        for cause, word in links.items():
            for other in _steps(word, WORDS):
                yield Mutant(
                    f"findings/{name} {cause}: {word} -> {other}",
                    "word",
                    LINKS,
                    _replace("findings", name, explained_by={**links, cause: other}),
                    name,
                    (cause,),
                )
            rest = {key: item for key, item in links.items() if key != cause}
            if rest:
                yield Mutant(
                    f"findings/{name} {cause}: dropped",
                    "link dropped",
                    LINKS,
                    _replace("findings", name, explained_by=rest),
                    name,
                    (cause,),
                )
            place = causes.index(cause)
            swap = next((other for other in [*causes[place + 1 :], *causes[:place]] if other not in links), None)
            if swap is not None:
                yield Mutant(
                    f"findings/{name} {cause} -> {swap}",
                    "cause swapped",
                    LINKS,
                    _replace("findings", name, explained_by={**rest, swap: word}),
                    name,
                    (cause, swap),
                )
        if finding.otherwise is not None:
            for other in _steps(finding.otherwise, WORDS):
                yield Mutant(
                    f"findings/{name} otherwise: {finding.otherwise} -> {other}",
                    "word",
                    LINKS,
                    _replace("findings", name, otherwise=other),
                    name,
                )


def _odds(knowledge: Knowledge) -> Iterator[Mutant]:
    for name, cause in knowledge.causes.items():
        for other in _steps(cause.base, BASE_WORDS):
            yield Mutant(
                f"causes/{name} base: {cause.base} -> {other}", "base word", ODDS, _replace("causes", name, base=other)
            )
    for name, rule in knowledge.history.items():
        yield Mutant(f"history/{name}: dropped", "history dropped", ODDS, _without("history", name))
        for cause, shift in rule.shifts.items():
            yield Mutant(
                f"history/{name} {cause}: {shift:g} -> {-shift:g}",
                "shift turned",
                ODDS,
                _replace("history", name, shifts={**rule.shifts, cause: -shift}),
            )


def _lines(knowledge: Knowledge) -> Iterator[Mutant]:
    for name, line in knowledge.lines.items():
        yield Mutant(f"lines/{name}: dropped", "line dropped", ODDS, _without("lines", name))
        if len(line.findings) > 1:
            turned = (line.findings[1], line.findings[0], *line.findings[2:])
            yield Mutant(
                f"lines/{name}: first two turned round", "line turned", ODDS, _replace("lines", name, findings=turned)
            )


def _conditions(kind: str, name: str, entry: Any, touches: str) -> Iterator[Mutant]:
    for field, path, condition in conditions_of(entry):
        if len(path) != 1:
            continue  # a step's condition: its rung is changed with the work
        for label, changed in _changed(condition):
            yield Mutant(
                f"{kind}/{name} {field}: {label}", _family(label), touches, _replace(kind, name, **{field: changed})
            )


def _family(label: str) -> str:
    return "threshold" if "%" in label else "part dropped" if label.startswith("without") else "condition changed"


def _changed(condition: Condition) -> Iterator[tuple[str, Condition]]:
    """(what was changed, the condition so changed)."""
    if isinstance(condition, FactTest):
        for index, (how, bound) in enumerate(condition.bounds):
            if isinstance(bound, float) and bound:
                for sign, factor in (("+", 1.1), ("-", 0.9)):
                    bounds = (*condition.bounds[:index], (how, bound * factor), *condition.bounds[index + 1 :])
                    yield f"{condition.fact} {how} {bound:g} {sign}10 %", dataclasses.replace(condition, bounds=bounds)
        if len(condition.one_of) > 1:
            for word in condition.one_of:
                left = tuple(other for other in condition.one_of if other != word)
                yield f"{condition.fact} no longer {word}", dataclasses.replace(condition, one_of=left)
        if condition.cylinders in ("any", "every"):
            other = "every" if condition.cylinders == "any" else "any"
            yield (
                f"{condition.fact} on {other} instead of {condition.cylinders}",
                dataclasses.replace(condition, cylinders=other),
            )
    elif isinstance(condition, Not):
        yield f"not taken out before {_short(condition.part)}", condition.part
        for label, part in _changed(condition.part):
            yield label, Not(part)
    elif isinstance(condition, (AllOf, AnyOf)):
        for index, part in enumerate(condition.parts):
            rest = condition.parts[:index] + condition.parts[index + 1 :]
            if rest:
                yield f"without {_short(part)}", type(condition)(rest)
            for label, changed in _changed(part):
                yield label, type(condition)((*condition.parts[:index], changed, *condition.parts[index + 1 :]))
        if len(condition.parts) > 1:
            turned = AnyOf if isinstance(condition, AllOf) else AllOf
            yield f"all and any changed before {_short(condition.parts[0])}", turned(condition.parts)


def _short(condition: Condition) -> str:
    return say(condition)[:90]


def _limits(knowledge: Knowledge) -> Iterator[Mutant]:
    for name, limit in knowledge.limits.items():
        for sign, factor in (("+", 1.1), ("-", 0.9)):
            yield Mutant(
                f"limits/{name} {limit.value:g} {sign}10 %",
                "threshold",
                READINGS,
                _replace("limits", name, value=limit.value * factor),
            )


def _work(knowledge: Knowledge) -> Iterator[Mutant]:
    for name, item in knowledge.operations.items():
        yield from _shifted("operations", name, "rung", item.rung)
        yield from _one_left_out("operations", name, "brings", item.brings, "work dropped")
    for name, cause in knowledge.causes.items():
        yield from _shifted("causes", name, "seen_at", cause.seen_at)
        if len(cause.cured_by) > 1:
            yield from _one_left_out("causes", name, "cured_by", cause.cured_by, "cure dropped")
    for name, scope in knowledge.scopes.items():
        yield from _one_left_out("scopes", name, "always", scope.always, "work dropped")


def _shifted(kind: str, name: str, field: str, steps: tuple[Step, ...]) -> Iterator[Mutant]:
    """Each step of an entry a rung shallower or deeper."""
    for index, step in enumerate(steps):
        for rung in _steps(step.rung, RUNGS):
            changed = (*steps[:index], Step(rung, step.when), *steps[index + 1 :])
            yield Mutant(
                f"{kind}/{name} {field} {index + 1}: {step.rung} -> {rung}",
                "rung",
                WORK,
                _replace(kind, name, **{field: changed}),
            )


def _one_left_out(kind: str, name: str, field: str, ids: tuple[str, ...], sort: str) -> Iterator[Mutant]:
    """An entry without one of the ids of a field at a time."""
    for out in ids:
        left = tuple(key for key in ids if key != out)
        yield Mutant(f"{kind}/{name} {field}: without {out}", sort, WORK, _replace(kind, name, **{field: left}))


def _holds(knowledge: Knowledge) -> Iterator[Mutant]:
    for name in knowledge.holds:
        yield Mutant(f"holds/{name}: dropped", "hold dropped", HOLDS, _without("holds", name))
    for name in knowledge.contradictions:
        yield Mutant(
            f"contradictions/{name}: dropped", "contradiction dropped", HOLDS, _without("contradictions", name)
        )


def _settings(knowledge: Knowledge) -> Iterator[Mutant]:
    settings = knowledge.settings

    def make(**changes: Any) -> Callable[[Knowledge], Knowledge]:
        return lambda base: dataclasses.replace(base, settings=dataclasses.replace(base.settings, **changes))

    for sign, factor in (("+", 1.1), ("-", 0.9)):
        for word, value in settings.words.items():
            yield Mutant(
                f"settings words {word} {sign}10 %",
                "threshold",
                ODDS,
                make(words={**settings.words, word: min(value * factor, 0.999)}),
            )
        for word, value in settings.base_words.items():
            yield Mutant(
                f"settings base_words {word} {sign}10 %",
                "threshold",
                ODDS,
                make(base_words={**settings.base_words, word: value * factor}),
            )
        for speaker, value in settings.misread.items():
            yield Mutant(
                f"settings misread {speaker} {sign}10 %",
                "threshold",
                ODDS,
                make(misread={**settings.misread, speaker: value * factor}),
            )
        for name in ("slight_share", "seen_open", "direct_mistaken"):
            yield Mutant(
                f"settings {name} {sign}10 %", "threshold", ODDS, make(**{name: getattr(settings, name) * factor})
            )
        yield Mutant(
            f"settings include_at {sign}10 %", "threshold", WORK, make(include_at=settings.include_at * factor)
        )
