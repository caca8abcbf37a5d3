"""The rule of this program as it is now, asked through its front door and put into the bench's actions.

`answer_of` alone knows what an assessment looks like; `act_on` knows what a shop does with each kind of answer. When
the answer learns new kinds, `answer_of` fills them in and the rest stands.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from howdeep.model.knowledge import RUNGS
from howdeep.session import Shop

from .actions import Action, Case, Check, Do, Look, Stated, Stop
from .policies import aimed_at, job_of, spent
from .works import REPLACE, TOP_END

Kind = Literal["do_not_run", "promise", "check_first", "look_inside", "begin_with", "can_wait", "stop"]


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer of the program, as far as a shop acts on it."""

    kind: Kind
    order: tuple[tuple[int, bool], ...] = ()
    """Jobs as (depth, whole), the best first: what follows where the first is spent."""
    odds: Mapping[str, float] = field(default_factory=dict)
    enough: tuple[float, ...] = ()
    check: tuple[tuple[str, ...], float, str] | None = None
    """Observations, minutes and risk of the next check."""
    look: int = TOP_END
    """How deep to look."""
    aimed: frozenset[str] | None = None
    """Causes that the job is for; None for every likely one."""


def answer_of(shop: Shop, case: Case, *, checks: bool) -> Answer:
    """What the program says of the case."""
    told = shop.assess(job_of(case, shop.folders), checks=checks, flips=False)
    odds = {belief.cause: belief.posterior for belief in told.beliefs}
    lines = sorted((line for line in told.decision.ladder if line.expected is not None),
                   key=lambda line: (line.expected, RUNGS.index(line.rung)))
    order = tuple((RUNGS.index(line.rung), True) for line in lines)
    enough = tuple(line.enough for line in told.decision.ladder)
    best = next((check for check in told.checks if check.net > 0), None)
    if best is not None:
        return Answer("check_first", order, odds, enough, (best.observations, best.minutes, best.risk))
    return Answer("promise", order, odds, enough)


def act_on(answer: Answer, case: Case, *, checks: bool, looks: bool) -> Action:
    """What a shop does that follows the answer; without `checks` or `looks` it goes straight to the work."""
    if answer.kind == "check_first" and checks and answer.check is not None and case.checks < 4:
        observations, minutes, risk = answer.check
        if any(name not in case.given for name in observations):
            return Check(observations, minutes, risk)
    if answer.kind == "look_inside" and looks and case.looked < answer.look:
        return Look(answer.look)
    if answer.kind in ("can_wait", "stop") and case.depth < 0:
        return Stop()
    for depth, whole in answer.order:
        aimed = aimed_at(case, answer.odds, depth) if answer.aimed is None else frozenset(
            name for name in answer.aimed if case.works.need[name] <= depth)
        if not spent(case, depth, aimed):
            return Do(depth, aimed, whole, Stated(answer.enough, answer.odds))
    return Stop()


@dataclass(frozen=True)
class Current:
    """This program: one shot, with its checks made first, and with its look inside."""

    shop: Shop
    checks: bool = False
    looks: bool = False
    name: str = "this program, one shot"

    def act(self, case: Case) -> Action:
        return act_on(answer_of(self.shop, case, checks=self.checks), case, checks=self.checks, looks=self.looks)


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
