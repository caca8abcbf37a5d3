"""The one module that knows experta: positive rules in, firings out.

What was measured of experta 1.9.4 shapes it:

- `NOT` fires rules that should not fire, in-field alternatives and `OR` explode: neither is used.
- Rules of equal rank fire in an order that changes from process to process: each has a rank of its own.
- A fact is shown to every first test in the network, and each look costs microseconds. So each name has a fact class of
  its own, and a fact is handed straight to the tests of its class.
- Values travel in an opaque box: `True`, `1` and `1.0` would be one value, NaN would not equal itself, and what cannot
  be hashed could not be told at all.
- Bringing rules into experta's normal form and wiring them took 60-180 ms for 150 findings. The rules here are in that
  form from the start (a conjunction of facts), so the network is made of experta's nodes directly.
- experta keeps every fact class, test and capture it ever saw. Classes and tests are therefore shared between rule sets
  and nothing is captured: what it keeps grows with what is written in rules, not with the number of consultations.
"""

from __future__ import annotations

import bisect
import collections
import collections.abc
import functools
import logging
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, ClassVar

from ..model.condition import Condition, facts_read
from .evaluate import OfAll, compiled
from .positive_rules import Compiled, FactPattern, FindingPattern, Pattern, PositiveRule


def _import_experta() -> Any:
    """Import experta without a trace: neither the name its dependency looks for, nor a handler on the root logger."""
    supplied = not hasattr(collections, "Mapping")
    root = logging.getLogger()
    handlers, level = list(root.handlers), root.level
    if supplied:
        collections.Mapping = collections.abc.Mapping  # type: ignore[attr-defined]  # a name of older Pythons
    try:
        import experta
        import experta.matchers.rete

        return experta
    finally:
        if supplied:
            del collections.Mapping  # type: ignore[attr-defined]  # it was put there above
        for handler in [item for item in root.handlers if item not in handlers]:
            root.removeHandler(handler)
            handler.close()
        root.setLevel(level)


if TYPE_CHECKING:  # experta says nothing of its types: to the checker its classes may be anything
    import experta
    import experta.matchers.rete
else:
    experta = _import_experta()
_nodes = experta.matchers.rete.nodes
_checks = experta.matchers.rete.check

IDLE = 4
"""Engines of a rule set that are kept for the next consultation: as many as threads commonly ask at once."""
_CLASSES: list[type] = []
"""Fact classes, shared by all rule sets."""


class TooManyFirings(Exception):
    """More rules fired than the limit allows. `rule` is the one that went over."""

    def __init__(self, rule: PositiveRule, limit: int):
        self.rule, self.limit = rule, limit
        super().__init__(f"'{rule.name}' went over the limit of {limit} firings")


class Box:
    """Holds a value that experta must neither compare nor hash."""

    __slots__ = ("value",)

    def __init__(self, value: Any):
        self.value = value


class _Rule(experta.Rule):
    """A conjunction of patterns; fired, it notes its number and declares what it concludes."""

    def __new__(cls, patterns: Iterable[Any], number: int, salience: int, rule: PositiveRule, concluded: type) -> _Rule:
        made: _Rule = super().__new__(cls, *patterns, salience=salience)
        made.number, made.positive, made.concluded = number, rule, concluded
        made.tests = tuple(
            (type(item), _checks.FeatureCheck("box", item["box"]) if "box" in item else None) for item in made
        )
        made.__name__ = f"howdeep_{number:05d}"
        return made

    def __call__(self, engine: _Engine, **context: Any) -> None:
        if len(engine.fired) >= engine.limit:
            raise TooManyFirings(self.positive, engine.limit)
        engine.fired.append(self.number)
        engine.declare(self.concluded())

    __hash__, __eq__ = object.__hash__, object.__eq__


class _Matcher(experta.matchers.ReteMatcher):
    """experta's network for plain conjunctions, with each fact handed straight to the tests of its class."""

    def build_network(self) -> None:
        self.first: dict[type, Any] = {}
        self.tests: dict[int, Any] = {}
        self.memories: list[Any] = []
        self.reached: list[Any] = []
        for rule in self.engine.rules:
            node = self.terminal(*rule.tests[0])
            for test in rule.tests[1:]:
                join, right = _nodes.OrdinaryMatchNode(_checks.SameContextCheck()), self.terminal(*test)
                _lead(node, join, join.activate_left)
                _lead(right, join, join.activate_right)
                self.memories.append(join)
                node = join
            end = _nodes.ConflictSetNode(rule)
            _lead(node, end, functools.partial(self.reach, end))
            self.memories.append(end)

    def reach(self, end: Any, token: Any) -> None:
        """A token has come to the end of a rule: noted, so that not every rule is asked after every firing."""
        end.activate(token)
        self.reached.append(end)

    def terminal(self, kind: type, check: Any) -> Any:
        """The last node of a pattern's own tests: its class, then its predicate if it has one."""
        if kind not in self.first:
            self.first[kind] = _nodes.FeatureTesterNode(_checks.TypeCheck(kind))
        if check is None:
            return self.first[kind]
        if id(check) not in self.tests:  # experta has one check for each predicate, and keeps it
            node = self.tests[id(check)] = _nodes.FeatureTesterNode(check)
            _lead(self.first[kind], node, node.activate)
        return self.tests[id(check)]

    def changes(
        self, adding: Iterable[Any] | None = None, deleting: Iterable[Any] | None = None
    ) -> tuple[list[Any], list[Any]]:
        for fact in adding or ():
            first = self.first.get(type(fact))
            if first is not None:
                first.activate(experta.matchers.rete.token.Token.valid(fact))
        added: list[Any] = []
        for end in self.reached:
            added.extend(end.get_activations()[0])
        self.reached = []
        return added, []  # nothing is ever withdrawn: rules are positive and no fact is retracted

    def reset(self) -> None:
        for node in self.memories:
            node._reset()


def _lead(node: Any, child: Any, callback: Any) -> None:
    """Add a child; experta's own way looks through all the others first, and here there are never two the same."""
    node.children.append(experta.matchers.rete.mixins.ChildNode(child, callback))


class _Strategy(experta.engine.KnowledgeEngine.__strategy__):
    """Highest rank first. Every rule has its own rank and matches at most once, so there are no ties to break."""

    def _update_agenda(self, agenda: Any, added: Iterable[Any], removed: Iterable[Any]) -> None:
        for activation in added:
            activation.key = activation.rule.salience
            bisect.insort(agenda.activations, activation)


class _Engine(experta.KnowledgeEngine):
    """One consultation at a time. A class is made for each rule set; an engine is wired once and used again."""

    __matcher__ = _Matcher
    __strategy__ = _Strategy
    rules: tuple[_Rule, ...]
    facts_of: dict[str, type]
    findings_of: dict[tuple[str, bool], type]
    limit: int
    fired: list[int]

    idle: ClassVar[collections.deque[_Engine]]
    """Engines whose network is built and that hold nothing of a consultation."""

    def forget(self) -> None:
        """Let go of everything that was declared."""
        self.agenda, self.facts, self.fired = experta.engine.Agenda(), experta.engine.FactList(), []
        self.matcher.reset()
        self.matcher.reached = []

    def get_deffacts(self) -> list[Callable[[], Iterator[Any]]]:
        # experta's own are kept on the class and would keep the last engine, with a customer's answers, alive
        return [_initial_facts]


def _initial_facts() -> Iterator[Any]:
    yield experta.InitialFact()


def build(rules: Compiled, wanted: Callable[[PositiveRule], bool] = lambda rule: True) -> type[_Engine]:
    """An engine class for the rules that are wanted. Build it once for each rule set."""
    slots: dict[Any, type] = {}

    def fact_class(*key: Any) -> type:
        if key not in slots:
            if len(slots) == len(_CLASSES):
                _CLASSES.append(type(f"Known{len(_CLASSES)}", (experta.Fact,), {}))
            slots[key] = _CLASSES[len(slots)]
        return slots[key]

    def pattern_of(pattern: Pattern) -> Any:
        if isinstance(pattern, FactPattern):
            return fact_class("fact", pattern.fact)(box=_predicate(pattern.condition, pattern.wanted))
        if isinstance(pattern, FindingPattern):
            return fact_class("finding", pattern.finding, pattern.wanted)()
        return fact_class("step", pattern.step)()

    made = []
    for number, rule in enumerate(rules.rules):
        if not wanted(rule):
            continue
        patterns = [pattern_of(pattern) for pattern in rule.patterns] or [experta.InitialFact()]
        concluded = fact_class("step", rule.step) if rule.step >= 0 else fact_class("finding", rule.name, rule.wanted)
        made.append(_Rule(patterns, number, len(rules.rules) - number, rule, concluded))
    made_class: type[_Engine] = type(
        "Consultation",
        (_Engine,),
        {
            "rules": tuple(made),
            "facts_of": {key[1]: kind for key, kind in slots.items() if key[0] == "fact"},
            "findings_of": {key[1:]: kind for key, kind in slots.items() if key[0] == "finding"},
            "limit": len(made),
            "idle": collections.deque(maxlen=IDLE),
        },
    )
    return made_class


def run(
    engine_class: type[_Engine], facts: Mapping[str, Any], given: Mapping[str, bool], limit: int | None = None
) -> list[int]:
    """Numbers of the rules that fired, in order of number. `given` holds findings known beforehand.

    Raises TooManyFirings at `limit` (without one: the number of rules, for each can fire only once).
    """
    engine = engine_class.idle.pop() if engine_class.idle else engine_class()
    engine.fired = []
    engine.limit = len(engine_class.rules) if limit is None else limit
    engine.reset()
    engine.declare(
        *(kind(box=Box(facts[name])) for name, kind in engine.facts_of.items() if facts.get(name) is not None)
    )
    engine.declare(*(kind() for (name, wanted), kind in engine.findings_of.items() if given.get(name) is wanted))
    engine.run()
    fired = sorted(engine.fired)
    engine.forget()
    engine_class.idle.append(engine)
    return fired


@functools.cache
def _predicate(condition: Condition, wanted: bool) -> Any:
    """A test of one fact's boxed value. One for all equal conditions: experta keeps every test it ever saw."""
    (fact,) = facts_read(condition)
    inner: OfAll | None = None

    def holds(box: Any) -> bool:
        nonlocal inner
        if inner is None:  # of a job, most are never asked
            inner = compiled(condition, {})
        return isinstance(box, Box) and inner({fact: box.value}, {}) is wanted

    return experta.P(holds)
