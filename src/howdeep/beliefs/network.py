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
from collections import OrderedDict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from ..arrays import Bools, Floats
from ..knowledge.questions import COMPLAINTS, facts_of, sort_of, speaks_of
from ..logic.applicability import applies
from ..logic.evaluate import evaluate
from ..logic.stratify import once_per_value
from ..model.condition import AllOf, Not
from ..model.knowledge import Knowledge
from ..model.terms import MOMENTS, Moment
from ..model.truth import Truth
from ..model.values import Value, Values
from .questions import Question, all_facts, questions_of

BRINGS_BOTH = 0.3
"""So many of the unlisted faults that bring one answer bring another too, where a finding wants both (judgement)."""
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


def network_of(knowledge: Knowledge, engine: Values, facts: Values, findings: Mapping[str, Truth]) -> Network:
    """The network of an engine built as `engine` says (engine.* facts), with the history that `facts` tell.

    `facts` are answers and reduced readings, `findings` what the rules concluded of them.
    """
    frame = frame_of(knowledge, engine, complained_of(knowledge, facts))
    return with_history(frame, knowledge, {**engine, **facts}, findings)


def frame_of(knowledge: Knowledge, engine: Values, about: frozenset[str] | None = None) -> Network:
    """The network without history, made once for each way of building an engine and each complaint.

    `about` names the questions about what the engine was brought in for; None where nothing tells them from others.
    """
    frames = _frames(knowledge)
    key = tuple(sorted(engine.items()))
    if key not in frames:
        frames[key] = Frames(_frame(knowledge, engine), knowledge)
    return frames[key].about(about)


class Frames:
    """The network of one way of building an engine, and the same for the complaints asked of lately. Questions that a
    complaint is about, and those that it is not, are the same objects for all of them."""

    KEPT = 32

    def __init__(self, frame: Network, knowledge: Knowledge) -> None:
        self.frame, self.knowledge = frame, knowledge
        self.asked = tuple(_asked_about(knowledge, node, frozenset()) for node in frame.nodes)
        self.known: OrderedDict[frozenset[str], Network] = OrderedDict()

    def about(self, about: frozenset[str] | None) -> Network:
        """That of a complaint, by the questions about it; of none, where nothing tells them from others."""
        if about is None:
            return self.frame
        if about not in self.known:
            self.known[about] = replace(
                self.frame,
                nodes=tuple(
                    asked
                    if not node.readings & about
                    else node
                    if node.readings <= about
                    else _asked_about(self.knowledge, node, about)
                    for node, asked in zip(self.frame.nodes, self.asked, strict=True)
                ),
            )
            while len(self.known) > self.KEPT:
                self.known.popitem(last=False)
        self.known.move_to_end(about)
        return self.known[about]


@once_per_value(keep=4)
def _frames(knowledge: Knowledge) -> dict[tuple[tuple[str, Value | None], ...], Frames]:
    return {}


def complained_of(knowledge: Knowledge, facts: Values) -> frozenset[str] | None:
    """The questions about what an engine was brought in for, and those that go into detail about them; None where no
    complaint was told, or one that no question is about."""
    complaints = (str(facts[fact]) for fact in COMPLAINTS if fact in facts)
    grown = {name for complaint in complaints for name in knowledge.settings.spoken_of.get(complaint, ())}
    while grown:
        more = {
            name
            for name, item in knowledge.observations.items()
            if name not in grown and item.follows is not None and grown & facts_of(knowledge, item.follows)
        }
        if not more:
            return frozenset(grown)
        grown |= more
    return None


def _frame(knowledge: Knowledge, engine: Values) -> Network:
    settings = knowledge.settings
    causes = tuple(name for name in sorted(knowledge.causes) if applies(knowledge.causes[name], engine))
    telling = [name for name, finding in knowledge.findings.items() if finding.explained_by]
    nodes = tuple(node_of(knowledge, causes, question) for question in questions_of(knowledge, engine, telling))
    base = np.clip([settings.base_words[knowledge.causes[name].base] for name in causes], LEAST, 1 - LEAST)
    shares = np.array([settings.slight_share, 1 - settings.slight_share])
    wear = np.array([settings.condition_weights.get(knowledge.causes[name].system, 0.0) for name in causes])
    never_slight = np.array([not knowledge.causes[name].slight for name in causes])
    return Network(
        causes,
        nodes,
        base,
        base,
        shares,
        wear=wear if wear.any() else None,
        never_slight=never_slight if never_slight.any() else None,
    )


def node_of(knowledge: Knowledge, causes: tuple[str, ...], question: Question) -> Node:
    """The numbers of one question from the frequency words of its findings."""
    settings = knowledge.settings
    readings = readings_of(knowledge, question.facts)
    channel = channel_of(knowledge, readings)
    direct = tuple(knowledge.findings[name].direct for name in question.findings)
    misread = np.array([misread_of(knowledge, readings, channel, seen) for seen in direct])
    highest = max(settings.words.values())
    count = len(question.findings)
    marked = np.zeros((len(causes), count))
    normal = np.zeros(count)
    for place, name in enumerate(question.findings):
        finding = knowledge.findings[name]
        for number, cause in enumerate(causes):
            word = finding.explained_by.get(cause)
            if word is not None:
                shown = settings.words[word]
                marked[number, place] = settings.direct_shown if direct[place] and shown == highest else shown
        otherwise = settings.words[finding.otherwise or "never"]
        normal[place] = 0.0 if direct[place] and otherwise == min(settings.words.values()) else otherwise
    marked, normal = _own(marked, question), _own(normal[None], question)[0]
    scale = np.array([settings.slight_shows[channel], 1.0])
    draws = np.minimum(scale[:, None, None] * marked * (1 - misread), 1 - LEAST)
    itself = np.array(direct) & (channel != "talk")  # what is the fault itself no unlisted one brings
    unlisted = np.where(itself, 0.0, settings.unlisted[channel]) * BRINGS_BOTH ** (
        len(_told_at_once(knowledge, question)) - 1
    )
    return Node(
        question,
        readings,
        channel,
        ladder(draws),
        ladder(normal),
        ladder(unlisted / count),
        _invented(knowledge, question, readings, misread, None),
        tuple(sort_of(knowledge, knowledge.findings[name]) for name in question.findings),
        direct,
        any(knowledge.observations[name].proved == "in use" for name in readings if name in knowledge.observations),
    )


def _own(shown: Floats, question: Question) -> Floats:
    """[rows, m] what each answer has of its own: nested answers taken away, and never more than always together."""
    own = shown.copy()
    for place in range(len(question.findings) - 1, -1, -1):
        inner = list(question.inside[place])
        if inner:
            own[:, place] = np.maximum(shown[:, place] - shown[:, inner].sum(axis=1), 0.0)
    total = own.sum(axis=1, keepdims=True)
    scale: Floats = np.maximum(total / (1 - LEAST), 1.0)
    return own / scale  # `rules check` names shares that come to more than always


def ladder(draws: Floats) -> Floats:
    """[..., m] chances of the answers 1..m -> [..., m + 1] chance of k or lower, k from 0 to m."""
    above = np.cumsum(draws[..., ::-1], axis=-1)[..., ::-1]
    return np.concatenate((np.maximum(1 - above, LEAST), np.ones((*draws.shape[:-1], 1))), axis=-1)


def readings_of(knowledge: Knowledge, facts: Iterable[str]) -> frozenset[str]:
    """The observations behind some facts."""
    return frozenset(
        name
        for fact in facts
        for name in (knowledge.reduced[fact].taken_from[:1] or (fact,) if fact in knowledge.reduced else (fact,))
    )


def channel_of(knowledge: Knowledge, readings: Iterable[str]) -> Moment:
    """Who shows it: the customer as soon as he tells part of it, else a test, else the open engine."""
    moments = {knowledge.observations[name].moment for name in readings if name in knowledge.observations}
    return next((moment for moment in MOMENTS if moment in moments), "test")


def misread_of(knowledge: Knowledge, readings: Iterable[str], channel: str, direct: bool) -> float:
    """Chance of a mistaken answer, by the least reliable of those who speak."""
    settings = knowledge.settings
    if channel == "teardown":
        return settings.direct_mistaken if direct else settings.misread["look"] * settings.seen_open
    spoken = max(
        (
            settings.misread[speaks_of(knowledge.observations[name])]
            for name in readings
            if name in knowledge.observations
        ),
        default=settings.misread["look"],
    )
    return spoken * settings.seen_open if direct and channel == "test" else spoken


def _asked_about(knowledge: Knowledge, node: Node, about: frozenset[str] | None) -> Node:
    """The same question where `about` are those about the complaint."""
    misread = np.array([misread_of(knowledge, node.readings, node.channel, seen) for seen in node.direct])
    return replace(node, misread=_invented(knowledge, node.question, node.readings, misread, about))


def _invented(
    knowledge: Knowledge, question: Question, readings: frozenset[str], misread: Floats, about: frozenset[str] | None
) -> Floats:
    """[answers + 1] ladder of the trouble that is named and is not there."""
    share = invented_of(knowledge, readings, about) * invented_besides(knowledge, question, about)
    return ladder(np.maximum(misread * share, LEAST) / len(question.findings))


def invented_of(knowledge: Knowledge, readings: Iterable[str], about: frozenset[str] | None = None) -> float:
    """How often a trouble is named that is not there, as a share of the chance of a mistake: by who is worst at it.

    What he came for a customer has seen; what he is only asked about he says yes to as easily as he passes it over.
    """
    share = knowledge.settings.invented
    named = [name for name in readings if name in knowledge.observations]
    return max(
        (
            share.get(speaks_of(knowledge.observations[name]), 1.0) if about is None or name in about else 1.0
            for name in named
        ),
        default=1.0,
    )


def invented_besides(knowledge: Knowledge, question: Question, about: frozenset[str] | None = None) -> float:
    """Of a finding that wants several answers at once: the chance that all but the likeliest to be wrong are invented
    too. One mistake alone does not make it."""
    misread = knowledge.settings.misread
    chances = [
        max((misread[speaks_of(knowledge.observations[name])] for name in readings), default=0.0)
        * invented_of(knowledge, readings, about)
        for readings in _told_at_once(knowledge, question)
    ]
    return math.prod(sorted(chances)[:-1])


def _told_at_once(knowledge: Knowledge, question: Question) -> tuple[frozenset[str], ...]:
    """The readings behind each of the answers that the one finding of a question wants together; one set for all where
    it wants one, or one of several."""
    when, asked = knowledge.findings[question.findings[0]].when, knowledge.observations.keys()
    if len(question.findings) == 1 and isinstance(when, AllOf):
        parts = [part for part in when.parts if not isinstance(part, Not)]
        apart = [frozenset(readings_of(knowledge, facts_of(knowledge, part)) & asked) for part in parts]
        if told := tuple(readings for readings in dict.fromkeys(apart) if readings):
            return told
    return (frozenset(readings_of(knowledge, question.facts) & asked),)


def seen_by(knowledge: Knowledge, finding: str) -> tuple[float, float]:
    """(chance that a finding is a mistake, how often a fault of unknown degree shows it as a share of how often a
    marked one does)."""
    item, settings = knowledge.findings[finding], knowledge.settings
    facts = (fact for fact in all_facts(knowledge, finding) if not fact.startswith("engine."))
    readings = readings_of(knowledge, facts)
    channel = channel_of(knowledge, readings)
    mixed = settings.slight_share * settings.slight_shows[channel] + 1 - settings.slight_share
    return misread_of(knowledge, readings, channel, item.direct), mixed


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
    the cure did not take, which the first operation that cures it tells. `cures`: cause -> operations that cure it."""
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
    return with_told(network, (*network.history, *told)) if told else network


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
    "all_facts",
    "frame_of",
    "ladder",
    "network_of",
    "with_done",
    "with_lived_with",
    "with_told",
]
