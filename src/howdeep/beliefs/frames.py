"""The network of an engine and a complaint, made from the frequency words of the rules and kept."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from ..arrays import Floats
from ..knowledge.questions import facts_of, sort_of, spoken_of
from ..logic.applicability import applies
from ..logic.stratify import once_per_value
from ..model.knowledge import Knowledge
from ..model.truth import Truth
from ..model.values import Value, Values
from .network import LEAST, Network, Node, ladder, with_history
from .questions import Question, questions_of
from .speakers import channel_of, invented_besides, invented_of, looked_at, misread_of, readings_of, told_at_once


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
    return make_ready(knowledge, engine, lambda make: make()).about(about)


def make_ready(knowledge: Knowledge, engine: Values, copied: Callable[[Callable[[], Network]], Network]) -> Frames:
    """The networks of a way of building an engine, kept. Where there are none yet, `copied` gives that without a
    complaint: from a copy, or by what makes it, which it is handed."""
    frames = _frames(knowledge)
    key = tuple(sorted(engine.items()))
    if key not in frames:
        frames[key] = Frames(copied(lambda: _frame(knowledge, engine)), knowledge)
    return frames[key]


class Frames:
    """The network of one way of building an engine, and the same for the complaints asked of lately. Questions that a
    complaint is about, and those that it is not, are the same objects for all of them."""

    KEPT = 32

    def __init__(self, frame: Network, knowledge: Knowledge) -> None:
        self.frame, self.knowledge = frame, knowledge
        self.asked = tuple(asked_about(knowledge, node, frozenset()) for node in frame.nodes)
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
                    else asked_about(self.knowledge, node, about)
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
    grown = set(spoken_of(knowledge, facts))
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
    number = {name: place for place, name in enumerate(causes)}
    nodes = tuple(node_of(knowledge, number, question) for question in questions_of(knowledge, engine, telling))
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


def node_of(knowledge: Knowledge, number: Mapping[str, int], question: Question) -> Node:
    """The numbers of one question from the frequency words of its findings; `number` is each cause's row."""
    settings = knowledge.settings
    readings = readings_of(knowledge, question.facts)
    channel = channel_of(knowledge, readings)
    direct = tuple(knowledge.findings[name].direct for name in question.findings)
    misread = np.array([misread_of(knowledge, readings, channel, seen) for seen in direct])
    highest = max(settings.words.values())
    count = len(question.findings)
    marked = np.zeros((len(number), count))
    normal = np.zeros(count)
    for place, name in enumerate(question.findings):
        finding = knowledge.findings[name]
        for cause, word in finding.explained_by.items():
            if cause in number:
                shown = settings.words[word]
                marked[number[cause], place] = settings.direct_shown if direct[place] and shown == highest else shown
        otherwise = settings.words[finding.otherwise or "never"]
        normal[place] = 0.0 if direct[place] and otherwise == min(settings.words.values()) else otherwise
    marked, normal = _own(marked, question), _own(normal[None], question)[0]
    scale = np.array([settings.slight_shows[channel], 1.0])
    draws = np.minimum(scale[:, None, None] * marked * (1 - misread), 1 - LEAST)
    # what is the fault itself no unlisted one brings
    itself = np.array(direct) & looked_at(knowledge, readings, channel)
    unlisted = np.where(itself, 0.0, settings.unlisted[channel]) * settings.brings_both ** (
        len(told_at_once(knowledge, question)) - 1
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


def asked_about(knowledge: Knowledge, node: Node, about: frozenset[str] | None) -> Node:
    """The same question where `about` are those about the complaint."""
    misread = np.array([misread_of(knowledge, node.readings, node.channel, seen) for seen in node.direct])
    return replace(node, misread=_invented(knowledge, node.question, node.readings, misread, about))


def _invented(
    knowledge: Knowledge, question: Question, readings: frozenset[str], misread: Floats, about: frozenset[str] | None
) -> Floats:
    """[answers + 1] ladder of the trouble that is named and is not there."""
    share = invented_of(knowledge, readings, about) * invented_besides(knowledge, question, about)
    return ladder(np.maximum(misread * share, LEAST) / len(question.findings))


__all__ = ["Frames", "asked_about", "complained_of", "frame_of", "make_ready", "network_of", "node_of"]
