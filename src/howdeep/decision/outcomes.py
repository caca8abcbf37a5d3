"""What each outcome of a check would add to what counts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from ..beliefs.evidence import Sign
from ..beliefs.network import Network
from ..beliefs.signs import Signs
from ..logic.evidence_lines import stories
from ..model.truth import Truth
from .open_checks import OpenCheck
from .outcome_columns import Answered
from .what_if import Known, findings_if


def answered_by(
    network: Network,
    signs: Signs,
    known: Known,
    offered: Sequence[OpenCheck],
    changes: Mapping[str, Sequence[Mapping[str, Truth]]] | None = None,
) -> dict[str, tuple[Answered, ...]]:
    """Check -> what each of its outcomes would add, in order. `changes`: check -> findings that each outcome would
    change, where they are known already.

    A short form of counting anew: questions that count already keep their answer, and a finding over several readings
    that have questions of their own says nothing. It serves the ranking; where an outcome leads is worked out in full.
    """
    adding = _Adding(network, signs, known)
    if changes is None:
        changes = {check.check: [findings_if(known, outcome.facts) for outcome in check.outcomes] for check in offered}
    return {check.check: tuple(adding.of(changed) for changed in changes[check.check]) for check in offered}


def told_apart(
    offered: Sequence[OpenCheck], answered: Mapping[str, Sequence[Answered]]
) -> tuple[tuple[OpenCheck, ...], dict[str, tuple[Answered, ...]]]:
    """The same checks with "one" and "every one" of an answer as one outcome where both would tell the same, so that
    their chance is counted once."""
    kept: list[OpenCheck] = []
    adds: dict[str, tuple[Answered, ...]] = {}
    for check in offered:
        told = {
            outcome.answer: _key(added) for outcome, added in zip(check.outcomes, answered[check.check], strict=True)
        }
        alike = {
            answer.removeprefix("one ")
            for answer, key in told.items()
            if answer.startswith("one ") and key == told.get(f"every {answer.removeprefix('one ')}")
        }
        left = [
            (
                replace(outcome, title=f"one or more: {outcome.title.removeprefix('one: ').partition(';')[0]}")
                if outcome.answer.removeprefix("one ") in alike
                else outcome,
                added,
            )
            for outcome, added in zip(check.outcomes, answered[check.check], strict=True)
            if outcome.answer.removeprefix("every ") not in alike
        ]
        kept.append(replace(check, outcomes=tuple(outcome for outcome, _ in left)))
        adds[check.check] = tuple(added for _, added in left)
    return tuple(kept), adds


def _key(added: Answered) -> tuple[frozenset[tuple[int, int]], frozenset[tuple[int, tuple[int, ...], frozenset[int]]]]:
    return (
        frozenset((sign.node, sign.answer) for sign in added.telling),
        frozenset((sign.node, sign.denies, sign.silent) for sign in added.sound),
    )


class _Adding:
    def __init__(self, network: Network, signs: Signs, known: Known):
        self.network, self.known = network, known
        self.number = network.number()
        self.group_of = stories(known.knowledge).group_of
        self.counted = {sign.node for sign in signs.signs}
        self.present, self.absent = set(signs.present), set(signs.absent)
        self.causes: dict[int, frozenset[int]] = {}
        self.before: dict[str, bool] = {}
        self.at_all: dict[str, bool] = {}
        self.spoken: dict[str, set[int]] = {}
        self.made: dict[Answered, Answered] = {}
        for sign in signs.signs:
            node = network.nodes[sign.node]
            causes = self._causes(sign.node) - sign.silent
            for reading in node.readings:
                self.spoken.setdefault(reading, set()).update(causes)

    def of(self, changed: Mapping[str, Truth]) -> Answered:
        """What changed findings would add."""
        nodes = sorted({self.number[name][0] for name in changed if name in self.number} - self.counted)
        telling, silent_nodes = [], []
        here: dict[str, set[int]] = {}
        for node in nodes:
            item = self.network.nodes[node]
            truths = [changed.get(name, self.known.findings.get(name, Truth.UNKNOWN)) for name in item.findings]
            present = [answer for answer, truth in enumerate(truths, start=1) if truth is Truth.PRESENT]
            if not present:
                silent_nodes.append((node, truths))
                continue
            if len(item.readings) > 1 and any(
                len(self.network.nodes[other].readings) == 1 and self.network.nodes[other].readings <= item.readings
                for other in (*nodes, *self.counted)
            ):
                continue
            if not self._told_before(item.findings[present[-1] - 1]):
                telling.append(Sign(node, present[-1]))
                for reading in item.readings:
                    here.setdefault(reading, set()).update(self._causes(node))
        sound = []
        for node, truths in silent_nodes:
            item = self.network.nodes[node]
            denies = tuple(
                answer
                for answer, truth in enumerate(truths, start=1)
                if truth is Truth.ABSENT and not self._says_nothing(node, item.findings[answer - 1])
            )
            if not denies:
                continue
            causes = self._causes(node)
            silent = causes.intersection(
                set().union(*(told.get(reading, ()) for told in (self.spoken, here) for reading in item.readings))
            )
            if silent != causes:
                sound.append(Sign(node, 0, denies=denies, silent=silent))
                for reading in item.readings:
                    here.setdefault(reading, set()).update(causes)
        made = Answered(tuple(telling), tuple(sound))
        return self.made.setdefault(made, made)  # one object for what adds the same

    def _causes(self, node: int) -> frozenset[int]:
        """The causes that a node speaks of."""
        if node not in self.causes:
            self.causes[node] = frozenset((self.network.nodes[node].at_most[1, :, 0] < 1.0).nonzero()[0].tolist())
        return self.causes[node]

    def _told_before(self, name: str) -> bool:
        if name not in self.before:
            self.before[name] = any(
                other in self.present
                for line in self.group_of.get(name, ())
                if name in line
                for other in line[: line.index(name)]
            )
        return self.before[name]

    def _says_nothing(self, node: int, name: str) -> bool:
        """Whether an absent finding counts for nothing: it was told already, or it is two answers as one sign, of which
        each says itself that it is not there."""
        finding = self.known.knowledge.findings[name]
        together = len(self.network.nodes[node].readings) > 1 and finding.covers and not finding.direct
        return bool(together) or self._told_at_all(name)

    def _told_at_all(self, name: str) -> bool:
        if name not in self.at_all:
            self.at_all[name] = any(
                other in self.present or (other in self.absent and line.index(other) < line.index(name))
                for line in self.group_of.get(name, ())
                if name in line
                for other in line
                if other != name
            )
        return self.at_all[name]
