"""From a finding down to the answers: which rule fired on what, or what was missing for it to be present."""

from __future__ import annotations

from collections.abc import Iterator

from ..errors import Fault, HowdeepError, nearest
from ..model.condition import AllOf, AnyOf, Condition, FactTest, FindingTest, Not, facts_read, findings_read, walk
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.observations import Observation
from ..model.results import Conclusions, Facts, Firing
from ..model.truth import Truth
from ..model.values import Value
from .evaluate import evaluate
from .forward_chaining import shown


@dataclass(frozen=True, slots=True)
class Branch:
    """One statement and what it rests on."""

    text: str
    """One sentence or phrase for a person."""
    kind: str
    """For a statement that holds: 'finding', 'rule', 'answer', 'reading', 'reduced', 'engine', 'odds'. In the tree
    of `why_not`: the truth of that part, 'present', 'absent' or 'unknown'."""
    subject: str
    """Id of the finding or name of the fact; empty for 'all of' and 'any of'."""
    parts: tuple[Branch, ...] = ()

    def leaves(self) -> Iterator[Branch]:
        """The statements at the bottom, in order."""
        if not self.parts:
            yield self
        for part in self.parts:
            yield from part.leaves()


def chain(knowledge: Knowledge, conclusions: Conclusions, facts: Facts, finding: str) -> Branch:
    """What a present or absent finding rests on: rules that fired, down to answers, readings and the engine sheet.

    An unknown finding gives what `why_not` says of it. A finding that is met again further down is named and not told
    again. Raises HowdeepError for an id that is no finding.
    """
    return _Telling(knowledge, conclusions, facts).chain(finding)


def why_not(knowledge: Knowledge, conclusions: Conclusions, facts: Facts, finding: str) -> Branch:
    """Which parts of the condition keep a finding from being present: those that are absent and those not known.

    Of each part of the condition only what makes it absent, or unknown, is shown. The leaves of kind 'unknown' are the
    facts that would decide it. For a finding that is present the tree shows the parts that make it so. Raises
    HowdeepError for an id that is no finding.
    """
    return _Telling(knowledge, conclusions, facts).why_not(finding)


def fact_text(knowledge: Knowledge, name: str, value: Value) -> str:
    """A fact as a person would say it: title, then answer in words, figure with unit, or one per cylinder."""
    return f"{fact_title(knowledge, name)}: {_value_text(knowledge, name, value)}"


def fact_title(knowledge: Knowledge, name: str) -> str:
    """Title of an observation or reduced reading; 'Engine sheet, fuel' for how the engine is built."""
    if name in knowledge.observations:
        return knowledge.observations[name].title
    if name in knowledge.reduced:
        return knowledge.reduced[name].title
    head, _, rest = name.partition(".")
    if head == "engine":
        return f"Engine sheet, {rest.replace('_', ' ')}"
    if head == "odds" and rest in knowledge.causes:
        return f"Odds of {knowledge.causes[rest].title.lower()}"
    return f"{head.capitalize()}: {rest.replace('_', ' ')}" if rest else name.replace("_", " ").capitalize()


def test_text(knowledge: Knowledge, test: FactTest) -> str:
    """What a rule asks of a fact: 'below 9.6 V on any cylinder'."""
    if test.one_of:
        text = " or ".join(f'"{_word_text(knowledge, test.fact, word)}"' for word in test.one_of)
    else:
        texts = []
        for name, bound in test.bounds:
            figure = knowledge.limits[bound].value if bound in knowledge.limits else bound
            texts.append(f"{name.replace('_', ' ')} {_with_unit(knowledge, test.fact, figure)}")
        text = " and ".join(texts)
    each = _each(knowledge, test.fact)
    if isinstance(test.cylinders, int):
        return f"{text} on at least {test.cylinders} {each}s"
    return (
        text
        + {
            "": "",
            "any": f" on any {each}",
            "every": f" on every {each}",
            "neighbours": f" on two {each}s side by side",
        }[test.cylinders]
    )


_EACH = {
    "cylinder": "cylinder",
    "main": "main journal",
    "crankpin": "crankpin",
    "inlet_valve": "inlet valve",
    "exhaust_valve": "exhaust valve",
    "": "cylinder",
}


def _each(knowledge: Knowledge, fact: str) -> str:
    entry = knowledge.observations.get(fact) or knowledge.reduced.get(fact)
    return _EACH[entry.each if entry else ""]


def _word_text(knowledge: Knowledge, fact: str, word: str) -> str:
    observation = knowledge.observations.get(fact)
    return observation.answers.get(word, word) if observation else word.replace("_", " ")


def _with_unit(knowledge: Knowledge, fact: str, figure: Value) -> str:
    entry = knowledge.observations.get(fact) or knowledge.reduced.get(fact)
    unit = entry.unit if entry else "percent" if fact.startswith("odds.") else ""
    return f"{shown(figure)} {unit}".strip()


def _value_text(knowledge: Knowledge, name: str, value: Value) -> str:
    observation = knowledge.observations.get(name)
    if observation and (observation.rows or observation.columns):
        spots = value if observation.each and isinstance(value, tuple) else (value,)
        texts = ["not taken" if spot is None else _grid_text(observation, spot) for spot in spots]
        return "; ".join(f"{number} {text}" for number, text in enumerate(texts, 1)) if observation.each else texts[0]
    if isinstance(value, tuple):
        return "; ".join(
            f"{number} {'not taken' if item is None else _value_text(knowledge, name, item)}"
            for number, item in enumerate(value, 1)
        )
    return _word_text(knowledge, name, value) if isinstance(value, str) else _with_unit(knowledge, name, value)


def _each_of(value: Value | None) -> tuple[Value | None, ...]:
    return value if isinstance(value, tuple) else (value,)


def _grid_text(observation: Observation, grid: Value) -> str:
    """Readings taken at several places: 'top thrust 3.502, top pin 3.5 in'."""
    rows, columns = observation.rows or ("",), observation.columns or ("",)
    cells = [
        f"{row} {column} {'-' if item is None else shown(item)}".strip()
        for row, line in zip(rows, _each_of(grid), strict=False)
        for column, item in zip(columns, _each_of(line), strict=False)
    ]
    return f"{', '.join(cells)} {observation.unit}".strip()


class _Telling:
    """One explanation: remembers which findings it has already told."""

    def __init__(self, knowledge: Knowledge, conclusions: Conclusions, facts: Facts):
        self.knowledge, self.conclusions, self.facts = knowledge, conclusions, facts
        self.limits = {name: limit.value for name, limit in knowledge.limits.items()}
        self.firings: dict[str, list[Firing]] = {}
        for firing in conclusions.firings:
            self.firings.setdefault(firing.rule, []).append(firing)
        self.told: set[str] = set()

    def title(self, name: str) -> str:
        if name not in self.knowledge.findings:
            raise HowdeepError(Fault("", 0, 0, f"there is no finding '{name}'", nearest(name, self.knowledge.findings)))
        return f"{self.knowledge.findings[name].title}: {self.truth(name).value}"

    def truth(self, name: str) -> Truth:
        return self.conclusions.findings.get(name, Truth.UNKNOWN)

    def holds(self, condition: Condition) -> Truth:
        return evaluate(condition, self.facts.values, self.conclusions.findings, self.limits)

    def chain(self, name: str) -> Branch:
        title = self.title(name)
        if self.truth(name) is Truth.UNKNOWN:
            return self.why_not(name)
        if name in self.told:
            return Branch(f"{title} (told above)", "finding", name)
        self.told.add(name)
        firings = self.firings.get(name, [])
        ways = [self.firing(name, firing) for firing in firings]
        if len(ways) == 1:
            return Branch(title, "finding", name, ways[0])
        return Branch(
            title,
            "finding",
            name,
            tuple(Branch(f"way {number} of {len(ways)}", "rule", name, parts) for number, parts in enumerate(ways, 1)),
        )

    def firing(self, name: str, firing: Firing) -> tuple[Branch, ...]:
        when = self.knowledge.findings[name].when
        facts, findings = facts_read(when), findings_read(when)
        parts = []
        for subject, value in firing.matched:
            is_finding = subject in findings and (subject not in facts or value == self.truth(subject).value)
            parts.append(self.chain(subject) if is_finding else self.fact(subject, when))
        return tuple(parts)

    def fact(self, name: str, when: Condition) -> Branch:
        """A known fact, with what the rule asks of it."""
        value = self.facts.values[name]
        asked = dict.fromkeys(
            test_text(self.knowledge, part) for part in walk(when) if isinstance(part, FactTest) and part.fact == name
        )
        text = f"{fact_text(self.knowledge, name, value)} (the rule asks for: {'; '.join(asked)})"
        if name in self.facts.reductions:
            reduction = self.facts.reductions[name]
            told = Branch(f"{reduction.how} [{reduction.basis}]", "reading", name)
            return Branch(text, "reduced", name, (told, *self.readings(name)))
        if name.startswith("engine."):
            return Branch(text, "engine", name)
        observation = self.knowledge.observations.get(name)
        kind = "odds" if observation is None else "answer" if observation.kind == "choice" else "reading"
        return Branch(text, kind, name)

    def readings(self, reduced: str) -> Iterator[Branch]:
        """The readings that a reduced fact was taken from, as given."""
        for name in self.knowledge.reduced[reduced].taken_from if reduced in self.knowledge.reduced else ():
            if name in self.facts.values:
                yield Branch(fact_text(self.knowledge, name, self.facts.values[name]), "reading", name)

    def why_not(self, name: str) -> Branch:
        title, truth = self.title(name), self.truth(name).value
        if name in self.told:
            return Branch(f"{title} (told above)", "finding", name)
        self.told.add(name)
        return Branch(title, truth, name, (self.part(self.knowledge.findings[name].when, True),))

    def not_taken(self, reduced: str) -> tuple[Branch, ...]:
        """The readings for want of which a reduced fact is not known; nothing where all were taken and did not do."""
        entry = self.knowledge.reduced.get(reduced)
        return tuple(
            Branch(f"{fact_title(self.knowledge, name)}: not taken", "unknown", name)
            for name in (entry.taken_from if entry else ())
            if name not in self.facts.values
        )

    def part(self, condition: Condition, wanted: bool) -> Branch:
        """One part of a condition with its truth. `wanted` is false inside a `not`: there the rule hopes for absent."""
        truth = self.holds(condition)
        if isinstance(condition, Not):
            return self.part(condition.part, not wanted)
        if isinstance(condition, (AllOf, AnyOf)):
            # the parts that make the whole what it is: by Kleene's tables at least one part has the truth of the whole
            kept = [part for part in condition.parts if self.holds(part) is truth]
            parts = tuple(self.part(part, wanted) for part in kept)
            if len(parts) == 1:
                return parts[0]
            needs_all = isinstance(condition, AllOf) is wanted
            return Branch("all of these are needed" if needs_all else "one of these is needed", truth.value, "", parts)
        if isinstance(condition, FindingTest):
            name = condition.finding
            inner = self.chain(name) if truth is Truth.PRESENT else self.why_not(name)
            hoped = "" if wanted else " (wanted: absent)"
            return Branch(inner.text + hoped, truth.value, name, inner.parts)
        asked = test_text(self.knowledge, condition)
        asked = f"wanted: {asked}" if wanted else f"wanted: not {asked}"
        value = self.facts.values.get(condition.fact)
        if value is None:
            title = fact_title(self.knowledge, condition.fact)
            return Branch(f"{title}: not known ({asked})", "unknown", condition.fact, self.not_taken(condition.fact))
        return Branch(f"{fact_text(self.knowledge, condition.fact, value)} ({asked})", truth.value, condition.fact)
