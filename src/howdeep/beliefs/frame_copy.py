"""The network of a way of building an engine as plain values and back, for the copy that saves making it anew.

Arrays stand as their shape and their bytes, so that what comes back is the same to the last bit; of each question only
the causes that it has to do with. Only a network without history is copied.
"""

from __future__ import annotations

from base64 import b64decode, b64encode
from typing import Any

import numpy as np

from ..arrays import Bools, Floats
from .network import Network, Node
from .questions import Question

MADE_BY = (
    "beliefs/frame_copy.py",
    "beliefs/frames.py",
    "beliefs/network.py",
    "beliefs/questions.py",
    "beliefs/speakers.py",
    "knowledge/questions.py",
    "logic/applicability.py",
    "logic/evaluate.py",
    "logic/stratify.py",
    "model/truth.py",
    "model/values.py",
)
"""Modules that shape a network, besides those that shape the rule base: a copy made by other code is not used."""


def to_plain(network: Network) -> list[Any]:
    """A network without history as lists, words and numbers."""
    return [
        network.causes,
        [_node_to_plain(node) for node in network.nodes],
        _array_to_plain(network.base),
        _array_to_plain(network.shares),
        _array_to_plain(network.wear),
        _array_to_plain(network.never_slight),
    ]


def from_plain(plain: Any) -> Network:
    """The network that `to_plain` wrote. Raises ValueError, KeyError or TypeError for anything else."""
    causes, nodes, base, shares, wear, never_slight = plain
    odds = _floats(base)
    return Network(
        tuple(causes),
        tuple([_node(node) for node in nodes]),
        odds,
        odds,
        _floats(shares),
        wear=None if wear is None else _floats(wear),
        never_slight=None if never_slight is None else _bools(never_slight),
    )


def _node_to_plain(node: Node) -> list[Any]:
    question = node.question
    bring = np.flatnonzero((node.at_most != 1.0).any(axis=(0, 2)))
    return [
        [question.facts, question.findings, question.inside],
        sorted(node.readings),
        node.channel,
        [node.at_most.shape, bring.tolist(), _array_to_plain(node.at_most[:, bring])],
        *map(_array_to_plain, (node.normal, node.unlisted, node.misread)),
        node.sorts,
        node.direct,
        node.in_use,
    ]


def _node(plain: list[Any]) -> Node:
    (facts, findings, inside), readings, channel, at_most, normal, unlisted, misread, sorts, direct, in_use = plain
    shape, bring, shown = at_most
    ladders = np.ones(shape)
    ladders[:, bring] = _floats(shown)
    return Node(
        Question(tuple(facts), tuple(findings), tuple([tuple(one) for one in inside])),
        frozenset(readings),
        channel,
        ladders,
        _floats(normal),
        _floats(unlisted),
        _floats(misread),
        tuple(sorts),
        tuple(direct),
        in_use,
    )


def _array_to_plain(array: Floats | Bools | None) -> list[Any] | None:
    """[shape, bytes in the machine's order]; copies stay on the machine that made them."""
    return None if array is None else [array.shape, b64encode(np.ascontiguousarray(array).tobytes()).decode("ascii")]


def _floats(plain: list[Any]) -> Floats:
    shape, data = plain
    return np.frombuffer(b64decode(data), dtype=np.float64).reshape(shape)


def _bools(plain: list[Any]) -> Bools:
    shape, data = plain
    return np.frombuffer(b64decode(data), dtype=np.bool_).reshape(shape)


__all__ = ["MADE_BY", "from_plain", "to_plain"]
