"""The rule of this program as it is now, put into the bench's actions.

`answer_of` alone knows what an assessment looks like; `act_on` knows what a shop does with each kind of answer. The
owners of this bench brought the engine for trouble that they will not put up with: where the program says that it
can wait, they have it put right all the same, by the job that it names. A shop makes the checks that the screen
names, three at most, in their order, until the answer without any more of them is a promise; after a failure, when
it has tested all that is quickly tested, it makes one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from howdeep.assessment.facts import facts_of
from howdeep.assessment.next_checks import NextChecks
from howdeep.assessment.prepared import cured_by, prepare
from howdeep.assessment.session import Shop
from howdeep.decision.answer_kind import with_kind
from howdeep.knowledge.engine_facts import engine_facts
from howdeep.knowledge.questions import TOGETHER_AGAIN
from howdeep.logic.evaluate import evaluate_all
from howdeep.model.answer_kinds import Kind
from howdeep.model.terms import RUNGS
from howdeep.work.rules import rules_for

from .actions import Action, Case, Check, Do, Look, Stated, Stop
from .policies import job_of, spent
from .signs import TALK, TESTS
from .works import REPLACE, TOP_END

MOST_CHECKS, MOST_AFTER = 3, 1
"""Checks that are named at once; and after a failure."""
MOST_ANEW = 8
"""Checks that a shop makes which asks the program again after each of them, as its page and its talk do."""


@dataclass(frozen=True, slots=True)
class Advised:
    """A job as the program lists it."""

    depth: int
    whole: bool
    enough: float
    operations: frozenset[str] = frozenset()
    cures: frozenset[str] = frozenset()
    came_for: float | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer of the program, as far as a shop acts on it."""

    kind: Kind
    """What is answered once a danger is cleared."""
    afterwards: Kind
    """What is answered where nothing more is checked."""
    jobs: tuple[Advised, ...] = ()
    """The one that the answer speaks of, then the others, those that cost least in the end first."""
    odds: Mapping[str, float] = field(default_factory=dict)
    ranked: tuple[str, ...] = ()
    enough: tuple[float, ...] = ()
    checks: tuple[tuple[tuple[str, ...], float, str], ...] = ()
    """Observations, minutes and risk of each check offered, in order."""
    look: int = TOP_END
    """How deep to look."""


@dataclass
class Asked:
    """The program, and what it said of the last few cases."""

    shop: Shop
    kept: dict[str, Answer] = field(default_factory=dict)

    def of(self, case: Case, *, checks: bool) -> Answer:
        """What the program says of the case; with `checks`, also which check it offers."""
        key = repr(
            (
                checks,
                case.works.sheet,
                case.value_running,
                case.stopping_costs,
                case.stands_open,
                sorted(case.asked),
                sorted(case.given.items(), key=repr),
            )
        )
        if key not in self.kept:
            if len(self.kept) > 40:
                self.kept.clear()
            self.kept[key] = answer_of(self.shop, case, checks=checks)
        return self.kept[key]


def answer_of(shop: Shop, case: Case, *, checks: bool) -> Answer:
    """What the program says of the case. Of an engine that was put together again it is told so: what was seen while it
    stood open stays known."""
    knowledge = shop.knowledge
    seen = any(knowledge.observations[name].moment == "teardown" for name in case.given)
    if seen and not case.stands_open:
        case = replace(case, given={**case.given, TOGETHER_AGAIN: "yes"})
    job = job_of(case, shop.folders)
    job = replace(job, unknown=job.unknown | (case.asked - case.given.keys()))
    facts, _ = facts_of(knowledge, job)
    findings = evaluate_all(knowledge, facts.values)
    ready = prepare(knowledge, job, facts, findings, shop.prices, steps=False)
    ranked = NextChecks(knowledge, job, facts, findings, ready, shop.prices).ranking.checks if checks else ()
    decision = with_kind(knowledge, ready.problem, ready.decision, ready.case, ranked)
    rules = rules_for(knowledge, job.engine, engine_facts(job.engine))

    def advised(line: Any) -> Advised:
        work = ready.works[line.job]
        return Advised(
            RUNGS.index(line.rung),
            line.whole,
            line.enough,
            frozenset(item.operation for item in work.items if not item.if_found),
            cured_by(knowledge, rules, work),
            line.came_for,
        )

    others = sorted(
        (line for line in decision.jobs if line.job != decision.job and line.expected is not None),
        key=lambda line: (line.expected, RUNGS.index(line.rung)),
    )
    return Answer(
        decision.then,
        decision.afterwards,
        tuple(advised(line) for line in (decision.line(decision.job), *others)),
        ready.beliefs.odds(),
        tuple(belief.cause for belief in ready.beliefs.causes),
        tuple(line.enough for line in decision.ladder),
        tuple((check.observations, check.minutes, check.risk) for check in ranked),
        RUNGS.index(decision.look) if decision.look else TOP_END,
    )


def next_check(answer: Answer, case: Case) -> Check | None:
    """The first checks offered that an engine of this bench can answer: the first of them, the others after it."""
    fit = [
        Check(names, minutes, risk)
        for names, minutes, risk in answer.checks
        if any(name in TALK or name in TESTS for name in names) and not set(names) <= case.asked
    ]
    named = tuple(fit[: MOST_CHECKS if case.depth < 0 else MOST_AFTER])
    return replace(named[0], then=named[1:]) if named else None


def act_on(answer: Answer, case: Case, *, checks: bool, looks: bool, anew: bool = False) -> Action:
    """What a shop does that follows the answer; without `checks` or `looks` it goes straight to the work, and `anew` it
    asks for the next check after each one."""
    kind = answer.kind
    if checks and case.named and answer.afterwards != "promise":
        return replace(case.named[0], then=case.named[1:])
    if kind == "check_first":
        check = next_check(answer, case) if checks and case.checks < (MOST_ANEW if anew else 1) else None
        if check is not None:
            return replace(check, then=()) if anew else check
        kind = answer.afterwards
    if kind == "look_inside" and looks and case.looked < answer.look:
        return Look(answer.look)
    if kind == "stop":
        return Stop()
    return first_of(answer, answer.jobs, case)


def first_of(answer: Answer, jobs: Iterable[Advised], case: Case) -> Action:
    """The first of these jobs that is not spent."""
    for job in jobs:
        if not spent(case, job.depth, job.cures):
            return Do(
                job.depth,
                job.cures,
                job.whole,
                job.operations,
                Stated(answer.enough, answer.odds, answer.ranked, job.enough, job.came_for),
            )
    return Stop()


@dataclass(frozen=True)
class Current:
    """This program: one shot, with its checks made first, and with its look inside."""

    asked: Asked
    checks: bool = False
    looks: bool = False
    anew: bool = False
    """Whether it is asked again after each check."""
    name: str = "this program, one shot"

    def act(self, case: Case) -> Action:
        more = case.checks < (MOST_ANEW if self.anew else 1)
        ranked = self.checks and more and not case.stands_open
        answer = self.asked.of(case, checks=ranked)
        return act_on(answer, case, checks=self.checks, looks=self.looks, anew=self.anew)


@dataclass(frozen=True)
class LikeliestHere:
    """The cure of this program's likeliest cause not cured yet, with the access it needs."""

    asked: Asked
    name: str = "this program's likeliest cause"

    def act(self, case: Case) -> Action:
        answer = self.asked.of(case, checks=False)
        for cause in answer.ranked:
            depth, aimed = case.works.need.get(cause, REPLACE), frozenset((cause,))
            if cause not in case.cured and not spent(case, depth, aimed):
                return Do(depth, aimed, whole=False, stated=Stated((), answer.odds, answer.ranked))
        return Stop()


@dataclass(frozen=True)
class LookFirst:
    """Another policy, but refresh and deeper only ever sold in two steps: open, report, then ask it again."""

    inner: Any
    name: str

    def act(self, case: Case) -> Any:
        action = self.inner.act(case)
        if isinstance(action, Do) and 3 <= action.depth < REPLACE and case.looked < 3:
            return Look(3)
        return action
