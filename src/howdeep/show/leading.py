"""Which causes are told first: those that something speaks for."""

from __future__ import annotations

from ..model.results import Assessment, Belief

CERTAIN_ANYWAY = 0.5
"""A cause this probable is told even if nothing has raised it."""
TELLING = 0.45
"""Decibans from which a step of the waterfall is told."""


def spoken_for(belief: Belief) -> bool:
    """Whether history or a sign speaks for a cause, even if more speaks against it, or it is likely anyway."""
    return (belief.posterior > belief.prior * 1.001 or belief.posterior >= CERTAIN_ANYWAY
            or any(step.kind in ("history", "present") and step.decibans > TELLING for step in belief.steps))


def leading(answer: Assessment, most: int) -> tuple[Belief, ...]:
    """The likeliest causes that something speaks for; while nothing has shown, simply the likeliest."""
    told = [belief for belief in answer.beliefs if spoken_for(belief)]
    return tuple((told or list(answer.beliefs))[:most])


def unmoved(answer: Assessment, most: int, least: float = 0.05) -> tuple[Belief, ...]:
    """Causes that nothing speaks for and that are not rare on an engine of this kind, likeliest first."""
    told = {belief.cause for belief in leading(answer, len(answer.beliefs))}
    return tuple(belief for belief in answer.beliefs if belief.cause not in told and belief.posterior >= least)[:most]
