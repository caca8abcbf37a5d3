"""What counts, as numbers ready to be summed.

A *telling* sign is an answer above sound; it keeps an axis of the table while causes that bring it are summed. With the
cuts t1 < t2 < ... the states of its axis are "the highest draw so far is at most t1", "above t1 and at most t2", ...; a
plain answer k has the cuts k - 1 and k and only the last state counts, a reading near the edge of two bands counts both
by their shares. A *sound* sign is one product over the causes and needs no axis.
"""

from __future__ import annotations

import numpy as np

from ..arrays import Floats, Ints
from ..model.frozen import dataclass
from .elimination_order import Plan, plan_of
from .network import DEGREES, LEAST, Network


@dataclass(frozen=True, slots=True)
class Sign:
    """One question as it was answered."""

    node: int
    """Number of the question."""
    answer: int
    """0 sound, else the telling answer (the likelier one of two bands)."""
    shares: tuple[tuple[int, float], ...] = ()
    """(answer, share) where a reading lies near the edge of two bands; empty where the answer is plain."""
    denies: tuple[int, ...] = ()
    """For a sound sign: the answers it counts against."""
    silent: frozenset[int] = frozenset()
    """For a sound sign: numbers of causes of which another sign of the same reading speaks already."""


@dataclass(frozen=True, slots=True, eq=False)
class Axis:
    """A telling sign, ready to be summed. Arrays are never written to."""

    sign: Sign
    at_most: Floats
    """[degrees, causes, states] chance that the cause's own draw is at most the cut of the state."""
    start: Floats
    """[states] chance of each state with no cause present."""
    close: Floats
    """[states] how far each state counts."""
    silent: Floats
    """[degrees, causes] chance that the cause draws nothing at all."""
    short: Floats
    """[degrees, causes] chance that the cause's own draw does not reach the answer (of two bands the lower)."""
    must_go: bool
    """Whether the work has to make it go away (trouble and bench signs)."""
    bench: bool
    """Whether it was seen or measured on the open engine."""
    in_use: bool = False
    """Whether only use shows that it is gone (oil use, a fault that comes hot), not the test after the work."""


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What counts, as numbers ready to be summed."""

    network: Network
    signs: tuple[Sign, ...]
    """Telling ones first, each part in order of node."""
    axes: tuple[Axis, ...]
    """Of the telling signs, in their order."""
    sound: tuple[Floats, ...]
    """[degrees, causes] of each sound sign: chance that the cause shows none of what it denies."""
    odds: Floats
    """[degrees, causes] prior odds x share of the degree x the chance of showing none of what sound signs deny."""
    log_scale: float
    """Natural log of what all worlds have in common: prod(1 - prior) x the leaks of the sound signs."""
    plan: Plan
    loose: Ints
    """Numbers of the causes that bring no telling sign."""
    brought_in: bool = False
    """Whether the engine was brought in for its trouble: then something is behind it, and not all of it is normal or
    mistaken."""

    @property
    def width(self) -> int:
        """Most signs open between two steps."""
        return self.plan.width


def evidence_of(network: Network, signs: tuple[Sign, ...], *, brought_in: bool = False) -> Evidence:
    """Evidence from the signs that count. `brought_in`: a customer came because of what he told."""
    ordered = tuple(sorted(signs, key=lambda sign: (sign.answer == 0, sign.node)))
    axes = tuple(axis_of(network, sign) for sign in ordered if sign.answer)
    odds = network.degrees * (network.prior / (1 - network.prior))
    scale = float(np.log1p(-network.prior).sum())
    sound = []
    for sign in ordered[len(axes) :]:
        factor, leak = sound_factor(network, sign)
        sound.append(factor)
        odds = odds * factor
        scale += float(np.log(leak))
    masks = tuple((cause, bits) for cause, bits in enumerate(links_of(axes, len(network.causes))) if bits)
    plan = plan_of(masks, tuple(range(len(axes))))
    linked = {cause for cause, _ in masks}
    brought_in = brought_in and any(axis.must_go for axis in axes)
    return Evidence(
        network,
        ordered,
        axes,
        tuple(sound),
        odds,
        scale,
        plan,
        np.array([cause for cause in range(len(network.causes)) if cause not in linked], dtype=int),
        brought_in,
    )


def links_of(axes: tuple[Axis, ...], causes: int) -> list[int]:
    """Per cause the bits of the axes that it can move."""
    bits = [0] * causes
    for number, axis in enumerate(axes):
        drawn = (axis.at_most < 1.0).any(axis=(0, 2))
        if axis.must_go:
            drawn = drawn | (axis.silent < 1.0).any(axis=0)
        for cause in np.flatnonzero(drawn).tolist():
            bits[cause] |= 1 << number
    return bits


def axis_of(network: Network, sign: Sign) -> Axis:
    """A telling sign as an axis."""
    node = network.nodes[sign.node]
    shares, cuts = shares_and_cuts(sign)
    at_most, sort = node.at_most[:, :, cuts], node.sorts[sign.answer - 1]
    return Axis(
        sign,
        at_most,
        np.diff(node.leak[cuts], prepend=0.0),
        np.array([shares.get(cut, 0.0) for cut in cuts]),
        node.at_most[:, :, 0],
        at_most[:, :, 0],
        sort != "discriminator",
        sort == "bench",
        node.in_use,
    )


def shares_and_cuts(sign: Sign) -> tuple[dict[int, float], list[int]]:
    """Answer -> share of a telling sign, and the cuts between which its states lie."""
    shares = dict(sign.shares) or {sign.answer: 1.0}
    return shares, sorted({cut for answer in shares for cut in (answer - 1, answer) if cut >= 0})


def sound_factor(network: Network, sign: Sign) -> tuple[Floats, float]:
    """[degrees, causes] chance that each cause shows none of what a sound sign denies, and the leak's."""
    node = network.nodes[sign.node]
    whole = len(sign.denies) in (0, len(node.findings))
    if whole:
        factor, leak = node.at_most[:, :, 0], float(node.leak[0])
    else:
        denied = list(sign.denies)
        factor = 1 - np.diff(node.at_most, axis=-1)[..., [answer - 1 for answer in denied]].sum(axis=-1)
        leak = float(
            np.prod(
                [
                    1 - np.diff(part)[[answer - 1 for answer in denied]].sum()
                    for part in (node.normal, node.unlisted, node.misread)
                ]
            )
        )
    factor = np.maximum(factor, LEAST)
    if sign.silent:
        factor = factor.copy()
        factor[:, sorted(sign.silent)] = 1.0
    return factor, max(leak, LEAST)


__all__ = [
    "DEGREES",
    "Axis",
    "Evidence",
    "Sign",
    "axis_of",
    "evidence_of",
    "links_of",
    "shares_and_cuts",
    "sound_factor",
]
