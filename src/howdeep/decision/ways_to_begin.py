"""What can be begun with before a deep job is promised: cheap work outside, and a look inside."""

from __future__ import annotations

from collections.abc import Collection
from decimal import Decimal

from ..model.judgement import Deciding
from ..model.knowledge import Knowledge
from ..model.results import Decision, JobLine, Look
from ..model.terms import DEPTH, RUNGS
from ..pricing.money import known
from .problem import Problem
from .recommend import SHALLOW, Case


def outside_first(
    deciding: Deciding, problem: Problem, decision: Decision, case: Case, look: Look | None
) -> JobLine | None:
    """The cheapest work that takes nothing apart and cures the likely suspects of its depth, where the chief suspect is
    one of them; None where a fault inside is likelier than not, or where it costs more than a look inside (where none
    inside is likely, and for what is as good as certain: more than stopping)."""
    need = problem.cured_at()
    likely = {
        belief.cause: belief.posterior
        for belief in case.beliefs
        if belief.hand >= deciding.likely and need[belief.cause] <= SHALLOW
    }
    certain = {cause for cause, chance in likely.items() if chance >= deciding.as_good_as_certain}
    chief = max(case.beliefs, key=lambda belief: (round(belief.hand, 9), belief.cause), default=None)
    inside = max((belief.hand for belief in case.beliefs if need[belief.cause] > SHALLOW), default=0.0)
    if chief is None or chief.cause not in likely or inside > 0.5 or case.opened:
        return None
    # where nothing inside is likely no look was called for, and its price is no measure
    saved = look.price if look else None
    if inside < deciding.likely:
        saved = Decimal("Infinity") if decision.stop is None else decision.stop
    for wanted, most in ((set(likely), saved), (certain, decision.stop)):
        lines = [
            line
            for line, item in zip(decision.jobs, problem.weighed, strict=True)
            if wanted
            and wanted <= item.job.cures
            and DEPTH[line.rung] <= SHALLOW
            and line.price is not None
            and most is not None
            and line.price <= most
        ]
        if lines:
            return min(lines, key=lambda line: (line.price, line.job))
    return None


def came_for_first(
    knowledge: Knowledge, problem: Problem, decision: Decision, case: Case, look: Look | None, idle: Collection[str]
) -> JobLine | None:
    """The work that takes nothing apart and most cheaply takes away what the engine was brought in for, where that is
    likely enough to be worth more than it costs: a look inside, or stopping, is saved where it does. None where
    something inside is as good as certain, for it is opened all the same, or is likely and dangerous to run on with."""
    saved = look.price if look is not None else decision.stop
    if saved is None or case.opened:
        return None
    deciding, need = knowledge.settings.deciding, problem.cured_at()
    least = dict.fromkeys(need, deciding.as_good_as_certain)
    least |= {cause: deciding.likely for cause in need if knowledge.causes[cause].run_on == "dangerous"}
    if any(belief.hand >= least[belief.cause] for belief in case.beliefs if need[belief.cause] > SHALLOW):
        return None

    def in_the_end(line: JobLine) -> Decimal:
        return known(line.price) + (1 - Decimal(str(line.came_for))) * saved

    lines = [
        line
        for line in decision.jobs
        if DEPTH[line.rung] <= SHALLOW
        and line.price is not None
        and line.came_for is not None
        and line.came_for >= deciding.even
        and line.job not in idle
        and in_the_end(line) < saved
        and line.price <= saved * Decimal(str(deciding.cheap))
    ]
    return min(lines, key=lambda line: (in_the_end(line), line.job), default=None)


def beginning(deciding: Deciding, decision: Decision, least: JobLine, idle: Collection[str]) -> JobLine:
    """Where the cheapest work takes nothing apart and is not likely enough to begin with: the shallowest that takes
    nothing apart, costs nearly alike and is; else the cheapest itself."""
    if DEPTH[least.rung] > SHALLOW or least.enough >= deciding.even or least.expected is None:
        return least
    near = least.expected * Decimal(str(1 + deciding.alike))
    likelier = [
        line
        for line in decision.jobs
        if DEPTH[line.rung] <= SHALLOW
        and line.enough >= deciding.even
        and line.expected is not None
        and line.expected <= near
        and line.job not in idle
    ]
    return min(likelier, key=lambda line: (DEPTH[line.rung], line.expected), default=least)


def after_a_look(deciding: Deciding, problem: Problem, decision: Decision, least: JobLine) -> JobLine:
    """The job that likely follows a look inside: the cheapest of all in the end where it opens the engine; else, of
    those of the depth that the trouble most likely needs once it is opened at all, the cheapest with some hope."""
    if DEPTH[least.rung] >= DEPTH["top_end"]:
        return least
    opening = range(DEPTH["top_end"], DEPTH["replace"])
    needed = problem.chances.sum(axis=0)[opening.start + 1 : opening.stop + 1]
    rung = RUNGS[opening[int(needed.argmax())]]
    hopeful = [
        line
        for line in decision.jobs
        if line.rung == rung and line.enough >= deciding.hopeful and line.expected is not None
    ]
    return min(hopeful, key=lambda line: (line.expected, line.whole), default=least)


def if_mended_all_the_same(
    deciding: Deciding, problem: Problem, decision: Decision, case: Case, least: JobLine
) -> JobLine:
    """What it would be if the owner has it mended though stopping costs him less: the job that likely follows a look
    inside; where it stands open, or that job has no hope, the cheapest of those that might be promised, or where none
    might of those likeliest to do."""
    job = after_a_look(deciding, problem, decision, least)
    if not case.opened and job.enough >= deciding.hopeful:
        return job
    wanted = min(0.9 * max(line.enough for line in decision.jobs), decision.floor)
    return min(
        (line for line in decision.jobs if line.enough >= wanted), key=lambda line: (line.expected, DEPTH[line.rung])
    )


def cheapest_look(deciding: Deciding, problem: Problem, decision: Decision, case: Case) -> Look | None:
    """The look that costs least in the end of those that show the likely suspects and at least half of what is
    suspected inside; the deepest where none does."""
    if case.opened or not decision.looks:
        return None
    seen = problem.shown_at()
    need = problem.cured_at()
    deep = max((seen[belief.cause] for belief in case.beliefs if belief.hand >= deciding.likely), default=0)
    inside = {belief.cause: belief.hand for belief in case.beliefs if need[belief.cause] > SHALLOW}

    def shows(look: Look) -> bool:
        level = DEPTH[look.rung]
        shown = sum(hand for cause, hand in inside.items() if seen[cause] <= level)
        return level >= deep and shown >= sum(inside.values()) / 2

    enough = [look for look in decision.looks if shows(look)] or [decision.looks[-1]]
    return min(enough, key=lambda look: (look.expected, DEPTH[look.rung]))
