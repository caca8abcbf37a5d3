"""What further facts would do: which findings they settle, and which findings would count then."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..model.condition import facts_read, findings_read
from ..model.knowledge import Knowledge
from ..model.truth import Truth
from ..reasoning.condition import KLEENE, TRUTH, Kleene, OfAll, compiled
from ..reasoning.counted import Stories, count_group, stories
from ..reasoning.network import Network, with_told
from ..reasoning.order import in_order, once_per_value


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


@dataclass(frozen=True, slots=True)
class Change:
    """How what counts would change, by numbers of findings in the network; all four in order."""

    present: tuple[int, ...] = ()
    """Would newly count as present."""
    absent: tuple[int, ...] = ()
    """Would newly count as absent."""
    no_longer_present: tuple[int, ...] = ()
    """Counted as present now; a more telling finding of its line would count in its place."""
    no_longer_absent: tuple[int, ...] = ()
    odds: tuple[tuple[int, float], ...] = ()
    """(cause, what history would multiply its odds by)."""

    @property
    def is_news(self) -> bool:
        """Whether the odds could be other than they are now."""
        return bool(self.present or self.absent or self.no_longer_present or self.no_longer_absent or self.odds)


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """Facts and findings as they are now, ready for what-if questions."""

    knowledge: Knowledge
    network: Network
    facts: Mapping[str, Any]
    """Answers, reduced readings and engine facts."""
    truths: dict[str, Kleene]
    findings: dict[str, Truth]
    numbers: dict[str, int]
    """Finding -> number in the network."""
    told: Stories
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
        (name, compiled(rule.when, limits), facts_read(rule.when).union(
            *(reads.get(other, frozenset()) for other in findings_read(rule.when))))
        for name, rule in sorted(knowledge.history.items()))
    return Reactions(order, tuple(compiled(conditions[name], limits) for name in order),
                     {fact: tuple(places) for fact, places in sorted(readers.items())}, history,
                     frozenset().union(*(reads_ for _, _, reads_ in history)))


def known_of(knowledge: Knowledge, network: Network, facts: Mapping[str, Any], findings: Mapping[str, Truth]) -> Known:
    """What is known now. `facts` hold engine facts too."""
    return Known(knowledge, network, dict(facts), {name: KLEENE[truth] for name, truth in findings.items()},
                 dict(findings), {name: number for number, name in enumerate(network.findings)}, stories(knowledge),
                 reactions_of(knowledge))


def findings_if(known: Known, new: Mapping[str, Any]) -> dict[str, Truth]:
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


def change_if(known: Known, changed: Mapping[str, Truth]) -> Change:
    """How what counts would change if these findings changed to these truths."""
    present: list[int] = []
    absent: list[int] = []
    gone_present: list[int] = []
    gone_absent: list[int] = []

    def put(before: Mapping[str, Truth], after: Mapping[str, Truth], names_before: list[str],
            names_after: list[str]) -> None:
        for name in names_after:
            if name not in names_before or before.get(name) is not after[name]:
                (present if after[name] is Truth.PRESENT else absent).append(known.numbers[name])
        for name in names_before:
            if name not in names_after or before[name] is not after.get(name):
                (gone_present if before[name] is Truth.PRESENT else gone_absent).append(known.numbers[name])

    done: set[int] = set()
    after: dict[str, Truth] | None = None
    for name in changed:
        if name not in known.numbers:
            continue
        group = known.told.group_of.get(name)
        if group is None:
            before = known.findings.get(name, Truth.UNKNOWN)
            put({name: before}, changed, [name] if before is not Truth.UNKNOWN else [],
                [name] if changed[name] is not Truth.UNKNOWN else [])
        elif id(group) not in done:
            done.add(id(group))
            after = {**known.findings, **changed} if after is None else after
            put(known.findings, after, _counting(group, known.findings), _counting(group, after))
    return Change(*(tuple(sorted(names)) for names in (present, absent, gone_present, gone_absent)))


def odds_if(known: Known, new: Mapping[str, Any], changed: Mapping[str, Truth]) -> tuple[tuple[int, float], ...]:
    """(cause, factor) by which history would multiply odds if these facts had these values."""
    if not known.reactions.history_reads & new.keys():
        return ()
    network = known.network
    told = dict(network.history)
    facts = {**known.facts, **new}
    truths = {**known.truths, **{name: KLEENE[truth] for name, truth in changed.items()}} if changed else known.truths
    number = {cause: index for index, cause in enumerate(network.causes)}
    for rule, holds, reads in known.reactions.history:
        if reads & new.keys():
            told.pop(rule, None)
            if holds(facts, truths) is True:
                shifts = known.knowledge.history[rule].shifts
                told[rule] = tuple((number[cause], db) for cause, db in sorted(shifts.items()) if cause in number)
    then = with_told(network, tuple(sorted(told.items()))).prior
    factors = then / (1 - then) / (network.prior / (1 - network.prior))
    return tuple((int(cause), float(factors[cause])) for cause in np.flatnonzero(np.abs(factors - 1) > 1e-12))


def settled_if(known: Known, changed: Mapping[str, Truth]) -> Change:
    """The findings newly settled, as far as they make their outcome different from others.

    A finding after a present one of its line is passed over: that one tells the story already. So the outcomes 'f1',
    'not f1 but f2' and 'neither' of a line f1, f2 exclude each other and leave nothing out.
    """
    present, absent = [], []
    for name in changed:
        if name not in known.numbers or known.findings.get(name, Truth.UNKNOWN) is not Truth.UNKNOWN:
            continue
        lines = [line for line in known.told.group_of.get(name, ()) if name in line]
        if any(changed.get(other, known.findings.get(other)) is Truth.PRESENT
               for line in lines for other in line[: line.index(name)]):
            continue
        (present if changed[name] is Truth.PRESENT else absent).append(known.numbers[name])
    return Change(tuple(sorted(present)), tuple(sorted(absent)))


def _counting(group: tuple[tuple[str, ...], ...], findings: Mapping[str, Truth]) -> list[str]:
    if not any(findings.get(name, Truth.UNKNOWN) is not Truth.UNKNOWN for line in group for name in line):
        return []
    return count_group(group, findings, {})
