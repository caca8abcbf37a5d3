"""Why each line stands in a quote: each reason of its own kind, in a sentence for the customer.

What was found comes first, then what gives access, what is undone by other work, what is made good while it lies open,
what is serviced, and what proves the work. The rule base says the latter of each operation (`belongs`); this module
finds which of them holds in this job, and what the work would cost more by itself.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from ..knowledge.engine_facts import engine_facts
from ..logic.applicability import brought_by
from ..logic.evaluate import evaluate
from ..model.condition import FactTest, FindingTest, walk
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.results import Assessment, WorkItem
from ..model.truth import Truth
from .bills import causes_of
from .evidence import signs_for
from .texts import first_sentence, lower_first, some_of


@dataclass(frozen=True, slots=True)
class LineReason:
    """Why one line is here."""

    sort: str
    """evidence, access, open, undone, service, proof, part, or rule for what the shop charges on every job."""
    text: str
    """A sentence or two."""


OF_A_PART = {
    "access": "Needed to close up again after: {}.",
    "open": "Renewed while it lies open: {}.",
    "undone": "Used up by: {}.",
    "service": "Worn in use; renewed in: {}.",
    "proof": "Used up in: {}.",
    "part": "Needed for: {}.",
}
"""Sort of an operation -> why a part of it is here."""
SAYS_MOST = ("evidence", "undone", "open", "access", "service", "part", "proof")
"""Sorts of reason, the most telling first."""
SUPPLIES = LineReason(
    "rule", "Cleaning fluid, rags, sealants and the disposal of waste, charged as a share of the labour."
)
REPLACEMENT = LineReason("rule", "Instead of repairing the one you have.")


class JobReasons:
    """The reasons of the lines of one job, by its operations."""

    def __init__(self, knowledge: Knowledge, answer: Assessment, items: Iterable[WorkItem]):
        self.knowledge, self.answer = knowledge, answer
        self.items = {item.operation: item for item in items if not item.if_found}
        self._built = engine_facts(answer.job.engine)
        self._reach = {name: self._brought(name) for name in self.items}
        self._known: dict[str, LineReason] = {}

    def of_operation(self, name: str) -> LineReason:
        """Why an operation of the job is done."""
        if name not in self._known:
            self._known[name] = self._evidence(name) or self._belongs(name)
        return self._known[name]

    def of_labour(self, name: str, hours: Decimal) -> LineReason:
        """The same with what it saves to do it now; `hours` are those of its line."""
        reason = self.of_operation(name)
        anyway = self._open_anyway(name) if reason.sort in ("evidence", "open") else ""
        if not anyway:
            return reason
        return LineReason(reason.sort, f"{reason.text} Only {hours.normalize():f} h, because {anyway} anyway.")

    def of_part(self, name: str, operations: Iterable[str]) -> LineReason:
        """Why a part is renewed, by the operations that need it."""
        first = self._first(operations)
        if first is None:
            return LineReason("part", "Needed for this work.")
        title, reason = lower_first(self.knowledge.operations[first].title), self.of_operation(first)
        if reason.sort == "evidence":
            return LineReason("evidence", f"For: {title} ({self._short(first)}).")
        if self.knowledge.parts[name].never_reuse:
            return LineReason("undone", f"Never used twice; renewed in: {title}.")
        return LineReason(reason.sort, OF_A_PART[reason.sort].format(title))

    def of_machining(self, operations: Iterable[str]) -> LineReason:
        """Why something goes to the machine shop."""
        first = self._first(operations)
        if first is None:
            return LineReason("part", "Needed for this work.")
        title, reason = lower_first(self.knowledge.operations[first].title), self.of_operation(first)
        short = f" ({self._short(first)})" if reason.sort == "evidence" else ""
        return LineReason(reason.sort, f"The machine shop's part of: {title}{short}.")

    def _first(self, operations: Iterable[str]) -> str | None:
        """The operation that says most of why: one that evidence calls for, else by `SAYS_MOST`, else the longest."""
        held = [name for name in operations if name in self.items]
        return min(
            held,
            key=lambda name: (SAYS_MOST.index(self.of_operation(name).sort), -self.items[name].hours, name),
            default=None,
        )

    def _short(self, name: str) -> str:
        """The cause or finding behind an operation, without what speaks for it."""
        return lower_first(first_sentence(self.of_operation(name).text).partition(": ")[0].rstrip("."))

    def _evidence(self, name: str) -> LineReason | None:
        """What was found or told that calls for an operation; None where nothing does by itself."""
        item, causes = self.items[name], causes_of(self.items[name].because)
        if causes:
            return LineReason("evidence", self._cause(causes))
        opened = [reason for reason in item.because if reason.startswith("observations/")]
        if opened:
            return LineReason("undone", "The engine stands open already and has to be put together again.")
        if f"operations/{name}" not in item.because or self._of_the_depth(name):
            return None
        seen = self._what_holds(name)
        return LineReason("evidence", f"{seen}.") if seen else None

    def _of_the_depth(self, name: str) -> bool:
        """Whether its own condition says no more than how likely causes are below something."""
        when = self.knowledge.operations[name].when
        return when is None or all(
            isinstance(part, FactTest)
            and part.fact.startswith("odds.")
            and all(how == "below" for how, _ in part.bounds)
            for part in walk(when)
            if isinstance(part, (FactTest, FindingTest))
        )

    def _cause(self, causes: list[str]) -> str:
        """'Worn piston rings: compression is low on every cylinder; it smokes blue when pulling.'"""
        hands = {belief.cause: (belief.hand, belief.posterior) for belief in self.answer.beliefs}
        best = max(causes, key=lambda name: (hands.get(name, (0.0, 0.0)), name))
        title, signs = self.knowledge.causes[best].title, signs_for(self.knowledge, self.answer, best)
        if not signs:
            return f"{title}: common on such an engine, and nothing that was noticed rules it out."
        return f"{title}: {'; '.join(lower_first(sign) for sign in signs)}."

    def _what_holds(self, name: str) -> str:
        """What of its own condition holds: findings by their claim, odds by their cause, facts by what was read."""
        when, limits = (
            self.knowledge.operations[name].when,
            {key: limit.value for key, limit in self.knowledge.limits.items()},
        )
        facts, findings = self.answer.facts, self.answer.conclusions.findings
        known = {**facts.values, **{f"odds.{cause}": 100 * hand for cause, hand in self.answer.called.items()}}
        told: dict[str, None] = {}
        for part in walk(when) if when is not None else ():
            if (
                not isinstance(part, (FactTest, FindingTest))
                or evaluate(part, known, findings, limits) is not Truth.PRESENT
            ):
                continue
            if isinstance(part, FindingTest):
                told[self.knowledge.findings[part.finding].title] = None
            elif part.fact.startswith("odds."):
                told[self._cause([part.fact.removeprefix("odds.")]).rstrip(".")] = None
            elif part.fact in facts.reductions:
                told[facts.reductions[part.fact].how.rstrip(".")] = None
            elif part.fact in self.knowledge.observations:
                told[self._answered(part)] = None
        first, *more = list(told)[:2] or [""]
        return "; ".join((first, *(lower_first(text) for text in more)))

    def _answered(self, part: FactTest) -> str:
        item, value = self.knowledge.observations[part.fact], self.answer.facts.values[part.fact]
        words = value if isinstance(value, tuple) else (value,)
        seen = [
            item.answers.get(str(word), str(word)).rstrip(".")
            for word in dict.fromkeys(words)
            if word is not None and (not part.one_of or word in part.one_of)
        ]
        return f"{item.title}: {'; '.join(lower_first(word) for word in seen)}"

    def _belongs(self, name: str) -> LineReason:
        """Why it is done although nothing that was found calls for it by itself."""
        belongs = self.knowledge.operations[name].belongs
        bringers = [other for other in self.items if name in self._brings(other)]
        if belongs is None:
            with_it = some_of([self.knowledge.operations[other].title for other in self._ranked(bringers)], 2)
            return LineReason("part", f"It goes with: {with_it}." if bringers else "It belongs to a job of this depth.")
        if belongs.sort == "access" and bringers:
            titles = [self.knowledge.operations[other].title for other in self._ranked(bringers)]
            return LineReason("access", f"{belongs.because} Reached by it: {some_of(titles)}.")
        if belongs.alone and not bringers:
            return LineReason("service", belongs.alone)
        return LineReason(belongs.sort, belongs.because)

    def _ranked(self, names: Iterable[str]) -> list[str]:
        """Operations, those that evidence calls for first, then the longest."""
        return sorted(names, key=lambda name: (not causes_of(self.items[name].because), -self.items[name].hours, name))

    def _open_anyway(self, name: str) -> str:
        """'the oil pan is off', where an operation is reached by what other work in the job opens too."""
        for access in self._ranked(self._reach[name]):
            belongs = self.knowledge.operations[access].belongs
            if belongs is None or not belongs.leaves:
                continue
            found = self.of_operation(name).sort == "evidence"  # then work that only goes with it opens nothing for it
            others = [
                other
                for other, reach in self._reach.items()
                if access in reach
                and other != name
                and other not in self._reach[name]
                and (not found or self.of_operation(other).sort == "evidence")
            ]
            if others:
                return belongs.leaves
        return ""

    def _brings(self, name: str) -> tuple[str, ...]:
        return brought_by(self.knowledge.operations[name], self._built)

    def _brought(self, name: str) -> frozenset[str]:
        """Operations of the job that one brings, directly or through others."""
        found: set[str] = set()
        fringe = list(self._brings(name))
        while fringe:
            other = fringe.pop()
            if other in self.items and other not in found:
                found.add(other)
                fringe += self._brings(other)
        return frozenset(found - {name})
