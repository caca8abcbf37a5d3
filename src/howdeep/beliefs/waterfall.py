"""The way from a cause's base odds to its posterior odds, step by step in decibans.

The order is fixed and the same for every cause: the base word; the history rules that hold, by id; the sound answers,
by question; the telling ones, those that fewest causes bring first (a test before a vague complaint), ties by question.
Steps are differences of one running figure, so they sum to the posterior. A sound answer always says what it says
alone; a telling one may say less, because other causes take the blame. A question speaks once: a sound answer is told
as the finding that the cause would have shown soonest.
"""

from __future__ import annotations

import itertools
import math
from typing import overload

import numpy as np

from ..arrays import Floats
from ..model.results import WaterfallStep
from .columns import Columns
from .evidence import Evidence, Sign
from .network import LEAST, Network
from .posteriors import Posteriors, posteriors_of

NOTHING = 1e-9
"""Steps below this many decibans are left to the next one."""
FALLS_SHORT = 0.5
"""Decibans by which a step must fall short of what it would say alone for the blame to be named."""
BLAMED = 2
"""Most causes named as taking the blame."""
LEAST_BLAME = 0.05
BROUGHT_IN = "something is behind what it was brought in for"
"""Label of the last step, where the engine was brought in for its trouble."""
WIDEST = 8
"""Width up to which telling signs are told one by one as they are taken in; beyond, their joint step is shared out by
what each would say alone."""
_JEFFREYS = ((0.05, "nothing"), (5.0, "barely"), (10.0, "substantial"), (15.0, "strong"), (20.0, "very strong"))


@overload
def decibans(odds: float) -> float: ...
@overload
def decibans(odds: Floats) -> Floats: ...
def decibans(odds: Floats | float) -> Floats | float:
    """10 log10 of odds."""
    return 10 / math.log(10) * np.log(odds)


def strength(step: float) -> str:
    """Strength in words, by half-units of log10 of the odds (Jeffreys, Theory of Probability, app. B)."""
    return next((word for limit, word in _JEFFREYS if abs(step) < limit), "decisive")


def waterfalls(evidence: Evidence, found: Posteriors | None = None) -> tuple[tuple[WaterfallStep, ...], ...]:
    """Per cause of the network the steps from base odds to posterior odds. `found`: the posteriors, if worked out."""
    network = evidence.network
    found = found or posteriors_of(evidence)
    order = telling_order(evidence)
    alone = np.array([says_alone(network, evidence.axes[number].sign) for number in order]).reshape(
        len(order), len(network.causes)
    )
    if evidence.width > WIDEST:
        started = before_telling(evidence)
        return tuple(
            tuple(_shared_out(evidence, found, cause, order, alone, started[cause]))
            for cause in range(len(network.causes))
        )
    left_out = {axis: np.array([place < order.index(axis) + 1 for place in range(len(order) + 1)]) for axis in order}
    columns = Columns(len(order) + 1, np.repeat(evidence.odds[:, :, None], len(order) + 1, axis=2), left_out=left_out)
    present = posteriors_of(evidence, columns, hands=False).present if order else found.present
    final = decibans(found.present[:, 0] / (1 - found.present[:, 0]))
    running = decibans(present / (1 - present))
    result = []
    started = before_telling(evidence)
    for cause in range(len(network.causes)):
        steps = started[cause]
        at = sum(step.decibans for step in steps)
        for number, axis in enumerate(order):
            step, says = float(running[cause, number + 1]) - at, float(alone[number, cause])
            if abs(step) < NOTHING and abs(says) < NOTHING:
                continue
            blame: tuple[str, ...] = ()
            if says - step > FALLS_SHORT:
                blame = _blamed(evidence, cause, axis, present[:, number], present[:, number + 1])
            steps.append(
                WaterfallStep(_label(network, evidence.axes[axis].sign), "present", step, says, strength(step), blame)
            )
            at += step
        last = float(final[cause]) - at
        if abs(last) >= NOTHING:
            steps.append(WaterfallStep(BROUGHT_IN, "present", last, None, strength(last)))
        result.append(tuple(steps))
    return tuple(result)


def _shared_out(
    evidence: Evidence, found: Posteriors, cause: int, order: tuple[int, ...], alone: Floats, steps: list[WaterfallStep]
) -> list[WaterfallStep]:
    """Steps where the signs are too tangled to be taken in one by one."""
    whole = float(decibans(found.present[cause, 0] / (1 - found.present[cause, 0]))) - sum(
        step.decibans for step in steps
    )
    says = alone[:, cause]
    speaking = np.maximum(says, 0.0) if whole > 0 else np.maximum(-says, 0.0)
    if not speaking.any():
        speaking = (np.abs(says) > NOTHING).astype(float)
    if not speaking.any():
        if abs(whole) >= NOTHING:
            steps.append(WaterfallStep(BROUGHT_IN, "present", whole, None, strength(whole)))
        return steps
    shares = whole * speaking / speaking.sum()
    for number, axis in enumerate(order):
        if abs(shares[number]) >= NOTHING or abs(says[number]) >= NOTHING:
            step = float(shares[number])
            steps.append(
                WaterfallStep(
                    _label(evidence.network, evidence.axes[axis].sign),
                    "present",
                    step,
                    float(says[number]),
                    strength(step),
                )
            )
    return steps


def _label(network: Network, sign: Sign) -> str:
    return network.nodes[sign.node].findings[sign.answer - 1]


def telling_order(evidence: Evidence) -> tuple[int, ...]:
    """Telling signs in the order in which they are told."""
    causes = [int((axis.at_most < 1.0).any(axis=(0, 2)).sum()) for axis in evidence.axes]
    return tuple(sorted(range(len(evidence.axes)), key=lambda axis: (causes[axis], axis)))


def before_telling(evidence: Evidence) -> list[list[WaterfallStep]]:
    """Per cause base word, history and sound answers: what needs no elimination."""
    network = evidence.network
    least = float(decibans(LEAST / (1 - LEAST)))
    told: list[list[WaterfallStep]] = []
    shifts_of = [(rule, dict(shifts)) for rule, shifts in network.history]
    for cause, base in enumerate(decibans(network.base / (1 - network.base)).tolist()):
        at, steps = base, [WaterfallStep("base", "base", base, None, "")]
        for rule, shifts in shifts_of:
            shift = min(max(at + shifts.get(cause, 0.0), least), -least) - at  # odds stop where the network stops them
            if shift:
                steps.append(WaterfallStep(rule, "history", shift, None, strength(shift)))
                at += shift
        told.append(steps)
    odds = network.degrees
    for sign, factor in zip(evidence.signs[len(evidence.axes) :], evidence.sound, strict=True):
        after = odds * factor
        says = decibans(after.sum(axis=0) / odds.sum(axis=0))
        for cause in np.flatnonzero(says).tolist():
            step, soonest = float(says[cause]), denied_soonest(network, sign, cause)
            told[cause].append(
                WaterfallStep(network.nodes[sign.node].findings[soonest - 1], "absent", step, step, strength(step))
            )
        odds = after
    return told


def denied_soonest(network: Network, sign: Sign, cause: int) -> int:
    """Of the answers that a sound sign denies the one that the cause would have shown soonest."""
    node = network.nodes[sign.node]
    denied = np.array(sign.denies or range(1, len(node.findings) + 1))
    return int(denied[np.diff(node.at_most[1, cause])[denied - 1].argmax()])


def says_alone(network: Network, sign: Sign) -> Floats:
    """[causes] decibans that a telling sign would say with no other evidence."""
    node = network.nodes[sign.node]
    prior = network.prior[None] * network.degrees
    drawn = 1 - network.prior[:, None] + (prior[:, :, None] * node.at_most).sum(axis=0)  # [causes, m + 1]
    whole = node.leak * drawn.prod(axis=0)
    rest = whole / drawn
    shown = (network.degrees[:, :, None] * node.at_most).sum(axis=0) * rest
    shares = dict(sign.shares) or {sign.answer: 1.0}

    def chance(at_most: Floats) -> Floats:
        exactly = np.diff(at_most, prepend=0.0, axis=-1)
        return sum((share * exactly[..., answer] for answer, share in shares.items()), np.zeros_like(exactly[..., 0]))

    return decibans(chance(shown) / chance(rest))


def says_together(network: Network, signs: tuple[Sign, ...]) -> Floats:
    """[causes] decibans that plain telling signs of different questions say together with no other evidence.

    Summed with alternating signs over the cuts of each answer: exact enough for two or three signs, not for many.
    """
    prior = network.prior[None] * network.degrees
    with_cause, without = np.zeros(len(network.causes)), np.zeros(len(network.causes))
    for below in itertools.product((False, True), repeat=len(signs)):
        at_most = np.ones((len(network.shares), len(network.causes)))
        leak = 1.0
        for sign, less in zip(signs, below, strict=True):
            node = network.nodes[sign.node]
            at_most = at_most * node.at_most[:, :, sign.answer - less]
            leak *= node.leak[sign.answer - less]
        drawn = 1 - network.prior + (prior * at_most).sum(axis=0)
        rest = (-1) ** sum(below) * leak * drawn.prod() / drawn
        without += rest
        with_cause += rest * (network.degrees * at_most).sum(axis=0)
    return decibans(with_cause / without)


def _blamed(evidence: Evidence, cause: int, axis: int, before: Floats, after: Floats) -> tuple[str, ...]:
    """Causes that account for the sign, or that it raised, the chief ones first."""
    shows = 1 - evidence.axes[axis].short[1]
    blame = np.maximum(after * shows, after - before)
    blame[cause] = 0.0
    chief = sorted(np.flatnonzero(blame >= LEAST_BLAME).tolist(), key=lambda other: (-round(blame[other], 9), other))
    return tuple(evidence.network.causes[other] for other in chief[:BLAMED])
