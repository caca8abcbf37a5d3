"""Made-up noisy-MAX networks with graded questions and degrees, and sums over all their worlds and draws."""

from __future__ import annotations

import itertools

import numpy as np

from howdeep.beliefs.evidence import Evidence, Sign, evidence_of
from howdeep.beliefs.network import Network, Node, ladder
from howdeep.beliefs.questions import Question

SHARES = np.array([0.6, 0.4])


def made_up(rng: np.random.Generator, causes: int = 5, questions: int = 6) -> Network:
    """A network with random links; questions have one to three telling answers."""
    nodes = []
    for number in range(questions):
        count = int(rng.integers(1, 4))
        channel = ("talk", "test", "teardown")[int(rng.integers(3))]
        scale = np.array([{"talk": 0.15, "test": 0.8, "teardown": 1.0}[channel], 1.0])
        linked = rng.random(causes) < 0.6
        marked = rng.dirichlet(np.ones(count + 1), causes)[:, :count] * linked[:, None]
        leaks = [rng.dirichlet(np.r_[20.0, np.ones(count)])[1:] for _ in range(3)]
        sort = {"talk": "trouble", "test": "discriminator", "teardown": "bench"}[channel]
        question = Question((f"q{number}",), tuple(f"f{number}_{answer}" for answer in range(count)), ((),) * count)
        nodes.append(
            Node(
                question,
                frozenset({f"q{number}"}),
                channel,
                ladder(scale[:, None, None] * marked),
                *(ladder(leak) for leak in leaks),
                (sort,) * count,
                (False,) * count,
            )
        )
    prior = rng.uniform(0.02, 0.4, causes)
    return Network(
        tuple(f"c{number}" for number in range(causes)),
        tuple(nodes),
        prior,
        prior,
        SHARES,
        never_slight=rng.random(causes) < 0.2,
    )


def made_up_signs(rng: np.random.Generator, network: Network, soft: bool = True) -> tuple[Sign, ...]:
    """Answers to most questions; some near the edge of two bands."""
    signs = []
    for number, node in enumerate(network.nodes):
        if rng.random() < 0.15:
            continue
        count = len(node.findings)
        answer = int(rng.integers(0, count + 1))
        if answer and soft and rng.random() < 0.4:
            other = answer - 1 if rng.random() < 0.7 or answer == count else answer + 1
            share = float(rng.uniform(0.5, 0.95))
            signs.append(Sign(number, answer, tuple(sorted(((answer, share), (other, 1 - share))))))
        else:
            signs.append(Sign(number, answer))
    return tuple(signs)


def worlds(network: Network):
    """(degree of each cause: 0 absent, 1 slight, 2 marked; its prior chance)."""
    for degrees in itertools.product(range(3), repeat=len(network.causes)):
        chance = 1.0
        for cause, degree in enumerate(degrees):
            prior = network.prior[cause]
            chance *= 1 - prior if degree == 0 else prior * network.degrees[degree - 1, cause]
        yield degrees, chance


def ladder_of(node: Node, cause: int, degree: int) -> np.ndarray:
    """[m + 1] chance that a cause's own draw is k or lower."""
    return np.ones(node.at_most.shape[-1]) if degree == 0 else node.at_most[degree - 1, cause]


def shares_of(sign: Sign) -> dict[int, float]:
    return dict(sign.shares) or {sign.answer: 1.0}


def chance_of(node: Node, sign: Sign, ladders: list[np.ndarray]) -> float:
    """Chance of a sign where the draws have these ladders (the leaks' among them)."""
    at_most = np.prod(ladders, axis=0)
    exactly = np.diff(at_most, prepend=0.0)
    return float(sum(share * exactly[answer] for answer, share in shares_of(sign).items()))


def capped(ladder_: np.ndarray, sign: Sign) -> np.ndarray:
    """The ladder with draws that reach the answer (of two bands the lower telling one, or the telling one beside sound)
    forbidden: their chance is lost, not moved elsewhere."""
    lowest = min(shares_of(sign))
    return np.minimum(ladder_, ladder_[max(lowest - 1, 0)])


def summed(
    network: Network, signs: tuple[Sign, ...], *, odds=None, cap=None, mute=(), off=(), leaks=None, also=()
) -> float:
    """Chance of the evidence by enumeration. `cap`: {cause: signs capped}; `mute`: causes at no draw at all in signs
    that must go; `off`: causes left out; `leaks(sign, node)`: ladders of the leak in place of its own; `also`: further
    signs, which need not go."""
    total = 0.0
    cap = cap or {}
    for degrees, chance in worlds(network):
        if any(degrees[cause] for cause in off):
            continue
        for sign in (*signs, *also):
            node = network.nodes[sign.node]
            ladders = leaks(sign, node) if leaks else [node.normal, node.unlisted, node.misread]
            for cause, degree in enumerate(degrees):
                own = ladder_of(node, cause, degree)
                if sign in signs and sign.answer and cause in mute and node.sorts[sign.answer - 1] != "discriminator":
                    own = np.full_like(own, own[0])
                if sign.answer and sign in cap.get(cause, ()):
                    own = capped(own, sign)
                ladders = [*ladders, own]
            chance *= chance_of(node, sign, ladders)
        total += chance
    return total


def evidence(rng: np.random.Generator, **sizes: int) -> Evidence:
    network = made_up(rng, **sizes)
    return evidence_of(network, made_up_signs(rng, network))
