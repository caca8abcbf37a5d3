"""Jobs by their key: the package of a rung, or only what cures what was noticed there ('top_end:only')."""

from __future__ import annotations

from collections.abc import Iterable

from ..errors import Fault, HowdeepError
from ..knowledge.engine_facts import engine_facts
from ..model.knowledge import Knowledge
from ..model.results import Assessment, Work
from ..model.terms import DEPTH, Rung, rung_named
from ..readings import order_sizes
from ..work.rules import rules_for
from ..work.select import work_at
from ..work.stages import in_order
from .texts import lower_first

ONLY = ":only"
NAMED = 3
"""Operations named where a job is told in a few words."""


def key_for(rung: Rung, *, only: bool) -> str:
    """Key of a job; another engine has one form alone."""
    return f"{rung}{ONLY}" if only and rung != "replace" else rung


def rung_of(key: str) -> Rung:
    """The rung of a job. Raises ValueError for what is no key."""
    return rung_named(key.removesuffix(ONLY))


def is_only(key: str) -> bool:
    """Whether a job is only what cures what was noticed."""
    return key.endswith(ONLY)


def job_title(knowledge: Knowledge, key: str) -> str:
    """Title of the scope; a targeted job says that it is one."""
    title = knowledge.scopes[rung_of(key)].title
    return f"{title}, only what cures it" if is_only(key) else title


def work_of(knowledge: Knowledge, answer: Assessment, key: str) -> Work:
    """The work of a job, also of one that is not weighed any more since it is the package, or lies less deep now."""
    if key in answer.works:
        return answer.works[key]
    job = answer.job
    odds = {belief.cause: belief.posterior for belief in answer.beliefs}
    noticed = {belief.cause: belief.hand for belief in answer.beliefs}
    return work_at(
        knowledge,
        rules_for(knowledge, job.engine, engine_facts(job.engine)),
        job.engine,
        answer.facts.values,
        answer.conclusions.findings,
        odds,
        rung_of(key),
        order_sizes(job, knowledge),
        frozenset(job.values) | job.unknown,
        hands=answer.called,
        only=is_only(key),
        done=job.job.done,
        noticed=noticed,
    )


def twins(answer: Assessment) -> frozenset[str]:
    """Jobs that do the very work of a shallower one: where an engine is built so, two depths are one. The job that the
    answer speaks of is none."""
    seen: set[frozenset[str]] = set()
    found = set()
    for line in sorted(
        answer.decision.jobs, key=lambda line: (DEPTH[line.rung], line.whole, line.job != answer.decision.job)
    ):
        held = answer.works[line.job].items if line.job in answer.works else ()
        work = frozenset(item.operation for item in held if not item.if_found)
        if work and work in seen and line.job != answer.decision.job:
            found.add(line.job)
        seen.add(work)
    return frozenset(found)


def curing(answer: Assessment, work: Work) -> list[str]:
    """The operations of a job that are done for a cause, what cures the likeliest first."""
    hands = {belief.cause: belief.hand for belief in answer.beliefs}
    found = [
        (max(hands.get(cause, 0.0) for cause in causes_of(item.because)), item.operation)
        for item in work.items
        if not item.if_found and causes_of(item.because)
    ]
    return [name for _, name in sorted(found, key=lambda item: (-round(item[0], 9), item[1]))]


def named_work(knowledge: Knowledge, answer: Assessment, key: str) -> str:
    """'clean or renew battery cables; start it and prove it; and 2 more': what a job does, its cures first, the rest in
    the order of work."""
    work = work_of(knowledge, answer, key)
    operations = knowledge.operations
    # what was done before the engine came in stays for its parts and steps, and is not named as work
    sure = [
        item.operation
        for item in work.items
        if not item.if_found and (item.hours or operations[item.operation].spared is None)
    ]
    names = list(dict.fromkeys([*curing(answer, work), *(name for _, name in in_order(operations, sure)), *sure]))
    rest = len(names) - NAMED
    text = "; ".join(lower_first(operations[name].title) for name in names[:NAMED])
    return text + (f"; and {rest} more" if rest > 0 else "")


def causes_of(because: Iterable[str]) -> list[str]:
    """The causes among reasons of the form 'kind/id'."""
    return [name for kind, _, name in (reason.partition("/") for reason in because) if kind == "causes"]


def asked_for(knowledge: Knowledge, answer: Assessment, scope: Rung | None, *, only: bool) -> str:
    """The job asked for: that of the answer, the package of a scope, or with `only` the targeted job at that depth.

    Raises HowdeepError where there is no targeted job at that depth.
    """
    if scope is None and not only:
        return answer.decision.job
    key = key_for(scope or answer.decision.rung, only=only)
    if key in answer.works:
        return key
    known = [name for name in answer.works if is_only(name)]
    title = knowledge.scopes[rung_of(key)].title.lower()
    raise HowdeepError(
        Fault(
            "",
            0,
            0,
            f"there is no smaller job at {title}: what was noticed needs all of it, or nothing at that depth",
            "leave out --only"
            if not known
            else "--only goes with " + " or ".join(f"--scope {rung_of(name)}" for name in known),
        )
    )


def points_to_work(answer: Assessment) -> bool:
    """Whether anything was noticed that work must make go away, or an open engine is only put together: else no job is
    meant, and none has a chance."""
    return answer.decision.then == "promise" or (answer.decision.then != "can_wait" and anything_noticed(answer))


def anything_noticed(answer: Assessment) -> bool:
    """Whether there is anything that has to go away: else every job is surely enough."""
    return answer.noticed
