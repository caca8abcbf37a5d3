"""What the suspects say of the work: whether they lie inside, do harm, were seen, or are as good as certain."""

from __future__ import annotations

from collections.abc import Set
from decimal import Decimal

from ..beliefs.misfits import is_direct
from ..model.judgement import Deciding
from ..model.knowledge import Knowledge
from ..model.results import Decision, JobLine
from ..model.terms import DEPTH, Rung
from ..pricing.money import read_money
from .problem import Problem
from .recommend import SHALLOW, Case, key_of


def is_certain(deciding: Deciding, problem: Problem, case: Case, rung: Rung) -> bool:
    """Whether something cheap that the job cures is as good as certain: it is put right before anything else is tried,
    for a flat battery or a locked cylinder spoils the tests that come after it."""
    cheap = {cause for cause, level in problem.cured_at().items() if level <= min(SHALLOW, DEPTH[rung])}
    return any(belief.cause in cheap and belief.hand >= deciding.as_good_as_certain for belief in case.beliefs)


def stands_out(deciding: Deciding, case: Case) -> bool:
    """Whether one suspect is at least about as likely as not: a promise that rests on none is a guess."""
    return any(belief.hand >= deciding.stands_out for belief in case.beliefs)


def depth_stands_out(deciding: Deciding, problem: Problem, case: Case, rung: Rung) -> bool:
    """Whether it is at least likely that something needs just this depth of opening, whichever of the suspects it is:
    what parts those changes no work."""
    need, none = problem.cured_at(), 1.0
    for belief in case.beliefs:
        if need[belief.cause] == DEPTH[rung]:
            none *= 1.0 - belief.hand
    return DEPTH[rung] > SHALLOW and 1.0 - none >= deciding.depth_stands_out


def that_need(problem: Problem, case: Case, rung: Rung, least: float) -> tuple[str, ...]:
    """Causes that only work of just this depth cures, likeliest first; none where it takes nothing apart. `least` is
    the chance of a hand from which one is told."""
    if DEPTH[rung] <= SHALLOW:
        return ()
    need = problem.cured_at()
    named = [item for item in case.beliefs if need[item.cause] == DEPTH[rung] and item.hand >= least]
    return tuple(item.cause for item in sorted(named, key=lambda item: (-round(item.hand, 9), item.cause)))


def any_likely(deciding: Deciding, case: Case) -> bool:
    """Whether one suspect is likely at all."""
    return any(belief.hand >= deciding.likely for belief in case.beliefs)


def is_quick(deciding: Deciding, problem: Problem, line: JobLine, case: Case) -> bool:
    """Whether a job is the quickest test of itself: it cures a suspect that stands out, is about as likely as not to be
    enough, takes nothing apart, and costs little more than the next check would."""
    if case.prices is None or line.price is None or DEPTH[line.rung] > SHALLOW or line.enough < deciding.even:
        return False
    rate = read_money(case.prices.labour_rate, case.prices.currency)
    cures = next(item.job.cures for item in problem.weighed if key_of(item) == line.job)
    return line.price <= rate * Decimal(str(deciding.quick_hours)) and any(
        belief.hand >= deciding.stands_out and belief.cause in cures for belief in case.beliefs
    )


def any_inside(deciding: Deciding, problem: Problem, case: Case) -> bool:
    """Whether anything is suspected that only an opened engine lets be cured: else nobody opens it."""
    need = problem.cured_at()
    return any(belief.hand >= deciding.suspect and need[belief.cause] > SHALLOW for belief in case.beliefs)


def depth_is_seen(deciding: Deciding, problem: Problem, case: Case) -> bool:
    """Whether every likely suspect that needs deep work was seen itself already, so that no look shows more of it."""
    evidence, odds = problem.evidence, {belief.cause: belief.posterior for belief in case.beliefs}
    causes, seen = evidence.network.causes, set()
    for axis in evidence.axes:
        if is_direct(evidence, axis):
            seen |= {
                cause
                for number, cause in enumerate(causes)
                if axis.short[1, number] < 1.0 and odds[cause] >= deciding.as_good_as_certain
            }
    need = problem.cured_at()
    deep = {
        belief.cause
        for belief in case.beliefs
        if belief.hand >= deciding.likely and need[belief.cause] >= DEPTH["refresh"]
    }
    return bool(deep) and deep <= seen


def all_harmless(knowledge: Knowledge, case: Case) -> bool:
    """Whether every suspect does no harm if the engine is run on."""
    return _all_suspects(knowledge, case, {"harmless"})


def can_be_run_on(knowledge: Knowledge, decision: Decision, case: Case) -> bool:
    """Whether it runs, nothing forbids it, and no suspect does more than wear it further: it loses its owner nothing to
    use it up."""
    return case.runs and not decision.dangers and _all_suspects(knowledge, case, {"harmless", "wears"})


def _all_suspects(knowledge: Knowledge, case: Case, run_on: Set[str]) -> bool:
    suspects = [belief.cause for belief in case.beliefs if belief.hand >= knowledge.settings.deciding.suspect]
    if case.prices is None or not suspects:
        return False
    return all(knowledge.causes[cause].run_on in run_on for cause in suspects)
