"""The checks that can be made now, and the facts that each of their outcomes would give."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterator, Mapping

from ..knowledge.engine_facts import count_of
from ..logic.applicability import asked_on
from ..logic.stratify import once_per_value
from ..model.condition import FactTest, walk
from ..model.engine import Engine
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.observations import Check, Observation
from ..model.terms import RISKS, Risk
from ..model.values import Value, Values
from .askable import Askable, askable
from .running import NOTHING, Forbidden

Written = str | float | Mapping[str, str | float]
"""The value of a fact as an outcome of a check writes it."""


@dataclass(frozen=True, slots=True)
class PossibleOutcome:
    """One way a check may turn out."""

    answer: str
    title: str
    facts: dict[str, Value]
    """Facts it would give that are not known yet."""


@dataclass(frozen=True, slots=True)
class OpenCheck:
    """A check that can be made now."""

    check: str
    title: str
    observations: tuple[str, ...]
    """Those still to be made."""
    minutes: float
    risk: Risk
    setup: str
    moment: str
    outcomes: tuple[PossibleOutcome, ...]
    uses: tuple[str, ...] = ()
    """Parts that it uses up, one of each."""
    days: float = 0.0
    """Days until its answer is there."""


def open_checks(
    knowledge: Knowledge,
    engine: Engine,
    facts: Values,
    made: Collection[str],
    forbidden: Forbidden = NOTHING,
    *,
    later: bool = False,
) -> tuple[OpenCheck, ...]:
    """Every bundle and every single question or check that can be made now, in order of id.

    `made` are observations that have an answer, "don't know" included. Not offered: what was made, does not apply to
    the engine, has lost or not yet found its ground, needs what the engine cannot do (one that stands open can do
    nothing) or, by a danger, must not do (`forbidden`), needs a tool that the shop does not own, or would not be valid
    now.
    A bundle whose observations are partly made keeps only the outcomes that agree with what is known. With `later` also
    those single ones whose ground is not known yet.
    """
    offers = _Offers(knowledge, engine, askable(knowledge, engine, facts, made, forbidden))
    result = [offers.bundle(name, check) for name, check in knowledge.checks.items()]
    result += [offers.single(name, item, later) for name, item in knowledge.observations.items()]
    return tuple(
        sorted((check for check in result if check is not None and check.outcomes), key=lambda check: check.check)
    )


def open_questions(
    knowledge: Knowledge, engine: Engine, facts: Values, made: Collection[str], forbidden: Forbidden = NOTHING
) -> tuple[OpenCheck, ...]:
    """Every single question of the counter that can be asked now, in order of id, those among them whose ground is not
    known yet; arguments as of `open_checks`."""
    offers = _Offers(knowledge, engine, askable(knowledge, engine, facts, made, forbidden))
    found = (
        offers.single(name, item, True)
        for name, item in sorted(knowledge.observations.items())
        if item.moment == "talk"
    )
    return tuple(question for question in found if question is not None and question.outcomes)


@dataclass(frozen=True, slots=True, eq=False)
class _Offers:
    knowledge: Knowledge
    engine: Engine
    asked: Askable

    def bundle(self, name: str, check: Check) -> OpenCheck | None:
        fitting = [item for item in check.observations if self.asked.applies(item)]
        still = [item for item in fitting if item not in self.asked.made]
        if all(self.knowledge.observations[item].group == "test_conditions" for item in still):
            return None  # nothing left to measure: conditions alone are no check
        if not all(self.asked.now(item, later=index > 0) for index, item in enumerate(still)):
            return None
        items = [self.knowledge.observations[item] for item in still]
        outcomes = []
        for answer, outcome in check.outcomes.items():
            given = self._given(outcome.facts)
            if given is not None:
                outcomes.append(PossibleOutcome(answer, outcome.title, given))
        minutes = check.minutes
        if len(still) < len(fitting):
            minutes = min(minutes, sum(item.minutes for item in items))
        return OpenCheck(
            name,
            check.title,
            tuple(still),
            minutes,
            _worst_risk(items),
            items[0].setup,
            _moment(items),
            tuple(outcomes),
            tuple(part for item in items for part in item.uses),
            max(item.days for item in items),
        )

    def single(self, name: str, item: Observation, later: bool = False) -> OpenCheck | None:
        if not self.asked.now(name, later=later):
            return None
        return OpenCheck(
            name,
            item.title,
            (name,),
            item.minutes,
            item.risk,
            item.setup,
            item.moment,
            tuple(self._answers(name, item)),
            item.uses,
            item.days,
        )

    def _answers(self, name: str, item: Observation) -> Iterator[PossibleOutcome]:
        """One outcome an answer; where each cylinder has its own, also one cylinder differing from sound others."""
        if item.rows or item.columns:
            return
        if item.kind == "number":
            if not item.each:
                yield from _bands(name, item, thresholds_of(self.knowledge).get(name, ()))
            return
        if not item.each:
            for answer, title in asked_on(item, self.asked.built).answers.items():
                yield PossibleOutcome(answer, title, {name: answer})
            return
        count = count_of(self.engine, item.each)
        sound = (item.worsens or tuple(item.answers))[0]
        for answer, title in item.answers.items():
            yield PossibleOutcome(f"every {answer}", f"every one: {title}", {name: (answer,) * count})
        for answer, title in item.answers.items():
            if answer != sound and count > 1:
                yield PossibleOutcome(
                    f"one {answer}",
                    f"one: {title}; the others: {item.answers[sound]}",
                    {name: (answer, *(sound,) * (count - 1))},
                )

    def _given(self, facts: Mapping[str, Written]) -> dict[str, Value] | None:
        """The facts of a bundle's outcome that are not known; None where it contradicts what is known or cannot be."""
        given: dict[str, Value] = {}
        for fact, pattern in facts.items():
            entry = self.knowledge.observations.get(fact) or self.knowledge.reduced.get(fact)
            each = entry.each if entry is not None else ""
            value = expanded(pattern, count_of(self.engine, each) if each else 0)
            if value is None:
                return None
            known = self.asked.facts.get(fact)
            if known is None:
                given[fact] = value
            elif not _agrees(pattern, value, known):
                return None
        return given


def expanded(pattern: Written, count: int) -> Value | None:
    """The value of a fact as an outcome writes it; for `count` cylinders (journals, valves) a tuple.

    {each: v}, {one: v, others: w} and {neighbours: v, others: w}; None where the engine has too few for the pattern.
    """
    if not count:
        return pattern if not isinstance(pattern, Mapping) else next(iter(pattern.values()))
    if not isinstance(pattern, Mapping):
        return (pattern,) * count
    if "each" in pattern:
        return (pattern["each"],) * count
    special, width = (pattern["one"], 1) if "one" in pattern else (pattern["neighbours"], 2)
    if count < width or (count == width and (width > 1 or "others" in pattern)):
        return None
    return (special,) * width + (pattern.get("others"),) * (count - width)


def _agrees(pattern: Written, value: Value, known: Value) -> bool:
    """Whether a known value is the outcome's, whichever cylinder it is that differs."""
    if not isinstance(value, tuple) or not isinstance(known, tuple):
        return value == known
    if len(value) != len(known) or not isinstance(pattern, Mapping) or "each" in pattern:
        return value == known
    width = 1 if "one" in pattern else 2
    places = [place for place, item in enumerate(known) if item == value[0]]
    others = all(item == value[-1] for place, item in enumerate(known) if place not in places)
    return len(places) == width and others and places[-1] - places[0] == width - 1


@once_per_value(keep=4)
def thresholds_of(knowledge: Knowledge) -> dict[str, tuple[float, ...]]:
    """Number fact -> the figures that findings compare it with, in order."""
    found: dict[str, set[float]] = {}
    for finding in knowledge.findings.values():
        for part in walk(finding.when):
            if isinstance(part, FactTest):
                for _, bound in part.bounds:
                    value = knowledge.limits[bound].value if isinstance(bound, str) else bound
                    found.setdefault(part.fact, set()).add(float(value))
    return {fact: tuple(sorted(values)) for fact, values in sorted(found.items())}


def _bands(name: str, item: Observation, bounds: tuple[float, ...]) -> Iterator[PossibleOutcome]:
    """One outcome for each band between the figures that findings compare a number with."""
    if not bounds:
        return
    low, high = item.range or (bounds[0] - 1, bounds[-1] + 1)
    edges = [low, *[bound for bound in bounds if low < bound < high], high]
    for number, (start, end) in enumerate(itertools.pairwise(edges)):
        if number == 0:
            title = f"below {end:g} {item.unit}"
        elif number == len(edges) - 2:
            title = f"above {start:g} {item.unit}"
        else:
            title = f"{start:g} to {end:g} {item.unit}"
        yield PossibleOutcome(title.strip(), title.strip(), {name: (start + end) / 2})


def _worst_risk(items: list[Observation]) -> Risk:
    return max((item.risk for item in items), key=RISKS.index)


def _moment(items: list[Observation]) -> str:
    return "talk" if all(item.moment == "talk" for item in items) else "test"
