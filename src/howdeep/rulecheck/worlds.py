"""Every way the facts of some conditions can be answered, decided exhaustively.

A fact's values are told apart only where a condition in question tells them apart: words and ranges of numbers (and
tuples of them, one per cylinder) that give every test the same truth are one class. A space is the product of those
classes, one axis a fact; a condition is an array over the axes it reads, so that most arrays stay small.

What is not modelled widens the space and never narrows it: facts are free of each other but for `applies` and
`follows`, and reduced facts are free of the readings they come from. So "can never" and "always" are proofs; "can" is
not.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

import numpy as np

from ..arrays import Bools, Ints, Truths
from ..knowledge.condition_names import fact_shapes
from ..logic.evaluate import KLEENE, Kleene, element_test, value_test
from ..model.condition import AllOf, AnyOf, Condition, FactTest, FindingTest, Not, facts_read, walk
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.truth import Truth

ABSENT, UNKNOWN, PRESENT = 0, 1, 2
MAX_CELLS = 6_000_000
MAX_AXES = 30
MAX_TUPLES = 6000
_CODE = {True: PRESENT, False: ABSENT, None: UNKNOWN}
_TRUTHS = (Truth.UNKNOWN, Truth.ABSENT, Truth.PRESENT)
_KLEENE = {code: kleene for kleene, code in _CODE.items()}


class TooWide(Exception):
    """More combinations than are looked at exhaustively."""


_Codes = TypeVar("_Codes", Truths, Bools)


@dataclass(frozen=True, slots=True)
class Classes:
    """The classes of one fact: representative values (None: not answered) and each test's truth in every class."""

    values: tuple[Any, ...]
    truths: dict[FactTest, Truths]


class Vocabulary:
    """What can be asked of the facts of one rule base; spaces are made from it."""

    def __init__(self, knowledge: Knowledge):
        self.knowledge = knowledge
        self.limits = {name: limit.value for name, limit in knowledge.limits.items()}
        self.shapes = fact_shapes(knowledge)
        self.ranges = {name: item.range for name, item in knowledge.observations.items() if item.range is not None}
        self.implied: dict[str, set[str]] = {}
        """Observation -> its answers that other answers imply."""
        for item in knowledge.observations.values():
            for others in item.implies.values():
                for name, word in others.items():
                    self.implied.setdefault(name, set()).add(word)
        self._expanded: dict[str, Condition] = {}
        self._classes: dict[tuple[str, frozenset[FactTest]], Classes] = {}
        self._lessened: dict[tuple[str, frozenset[FactTest]], tuple[tuple[int, int], ...]] = {}

    def expand(self, condition: Condition) -> Condition:
        """The condition with every finding it reads replaced by that finding's own condition."""
        if isinstance(condition, FindingTest):
            name = condition.finding
            if name not in self._expanded:
                self._expanded[name] = self.expand(self.knowledge.findings[name].when)
            return self._expanded[name]
        if isinstance(condition, Not):
            return Not(self.expand(condition.part))
        if isinstance(condition, (AllOf, AnyOf)):
            return type(condition)(tuple(self.expand(part) for part in condition.parts))
        return condition

    def applies_of_reduced(self, fact: str) -> Condition | None:
        """Kinds of engine on which one of a reduced fact's readings can be taken; None for every kind."""
        reduced = self.knowledge.reduced.get(fact)
        wanted = [self.knowledge.observations[name].applies for name in reduced.taken_from] if reduced else []
        known = [applies for applies in wanted if applies is not None]
        return AnyOf(tuple(dict.fromkeys(known))) if known and len(known) == len(wanted) else None

    def facts(self, condition: Condition) -> frozenset[str]:
        """Facts that a condition reads, also through the findings it reads."""
        return facts_read(self.expand(condition))

    def space(
        self,
        *conditions: Condition,
        engine: Mapping[str, Any] | None = None,
        down: bool = False,
        as_given: bool = False,
    ) -> Space:
        """The space of some conditions; on one engine, or on any. Raises TooWide.

        Where the findings a condition reads make it too wide, they are taken as free instead (a wider claim), but not
        with `down`: then it goes down to the answers or is too wide. `as_given` lets a follow-up stand although its
        ground is gone, as a job file can hold it: contradictions read answers so.
        """
        try:
            return Space(
                self, tuple(self.expand(condition) for condition in conditions), engine, expand=True, as_given=as_given
            )
        except TooWide:
            if down:
                raise
            return Space(self, conditions, engine, expand=False, as_given=as_given)

    def classes(self, fact: str, tests: frozenset[FactTest]) -> Classes:
        """The classes into which some tests divide a fact's values."""
        key = (fact, tests)
        if key not in self._classes:
            self._classes[key] = self._divide(fact, sorted(tests, key=repr))
        return self._classes[key]

    def lessened(self, fact: str, tests: frozenset[FactTest]) -> tuple[tuple[int, int], ...]:
        """(class, class it becomes when one answer is taken away): the whole answer, or that of one cylinder."""
        key = (fact, tests)
        if key not in self._lessened:
            ordered = sorted(tests, key=repr)
            classes = self.classes(fact, tests)
            number = {
                tuple(_KLEENE[int(classes.truths[test][row])] for test in ordered): row
                for row in range(len(classes.values))
            }
            holds = [value_test(test, self.limits) for test in ordered]
            pairs = {(row, 0): None for row in range(1, len(number))}
            if any(test.cylinders != "" for test in ordered):
                pairs = {}
                for value in self._values(fact, ordered):
                    row = number[tuple(hold(value) for hold in holds)]
                    for place, item in enumerate(value):
                        if item is not None:
                            less = (*value[:place], None, *value[place + 1 :])
                            pairs[row, number[tuple(hold(less) for hold in holds)]] = None
            self._lessened[key] = tuple(sorted(pair for pair in pairs if pair[0] != pair[1]))
        return self._lessened[key]

    def _divide(self, fact: str, tests: list[FactTest]) -> Classes:
        known = fact.startswith("engine.") or fact == "scope"
        seen: dict[tuple[Kleene, ...], Any] = {} if known else {(None,) * len(tests): None}
        holds = [value_test(test, self.limits) for test in tests]
        for value in self._values(fact, tests):
            seen.setdefault(tuple(hold(value) for hold in holds), value)
        truths = {
            test: np.array([_CODE[row[index]] for row in seen], dtype=np.int8) for index, test in enumerate(tests)
        }
        return Classes(tuple(seen.values()), truths)

    def _values(self, fact: str, tests: list[FactTest]) -> Iterable[Any]:
        shape = self.shapes.get(fact)
        each = any(test.cylinders != "" for test in tests)
        words = (
            shape.words
            if shape and shape.words
            else tuple(dict.fromkeys(word for test in tests for word in test.one_of))
        )
        singles = list(words) if words else self._numbers(fact, tests)
        if not each:
            yield from singles
            return
        holds = [element_test(test, self.limits) for test in tests]
        kinds = list({tuple(hold(value) for hold in holds): value for value in singles}.values())
        elements = [*kinds, None]
        wanted = max((test.cylinders for test in tests if isinstance(test.cylinders, int)), default=0)
        longest = max(4, min(wanted + 1, 7))
        while longest > max(2, wanted) and sum(len(elements) ** n for n in range(1, longest + 1)) > MAX_TUPLES:
            longest -= 1
        for count in range(1, longest + 1):
            yield from itertools.product(elements, repeat=count)

    def _numbers(self, fact: str, tests: list[FactTest]) -> list[float]:
        if fact == "engine.cylinders":
            return [float(count) for count in range(1, 7)]
        cuts = sorted(
            {
                self.limits.get(bound, 0.0) if isinstance(bound, str) else bound
                for test in tests
                for _, bound in test.bounds
            }
        )
        if not cuts:
            return [0.0]
        low, high = self.ranges.get(fact, (cuts[0] - 1.0, cuts[-1] + 1.0))
        between = [(first + second) / 2 for first, second in itertools.pairwise(cuts)]
        values = {low, high, *cuts, *between, (low + cuts[0]) / 2, (cuts[-1] + high) / 2}
        return sorted(value for value in values if low <= value <= high)


class Space:
    """The product of the classes of every fact that some conditions read."""

    def __init__(
        self,
        vocabulary: Vocabulary,
        conditions: tuple[Condition, ...],
        engine: Mapping[str, Any] | None,
        *,
        expand: bool,
        as_given: bool = False,
    ):
        self._vocabulary, self._expand, self._as_given = vocabulary, expand, as_given
        grounds = self._grounds(conditions)
        tests: dict[str, set[FactTest]] = {}
        findings: dict[str, None] = {}
        for condition in (*conditions, *(ground for pair in grounds.values() for ground in pair if ground)):
            for part in walk(condition):
                if isinstance(part, FactTest):
                    tests.setdefault(part.fact, set()).add(part)
                elif isinstance(part, FindingTest):
                    findings[part.finding] = None
        self._classes: dict[str, Classes] = {}
        for fact in sorted(tests):
            classes = vocabulary.classes(fact, frozenset(tests[fact]))
            self._classes[fact] = self._on(engine, fact, classes) if engine and fact in engine else classes
        self._sizes = {
            **{fact: len(item.values) for fact, item in self._classes.items()},
            **{f"finding {name}": 3 for name in sorted(findings)},
        }
        self.axes = tuple(self._sizes)
        self.cells = int(np.prod([float(size) for size in self._sizes.values()])) if self._sizes else 1
        if self.cells > MAX_CELLS or len(self.axes) > MAX_AXES:
            raise TooWide(f"{self.cells:,} combinations")
        self._axis = {name: index for index, name in enumerate(self.axes)}
        self.allowed = self._allowed(grounds)

    def truth(self, condition: Condition) -> Truths:
        """Truth of a condition over the space (0 absent, 1 unknown, 2 present), ready to broadcast."""
        return self._truth(self._vocabulary.expand(condition) if self._expand else condition)

    def lean(self, fact: str, *truths: Truths) -> dict[str, Any]:
        """An allowed world in which all are present, and none would be, had one answer of the fact not been given.

        For a fact with one value per cylinder an answer is that of one cylinder. Empty where there is no such world.
        """
        axis = self._axis[fact]
        for before, after in self._vocabulary.lessened(fact, frozenset(self._classes[fact].truths)):
            here = np.zeros(self._sizes[fact], dtype=bool)
            here[before] = True
            mask: Bools = self._spread(fact, here)
            for truth in truths:
                less = truth if truth.shape[axis] == 1 else np.take(truth, [after], axis=axis)
                mask = mask & (truth == PRESENT) & (less != PRESENT)
            if self.any(mask):
                return self.witness(mask)
        return {}

    def known(self, fact: str) -> Bools:
        """Where a fact is answered."""
        return self._spread(fact, np.array([value is not None for value in self._classes[fact].values]))

    def any(self, mask: Bools) -> bool:
        """Whether some allowed world lies in the mask."""
        return bool(np.any(mask & self.allowed))

    def witness(self, mask: Bools) -> dict[str, Any]:
        """Answers of one allowed world in the mask (the fewest answers first); empty where there is none."""
        both = mask & self.allowed
        if not both.any():
            return {}
        found = np.argwhere(both)
        row = found[int(np.argmin(np.count_nonzero(found, axis=1)))]
        return {
            name: self._classes[name].values[row[axis]]
            for name, axis in self._axis.items()
            if name in self._classes and both.shape[axis] > 1 and self._classes[name].values[row[axis]] is not None
        }

    def allowed_worlds(self) -> Ints:
        """Every allowed world, as one row of class numbers (in the order of `axes`) each."""
        return np.argwhere(np.broadcast_to(self.allowed, tuple(self._sizes.values())))

    def world(self, row: Ints) -> dict[str, Any]:
        """The answers of one world of `allowed_worlds`; a fact that is not answered is left out."""
        values = {
            name: self._classes[name].values[row[axis]] for name, axis in self._axis.items() if name in self._classes
        }
        return {name: value for name, value in values.items() if value is not None}

    def free_findings(self, row: Ints) -> dict[str, Truth]:
        """The findings taken as free in one world of `allowed_worlds`."""
        return {
            name.removeprefix("finding "): _TRUTHS[row[axis]]
            for name, axis in self._axis.items()
            if name.startswith("finding ")
        }

    @staticmethod
    def at(truth: Truths, row: Ints) -> int:
        """The truth in one world of `allowed_worlds`."""
        return int(truth[tuple(place if size > 1 else 0 for place, size in zip(row, truth.shape, strict=True))])

    @staticmethod
    def _on(engine: Mapping[str, Any], fact: str, classes: Classes) -> Classes:
        truths = {}
        for test in classes.truths:
            truths[test] = np.array([_CODE[value_test(test, {})(engine[fact])]], dtype=np.int8)
        return Classes((engine[fact],), truths)

    def _grounds(self, conditions: tuple[Condition, ...]) -> dict[str, tuple[Condition | None, Condition | None]]:
        """Observation -> (applies, follows) as far as they bear on these conditions."""
        read = {fact for condition in conditions for fact in facts_read(condition)}
        grounds: dict[str, tuple[Condition | None, Condition | None]] = {}
        for fact in sorted(read):
            item = self._vocabulary.knowledge.observations.get(fact)
            if item is None:
                applies = self._vocabulary.applies_of_reduced(fact)
                if applies is not None:
                    grounds[fact] = (applies, None)
                continue
            # a ground that nothing here asks about may always be unanswered, and then it forbids nothing
            follows = item.follows if item.follows is not None and facts_read(item.follows) & read else None
            if self._as_given or (follows is not None and any(isinstance(part, FindingTest) for part in walk(follows))):
                follows = None
            if item.applies is not None or follows is not None:
                grounds[fact] = (item.applies, follows)
        return grounds

    def _allowed(self, grounds: Mapping[str, tuple[Condition | None, Condition | None]]) -> Bools:
        allowed = np.ones((1,) * len(self.axes), dtype=bool)
        for fact, (applies, follows) in grounds.items():
            fits = ~self.known(fact) | self._implied(fact)
            ok = np.ones_like(allowed)
            if applies is not None:
                ok = ok & (self._truth(applies) == PRESENT)
            if follows is not None:
                ok = ok & (self._truth(follows) != ABSENT)
            allowed = allowed & (fits | ok)
        return allowed

    def _implied(self, fact: str) -> Bools:
        """Where a fact's value may follow from another answer, whatever its own ground."""
        classes = self._classes[fact]
        tests = list(classes.truths)
        rows = {
            tuple(_CODE[value_test(test, self._vocabulary.limits)(word)] for test in tests)
            for word in self._vocabulary.implied.get(fact, ())
        }
        return self._spread(
            fact,
            np.array(
                [
                    tuple(int(classes.truths[test][place]) for test in tests) in rows
                    for place in range(len(classes.values))
                ]
            ),
        )

    def _truth(self, condition: Condition) -> Truths:
        if isinstance(condition, FactTest):
            return self._spread(condition.fact, self._classes[condition.fact].truths[condition])
        if isinstance(condition, FindingTest):
            codes = np.array([_CODE[KLEENE[truth]] for truth in _TRUTHS], dtype=np.int8)
            return self._spread(f"finding {condition.finding}", codes)
        if isinstance(condition, Not):
            return PRESENT - self._truth(condition.part)
        fold = np.minimum if isinstance(condition, AllOf) else np.maximum
        result = self._truth(condition.parts[0])
        for part in condition.parts[1:]:
            result = fold(result, self._truth(part))
        return result

    def _spread(self, axis: str, values: _Codes) -> _Codes:
        shape = [1] * len(self.axes)
        shape[self._axis[axis]] = len(values)
        return values.reshape(shape)
