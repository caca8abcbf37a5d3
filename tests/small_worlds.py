"""Small made-up networks, and every figure about them by literally enumerating all worlds."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from howdeep.model.knowledge import RUNGS, WORDS
from howdeep.reasoning.network import Network

VALUES = (0.002, 0.05, 0.2, 0.5, 0.8, 0.95)


def network(prior, q, leak, words=None, leak_words=None) -> Network:
    """A network from plain arrays, without misreading."""
    q, leak, prior = np.array(q, float), np.array(leak, float), np.array(prior, float)
    link = np.zeros(q.shape, np.int8) if words is None else words
    leak_word = np.zeros(len(leak), np.int8) if leak_words is None else leak_words
    return Network(tuple(f"c{i:02}" for i in range(len(prior))), tuple(f"f{i:02}" for i in range(len(leak))), prior, (),
                   prior, link, leak_word, VALUES, WORDS, 0.0, q, leak)


def random_network(rng, causes=7, findings=7, links=4) -> Network:
    """Links and leaks by frequency words, priors between 1 and 30 %."""
    words = np.zeros((causes, findings), np.int8)
    for finding in range(findings):
        for cause in rng.choice(causes, size=min(causes, rng.integers(1, links + 1)), replace=False):
            words[cause, finding] = rng.integers(2, 7)
    leak_words = rng.integers(0, 3, findings).astype(np.int8)
    q = np.array([0.0, *VALUES])[words]
    return network(rng.uniform(0.01, 0.3, causes), q, np.array(VALUES)[leak_words], words, leak_words)


def random_evidence(rng, net, most_present=5):
    """(present, absent, open) numbers of findings."""
    order = [int(i) for i in rng.permutation(len(net.findings))]
    shown = int(rng.integers(0, most_present + 1))
    absent = int(rng.integers(0, max(1, len(order) - shown - 2)))
    return tuple(order[:shown]), tuple(order[shown: shown + absent]), tuple(order[shown + absent:])


@dataclass
class AllWorlds:
    """All worlds of causes of a network."""

    net: Network

    def __post_init__(self):
        self.x = np.array(list(itertools.product((False, True), repeat=len(self.net.causes))), dtype=bool)
        self.p = np.prod(np.where(self.x, self.net.prior, 1 - self.net.prior), axis=1)
        self.unseen = np.array([[(1 - self.net.leak[f]) * np.prod(1 - self.net.q[world, f])
                                 for f in range(len(self.net.findings))] for world in self.x])

    def weight(self, present=(), absent=()):
        """[worlds] probability of the world and of these findings in it."""
        return (self.p * np.prod(1 - self.unseen[:, list(present)], axis=1)
                * np.prod(self.unseen[:, list(absent)], axis=1))

    def posteriors(self, present=(), absent=()):
        weight = self.weight(present, absent)
        return weight @ self.x / weight.sum()


def literal_cost(world, need, seen, start, prices, terms) -> float:
    """What a job begun at `start` costs in one world, by letting it grow step by step."""
    level, paid = start, prices[start]
    while True:
        in_view = [c for c in range(len(need)) if world[c] and seen[c] <= level and need[c] > level]
        if not in_view:
            break
        level = max(need[c] for c in in_view)
    if level > start:
        paid += terms.growth_charge + terms.growth_factor * max(0.0, prices[level] - prices[start])
    deepest = max((need[c] for c in range(len(need)) if world[c]), default=0)
    if deepest > level:
        paid += prices[deepest] + terms.comeback_charge + (terms.reopening if level >= RUNGS.index("top_end") else 0.0)
    return paid


def cost_table(worlds, need, seen, prices, terms):
    """[rungs, worlds]"""
    return np.array([[literal_cost(world, need, seen, start, prices, terms) for world in worlds.x]
                     for start in range(len(RUNGS))])


def random_levels(rng, causes):
    """(need, seen) numbers of rungs; seen may be above or below need."""
    need = tuple(int(i) for i in rng.integers(0, 6, causes))
    return need, tuple(int(min(5, max(0, n + d))) for n, d in zip(need, rng.integers(-3, 2, causes), strict=True))
