"""Names: clash, unknown, impossible answer, unused (Nguyen, Perkins, Laffey and Pecora 1987).

The loader already refuses an unknown id in a pointer and an impossible word in a condition; these checks find what is
left after that.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from ..errors import nearest
from ..knowledge.held_to import limits_named
from ..model.condition import FactTest, facts_read, walk
from ..model.knowledge import Knowledge
from ..model.terms import RUNGS
from .base import Check, Complaint
from .in_code import named_in_code
from .subject import Subject

_ASKED_BY_BARE_ID = ("causes", "findings", "operations", "holds", "scopes", "observations", "checks")
SYSTEMS = (
    "starting",
    "ignition",
    "fuel",
    "cooling",
    "lubrication",
    "breathing",
    "exhaust",
    "valves",
    "gaskets",
    "rings",
    "bottom_end",
    "seals",
)


class Clash(Check):
    """Two entries of different kinds have one id.

    Why it matters: "why JOB ID" and "rules show ID" are asked by the bare id; of two, one can never be reached.
    What to do: rename the one that fewer entries mention, for example by what it concludes.
    Bad: an observation blue_smoke and a finding blue_smoke.
    Good: an observation smoke_pulling and a finding blue_smoke_when_pulling.
    """

    code, severity = "clash", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        first: dict[str, str] = {}
        for kind in _ASKED_BY_BARE_ID:
            for name in getattr(subject.knowledge, kind):
                if name in first:
                    yield Complaint(
                        f"{kind}/{name}",
                        f"'{name}' is also an entry in {first[name]}",
                        "rename one",
                        also=(f"{first[name]}/{name}",),
                    )
                first.setdefault(name, kind)


class SameTitle(Check):
    """Two entries of one kind have the same title.

    Why it matters: a person reads titles, not ids; in a list the two cannot be told apart.
    What to do: say in the title what makes them different.
    Bad: two findings "Compression is low".
    Good: "Compression is low on every cylinder" and "Compression is low on one cylinder alone".
    """

    code, severity = "same-title", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        seen: dict[tuple[str, str], str] = {}
        for kind, name, entry in subject.entries():
            if kind == "sources":
                continue
            title = (kind, " ".join(entry.title.lower().split()))
            if title in seen:
                yield Complaint(
                    f"{kind}/{name}",
                    f"'{entry.title}' is also the title of '{seen[title]}'",
                    "say what makes them different",
                    ("title",),
                    also=(f"{kind}/{seen[title]}",),
                )
            seen.setdefault(title, name)


class UnknownName(Check):
    """A word that should be one of a fixed set is none of them.

    Why it matters: such a word is not refused when the rules are read, so what depends on it silently never happens: an
    hour figure for a misspelt operation is never used, a cause of an unknown system stands in no chapter.
    What to do: correct the spelling, or add the missing entry.
    Bad: hours {re_rign: 9} in an engine sheet.
    Good: hours {re_ring: 9}.
    """

    code, severity = "unknown-name", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        key = f"{kind}/{name}"
        if kind == "scopes" and name not in RUNGS:
            yield Complaint(key, f"'{name}' is no rung of the ladder", nearest(name, RUNGS) or ", ".join(RUNGS))
        if kind == "causes" and entry.system not in SYSTEMS:
            yield Complaint(
                key,
                f"'{entry.system}' is no system",
                nearest(entry.system, SYSTEMS) or f"one of {', '.join(SYSTEMS)}",
                ("system",),
            )
        fields = {"parts": "contains", "machining": "take_along"}
        for index, part in enumerate(getattr(entry, fields[kind]) if kind in fields else ()):
            if part not in subject.knowledge.parts:
                yield Complaint(
                    key,
                    f"there is no part '{part}'",
                    nearest(part, subject.knowledge.parts) or "add it under rules/parts",
                    (fields[kind], index),
                )
        if kind == "reduced":
            for index, word in enumerate(entry.worsens):
                if word not in entry.answers:
                    yield Complaint(
                        key,
                        f"'{word}' in worsens is not one of the words it can take",
                        nearest(word, entry.answers) or ", ".join(entry.answers),
                        ("worsens", index),
                    )

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        operations = subject.knowledge.operations
        for sheet, engine in sorted(subject.engines.items()):
            for name in sorted(engine.hours):
                if name not in operations:
                    yield Complaint(
                        f"engines/{sheet}",
                        f"engine sheet {sheet}: hours for '{name}', which is no operation",
                        nearest(name, operations) or "take it out",
                    )
        for rung in RUNGS:
            if subject.knowledge.scopes and rung not in subject.knowledge.scopes:
                yield Complaint(f"scopes/{rung}", f"the rung '{rung}' has no entry in scopes", "add it")


class ImpossibleAnswer(Check):
    """A comparison, or an order of answers, that no answer can ever meet.

    Why it matters: a reading outside its plausible range is refused, so a figure beyond the range is never seen, and
    the rule that waits for it never fires; an order that leaves answers out says nothing about them.
    What to do: correct the figure or its unit, or widen the range; list every answer in worsens, or none.
    Bad: range [0, 300], and a condition {fact: battery_rest, below: -1}.
    Good: {fact: battery_rest, below: 12.2}.
    """

    code, severity = "impossible-answer", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        key = f"{kind}/{name}"
        if kind in ("observations", "reduced") and entry.worsens and entry.kind == "choice":
            left = [word for word in entry.answers if word not in entry.worsens]
            if len(set(entry.worsens)) != len(entry.worsens):
                yield Complaint(key, "worsens names an answer twice", "name each answer once", ("worsens",))
            if len(entry.worsens) < 2:
                yield Complaint(key, "an order needs at least two answers", "take worsens out", ("worsens",), "warning")
            elif left:
                yield Complaint(
                    key,
                    f"worsens leaves out {', '.join(left)}",
                    "fit them in, or take worsens out where the answers form no order",
                    ("worsens",),
                    "note",
                )
        free_text = kind == "reduced" and not entry.answers  # a size to order by, which no condition may test
        if kind in ("observations", "reduced") and entry.kind == "choice" and len(entry.answers) < 2 and not free_text:
            yield Complaint(key, "a choice needs at least two words", "list them", ("answers",))
        if kind == "observations" and entry.range is not None and entry.range[0] >= entry.range[1]:
            yield Complaint(key, f"the range {list(entry.range)} holds nothing", "lowest first", ("range",))

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        vocabulary = subject.vocabulary
        for key, _, path, condition, _ in subject.conditions:
            for test in walk(condition):
                if not isinstance(test, FactTest) or test.fact not in vocabulary.ranges:
                    continue
                low, high = vocabulary.ranges[test.fact]
                for how, bound in test.bounds:
                    value = vocabulary.limits.get(bound, low) if isinstance(bound, str) else bound
                    if (
                        (how == "below" and value <= low)
                        or (how == "at_most" and value < low)
                        or (how == "above" and value >= high)
                        or (how == "at_least" and value > high)
                    ):
                        yield Complaint(
                            key,
                            f"'{test.fact}' can never be {how.replace('_', ' ')} {value:g}: its range "
                            f"is {low:g} to {high:g}",
                            "correct the figure or the range",
                            path,
                        )


class Unused(Check):
    """An entry that nothing uses.

    Why it matters: a question whose answer changes nothing wastes the customer's time; a limit, part or caution that
    nothing refers to is either forgotten or misspelt somewhere else.
    What to do: use it, or take it out. A question kept for the paper alone excuses itself.
    Bad: an observation that no condition, check, operation, hold or reduction reads.
    Good: each observation feeds a finding, a reduction or a proof.
    """

    code, severity = "unused", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        base = subject.knowledge
        read = {fact for _, _, _, condition, _ in subject.conditions for fact in facts_read(condition)}
        bounds = {
            bound
            for _, _, _, condition, _ in subject.conditions
            for test in walk(condition)
            if isinstance(test, FactTest)
            for _, bound in test.bounds
            if isinstance(bound, str)
        }
        tests = {name for check in base.checks.values() for name in check.observations}
        work = {name for item in base.operations.values() for name in (*item.proved_by, *item.before, *item.during)}
        code = named_in_code()
        by_code = {"observations": code, "limits": code, "cautions": code, "reduced": code}
        used = {
            "observations": read
            | tests
            | work
            | {hold.check for hold in base.holds.values()}.union(*(hold.also_by for hold in base.holds.values()))
            | {name for item in base.reduced.values() for name in item.taken_from}
            | _computed_readings(base)
            | {part.sized_by for part in base.parts.values()},
            "reduced": read
            | {part.size_fact for part in base.parts.values()}
            | {item.machined_to for item in base.machining.values()}
            | {item.shown_as for item in base.observations.values()},
            "limits": bounds
            | {
                name
                for item in base.operations.values()
                for step in item.steps
                for name in re.findall(r"\{limits\.([a-z0-9_]+)\}", step.text)
            }
            | set(limits_named(base)),
            "gauges": {item.gauge for item in base.observations.values()}
            | {item.judge.gauge for item in base.reduced.values() if item.judge}
            | {gauge for item in base.computed.values() for gauge in item.gauges.values()},
            "parts": {name for item in base.operations.values() for name in item.parts}
            | {name for name, part in base.parts.items() if part.contains},
            "machining": {name for item in base.operations.values() for name in item.machine},
            "cautions": {
                name
                for group in (base.operations, base.observations)
                for item in group.values()
                for name in item.cautions
            },
            "sources": {source.of for _, _, entry in subject.entries() for source in getattr(entry, "source", ())}
            | {source.of for source in base.settings.source}
            | _sources_of_sheets(subject),
        }
        for kind, names in used.items():
            for name in getattr(base, kind):
                if name not in names and name not in by_code.get(kind, ()):
                    yield Complaint(
                        f"{kind}/{name}",
                        f"nothing uses '{name}' in {kind}",
                        "use it, or take it out",
                        severity="note" if kind in ("sources", "reduced") else None,
                    )


def _computed_readings(base: Knowledge) -> set[str]:
    """Observations that a function is given."""
    return {name for item in base.computed.values() for name in item.readings.values()}


def _sources_of_sheets(subject: Subject) -> set[str]:
    found: set[str] = set()
    todo: list[Any] = list(subject.engines.values())
    while todo:
        item = todo.pop()
        found.update(source.of for source in getattr(item, "source", ()))
        for field in getattr(item, "__dataclass_fields__", ()):
            value = getattr(item, field)
            todo.extend(value.values() if isinstance(value, dict) else [value])
    return found


class ForgottenAnswer(Check):
    """An answer that no rule tells apart from not answering.

    Why it matters: the customer picks it and nothing follows, not even evidence against a cause, because no condition
    reads the question at all or every one that reads it gives the same for all answers.
    What to do: let a rule read it, or merge the answer into another one.
    Bad: smoke_smell with the answer sharp_stinging, while no rule reads smoke_smell.
    Good: a finding whose condition tells sharp_stinging from the rest.
    """

    code, severity = "forgotten-answer", "note"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        tests: dict[str, set[str]] = {}
        for _, _, _, condition, _ in subject.conditions:
            for test in walk(condition):
                if isinstance(test, FactTest) and test.one_of:
                    tests.setdefault(test.fact, set()).update(test.one_of)
        code, computed = named_in_code(), _computed_readings(subject.knowledge)
        for name, item in subject.knowledge.observations.items():
            if item.kind != "choice" or name in code or name in computed or name not in tests:
                continue
            worst = item.worsens[1:] or tuple(item.answers)[1:]
            for word in worst:
                if word not in tests[name]:
                    yield Complaint(
                        f"observations/{name}",
                        f"no rule asks whether '{name}' is '{word}'",
                        "let a rule read it, or merge it with another answer",
                        ("answers", word),
                    )
