"""The noisy-MAX network of one engine: causes with their odds, and what each cause alone would bring to each question.

A question is one ordered variable with the answers 0..m: 0 is what a sound engine gives, m what would be named before
all others (Henrion 1989; Diez 1993; noisy-OR is m = 1). Causes are independent beforehand, but for the shared
condition of the engine (`condition.py`). A fault is absent, slight or marked; the frequency words mean marked, and
within a degree its answers are independent. With C(k) = chance that a draw is k or lower,

    P(answer <= k) = leak(k) x product over the present causes of C(k)

The leak is three ladders: *normal* (sound engines show it too), *unlisted* (a fault that is not on the list) and
*misread*. A chance e of having been misread thins the draws of the causes (an approximation where e is large).

No probability is ever 0 or 1: evidence can then never be impossible, and every derivative is finite.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import replace

import numpy as np

from ..arrays import Bools, Floats
from ..knowledge.questions import sort_of
from ..logic.evaluate import evaluate
from ..logic.stratify import once_per_value
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.terms import Moment
from ..model.truth import Truth
from ..model.values import Values
from .questions import Question

LEAST = 1e-6
"""No prior, leak or share is nearer to 0 or 1 than this."""
DEGREES = ("slight", "marked")


@dataclass(frozen=True, slots=True, eq=False)
class Node:
    """One question as a noisy-MAX variable. Arrays are never written to."""

    question: Question
    readings: frozenset[str]
    """Observations behind its facts."""
    channel: Moment
    """'talk', 'test' or 'teardown': who shows it."""
    at_most: Floats
    """[degrees, causes, m + 1] C(k): chance that the cause's own draw is k or lower."""
    normal: Floats
    """[m + 1] chance that a sound engine's draw is k or lower."""
    unlisted: Floats
    """[m + 1] the same of faults that are not on the list."""
    misread: Floats
    """[m + 1] the same of mistaken answers."""
    sorts: tuple[str, ...]
    """Per answer 1..m: 'trouble', 'discriminator' or 'bench'."""
    direct: tuple[bool, ...]
    """Per answer 1..m: whether it is the fault itself."""
    in_use: bool = False
    """Whether only use shows that it is gone."""

    @property
    def findings(self) -> tuple[str, ...]:
        """Finding of each answer 1..m."""
        return self.question.findings

    @property
    def leak(self) -> Floats:
        """[m + 1] chance that nothing but the listed causes brings more than k."""
        return self.normal * self.unlisted * self.misread


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Causes in order of id, and questions. Arrays are never written to."""

    causes: tuple[str, ...]
    nodes: tuple[Node, ...]
    base: Floats
    """[causes] probability from the base word alone."""
    prior: Floats
    """[causes] probability with history."""
    shares: Floats
    """[degrees] share of each degree among present faults that can be slight."""
    history: tuple[tuple[str, tuple[tuple[int, float], ...]], ...] = ()
    """(history rule that is present, ((cause number, decibans), ...)), in order of id."""
    wear: Floats | None = None
    """[causes] how far each cause follows the shared condition of the engine; None where none does."""
    condition: float = 0.0
    """What history says of the shared condition, in units of its spread."""
    never_slight: Bools | None = None
    """[causes] True for faults that are there or are not, and never slight; None where there are none."""

    @property
    def degrees(self) -> Floats:
        """[degrees, causes] share of each degree among present faults, cause by cause."""
        shares = np.repeat(self.shares[:, None], len(self.causes), axis=1)
        if self.never_slight is not None:
            shares[:, self.never_slight] = ((0.0,), (1.0,))
        return shares

    def number(self) -> Mapping[str, tuple[int, int]]:
        """Finding -> (node, answer)."""
        return _numbers(self.nodes)


@once_per_value(keep=16)
def _numbers(nodes: tuple[Node, ...]) -> dict[str, tuple[int, int]]:
    return {
        name: (node, answer) for node, item in enumerate(nodes) for answer, name in enumerate(item.findings, start=1)
    }


def ladder(draws: Floats) -> Floats:
    """[..., m] chances of the answers 1..m -> [..., m + 1] chance of k or lower, k from 0 to m."""
    above = np.cumsum(draws[..., ::-1], axis=-1)[..., ::-1]
    return np.concatenate((np.maximum(1 - above, LEAST), np.ones((*draws.shape[:-1], 1))), axis=-1)


def with_history(network: Network, knowledge: Knowledge, facts: Values, findings: Mapping[str, Truth]) -> Network:
    """The same network with the history rules that are present: each shifts base odds by so many decibans."""
    limits = {name: limit.value for name, limit in knowledge.limits.items()}
    number = {cause: index for index, cause in enumerate(network.causes)}
    told = []
    for name in sorted(knowledge.history):
        rule = knowledge.history[name]
        if evaluate(rule.when, facts, findings, limits) is not Truth.PRESENT:
            continue
        shifts = tuple((number[cause], db) for cause, db in sorted(rule.shifts.items()) if cause in number and db)
        if shifts:
            told.append((name, shifts))
    return with_told(network, tuple(told))


def with_told(network: Network, told: tuple[tuple[str, tuple[tuple[int, float], ...]], ...]) -> Network:
    """The same network with these history rules present: (rule, ((cause number, decibans), ...)), in order of id."""
    log_odds = np.log(network.base) - np.log1p(-network.base)
    for _, shifts in told:
        for cause, decibans in shifts:
            log_odds[cause] += decibans * math.log(10) / 10
    prior = np.clip(1 / (1 + np.exp(-log_odds)), LEAST, 1 - LEAST) if told else network.base
    return replace(network, history=told, prior=prior)


def with_done(
    network: Network, knowledge: Knowledge, done: Collection[str], cures: Mapping[str, Collection[str]]
) -> Network:
    """The same network after work that did not cure the trouble: of each cause that it cures, the odds are those that
    the cure did not take, which the first operation that cures it tells. What was read or seen of such a fault itself
    goes with it: it was read of the part that is no longer there, or wrongly, for its cure helped nothing. `cures`:
    cause -> operations that cure it."""
    shift = 10 * math.log10(knowledge.settings.cure_fails)
    told: list[tuple[str, tuple[tuple[int, float], ...]]] = []
    struck: set[int] = set()
    for operation in sorted(done):
        here = [
            number
            for number, cause in enumerate(network.causes)
            if operation in cures.get(cause, ()) and number not in struck
        ]
        struck.update(here)
        if here:
            told.append((operation, tuple((number, shift) for number in here)))
    if not told:
        return network
    mended = {network.causes[number] for number in struck}
    nodes = tuple(
        node for node in network.nodes if not all(is_read_of(knowledge, name, mended) for name in node.findings)
    )
    return with_told(replace(network, nodes=nodes), (*network.history, *told))


def is_read_of(knowledge: Knowledge, finding: str, causes: Collection[str]) -> bool:
    """Whether a finding was read, seen or measured of one of these faults itself: of each that brings it before all
    others, which nearly always does so, or beside which the others seldom do."""
    item = knowledge.findings[finding]
    if not item.direct or not item.explained_by or sort_of(knowledge, item) == "trouble":
        return False
    words = knowledge.settings.words
    shares = {cause: words[word] for cause, word in item.explained_by.items()}
    most = max(shares.values())
    leading = {cause for cause, share in shares.items() if share == most}
    others = max((share for share in shares.values() if share < most), default=0.0)
    return leading <= set(causes) and (most >= words["nearly always"] or others <= words["rarely"])


def with_lived_with(network: Network, findings: Collection[str]) -> Network:
    """The same network where these signs tell causes apart and need not go."""
    nodes = tuple(
        replace(
            node,
            sorts=tuple(
                "discriminator" if name in findings else sort
                for name, sort in zip(node.findings, node.sorts, strict=True)
            ),
        )
        if any(name in findings for name in node.findings)
        else node
        for node in network.nodes
    )
    return replace(network, nodes=nodes) if findings else network


__all__ = [
    "DEGREES",
    "LEAST",
    "Network",
    "Node",
    "is_read_of",
    "ladder",
    "with_done",
    "with_history",
    "with_lived_with",
    "with_told",
]
