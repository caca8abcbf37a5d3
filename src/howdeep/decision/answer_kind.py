"""What kind of answer it is: promise, check first, look inside, begin with it, wait, stop, or do not run it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Protocol

from ..model.answer_kinds import Kind
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.odds import at_least, odds_words
from ..model.results import CheckValue, Decision, JobLine
from ..model.terms import DEPTH
from ..pricing.money import known
from .problem import Problem
from .recommend import SHALLOW, Case, key_of
from .repair_or_replace import worth_of
from .running import forbidden_by, may_be_made
from .suspects import (
    all_harmless,
    any_inside,
    any_likely,
    can_be_run_on,
    depth_is_seen,
    depth_stands_out,
    is_certain,
    is_quick,
    stands_out,
    that_need,
)
from .ways_to_begin import after_a_look, beginning, came_for_first, cheapest_look, if_mended_all_the_same, outside_first

HELD_NAMED = 2
"""Checks named that stand before a promise."""
OUTSIDE_FIRST = (
    "What is likely wrong outside is put right before anything is opened: little can be judged while it is there."
)
CAME_FOR_FIRST = (
    "It comes first for it costs little, {and_} that what it was brought in for goes away with it is {odds}; what else "
    "was noticed is judged after it."
)
USED_UP = (
    "Every way that has some hope of curing it costs more than the {} {} that stopping costs its owner, and nothing "
    "that may be behind it does more than wear it further: it can be used up as it is."
)
PUT_TOGETHER = (
    "Nothing that was seen or measured is past its limit: it is put together again, with new gaskets and seals "
    "where they came off."
)
SETTLED = "What it was brought in for was measured and is as it should be; nothing else points to a fault."


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
    look = cheapest_look(knowledge.settings.deciding, problem, decision, case) if afterwards == "look_inside" else None
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
        depth_by=that_need(problem, case, line.rung, knowledge.settings.telling.to_customer_from),
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
    rung, deciding = decision.line(job).rung, knowledge.settings.deciding
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
    held = [hold for hold in case.holds if hold.holds(rung, job)]
    if afterwards == "look_inside":  # what a danger forbids to be tried is seen by the look
        able = may_be_made(knowledge, [hold.check for hold in held], forbidden_by(decision.dangers))
        held = [hold for hold in held if hold.check in able]
    # nothing is given up that was not looked at, unless what ends it was seen
    used_up = afterwards == "can_wait" and not all_harmless(knowledge, case)
    unlooked = (afterwards == "stop" or used_up) and case.noticed and not case.opened and checks.any()
    unlooked = unlooked and not depth_is_seen(deciding, problem, case)
    if afterwards in ("can_wait", "stop") and not (unlooked and held):
        may_change = case.noticed and checks.pays()
        if not may_change and unlooked and not stands_out(deciding, case) and checks.parts(deciding.parts_well):
            return "check_first", "No suspect stands out yet: what parts them comes before it is given up."
        vague = afterwards == "can_wait" and case.noticed and not case.opened and not any_likely(deciding, case)
        if not may_change and vague and checks.parts(deciding.parts_much):
            return "check_first", "Nothing is likely yet: what parts the suspects comes before it is let wait."
        return ("check_first", "What a check would show may change it.") if may_change else (None, "")
    if held and case.noticed and afterwards != "begin_with":
        if DEPTH[rung] <= SHALLOW and is_certain(deciding, problem, case, rung):
            return "begin_with", (
                "What is as good as certain is put right first; what stands before a promise is checked after it."
            )
        names = list(dict.fromkeys(_check_title(knowledge, hold.check) for hold in held))
        more = f" and {len(names) - HELD_NAMED} more" if len(names) > HELD_NAMED else ""
        return "check_first", (
            f"A cheap fault outside can look like this one. Not checked yet: {', '.join(names[:HELD_NAMED])}{more}."
        )
    if afterwards == "promise":
        if case.denied and not case.opened:
            return "begin_with", "An answer denies what it was brought in for: it is asked again before a promise."
        well = deciding.parts_well if any_likely(deciding, case) else deciding.parts_much
        sure = stands_out(deciding, case) or depth_stands_out(deciding, problem, case, rung)
        if not sure and checks.parts(well):
            return "check_first", "No suspect stands out yet: what parts them comes before any promise."
        return ("check_first", "What a check would show may change the job.") if checks.pays() else (None, "")
    # what was found on the open engine is put right before anything outside is looked at
    found = case.opened and stands_out(deciding, case)
    if afterwards == "begin_with" and (found or is_certain(deciding, problem, case, rung)):
        return None, ""
    if afterwards == "begin_with" and is_quick(deciding, problem, decision.line(job), case) and not checks.pays():
        return None, ""
    if afterwards == "begin_with" and decision.line(job).enough < deciding.hopeful and not case.opened and checks.any():
        return "check_first", "No work has much hope of being enough yet: look further before any is begun."
    # what may not be run is opened: what little can still be asked parts nothing that the look does not
    opens = afterwards == "look_inside" or (afterwards == "begin_with" and DEPTH[rung] > SHALLOW)
    if opens and decision.dangers and not checks.pays():
        return None, ""
    if checks.parts(deciding.parts_much) or checks.pays():  # the former is soon worked out
        return "check_first", "What parts the suspects comes before any promise."
    return None, ""


def _check_title(knowledge: Knowledge, name: str) -> str:
    title = (knowledge.checks.get(name) or knowledge.observations[name]).title
    return title if title[1:2].isupper() else title[:1].lower() + title[1:]


def _came_for(line: JobLine) -> str:
    """Why what it was brought in for is seen to first, in the words of the scale."""
    chance = line.came_for or 0.0
    return CAME_FOR_FIRST.format(and_="and" if at_least(chance, "about even") else "though", odds=odds_words(chance))


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
    if not case.noticed and case.opened and not problem.provisional:
        together = [line for line in decision.jobs if line.expected is not None and line.rung != "replace"]
        if together:
            return "promise", min(together, key=lambda line: (line.expected, DEPTH[line.rung])).job, (PUT_TOGETHER,)
    if not case.noticed and case.settled:
        return "can_wait", decision.job, (SETTLED,)
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
    deciding = knowledge.settings.deciding
    look = cheapest_look(deciding, problem, decision, case)
    outside = outside_first(deciding, problem, decision, case, look)
    if outside is not None and decision.dangers and outside.enough < deciding.hopeful:
        outside = None  # what must not be run is not started to see what little that has cured
    first = came_for_first(knowledge, problem, decision, case, look, idle)
    if decision.stop is not None and outside is None and first is None:
        hopeful = [line for line in decision.jobs if line.expected is not None and line.enough >= deciding.hopeful]
        bound = decision.stop * Decimal(str(knowledge.settings.owners_stretch))
        # most who are opened at more than stopping costs are given up all the same, with the look paid
        look_pays = look is not None and look.expected < decision.stop
        if (
            (hopeful or look)
            and not look_pays
            and not all_harmless(knowledge, case)
            and min(known(line.price) for line in hopeful or [least]) > decision.stop
            and all(known(line.expected) > bound for line in hopeful)
        ):
            mended = if_mended_all_the_same(deciding, problem, decision, case, least)
            if not case.opened and can_be_run_on(knowledge, decision, case):
                return "can_wait", mended.job, (USED_UP.format(decision.currency, f"{decision.stop:,.0f}"),)
            return (
                "stop",
                mended.job,
                (
                    f"Every way that has some hope of curing it costs more than the {decision.currency} "
                    f"{decision.stop:,.0f} that stopping costs its owner.",
                ),
            )
    shallow = DEPTH[least.rung] <= SHALLOW
    near = (
        best is not None
        and not shallow
        and (known(best.expected) <= known(least.expected) * Decimal(str(1 + deciding.near)))
    )
    if best is not None and (least.enough >= decision.floor or near):
        chosen = least if least.enough >= decision.floor else best
        deep = DEPTH["refresh"] <= DEPTH[chosen.rung] < DEPTH["replace"]
        shallower = max((line.enough for line in decision.ladder[: DEPTH[chosen.rung]]), default=0.0)
        firm = chosen.enough >= (case.prices.firm_floor if case.prices else 1.0) and shallower <= deciding.may_do
        if DEPTH[chosen.rung] > SHALLOW and not case.opened and all_harmless(knowledge, case):
            return (
                "can_wait",
                chosen.job,
                ("Nothing that may be behind it does harm if it is run on, and the work is deep.",),
            )
        unseen = (
            deep and not firm and look and "two_steps" not in case.waived and not depth_is_seen(deciding, problem, case)
        )
        if unseen and outside is not None:
            return "begin_with", outside.job, (OUTSIDE_FIRST,)
        if unseen and first is not None:
            return "begin_with", first.job, (_came_for(first),)
        if unseen and (case.opened or any_inside(deciding, problem, case)):
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
    harmless = all_harmless(knowledge, case)
    least = beginning(deciding, decision, least, idle)
    begins = shallow and least.enough >= deciding.even
    if outside is not None and not harmless and not begins:
        return ("begin_with", outside.job, (OUTSIDE_FIRST,))
    if first is not None and not harmless and not begins:
        return ("begin_with", first.job, (_came_for(first),))
    if not harmless and not begins and not any_inside(deciding, problem, case):
        outer = [
            line
            for line in decision.jobs
            if DEPTH[line.rung] <= SHALLOW and line.expected is not None and line.job not in idle
        ]
        least = min(outer, key=lambda line: (line.expected, DEPTH[line.rung], line.job), default=least)
    elif look and not harmless and not begins and (not shallow or look.expected < known(least.expected)):
        return (
            "look_inside",
            after_a_look(deciding, problem, decision, least).job,
            ("Only looking inside parts what is left.",),
        )
    if harmless:
        return "can_wait", least.job, ("Nothing that may be behind it does harm if it is run on.",)
    return "begin_with", least.job, ("It costs least to begin here, and what is left shows at the test after it.",)
