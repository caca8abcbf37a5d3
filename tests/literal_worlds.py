"""What a made-up network does in every world with every draw, and the policy of a shop followed literally through them.

A world is which faults are there and how far gone; a draw is what one fault (or sound wear, a fault that is not on the
list, a mistake) alone would bring to one question. A fault has a hand in what must go where its own draw in a telling
trouble or bench sign reaches above sound.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from howdeep.beliefs.evidence import Sign
from howdeep.beliefs.network import Network
from howdeep.decision.ladder import LEVELS, NOBODY, UNLISTED

from .made_up_networks import chance_of, ladder_of, shares_of, worlds

KINDS = range(NOBODY, UNLISTED + 1)


@dataclass(frozen=True)
class Way:
    """One world, with the greatest need among those that have a hand in what must go, and its weight."""

    present: frozenset[int]
    most: int
    weight: float


def ways_of(
    network: Network, signs: Sequence[Sign], need: Sequence[int], *, at_once: bool = False, also: Sequence[Sign] = ()
) -> list[Way]:
    """Every world and every M with its probability given the signs, jointly with those in `also` (which need not go).
    `at_once`: only signs proved at once must go."""
    found, whole = [], 0.0

    @functools.cache
    def among(sign: Sign, degrees: tuple[int, ...]) -> np.ndarray:
        return _upto(network, sign, need, degrees, at_once)

    for degrees, chance in worlds(network):
        upto = np.prod([among(sign, degrees) for sign in signs], axis=0) if signs else np.ones(len(KINDS))
        whole += chance * upto[-1]
        chance *= math.prod(_seen(network, sign, degrees) for sign in also)
        present = frozenset(cause for cause, degree in enumerate(degrees) if degree)
        found += [
            Way(present, most, chance * weight) for most, weight in zip(KINDS, np.diff(upto, prepend=0.0), strict=True)
        ]
    return [Way(way.present, way.most, way.weight / whole) for way in found if way.weight > 0]


def _seen(network: Network, sign: Sign, degrees: tuple[int, ...]) -> float:
    node = network.nodes[sign.node]
    return chance_of(
        node,
        sign,
        [
            node.normal,
            node.unlisted,
            node.misread,
            *(ladder_of(node, cause, degree) for cause, degree in enumerate(degrees)),
        ],
    )


def _upto(network: Network, sign: Sign, need: Sequence[int], degrees: tuple[int, ...], at_once: bool) -> np.ndarray:
    """[M] chance of one sign where nobody beyond M has a hand in it, by all combinations of draws."""
    node = network.nodes[sign.node]
    sources = [(NOBODY, node.normal), (NOBODY, node.misread), (UNLISTED, node.unlisted)]
    sources += [(need[cause], ladder_of(node, cause, degree)) for cause, degree in enumerate(degrees) if degree]
    count = len(node.findings) + 1
    weight = np.ones(1)
    highest, most = np.zeros(1, dtype=int), np.full(1, NOBODY)
    for level, ladder in sources:
        draws = np.arange(count)
        weight = (weight[:, None] * np.diff(ladder, prepend=0.0)).ravel()
        highest = np.maximum(highest[:, None], draws).ravel()
        most = np.maximum(most[:, None], np.where(draws > 0, level, NOBODY)).ravel()
    if not sign.answer or node.sorts[sign.answer - 1] == "discriminator" or (at_once and node.in_use):
        most = np.full_like(most, NOBODY)
    counts = sum(share * (highest == answer) for answer, share in shares_of(sign).items()) * weight
    return np.array([counts[most <= m].sum() for m in KINDS])


@dataclass(frozen=True)
class Shop:
    """A shop that follows its packages without foresight. Levels and prices as the ladder has them."""

    need: Sequence[int]
    seen: Sequence[int]
    prices: Sequence[float]
    terms: object
    in_use: Sequence[float]

    def end(self, start: int, way: Way) -> int:
        """Where a job ends that grows whenever something in view is not cured."""
        level = start
        while True:
            view = [self.need[cause] for cause in way.present if self.seen[cause] <= level < self.need[cause]]
            if not view:
                return level
            level = max(view)

    def stopping(self) -> float:
        return self.terms.stop if np.isfinite(self.terms.stop) else self.prices[LEVELS - 1]

    def cost(self, start: int, ways: list[Way], *, grows: bool = True) -> float:
        """What starting here costs in the end over these ways, each with its weight; deciding again after a failure
        with what is then known: where the job ended, and that something noticed is left."""
        ended: dict[int, list[Way]] = {}
        for way in ways:
            ended.setdefault(self.end(start, way) if grows else start, []).append(way)
        total = 0.0
        for end, here in ended.items():
            mass = sum(way.weight for way in here)
            total += mass * self.prices[start]
            if end > start:
                dearer = max(self.prices[end] - self.prices[start], 0.0)
                total += mass * (self.terms.growth_charge + self.terms.growth_factor * dearer)
            total += self.after(end, [way for way in here if way.most > end], grows=grows)
        return total

    def after(self, end: int, failed: list[Way], *, grows: bool = True) -> float:
        """Comebacks, and the best way on."""
        if not failed:
            return 0.0
        mass = sum(way.weight for way in failed)
        charge = self.terms.comeback * self.in_use[end] + (self.terms.reopening if end >= 2 else 0.0)
        ways_on = [self.cost(other, failed, grows=grows) for other in range(end + 1, LEVELS)]
        return mass * charge + min([mass * self.stopping(), *ways_on])

    def targeted(self, rung: int, price: float, left: list[Way]) -> float:
        """A job that does not grow; where it fails the shop goes on with any package (none grows), or stops. `left`:
        ways by what the job leaves."""
        failed = [way for way in left if way.most > NOBODY]
        if not failed:
            return price
        mass = sum(way.weight for way in failed)
        charge = self.terms.comeback * self.in_use[rung] + (self.terms.reopening if rung >= 2 else 0.0)
        ways_on = [self.cost(other, failed, grows=False) for other in range(LEVELS)]
        return price + mass * charge + min([mass * self.stopping(), *ways_on])

    def looking(self, level: int, ways: list[Way]) -> float:
        """Open so far, learn the greatest need of what is in view there, and go on at no less, or stop."""
        price = self.terms.look[level]
        shown: dict[int, list[Way]] = {}
        for way in ways:
            view = max((self.need[cause] for cause in way.present if self.seen[cause] <= level), default=NOBODY)
            shown.setdefault(view, []).append(way)
        total = price * sum(way.weight for way in ways)
        for view, here in shown.items():
            mass = sum(way.weight for way in here)
            credit = self.terms.credit * price * mass
            total += min(
                [
                    mass * self.stopping(),
                    *(self.cost(start, here, grows=False) - credit for start in range(max(view, 0), LEVELS)),
                ]
            )
        return total
