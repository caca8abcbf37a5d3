"""Which causes are told first: those that something speaks for."""

from __future__ import annotations

from ..model.results import Assessment, Belief
from ..quote.evidence import TELLING as TELLING
from ..quote.evidence import seats

CERTAIN_ANYWAY = 0.5
"""A cause this probable is told even if nothing has raised it."""
LEAST = 0.02
"""A cause less probable than this is not among the likely ones, whatever speaks for it."""


def spoken_for(belief: Belief) -> bool:
    """Whether history or a sign speaks for a cause, even if more speaks against it, or it is likely anyway."""
    return (
        belief.hand >= CERTAIN_ANYWAY
        or belief.posterior > belief.prior * 1.001
        or belief.posterior >= CERTAIN_ANYWAY
        or any(step.kind in ("history", "present") and step.decibans > TELLING for step in belief.steps)
    )


def leading(answer: Assessment, most: int) -> tuple[Belief, ...]:
    """Causes likeliest to have a hand in what was noticed, of those that something speaks for, and one that the depth
    of the job hangs on; while nothing has shown, simply the likeliest."""
    told = [belief for belief in answer.beliefs if spoken_for(belief)]
    worth_telling = [belief for belief in told if belief.hand >= LEAST]
    return seats(worth_telling or told, most, answer.decision.depth_by) or answer.beliefs[:most]


def unmoved(answer: Assessment, most: int, least: float = 0.05) -> tuple[Belief, ...]:
    """Causes that nothing speaks for and that are not rare on an engine of this kind, likeliest first; none while
    nothing has shown."""
    others = [belief for belief in answer.beliefs if not spoken_for(belief)]
    if len(others) == len(answer.beliefs):
        return ()
    likely = [belief for belief in others if belief.posterior >= least]
    return tuple(sorted(likely, key=lambda belief: (-round(belief.posterior, 9), belief.cause))[:most])
