"""What the suspects say of the work: whether they lie inside, do harm, were seen, or are as good as certain."""

from __future__ import annotations

from ..beliefs.misfits import is_direct
from ..model.knowledge import Knowledge
from ..model.terms import DEPTH, Rung
from .problem import Problem
from .recommend import LIKELY, SHALLOW, Case

AS_GOOD_AS_CERTAIN = 0.95
"""A cause that was seen itself and is at least so probable need not be looked for."""
SUSPECT = 0.15
"""A cause with at least this hand is a suspect."""


def is_certain(problem: Problem, case: Case, rung: Rung) -> bool:
    """Whether something cheap that the job cures is as good as certain: it is put right before anything else is tried,
    for a flat battery or a locked cylinder spoils the tests that come after it."""
    cheap = {cause for cause, level in problem.cured_at().items() if level <= min(SHALLOW, DEPTH[rung])}
    return any(belief.cause in cheap and belief.hand >= AS_GOOD_AS_CERTAIN for belief in case.beliefs)


def any_inside(problem: Problem, case: Case) -> bool:
    """Whether anything is suspected that only an opened engine lets be cured: else nobody opens it."""
    need = problem.cured_at()
    return any(belief.hand >= SUSPECT and need[belief.cause] > SHALLOW for belief in case.beliefs)


def depth_is_seen(problem: Problem, case: Case) -> bool:
    """Whether every likely suspect that needs deep work was seen itself already, so that no look shows more of it."""
    evidence, odds = problem.evidence, {belief.cause: belief.posterior for belief in case.beliefs}
    causes, seen = evidence.network.causes, set()
    for axis in evidence.axes:
        if is_direct(evidence, axis):
            seen |= {
                cause
                for number, cause in enumerate(causes)
                if axis.short[1, number] < 1.0 and odds[cause] >= AS_GOOD_AS_CERTAIN
            }
    need = problem.cured_at()
    deep = {belief.cause for belief in case.beliefs if belief.hand >= LIKELY and need[belief.cause] >= DEPTH["refresh"]}
    return bool(deep) and deep <= seen


def all_harmless(knowledge: Knowledge, case: Case) -> bool:
    """Whether every suspect does no harm if the engine is run on."""
    suspects = [belief.cause for belief in case.beliefs if belief.hand >= SUSPECT]
    if case.prices is None or not suspects:
        return False
    return all(knowledge.causes[cause].run_on == "harmless" for cause in suspects)
