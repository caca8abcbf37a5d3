"""Jobs by their key: the package of a rung, or only what cures what was noticed there ('top_end:only')."""

from __future__ import annotations

from ..errors import Fault, HowdeepError
from ..knowledge.engine_facts import engine_facts
from ..model.knowledge import Knowledge
from ..model.results import Assessment, Work
from ..model.terms import Rung, rung_named
from ..readings import order_sizes
from ..work.rules import rules_for
from ..work.select import work_at

ONLY = ":only"


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
    return work_at(knowledge, rules_for(knowledge, job.engine, engine_facts(job.engine)), job.engine,
                   answer.facts.values, answer.conclusions.findings, odds, rung_of(key), order_sizes(job, knowledge),
                   frozenset(job.values) | job.unknown, hands=answer.called, only=is_only(key), done=job.job.done)


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
    raise HowdeepError(Fault("", 0, 0, f"there is no smaller job at {title}: what was noticed needs all of it, or "
                             "nothing at that depth", "leave out --only" if not known else
                             "--only goes with " + " or ".join(f"--scope {rung_of(name)}" for name in known)))


def points_to_work(answer: Assessment) -> bool:
    """Whether anything was noticed that work must make go away: else no job is meant, and none has a chance."""
    return answer.decision.then != "can_wait" and anything_noticed(answer)


def anything_noticed(answer: Assessment) -> bool:
    """Whether there is anything that has to go away: else every job is surely enough."""
    return any(line.enough < 1 - 1e-9 for line in answer.decision.jobs)
