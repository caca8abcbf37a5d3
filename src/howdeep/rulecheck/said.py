"""What a rule says against what it does: titles and conditions, odds with and without its causes, holds, access."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from ..logic.evaluate import evaluate
from ..model.condition import Condition, FactTest, facts_read, walk
from ..model.terms import DEPTH, RUNGS, WORDS
from ..model.truth import Truth
from .base import Check, Complaint
from .subject import Subject

_LESS = re.compile(r"\b(low|below|less|under|weak|short|small|thin|tight|drops|too little)\b", re.IGNORECASE)
_MORE = re.compile(r"\b(high|above|more|over|past|beyond|loose|wide|too (?:big|large|much|wide))\b", re.IGNORECASE)


class ContraryTitle(Check):
    """A title says low and the condition reads high, or the other way round.

    Why it matters: the rule fires on sound engines and keeps quiet on those that it was written for.
    What to do: turn the threshold round, or the title.
    Bad: title "The compression is low", when: {fact: compression.percent, above: compression_low_percent}.
    Good: below: compression_low_percent.
    """

    code, severity = "contrary-title", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if kind not in ("findings", "holds"):
            return
        sides = {
            side in ("above", "at_least")
            for test in walk(entry.when)
            if isinstance(test, FactTest) and not test.fact.startswith("engine.")
            for side, _ in test.bounds
        }
        less, more = bool(_LESS.search(entry.title)), bool(_MORE.search(entry.title))
        if less != more and sides == {less}:
            yield Complaint(
                f"{kind}/{name}",
                f"the title '{entry.title}' speaks of {'less' if less else 'more'}, and "
                f"the condition reads {'above' if less else 'below'}",
                "turn one of them round",
                ("when",),
            )


class SoundTrouble(Check):
    """A sign that names causes is there although every answer is that of a sound engine.

    Why it matters: it speaks for a fault on every engine that is in order.
    What to do: let it read the telling answers, and look for a 'not' too many.
    Bad: when: {fact: compression.level, is: normal, cylinders: any} under a title that says low.
    Good: is: [low, very_low].
    """

    code, severity = "sound-trouble", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        vocabulary = subject.vocabulary
        for name, finding in subject.knowledge.findings.items():
            if finding.explained_by:
                whole = vocabulary.expand(finding.when)
                if evaluate(whole, _sound_facts(subject, whole), {}, vocabulary.limits) is Truth.PRESENT:
                    yield Complaint(
                        f"findings/{name}",
                        "is there although every answer is a sound engine's",
                        "let it read the telling answers",
                        ("when",),
                    )


def _sound_facts(subject: Subject, condition: Condition) -> dict[str, Any]:
    """The facts that a condition reads, each as a sound engine of four cylinders gives it; figures are left open."""
    facts: dict[str, Any] = {}
    for name in facts_read(condition):
        item = subject.knowledge.observations.get(name) or subject.knowledge.reduced.get(name)
        if item is None or item.kind != "choice":
            continue
        sound = item.sound or item.worsens[:1]
        if sound:
            facts[name] = (sound[0],) * 4 if item.each else sound[0]
    return facts


class OtherwiseOutweighs(Check):
    """A sign is seen oftener with none of its causes than with any of them.

    Why it matters: seeing it then speaks against every cause that it names.
    What to do: say how often a sound engine shows it.
    Bad: otherwise: nearly always, beside causes that show it half the time.
    Good: otherwise: rarely.
    """

    code, severity = "otherwise-outweighs", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if kind == "findings" and entry.explained_by and entry.otherwise is not None:
            most = max(WORDS.index(word) for word in entry.explained_by.values())
            if WORDS.index(entry.otherwise) > most:
                yield Complaint(
                    f"findings/{name}",
                    f"is seen '{entry.otherwise}' with none of its causes, and with them '{WORDS[most]}' at most",
                    "say how often a sound engine shows it",
                    ("otherwise",),
                )


class HoldsNothing(Check):
    """A hold stands before nothing.

    Why it matters: it is shown as a hold and never holds a promise back.
    What to do: name in 'above' the deepest work that may be promised before the check is made.
    Bad: above: replace.
    Good: above: tune_up.
    """

    code, severity = "holds-nothing", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if kind == "holds" and entry.above in RUNGS[-2:]:
            yield Complaint(
                f"holds/{name}",
                f"nothing is deeper than '{entry.above}' but another engine",
                "name the deepest work that may be promised without the check",
                ("above",),
            )


class NoAccess(Check):
    """Work inside the engine measures what nothing that it brings lays open.

    Why it matters: its price leaves out taking off head or pan, and its sheet has no step for it.
    What to do: name in brings what opens the engine so far.
    Bad: re_ring without remove_refit_head and remove_refit_pan among what it brings.
    Good: brings: [remove_refit_head, remove_refit_pan, ...].
    """

    code, severity = "no-access", "error"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        base = subject.knowledge
        called = {name for cause in base.causes.values() for name in cause.cured_by}
        for name in sorted(called & base.operations.keys()):
            item = base.operations[name]
            rungs = {step.rung for step in item.rung}
            if not rungs or min(DEPTH[rung] for rung in rungs) < DEPTH["top_end"]:
                continue
            brought = _all_brought(
                subject, {name, *(other for rung in rungs if rung in base.scopes for other in base.scopes[rung].access)}
            )
            shut = [
                look
                for look in item.during
                if base.observations[look].opened_by and not set(base.observations[look].opened_by) & brought
            ]
            if shut:
                yield Complaint(
                    f"operations/{name}",
                    f"nothing that it brings lays open what it measures: {', '.join(shut[:4])}",
                    "name in brings what opens the engine so far",
                    ("brings",) if item.brings else (),
                )


def _all_brought(subject: Subject, names: set[str]) -> set[str]:
    seen, todo = set(names), list(names)
    while todo:
        item = subject.knowledge.operations.get(todo.pop())
        for other in item.may_bring if item else ():
            if other not in seen:
                seen.add(other)
                todo.append(other)
    return seen


class UnlikelyFigure(Check):
    """A figure of the rules that can hardly be right.

    Why it matters: limits, hours, minutes and shifts move every answer and every price, and nobody sees by how much.
    What to do: correct the figure; where it is right, say so: excuse {unlikely-figure: why}, and in the settings
    sure: {figure: why}.
    Bad: hours: 15 for rings of one cylinder, where 1.5 was meant.
    Good: hours: 1.5.
    """

    code, severity = "unlikely-figure", "warning"

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        for doubt in subject.knowledge.doubts:
            yield Complaint(
                doubt.key,
                doubt.message,
                doubt.hint,
                tuple(int(part) if part.isdigit() else part for part in doubt.path),
            )
