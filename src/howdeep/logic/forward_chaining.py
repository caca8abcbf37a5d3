"""Forward chaining: a set of rules and the known facts to conclusions, with every firing as a value."""

from __future__ import annotations

import functools
import hashlib
import itertools
from collections.abc import Iterator, Mapping
from dataclasses import field
from typing import TYPE_CHECKING

from ..errors import Fault, HowdeepError
from ..model.condition import Condition
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.results import Conclusions, Firing
from ..model.truth import Truth
from ..model.values import Value, Values
from .positive_rules import Compiled, FactPattern, FindingPattern, PositiveRule, compile_rules, resolve
from .stratify import in_order, once_per_value

if TYPE_CHECKING:
    from ._experta import _Engine


@dataclass(frozen=True, slots=True)
class RuleSet:
    """Rules to run together. Make one with `rule_set`; two with the same content are equal."""

    rules: tuple[tuple[str, Condition], ...] = field(compare=False)
    """(id, condition) in order of id; limits are figures."""
    digest: str
    """Hash of the content."""


def rule_set(conditions: Mapping[str, Condition], limits: Mapping[str, float]) -> RuleSet:
    """Rules from id -> condition, with limits put in as figures. Raises HowdeepError where they lead in a circle."""
    in_order(conditions)
    rules = tuple((name, resolve(conditions[name], limits)) for name in sorted(conditions))
    return RuleSet(rules, hashlib.sha256(repr(rules).encode()).hexdigest())


@once_per_value(keep=8)
def finding_rules(knowledge: Knowledge) -> RuleSet:
    """The findings of the rule base as a rule set, made once for each rule base."""
    return rule_set(
        {name: finding.when for name, finding in knowledge.findings.items()},
        {name: limit.value for name, limit in knowledge.limits.items()},
    )


def conclude(
    rules: RuleSet, facts: Values, given: Mapping[str, Truth] | None = None, limit: int | None = None
) -> Conclusions:
    """Run the rules once over the facts.

    `facts` are name -> value (a missing one or None is unknown); `given` are findings concluded elsewhere that these
    rules may read. Findings are in order of id, firings in order of id, present before absent, then alternative.
    Raises HowdeepError naming the rule where more than `limit` rules fire (without one: as many as there are).
    """
    from . import _experta

    known = {name: truth is Truth.PRESENT for name, truth in (given or {}).items() if truth is not Truth.UNKNOWN}
    own = dict(rules.rules)
    try:
        elsewhere = {name: truth for name, truth in known.items() if name not in own}
        fired = _experta.run(_engine_for(rules, facts), facts, elsewhere, limit)
    except _experta.TooManyFirings as error:
        raise HowdeepError(
            Fault(
                "",
                0,
                0,
                f"the rule '{error.rule.name}' fired beyond the limit of {error.limit} firings",
                "a rule can fire once only: this is a defect of the program",
            )
        ) from None
    return _conclusions(_compiled(rules), fired, own, facts)


@functools.lru_cache(maxsize=16)
def _compiled(rules: RuleSet) -> Compiled:
    return compile_rules(dict(rules.rules))


def _engine_for(rules: RuleSet, facts: Values) -> type[_Engine]:
    """The engine class of the rules; the first time that they run, of those alone that these facts can fire. A command
    runs them once, and nine in ten need a fact that the job does not tell."""
    if next(_runs(rules)):
        return _engine_class(rules)
    from . import _experta

    return _experta.build(
        _compiled(rules),
        lambda rule: all(
            facts.get(pattern.fact) is not None for pattern in rule.patterns if isinstance(pattern, FactPattern)
        ),
    )


@functools.lru_cache(maxsize=16)
def _runs(rules: RuleSet) -> Iterator[int]:
    """How often the rules have run in this process."""
    return itertools.count()


@functools.lru_cache(maxsize=16)
def _engine_class(rules: RuleSet) -> type[_Engine]:
    from . import _experta

    return _experta.build(_compiled(rules))


def _conclusions(compiled: Compiled, fired: list[int], own: Mapping[str, Condition], facts: Values) -> Conclusions:
    """Firings of findings, with the firings of the steps inside them folded in."""
    of_step: dict[int, list[PositiveRule]] = {}
    for index in fired:
        rule = compiled.rules[index]
        if rule.step >= 0:
            of_step.setdefault(rule.step, []).append(rule)

    def matched(rule: PositiveRule) -> set[tuple[str, str]]:
        found: set[tuple[str, str]] = set()
        for pattern in rule.patterns:
            if isinstance(pattern, FactPattern):
                found.add((pattern.fact, shown(facts[pattern.fact])))
            elif isinstance(pattern, FindingPattern):
                found.add((pattern.finding, (Truth.PRESENT if pattern.wanted else Truth.ABSENT).value))
            else:
                for inner in of_step[pattern.step]:
                    found |= matched(inner)
        return found

    findings = dict.fromkeys(own, Truth.UNKNOWN)
    firings = []
    for index in fired:
        rule = compiled.rules[index]
        if rule.step >= 0:
            continue
        truth = Truth.PRESENT if rule.wanted else Truth.ABSENT
        if findings[rule.name] is ~truth:
            raise RuntimeError(f"'{rule.name}' was concluded both present and absent")
        findings[rule.name] = truth
        firings.append(Firing(rule.name, truth, tuple(sorted(matched(rule)))))
    return Conclusions(findings, tuple(firings))


def shown(value: Value) -> str:
    """A fact's value in a few letters: a word, a number, or one per cylinder with a dash where not taken."""
    if isinstance(value, tuple):
        return ", ".join("-" if item is None else shown(item) for item in value)
    return f"{value:g}" if isinstance(value, float) else str(value)
