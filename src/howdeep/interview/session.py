"""A job being interviewed: each answer is on disk before the next question shows. Shared by terminal and page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, Literal

from ..assessment.assess import with_checks
from ..assessment.session import Shop
from ..errors import Fault, HowdeepError
from ..job import write
from ..job.sections import LATER, UNKNOWN, section_of
from ..job.values import value_of
from ..knowledge.engine_facts import count_of, engine_facts
from ..logic.applicability import asked_on
from ..model.frozen import dataclass
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.observations import Observation
from ..model.results import Assessment
from .flow import Flow, Question, flow, lost_ground
from .opened import opened

Part = Literal["talk", "beside", "bench", "open", "both"]
"""What a desk works out with each answer: what each question of the counter is worth; the same with the answer shown
beside it, of its kind and with how it came about; the checks ranked; neither, for an engine that stands open; or
both."""


@dataclass(frozen=True, slots=True)
class Moved:
    """What an answer changed."""

    dropped: tuple[str, ...]
    """Follow-ups that lost their ground and were taken out."""
    causes: tuple[tuple[str, float, float], ...]
    """(cause, its chance of a hand in it before, after) of the causes that moved most."""
    rung_before: str
    rung_after: str


def worked_out(shop: Shop, job: OpenJob, part: Part) -> Assessment:
    """The answer with what a part of the interview needs of it: while a customer waits for the next question nobody
    reads how the odds came about; with the answer beside it, checks are ranked once the talk is over."""
    if part == "beside":
        answer, open_now = shop.assess_for_kind(job)
        if open_now is not None and flow(shop.knowledge, job, answer).next is None:
            return with_checks(answer, open_now)
        return answer
    return shop.assess(
        job, checks=part in ("bench", "both"), flips=False, questions=part != "open", steps=part != "talk"
    )


@dataclass(frozen=True, slots=True)
class Desk:
    """A job as it stands on disk, with the answer it gives now."""

    shop: Shop
    path: Path
    job: OpenJob
    answer: Assessment
    last: str = ""
    moved: Moved | None = None
    part: Part = "both"
    reckon: Callable[[Shop, OpenJob, Part], Assessment] = worked_out
    """Works out the answer after a change."""

    @property
    def knowledge(self) -> Knowledge:
        return self.shop.knowledge

    def asked(self, name: str) -> Observation:
        """An observation as it is asked on this engine."""
        return asked_on(self.knowledge.observations[name], engine_facts(self.job.engine), self.job.values.get(name))

    @property
    def flow(self) -> Flow:
        """Where the interview stands: at the counter, at the bench, or at the open engine."""
        if self.part == "open":
            names = opened(self.knowledge, self.job, self.answer)
            asked = tuple(
                Question(name, 0.0, "it lies open, in the order in which an engine comes apart") for name in names
            )
            later = tuple(
                name for name in sorted(self.job.later) if self.knowledge.observations[name].moment == "teardown"
            )
            return Flow(asked[0] if asked else None, asked, later, (), len(self.job.values) + len(self.job.unknown))
        return flow(self.knowledge, self.job, self.answer, self.last, bench=self.part == "bench")

    @property
    def bench(self) -> Flow:
        """Where the bench stands. Wants the checks ranked (part 'bench' or 'both')."""
        return flow(self.knowledge, self.job, self.answer, self.last, bench=True)


def open_desk(shop: Shop, path: Path, last: str = "", part: Part = "both") -> Desk:
    """Open a job for interviewing. Raises HowdeepError with every fault of the file."""
    job = shop.open_job(path)
    return Desk(shop, Path(path), job, worked_out(shop, job, part), last, part=part)


def newest(job: OpenJob) -> str:
    """The answer of the counter that stands last in a job, by which the talk stays on its subject when it is gone on
    with; empty where there is none."""
    return next(reversed(job.job.answers), "")


def turned_to(desk: Desk, part: Part) -> Desk:
    """The same desk at another part of the interview."""
    return (
        desk
        if desk.part == part
        else replace(desk, answer=desk.reckon(desk.shop, desk.job, part), part=part, moved=None)
    )


def check_value(knowledge: Knowledge, job: OpenJob, name: str, plain: Any) -> None:
    """Raise HowdeepError with every fault of a value typed for one observation."""
    observation = knowledge.observations[name]
    if plain in (UNKNOWN, LATER, None):
        return
    faults: list[Fault] = []
    value = value_of(
        observation,
        plain,
        count_of(job.engine, observation.each),
        lambda where, message, hint: faults.append(Fault("", 0, 0, (f"{where[0]}: " if where else "") + message, hint)),
    )
    if value is None and not faults:
        faults.append(Fault("", 0, 0, "no value was given", "leave it open with 'later' or 'unknown'"))
    if faults:
        raise HowdeepError(faults)


def put(desk: Desk, name: str, plain: Any) -> Desk:
    """Save one answer (None takes it back) and everything that follows from it, then assess anew.

    Raises StaleFile where the file was changed meanwhile, HowdeepError where the value or the disk is at fault; in
    both cases nothing is saved and `desk` still holds.
    """
    knowledge = desk.knowledge
    check_value(knowledge, desk.job, name, plain)
    observation = knowledge.observations[name]
    facts = {**desk.answer.facts.values}
    facts.pop(name, None)
    if plain not in (UNKNOWN, LATER, None):
        value = value_of(observation, plain, count_of(desk.job.engine, observation.each), lambda *_: None)
        if value is not None:
            facts[name] = value
    dropped = lost_ground(knowledge, desk.job, facts, name)

    def change(job: dict[str, Any]) -> dict[str, Any]:
        for other in dropped:
            job = write.with_answer(knowledge, other, None)(job)
        return write.with_answer(knowledge, name, plain)(job)

    about = frozenset(f"{section_of(knowledge.observations[other])}.{other}" for other in (name, *dropped))
    write.save(desk.path, desk.job.digest, change, about=about)
    job = desk.shop.open_again(desk.path, desk.job)
    answer = desk.reckon(desk.shop, job, desk.part)
    return replace(desk, job=job, answer=answer, last=name, moved=_moved(desk.answer, answer, dropped))


def put_many(desk: Desk, changes: dict[str, Any]) -> Desk:
    """Save several values in one write, then assess anew. Raises as `put` does; all faults of all values at once."""
    knowledge = desk.knowledge
    faults: list[Fault] = []
    for name, plain in changes.items():
        try:
            check_value(knowledge, desk.job, name, plain)
        except HowdeepError as error:
            title = knowledge.observations[name].title
            faults += [replace(fault, message=f"{title}: {fault.message}") for fault in error.faults]
    if faults:
        raise HowdeepError(faults)

    def change(job: dict[str, Any]) -> dict[str, Any]:
        for name, plain in changes.items():
            job = write.with_answer(knowledge, name, plain)(job)
        return job

    write.save(desk.path, desk.job.digest, change)
    job = desk.shop.open_again(desk.path, desk.job)
    answer = desk.reckon(desk.shop, job, desk.part)
    return replace(desk, job=job, answer=answer, moved=_moved(desk.answer, answer, ()))


def _moved(before: Assessment, after: Assessment, dropped: tuple[str, ...]) -> Moved:
    old = {belief.cause: belief.hand for belief in before.beliefs}
    changes = [(belief.cause, old.get(belief.cause, 0.0), belief.hand) for belief in after.beliefs]
    changes.sort(key=lambda item: (-abs(item[2] - item[1]), item[0]))
    return Moved(
        dropped,
        tuple(item for item in changes[:3] if abs(item[2] - item[1]) >= 0.01),
        before.decision.rung,
        after.decision.rung,
    )


def plain_answer(desk: Desk, name: str) -> Any:
    """The plain value that stands in the job for an observation; None where there is none."""
    section = section_of(desk.knowledge.observations[name])
    return getattr(desk.job.job, section).get(name)
