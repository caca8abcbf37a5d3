"""Which question comes next, and what is still open."""

from __future__ import annotations

from dataclasses import dataclass

from ..model.condition import facts_read
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.results import Assessment
from ..model.truth import Truth
from ..prepared import open_observations
from ..reasoning.condition import evaluate
from .interest import interest

OPENING = ("complaint", "turns_over", "runs")
"""Asked first, in this order: everything else hangs on them."""
SAME_GROUP = 0.35
"""A question of the group just talked about goes before a better one elsewhere if it is worth this share of it."""
STOP_BELOW = 0.004
"""A question that could tell less than this share of the dearest rung's price is not worth asking (judgement)."""


@dataclass(frozen=True, slots=True)
class Question:
    """One open question with what it is worth."""

    observation: str
    worth: float
    """Money: the larger of its net value of sample information and what it could still tell."""
    reason: str
    """Why it is asked now, in a few words."""


@dataclass(frozen=True, slots=True)
class Flow:
    """Where the interview stands."""

    next: Question | None
    """None when nothing more is worth asking."""
    worth_asking: tuple[Question, ...]
    """Open questions worth asking, in the order they would be asked."""
    put_off: tuple[str, ...]
    """Put off with "not now", asked again at the end."""
    open: tuple[str, ...]
    """Everything else that could be asked."""
    answered: int
    """How many questions have an answer (also "don't know")."""

    @property
    def left(self) -> int:
        return len(self.worth_asking)


def flow(knowledge: Knowledge, job: OpenJob, answer: Assessment, last: str = "") -> Flow:
    """Where the interview stands; `last` is the question answered last, so that the talk stays on its subject."""
    open_now = [name for name in open_observations(knowledge, job, answer.facts.values) if name not in job.later]
    put_off = tuple(sorted(job.later))
    worth = question_worth(knowledge, answer)
    floor = STOP_BELOW * max((float(line.price or 0) for line in answer.decision.ladder), default=0.0)
    asked = [Question(name, worth.get(name, 0.0), "opens the talk") for name in OPENING if name in open_now]
    rest = [Question(name, worth[name], _reason(knowledge, name, last)) for name in open_now
            if name not in OPENING and worth.get(name, 0.0) > max(floor, 0.0) and _is_question(knowledge, name)]
    group = knowledge.observations[last].group if last in knowledge.observations else ""
    best = max((question.worth for question in rest), default=0.0)

    def place(question: Question) -> tuple:
        item = knowledge.observations[question.observation]
        same = item.group == group and item.moment == "talk" and question.worth >= SAME_GROUP * best
        grounded = _follows(knowledge, question.observation, last)
        return (item.moment != "talk", not grounded, not same, -question.worth, question.observation)

    ordered = (*asked, *sorted(rest, key=place))
    others = tuple(name for name in open_now if name not in {question.observation for question in ordered})
    return Flow(ordered[0] if ordered else None, ordered, put_off, others, len(job.values) + len(job.unknown))


def question_worth(knowledge: Knowledge, answer: Assessment) -> dict[str, float]:
    """Observation -> its worth in money; a check of several parts gives its worth to its first open part."""
    worth = interest(knowledge, answer)
    for check in answer.checks:
        for name in check.observations[:1]:
            worth[name] = max(worth.get(name, 0.0), float(check.net))
    opened: dict[str, float] = {}
    for name, item in knowledge.observations.items():
        if item.follows is not None:
            for ground in facts_read(item.follows):
                opened[ground] = max(opened.get(ground, 0.0), 0.8 * worth.get(name, 0.0))
    for ground, value in opened.items():
        if ground in worth:
            worth[ground] = max(worth[ground], value)
    return worth


def _is_question(knowledge: Knowledge, name: str) -> bool:
    """Conditions of a test are noted with the test, not asked for by themselves."""
    return knowledge.observations[name].group != "test_conditions"


def _follows(knowledge: Knowledge, name: str, last: str) -> bool:
    ground = knowledge.observations[name].follows
    return bool(last) and ground is not None and last in facts_read(ground)


def _reason(knowledge: Knowledge, name: str, last: str) -> str:
    if _follows(knowledge, name, last):
        return "follows from the last answer"
    if last in knowledge.observations and knowledge.observations[last].group == knowledge.observations[name].group:
        return "belongs to the same subject"
    return "could move the answer most"


def lost_ground(knowledge: Knowledge, job: OpenJob, facts: dict, changed: str) -> tuple[str, ...]:
    """Answered follow-ups whose ground goes when `changed` gets its new value; they are dropped, and said so."""
    gone = []
    for name in sorted(job.values):
        ground = knowledge.observations[name].follows
        if ground is not None and changed in facts_read(ground) and evaluate(ground, facts, {}, {}) is Truth.ABSENT:
            gone.append(name)
    return tuple(gone)
