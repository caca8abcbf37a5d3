"""What kind of answer it is: promise, check first, look inside, begin with it, wait, stop, or do not run it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Protocol

from ..beliefs.misfits import is_direct
from ..model.answer_kinds import Kind
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.results import CheckValue, Decision, JobLine, Look
from ..model.terms import DEPTH, RUNGS, Rung
from ..pricing.money import known
from .problem import Problem
from .recommend import ALIKE, HOPEFUL, LIKELY, SHALLOW, Case, key_of
from .repair_or_replace import worth_of

NEAR = 0.05
"""A job that reaches the floor is promised where it costs at most so much more in the end than the cheapest."""
MAY_DO = 0.3
"""A deep job is not sold unseen where a shallower package is likelier than this to do."""
PARTS_MUCH = 0.15
"""Before a cheap beginning only a check that lowers it by so much comes first."""
PARTS_ENOUGH = 0.02
"""A check that lowers the uncertainty by less (bits) parts nothing worth the walk to the engine."""
EVEN = 0.4
"""Cheap work about as likely as not to be enough is begun with before anything is opened."""
AS_GOOD_AS_CERTAIN = 0.95
"""A cause that was seen itself and is at least so probable need not be looked for."""
HELD_NAMED = 2
"""Checks named that stand before a promise."""
OUTSIDE_FIRST = (
    "What is likely wrong outside is put right before anything is opened: it costs less than the look, and little can "
    "be judged while it is there."
)
CAME_FOR_FIRST = (
    "What it was brought in for is likely enough gone with this cheap work; what else was noticed is judged after it."
)
CHEAP = Decimal("0.5")
"""Work that costs at most so much of what it may save - a look inside, or stopping - is tried first (judgement)."""
SUSPECT = 0.15
"""A cause with at least this hand is a suspect."""


class AskedOfChecks(Protocol):
    """What the kind of answer hangs on of the checks that can be made now."""

    def any(self) -> bool:
        """Whether there is one."""

    def pays(self) -> bool:
        """Whether one saves more than it costs."""

    def parts(self, least: float) -> bool:
        """Whether one parts the suspects by so many bits."""


@dataclass(frozen=True, slots=True)
class Ranked:
    """The same of checks that are ranked."""

    checks: Sequence[CheckValue]

    def any(self) -> bool:
        return bool(self.checks)

    def pays(self) -> bool:
        return any(check.net > 0 for check in self.checks)

    def parts(self, least: float) -> bool:
        return any(check.parts >= least for check in self.checks)


def with_kind(
    knowledge: Knowledge, problem: Problem, decision: Decision, case: Case, checks: Sequence[CheckValue] | AskedOfChecks
) -> Decision:
    """The decision with its kind of answer, from the order of right of way.

    Work is promised where it reaches the shop's floor with no hold open (a refresh or deeper only where the odds are
    firm, the engine stands open, or the owner waives looking first). Otherwise what parts the suspects comes first,
    then a look inside, then cheap work that clears the way; what does no harm can wait; and where stopping costs
    less than any work, stop. A danger stands above everything while the engine could be run (one that stands open
    cannot; its dangers are said all the same); what follows once it is cleared is kept in `then`, and what follows
    once the checks are made (as things stand) in `afterwards`.
    """
    afterwards, job, because = _without_checks(knowledge, problem, decision, case)
    asked = Ranked(checks) if isinstance(checks, Sequence) else checks
    then, why = _checks_first(knowledge, problem, decision, case, asked, afterwards, job)
    if then is not None:
        because = (why, *because)
    kind: Kind = "do_not_run" if decision.dangers and not case.opened else then or afterwards
    line = decision.line(job)
    look = _look(problem, decision, case) if afterwards == "look_inside" else None
    worth, beyond = worth_of(
        line, decision.currency, case.value_running, case.replacement, knowledge.settings.owner_asked_from
    )
    return replace(
        decision,
        kind=kind,
        then=then or afterwards,
        afterwards=afterwards,
        job=job,
        rung=line.rung,
        because=because,
        look=look.rung if look else None,
        worth=worth,
        beyond=beyond,
    )


def _checks_first(
    knowledge: Knowledge,
    problem: Problem,
    decision: Decision,
    case: Case,
    checks: AskedOfChecks,
    afterwards: Kind,
    job: str,
) -> tuple[Kind | None, str]:
    """Whether checks come before what the odds call for, and why."""
    rung = decision.line(job).rung
    if case.tight and not case.noticed:
        return None, ""
    if case.unheard and not case.opened and checks.any():
        return "check_first", "What it was brought in for shows in no answer yet: that is asked about first."
    if not case.noticed and case.again.observations and checks.any():
        return "check_first", "A test does not count as it was made: it is made again in the right way."
    if not case.noticed and case.complained and checks.any():
        return "check_first", (
            "It was brought in for trouble, and nothing that was told or tested shows it yet: ask and look further."
        )
    if afterwards in ("can_wait", "stop"):
        may_change = case.noticed and checks.pays()
        return ("check_first", "What a check would show may change it.") if may_change else (None, "")
    held = [hold for hold in case.holds if hold.state == "stands" and DEPTH[rung] > DEPTH[hold.above]]
    if held and case.noticed and afterwards != "begin_with":
        if DEPTH[rung] <= SHALLOW and _is_certain(problem, case, rung):
            return "begin_with", (
                "What is as good as certain is put right first; what stands before a promise is checked after it."
            )
        names = list(dict.fromkeys(_check_title(knowledge, hold.check) for hold in held))
        more = f" and {len(names) - HELD_NAMED} more" if len(names) > HELD_NAMED else ""
        return "check_first", (
            f"A cheap fault outside can look like this one. Not checked yet: {', '.join(names[:HELD_NAMED])}{more}."
        )
    if afterwards == "promise":
        return ("check_first", "What a check would show may change the job.") if checks.pays() else (None, "")
    if afterwards == "begin_with" and _is_certain(problem, case, rung):
        return None, ""
    least = PARTS_MUCH if afterwards == "begin_with" else PARTS_ENOUGH
    if checks.parts(least) or checks.pays():  # the former is soon worked out
        return "check_first", "What parts the suspects comes before any promise."
    return None, ""


def _check_title(knowledge: Knowledge, name: str) -> str:
    title = (knowledge.checks.get(name) or knowledge.observations[name]).title
    return title if title[1:2].isupper() else title[:1].lower() + title[1:]


def _without_checks(
    knowledge: Knowledge, problem: Problem, decision: Decision, case: Case
) -> tuple[Kind, str, tuple[str, ...]]:
    """What is answered if nothing more is checked: the kind, the job it speaks of, and why."""
    if not case.noticed and case.tight:
        return (
            "begin_with",
            decision.job,
            ("A fit is tighter than new: it is measured again and put right before anything is closed or run.",),
        )
    if not case.noticed:
        return "can_wait", decision.job, ("Nothing that was told, tested or seen points to a fault.",)
    if problem.provisional:
        return "begin_with", decision.job, ("Without prices no job can be weighed against another.",)
    idle = {key_of(item) for item in problem.weighed if item.job.idle}
    reaching = [
        line
        for line in decision.jobs
        if line.enough >= decision.floor and line.expected is not None and line.job not in idle
    ]
    best = min(reaching, key=lambda line: (known(line.expected), DEPTH[line.rung], line.whole), default=None)
    least = decision.line(decision.job)
    look = _look(problem, decision, case)
    outside = _outside_first(problem, decision, case, look)
    first = _came_for_first(knowledge, problem, decision, case, look, idle)
    if decision.stop is not None and outside is None and first is None:
        hopeful = [line for line in decision.jobs if line.expected is not None and line.enough >= HOPEFUL]
        ways = [*(known(line.expected) for line in hopeful), *([look.expected] if look else [])]
        if (
            ways
            and min(known(line.price) for line in hopeful or [least]) > decision.stop
            and min(ways) > decision.stop * Decimal(str(knowledge.settings.owners_stretch))
        ):
            most = max(line.enough for line in decision.jobs)
            whole = min(
                (line for line in decision.jobs if line.enough >= 0.9 * most),
                key=lambda line: (line.expected, DEPTH[line.rung]),
            )
            return (
                "stop",
                whole.job,
                (
                    f"Every way that has some hope of curing it costs more than the {decision.currency} "
                    f"{decision.stop:,.0f} that stopping costs its owner.",
                ),
            )
    shallow = DEPTH[least.rung] <= SHALLOW
    near = best is not None and not shallow and (known(best.expected) <= known(least.expected) * Decimal(str(1 + NEAR)))
    if best is not None and (least.enough >= decision.floor or near):
        chosen = least if least.enough >= decision.floor else best
        deep = DEPTH["refresh"] <= DEPTH[chosen.rung] < DEPTH["replace"]
        shallower = max((line.enough for line in decision.ladder[: DEPTH[chosen.rung]]), default=0.0)
        firm = chosen.enough >= (case.prices.firm_floor if case.prices else 1.0) and shallower <= MAY_DO
        if DEPTH[chosen.rung] > SHALLOW and not case.opened and _harmless(knowledge, case):
            return (
                "can_wait",
                chosen.job,
                ("Nothing that may be behind it does harm if it is run on, and the work is deep.",),
            )
        unseen = deep and not firm and look and "two_steps" not in case.waived and not _depth_is_seen(problem, case)
        if unseen and outside is not None:
            return "begin_with", outside.job, (OUTSIDE_FIRST,)
        if unseen and first is not None:
            return "begin_with", first.job, (CAME_FOR_FIRST,)
        if unseen and (case.opened or _suspects_inside(problem, case)):
            return (
                "look_inside",
                chosen.job,
                (
                    "The odds are not firm enough to sell so deep a job unseen: it is opened, looked at and measured "
                    "first.",
                ),
            )
        if not unseen:
            return "promise", chosen.job, ()
    if case.opened:
        return "begin_with", least.job, ("It stands open: what was found is put right, then it is looked at again.",)
    harmless = _harmless(knowledge, case)
    least = _beginning(decision, least, idle)
    begins = shallow and least.enough >= EVEN
    if outside is not None and not harmless and not begins:
        return ("begin_with", outside.job, (OUTSIDE_FIRST,))
    if first is not None and not harmless and not begins:
        return ("begin_with", first.job, (CAME_FOR_FIRST,))
    if not harmless and not begins and not _suspects_inside(problem, case):
        outer = [
            line
            for line in decision.jobs
            if DEPTH[line.rung] <= SHALLOW and line.expected is not None and line.job not in idle
        ]
        least = min(outer, key=lambda line: (line.expected, DEPTH[line.rung], line.job), default=least)
    elif look and not harmless and not begins and (not shallow or look.expected < known(least.expected)):
        return "look_inside", _opened(problem, decision, least).job, ("Only looking inside parts what is left.",)
    if harmless:
        return "can_wait", least.job, ("Nothing that may be behind it does harm if it is run on.",)
    return "begin_with", least.job, ("It costs least to begin here, and what is left shows at the test after it.",)


def _is_certain(problem: Problem, case: Case, rung: Rung) -> bool:
    """Whether something cheap that the job cures is as good as certain: it is put right before anything else is tried,
    for a flat battery or a locked cylinder spoils the tests that come after it."""
    cheap = {cause for cause, level in problem.cured_at().items() if level <= min(SHALLOW, DEPTH[rung])}
    return any(belief.cause in cheap and belief.hand >= AS_GOOD_AS_CERTAIN for belief in case.beliefs)


def _outside_first(problem: Problem, decision: Decision, case: Case, look: Look | None) -> JobLine | None:
    """The cheapest work that takes nothing apart and cures the likely suspects of its depth, where the chief suspect is
    one of them; None where a fault inside is likelier than not, or where it costs more than a look inside (for what is
    as good as certain: more than stopping)."""
    need = problem.cured_at()
    likely = {
        belief.cause: belief.posterior
        for belief in case.beliefs
        if belief.hand >= LIKELY and need[belief.cause] <= SHALLOW
    }
    certain = {cause for cause, chance in likely.items() if chance >= AS_GOOD_AS_CERTAIN}
    chief = max(case.beliefs, key=lambda belief: (round(belief.hand, 9), belief.cause), default=None)
    inside = max((belief.hand for belief in case.beliefs if need[belief.cause] > SHALLOW), default=0.0)
    if chief is None or chief.cause not in likely or inside > 0.5 or case.opened:
        return None
    for wanted, most in ((set(likely), look.price if look else None), (certain, decision.stop)):
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


def _came_for_first(
    knowledge: Knowledge, problem: Problem, decision: Decision, case: Case, look: Look | None, idle: Collection[str]
) -> JobLine | None:
    """The work that takes nothing apart and most cheaply takes away what the engine was brought in for, where that is
    likely enough to be worth more than it costs: a look inside, or stopping, is saved where it does. None where
    something inside is as good as certain, for it is opened all the same, or is likely and dangerous to run on with."""
    saved = look.price if look is not None else decision.stop
    if saved is None or case.opened:
        return None
    need = problem.cured_at()
    if any(
        belief.hand >= (LIKELY if knowledge.causes[belief.cause].run_on == "dangerous" else AS_GOOD_AS_CERTAIN)
        for belief in case.beliefs
        if need[belief.cause] > SHALLOW
    ):
        return None

    def in_the_end(line: JobLine) -> Decimal:
        return known(line.price) + (1 - Decimal(str(line.came_for))) * saved

    lines = [
        line
        for line in decision.jobs
        if DEPTH[line.rung] <= SHALLOW
        and line.price is not None
        and line.came_for is not None
        and line.came_for >= EVEN
        and line.job not in idle
        and in_the_end(line) < saved
        and line.price <= saved * CHEAP
    ]
    return min(lines, key=lambda line: (in_the_end(line), line.job), default=None)


def _suspects_inside(problem: Problem, case: Case) -> bool:
    """Whether anything is suspected that only an opened engine lets be cured: else nobody opens it."""
    need = problem.cured_at()
    return any(belief.hand >= SUSPECT and need[belief.cause] > SHALLOW for belief in case.beliefs)


def _beginning(decision: Decision, least: JobLine, idle: Collection[str]) -> JobLine:
    """Where the cheapest work takes nothing apart and is not likely enough to begin with: the shallowest that takes
    nothing apart, costs nearly alike and is; else the cheapest itself."""
    if DEPTH[least.rung] > SHALLOW or least.enough >= EVEN or least.expected is None:
        return least
    near = least.expected * Decimal(str(1 + ALIKE))
    likelier = [
        line
        for line in decision.jobs
        if DEPTH[line.rung] <= SHALLOW
        and line.enough >= EVEN
        and line.expected is not None
        and line.expected <= near
        and line.job not in idle
    ]
    return min(likelier, key=lambda line: (DEPTH[line.rung], line.expected), default=least)


def _opened(problem: Problem, decision: Decision, least: JobLine) -> JobLine:
    """The job that likely follows a look inside: the cheapest of all in the end where it opens the engine; else, of
    those of the depth that the trouble most likely needs once it is opened at all, the cheapest with some hope."""
    if DEPTH[least.rung] >= DEPTH["top_end"]:
        return least
    opening = range(DEPTH["top_end"], DEPTH["replace"])
    needed = problem.chances.sum(axis=0)[opening.start + 1 : opening.stop + 1]
    rung = RUNGS[opening[int(needed.argmax())]]
    hopeful = [
        line for line in decision.jobs if line.rung == rung and line.enough >= HOPEFUL and line.expected is not None
    ]
    return min(hopeful, key=lambda line: (line.expected, line.whole), default=least)


def _depth_is_seen(problem: Problem, case: Case) -> bool:
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


def _look(problem: Problem, decision: Decision, case: Case) -> Look | None:
    """The look that costs least in the end of those that show the likely suspects and at least half of what is
    suspected inside; the deepest where none does."""
    if case.opened or not decision.looks:
        return None
    seen = problem.shown_at()
    need = problem.cured_at()
    deep = max((seen[belief.cause] for belief in case.beliefs if belief.hand >= LIKELY), default=0)
    inside = {belief.cause: belief.hand for belief in case.beliefs if need[belief.cause] > SHALLOW}

    def shows(look: Look) -> bool:
        level = DEPTH[look.rung]
        shown = sum(hand for cause, hand in inside.items() if seen[cause] <= level)
        return level >= deep and shown >= sum(inside.values()) / 2

    enough = [look for look in decision.looks if shows(look)] or [decision.looks[-1]]
    return min(enough, key=lambda look: (look.expected, DEPTH[look.rung]))


def _harmless(knowledge: Knowledge, case: Case) -> bool:
    """Whether every suspect does no harm if the engine is run on."""
    suspects = [belief.cause for belief in case.beliefs if belief.hand >= SUSPECT]
    if case.prices is None or not suspects:
        return False
    return all(knowledge.causes[cause].run_on == "harmless" for cause in suspects)
