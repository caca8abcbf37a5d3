"""What further facts would do: which findings they settle."""

from __future__ import annotations

from collections.abc import Mapping

from ..logic.evaluate import KLEENE, TRUTH, Kleene, OfAll, compiled
from ..logic.stratify import in_order, once_per_value
from ..model.condition import facts_read, findings_read
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.truth import Truth
from ..model.values import Values


@dataclass(frozen=True, slots=True, eq=False)
class Reactions:
    """How findings hang on facts, compiled once per rule base."""

    order: tuple[str, ...]
    """Findings, each after those it reads."""
    holds: tuple[OfAll, ...]
    readers: dict[str, tuple[int, ...]]
    """Fact -> places in `order` of the findings that read it, directly or through findings."""
    history: tuple[tuple[str, OfAll, frozenset[str]], ...]
    """(history rule, its condition, facts it reads directly or through findings), in order of id."""
    history_reads: frozenset[str]
    """Facts that any history rule reads."""


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """Facts and findings as they are now, ready for what-if questions."""

    knowledge: Knowledge
    facts: Values
    """Answers, reduced readings and engine facts."""
    truths: dict[str, Kleene]
    findings: dict[str, Truth]
    reactions: Reactions


@once_per_value(keep=4)
def reactions_of(knowledge: Knowledge) -> Reactions:
    """Compile the findings of a rule base for what-if questions."""
    limits = {name: limit.value for name, limit in knowledge.limits.items()}
    conditions = {name: finding.when for name, finding in knowledge.findings.items()}
    order = in_order(conditions)
    reads: dict[str, frozenset[str]] = {}
    for name in order:
        through = frozenset().union(*(reads.get(other, frozenset()) for other in findings_read(conditions[name])))
        reads[name] = facts_read(conditions[name]) | through
    readers: dict[str, list[int]] = {}
    for place, name in enumerate(order):
        for fact in reads[name]:
            readers.setdefault(fact, []).append(place)
    history = tuple(
        (
            name,
            compiled(rule.when, limits),
            facts_read(rule.when).union(*(reads.get(other, frozenset()) for other in findings_read(rule.when))),
        )
        for name, rule in sorted(knowledge.history.items())
    )
    return Reactions(
        order,
        tuple(compiled(conditions[name], limits) for name in order),
        {fact: tuple(places) for fact, places in sorted(readers.items())},
        history,
        frozenset().union(*(reads_ for _, _, reads_ in history)),
    )


def known_of(knowledge: Knowledge, facts: Values, findings: Mapping[str, Truth]) -> Known:
    """What is known now. `facts` hold engine facts too."""
    return Known(
        knowledge,
        dict(facts),
        {name: KLEENE[truth] for name, truth in findings.items()},
        dict(findings),
        reactions_of(knowledge),
    )


def findings_if(known: Known, new: Values) -> dict[str, Truth]:
    """Findings that would change (in either direction) if these facts had these values; None takes a fact away."""
    places = sorted({place for fact in new for place in known.reactions.readers.get(fact, ())})
    if not places:
        return {}
    facts = {**known.facts, **new}
    truths, changed = known.truths, {}
    order, holds = known.reactions.order, known.reactions.holds
    for place in places:
        name = order[place]
        truth = holds[place](facts, truths)
        if truth is not truths.get(name):
            if truths is known.truths:
                truths = dict(truths)
            truths[name] = truth
            changed[name] = TRUTH[truth]
    return changed
