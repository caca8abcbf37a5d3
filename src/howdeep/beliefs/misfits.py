"""Where what was seen on the open engine and what was answered before do not agree.

What is seen itself is believed whatever was said before. But somebody was mistaken, or the fault is slighter than it
measures, and the mechanic has to know it before he orders parts.
"""

from __future__ import annotations

import numpy as np

from ..model.results import Misfit
from .believe import Beliefs
from .evidence import Axis, Evidence
from .waterfall import decibans, denied_soonest

LEAST_AGAINST = 0.5
"""An answer that takes less is not named."""


def misfits_of(evidence: Evidence, beliefs: Beliefs, least: float) -> tuple[Misfit, ...]:
    """Direct findings of the open engine whose likeliest cause, were it a marked fault, the sound answers would have
    denied, those that were denied the most first. What was seen of other parts of the open engine denies nothing here:
    one worn part need not bring its cousins. `least`: decibans that they must have taken from it, less what was
    told or tested besides and speaks for it: where that is as loud nobody was mistaken."""
    causes, odds = evidence.network.causes, beliefs.odds()
    outside, steps = _told_outside(evidence), {belief.cause: belief.steps for belief in beliefs.causes}
    found = []
    for axis in evidence.axes:
        brings = np.flatnonzero(axis.short[1] < 1.0).tolist()
        if not brings or not is_direct(evidence, axis):
            continue
        cause = max(brings, key=lambda number: odds[causes[number]])
        took = [
            (
                evidence.network.nodes[sign.node].findings[denied_soonest(evidence.network, sign, cause) - 1],
                float(decibans(factor[1, cause])),
            )
            for sign, factor in zip(evidence.signs[len(evidence.axes) :], evidence.sound, strict=True)
            if factor[1, cause] < 1.0 and not any(evidence.network.nodes[sign.node].direct)
        ]
        against = sum(step for _, step in took)
        spoken = sum(
            max(step.decibans, 0.0)
            for step in steps.get(causes[cause], ())
            if step.kind == "present" and step.label in outside
        )
        if against + spoken <= -least:
            finding = evidence.network.nodes[axis.sign.node].findings[axis.sign.answer - 1]
            named = [item for item in took if item[1] <= -LEAST_AGAINST]
            found.append(
                Misfit(finding, causes[cause], against, tuple(sorted(named, key=lambda item: (item[1], item[0]))))
            )
    return tuple(sorted(found, key=lambda misfit: (misfit.decibans, misfit.finding)))


def _told_outside(evidence: Evidence) -> frozenset[str]:
    """Findings that were told or tested and are not the fault itself."""
    return frozenset(
        name
        for node in evidence.network.nodes
        if node.channel != "teardown"
        for name, direct in zip(node.findings, node.direct, strict=True)
        if not direct
    )


def is_direct(evidence: Evidence, axis: Axis) -> bool:
    """Whether a telling sign is the fault itself, seen, measured or tried on the open engine."""
    return axis.bench and evidence.network.nodes[axis.sign.node].direct[axis.sign.answer - 1]
