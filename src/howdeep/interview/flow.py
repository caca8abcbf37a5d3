"""Which question comes next, and what is still open: the customer's part first, the bench after it.

The talk begins with what brings the customer in and what else troubles him; then what his own words say is offered to
be confirmed (`own_words.py`); then each complaint is heard (one of its own questions); then what the trade asks first
for it (`rules/first_questions.yaml`), unless another question is worth clearly more; then whatever is worth most by the
one measure (`decision/question_value.py`), follow-ups and the subject just talked about before others of nearly the
same worth. It ends by itself where no answer is worth the minutes that it takes from a customer. The bench then takes
the checks in the order of their ranking.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ..decision.plan import is_worth_making
from ..knowledge.questions import COMPLAINTS, sound_of
from ..logic.evaluate import evaluate
from ..model.condition import facts_read
from ..model.frozen import dataclass
from ..model.job import OpenJob
from ..model.judgement import Asking
from ..model.knowledge import Knowledge
from ..model.results import Assessment, CheckValue
from ..model.truth import Truth
from ..model.values import Values
from ..quote.held import standing
from .conditions import CONDITIONS as CONDITIONS
from .first_asked import asked_first, overtaken
from .match_words import spoken_of
from .own_words import said_in

STANDING = ("runs", "turns_over", "stood")
"""How the engine stands, asked before anything else where it is not at work."""
NOT_AT_WORK = ("wont_start", "stuck", "stood")
"""Complaints of an engine that is not at work."""
AT_WORK = ("smokes", "uses_oil", "no_power", "overheats", "misfires", "oil_pressure", "hard_start", "knocks")
"""Complaints that are heard of an engine that runs: it is not asked first whether it does."""
FIRST = "the trade asks it first for this"
OPENS, DEPENDS, STANDS = "opens the talk", "what can be asked depends on it", "how it stands decides what can be asked"
CAME_FOR, ONE_WORD = "it is what the customer came for", "one word on each subject"
OWN_WORDS = "the customer's own words lead to it"
SAID = "the customer's own words say it, to be confirmed"
HELD = "no promise is made before it"
PROMISES = "its answer could carry this to a promise"
PLACED = (HELD, OPENS, SAID, DEPENDS, STANDS, CAME_FOR, ONE_WORD, OWN_WORDS)
"""Why a question is asked for its place in the talk, whatever it is worth."""


@dataclass(frozen=True, slots=True)
class Question:
    """One open question with what it is worth."""

    observation: str
    worth: float
    """Minutes of labour for a question at the counter; 0 for one that is asked for its place, and for a check."""
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

    likely: int | None = None
    """How many of them are likely to be asked before the patience is used up; None where nobody's is."""

    @property
    def left(self) -> int:
        return len(self.worth_asking) if self.likely is None else self.likely


def flow(knowledge: Knowledge, job: OpenJob, answer: Assessment, last: str = "", *, bench: bool = False) -> Flow:
    """Where the interview stands; `last` is the question answered last, so that the talk stays on its subject. The talk
    wants an answer with `questions`, the bench one with its checks ranked."""
    ordered = tuple(_bench(knowledge, job, answer, last) if bench else _talk(knowledge, job, answer, last))
    put_off = tuple(
        name for name in sorted(job.later) if knowledge.observations[name].moment == ("test" if bench else "talk")
    )
    named = {question.observation for question in ordered}
    worth = {} if bench else {item.observation: item.worth for item in answer.questions}
    others = tuple(
        sorted(
            (
                name
                for name in answer.not_asked
                if name not in named
                and name not in job.later
                and (name in worth if not bench else knowledge.observations[name].moment == "test")
                and knowledge.observations[name].group != CONDITIONS
            ),
            key=lambda name: (-worth.get(name, 0.0), name),
        )
    )
    return Flow(
        ordered[0] if ordered else None,
        ordered,
        put_off,
        others,
        len(job.values) + len(job.unknown),
        None if bench else _likely(knowledge.settings.asking, ordered, patience_used(knowledge, job)),
    )


def _likely(asking: Asking, ordered: Sequence[Question], used: int) -> int:
    """How many of these questions would still be asked if each were answered and moved nothing: every one makes the
    next dearer by a minute."""
    asked = 0
    for question in ordered:
        over = max(0, used + asked - asking.patience)
        floor = {FIRST: asking.trade_minutes + over / 2}.get(question.reason, asking.least_minutes + over)
        asked += question.reason in PLACED or question.worth >= floor
    return asked


def _talk(knowledge: Knowledge, job: OpenJob, answer: Assessment, last: str) -> Iterator[Question]:
    """The questions of the counter worth asking, in order."""
    worth = {item.observation: item.worth for item in answer.questions if item.observation not in job.later}
    in_trade = asked_first(knowledge, answer.facts.values, answer.conclusions.findings)
    first: dict[str, str] = {}
    for name, reason in _first(knowledge, job, answer.facts.values, worth, bool(answer.counted.present), in_trade):
        first.setdefault(name, reason)
    yield from (Question(name, worth[name], reason) for name, reason in first.items())
    group = knowledge.observations[last].group if last in knowledge.observations else ""
    asking = knowledge.settings.asking
    over = max(0, patience_used(knowledge, job) - asking.patience)
    # while nothing has shown no question can be weighed: what the trade asks is asked all the same
    least = asking.trade_minutes + over / 2 if answer.counted.present else 0.0
    trade = [name for name in in_trade if name in worth and name not in first and worth[name] >= least]
    rest = [name for name in worth if name not in (*first, *trade) and worth[name] >= asking.least_minutes + over]
    best = max((worth[name] for name in rest), default=1.0)

    def place(name: str) -> tuple[bool, bool, float, str]:
        share = worth[name] / best
        return (
            not (share >= asking.follows and follows(knowledge, name, last)),
            not (share >= asking.same_subject and knowledge.observations[name].group == group),
            -worth[name],
            name,
        )

    following = frozenset(name for name in rest if follows(knowledge, name, last))
    # what the trade asks first gives way to what parts the suspects, not to what a promise waits for; while nothing has
    # shown there are none
    suspected = bool(answer.counted.present)
    parting = {item.observation: (item.worth - item.promised) * suspected for item in answer.questions}
    ordered = overtaken(asking, trade, sorted(rest, key=place), parting, following)
    yield from (
        Question(name, worth[name], FIRST if name in trade else _reason(knowledge, name, last)) for name in ordered
    )
    # a look that only the counter makes is asked of nobody at the bench
    held = dict.fromkeys(hold.check for hold in standing(answer, answer.decision.rung))
    yield from (Question(name, worth[name], HELD) for name in held if name in worth and name not in (*first, *ordered))


def patience_used(knowledge: Knowledge, job: OpenJob) -> int:
    """How many questions of the counter have an answer; "don't know" counts twice, for who knows little is asked
    little."""
    return sum(knowledge.observations[name].moment == "talk" for name in (*job.values, *job.unknown, *job.unknown))


def _first(
    knowledge: Knowledge,
    job: OpenJob,
    facts: Mapping[str, Any],
    worth: Mapping[str, float],
    noticed: bool,
    in_trade: Sequence[str],
) -> Iterator[tuple[str, str]]:
    """(question, reason) of what is asked for its place in the talk, before anything is weighed. `noticed`: whether any
    answer has shown something; `in_trade`: what the trade asks first, in order."""
    told, words = [facts[name] for name in COMPLAINTS if name in facts], job.job.customer.words
    yield from ((name, OPENS) for name in COMPLAINTS if name in worth)
    yield from ((said.question, SAID) for said in said_in(knowledge, words) if said.question in worth)
    at_work = any(word in AT_WORK for word in told) and not any(word in NOT_AT_WORK for word in told)
    if "runs" in worth and not at_work and told != ["nothing"]:
        yield "runs", DEPENDS
    if facts.get("runs") in ("no", "only_just") or any(word in NOT_AT_WORK for word in told):
        for name in STANDING[1:]:
            if name in worth and not (name == "stood" and facts.get("runs") == "yes"):
                yield name, STANDS
    heard = frozenset(job.values) | (job.unknown if noticed else frozenset())
    for word in told:
        asked = knowledge.settings.spoken_of.get(word, ())
        if not any(name in heard and not _says_nothing(knowledge, job, name, noticed) for name in asked):
            # nothing of it was heard yet: its own questions, one after the other, in the order of the trade
            own = sorted(asked, key=lambda name: in_trade.index(name) if name in in_trade else len(in_trade))
            yield from ((name, CAME_FOR) for name in own if name in worth)
    if told and not noticed and not any(knowledge.settings.spoken_of.get(word) for word in told):
        # an engine that is only looked over: a word on each subject
        for asked in knowledge.settings.spoken_of.values():
            yield from ((name, ONE_WORD) for name in asked[:1] if name in worth)
    for name in spoken_of(knowledge, words):
        if name in worth:
            yield name, OWN_WORDS


def _says_nothing(knowledge: Knowledge, job: OpenJob, name: str, noticed: bool) -> bool:
    """Whether the answer to a question of a complaint is sound while nothing has shown at all."""
    return not noticed and job.values.get(name) in sound_of(knowledge.observations[name])


def _bench(knowledge: Knowledge, job: OpenJob, answer: Assessment, last: str) -> Iterator[Question]:
    """The checks worth making, in order; one that was begun is finished first."""
    checks = [check for check in answer.checks if check.moment == "test" and is_worth_making(knowledge.settings, check)]
    if answer.decision.afterwards == "promise":
        # only what stands before it is between the answer and a promise
        checks.sort(key=lambda check: not check.hold)
    begun = [check for check in knowledge.checks.values() if last in check.observations and last not in job.unknown]
    given_up = {
        name
        for check in knowledge.checks.values()
        if not job.unknown.isdisjoint(check.observations)
        for name in check.observations
    }
    # who does not hook it up for one reading does not for the next
    checks.sort(key=lambda check: not given_up.isdisjoint(check.observations))
    names: dict[str, str] = {}
    offered = set(answer.not_asked)
    for check in begun:
        names.update((name, "belongs to the same check") for name in check.observations if name in offered)
    found = any(belief.hand >= knowledge.settings.asking.found for belief in answer.beliefs)
    if not names and (found or not any(value.parts >= knowledge.settings.asking.parts_first for value in checks)):
        yield from _at_the_bench(knowledge, job, answer)
    for value in checks:
        names.update((name, check_reason(value)) for name in value.observations if name not in names)
    yield from (
        Question(name, 0.0, reason)
        for name, reason in names.items()
        if knowledge.observations[name].group != CONDITIONS and name not in job.later
    )


def _at_the_bench(knowledge: Knowledge, job: OpenJob, answer: Assessment) -> Iterator[Question]:
    """What the customer is asked from the bench, before a check is made: a word of his that likely carries the answer
    a good part of the way to a promise costs nothing but his patience."""
    asking = knowledge.settings.asking
    over = max(0, patience_used(knowledge, job) - asking.patience)
    for item in answer.questions:
        if (
            item.carries >= asking.carries
            and item.worth >= asking.least_minutes + over / 2
            and item.observation not in job.later
        ):
            yield Question(item.observation, item.worth, PROMISES)


def check_reason(check: CheckValue) -> str:
    """Why a check is offered, in a few words."""
    if check.hold:
        return HELD
    if check.net > 0:
        return "it saves more than it costs"
    return "it is looked at first for such a complaint" if check.first_look else "it parts the suspects"


def follows(knowledge: Knowledge, name: str, last: str) -> bool:
    """Whether a question has its ground in the last answer."""
    ground = knowledge.observations[name].follows
    return bool(last) and ground is not None and last in facts_read(ground)


def _reason(knowledge: Knowledge, name: str, last: str) -> str:
    if follows(knowledge, name, last):
        return "follows from the last answer"
    if last in knowledge.observations and knowledge.observations[last].group == knowledge.observations[name].group:
        return "belongs to the same subject"
    return "its answer could move most"


def lost_ground(knowledge: Knowledge, job: OpenJob, facts: Values, changed: str) -> tuple[str, ...]:
    """Answered follow-ups whose ground goes when `changed` gets its new value; they are dropped, and said so."""
    gone = []
    for name in sorted(job.values):
        ground = knowledge.observations[name].follows
        if ground is not None and changed in facts_read(ground) and evaluate(ground, facts, {}, {}) is Truth.ABSENT:
            gone.append(name)
    return tuple(gone)
