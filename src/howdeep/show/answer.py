"""The answer on one screen, as a value: kind, job, reasons, what comes next, what may turn up. Surfaces lay it out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from ..model.answer_kinds import Kind
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment, Belief, CheckValue, JobLine
from ..model.terms import DEPTH
from ..quote.bills import span_of
from ..quote.first_steps import worth_making as useful_checks
from ..quote.held import waived_sentences
from ..quote.jobs import points_to_work as points_to_work
from ..quote.turning_up import TurningUp, turning_up
from .price_notes import gap_sentences
from .reasons import SUSPECT, Reason, reasons_of
from .sentences import check_title, first_sentence, led_words, lower_first, misfit_sentences, overlooked
from .words import minutes, money, odds_words, percent

HEADINGS: dict[Kind, str] = {
    "do_not_run": "Do not run it",
    "promise": "This can be promised",
    "check_first": "Check first",
    "look_inside": "Look inside first",
    "begin_with": "Begin with this, then look again",
    "can_wait": "It can wait",
    "stop": "Stop here, or ask the owner",
}
"""Kind of answer -> its heading, on every surface."""
NO_PROMISE: dict[Kind, str] = {
    "do_not_run": "it must not be run before what forbids it is cleared",
    "check_first": "check first",
    "look_inside": "the engine is opened and looked at first",
    "begin_with": "it is where to begin; afterwards it is tested and looked at again",
    "can_wait": "nothing here must be done now",
    "stop": "by the figures the work is dearer than stopping; the owner is asked first",
}
"""Kind of answer that is no promise -> what a quote says of itself."""
WITH_JOB: tuple[Kind, ...] = ("promise", "begin_with")
NAMES_JOB: tuple[Kind, ...] = (*WITH_JOB, "check_first")
"""Kinds whose headline names the job."""
SUSPECTS = 3
NEXT = 3
TURNS_UP = 3
SAID = 1 / 3
"""That nothing on the list explains a sign is said from this chance on."""
NEAR_THE_COMPLAINT = 0.08
"""What work outside may turn up is named from this chance of having a hand in what was noticed."""
SOME_HOPE = 0.3
"""A job less likely to be enough is not named among what may still come."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What stands on one screen."""

    kind: Kind
    heading: str
    headline: str
    """The heading with the job that it speaks of."""
    dangers: tuple[str, ...]
    job: str
    """The job in a few words; empty where none is meant."""
    does: str
    """What a job that is no whole package does; empty for a package."""
    chance: str
    price: str
    range: str
    """Where nine in ten such jobs end; empty where that is not worked out."""
    because: tuple[str, ...]
    """Why this kind of answer."""
    reasons: tuple[Reason, ...]
    """Suspects with the signs that speak for them."""
    unexplained: tuple[str, ...]
    """What nothing on the list explains, and what to do then."""
    misfits: tuple[str, ...]
    """What was found on the open engine although the answers spoke against it."""
    overlooked: tuple[str, ...]
    """Answers that contradict each other, and readings that are left out."""
    waived: tuple[str, ...]
    """What is gone on without, and who decided."""
    next: tuple[str, ...]
    """What to do next, with minutes."""
    turns_up: tuple[str, ...]
    stages: tuple[str, ...]
    """What is still to come and what decides it."""
    owner: str
    """What is to be said of the machine's worth and of the right to stop."""
    prices: tuple[str, ...] = ()
    """What is to be said of the prices: those that were missing and what follows, or that all are an example."""


def answer_of(knowledge: Knowledge, answer: Assessment, prices: PriceList | None = None) -> Answer:
    """The answer on one screen. With `prices`, also the range and the prices of what may turn up."""
    decision = answer.decision
    line = decision.line(decision.job)
    works = points_to_work(answer)  # else none of its surprises, and no word of its cost
    return Answer(
        decision.kind, HEADINGS[decision.kind], headline(knowledge, answer, decision.kind),
        tuple(f"{_subject(knowledge, danger.kind, danger.subject)}"
              f"{'' if danger.chance >= 1 else f', {odds_words(danger.chance)} ({percent(danger.chance)})'}: "
              f"{first_sentence(danger.text)}" for danger in decision.dangers),
        job_title(knowledge, line), work_words(knowledge, answer), f"{percent(line.enough)}, {odds_words(line.enough)}",
        price_words(answer, line), range_words(knowledge, answer, prices), decision.because,
        reasons_of(knowledge, answer, SUSPECTS), tuple(unexplained_sentences(knowledge, answer)),
        misfit_sentences(knowledge, answer), overlooked(knowledge, answer), waived_sentences(knowledge, answer),
        tuple(next_steps(knowledge, answer)),
        tuple(turn_up_text(knowledge, item, decision.currency)
              for item in (_worth_naming(knowledge, answer, turning_up(knowledge, answer, prices))[:TURNS_UP]
                           if works else ())),
        tuple(stages(knowledge, answer)), owner_sentence(answer) if works else "",
        gap_sentences(answer, prices))


def _worth_naming(knowledge: Knowledge, answer: Assessment, items: Sequence[TurningUp]) -> list[TurningUp]:
    """What may turn up, without what has nothing to do with the complaint and would not be seen by work outside."""
    if DEPTH[answer.decision.rung] >= DEPTH["top_end"]:
        return list(items)
    near = {name for belief in answer.beliefs if belief.hand >= NEAR_THE_COMPLAINT
            for name in knowledge.causes[belief.cause].cured_by}
    return [item for item in items if item.operation in near]


def headline(knowledge: Knowledge, answer: Assessment, kind: Kind) -> str:
    """Heading and job in one: 'This can be promised: top end'; the job alone is left out where none is meant."""
    line = answer.decision.line(answer.decision.job)
    if kind in WITH_JOB:
        return f"{HEADINGS[kind]}: {lower_first(job_title(knowledge, line))}"
    if kind == "look_inside" and answer.decision.look:
        return f"{HEADINGS[kind]}: open to {lower_first(knowledge.scopes[answer.decision.look].title)}"
    if kind == "check_first" and points_to_work(answer):
        return f"{HEADINGS[kind]}; as it stands: {lower_first(job_title(knowledge, line))}"
    return HEADINGS[kind]


def job_title(knowledge: Knowledge, line: JobLine) -> str:
    """'Top end' for the package, 'Top end, only what cures it' for less than it."""
    if line.rung == "replace":
        return "Another engine"
    title = knowledge.scopes[line.rung].title
    return title if line.whole else f"{title}, only what cures it"


def work_words(knowledge: Knowledge, answer: Assessment) -> str:
    """What a job that is less than a package does, what cures the likeliest cause first; empty for a package."""
    line = answer.decision.line(answer.decision.job)
    if line.whole:
        return ""
    hands = {belief.cause: belief.hand for belief in answer.beliefs}
    sure = [item for item in answer.works[line.job].items if not item.if_found]
    curing = [(max(hands.get(reason.removeprefix("causes/"), 0.0) for reason in item.because
                   if reason.startswith("causes/")), item.operation)
              for item in sure if any(reason.startswith("causes/") for reason in item.because)]
    names = [name for _, name in sorted(curing, key=lambda item: (-round(item[0], 9), item[1]))] or [
        item.operation for item in sure]
    rest = len(names) - SUSPECTS
    text = "; ".join(lower_first(knowledge.operations[name].title) for name in names[:SUSPECTS])
    return text + (f"; and {rest} more" if rest > 0 else "")


def price_words(answer: Assessment, line: JobLine) -> str:
    """Price of the job, and what it is expected to come to."""
    if line.price is None or line.expected is None:
        return "no price"
    text = money(line.price, answer.decision.currency, whole=True)
    if line.expected - line.price >= Decimal("1"):
        text += f", {money(line.expected, whole=True)} expected in the end"
    return text


def range_words(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> str:
    """'nine in ten end between USD 1,080 and 1,900, with tax'; empty where that is not worked out."""
    line = answer.decision.line(answer.decision.job)
    if prices is None or line.rung == "replace" or answer.decision.then in ("can_wait", "stop"):
        return ""
    most = answer.decision.line("replace").price
    span = span_of(knowledge, answer, prices, line.job, most)
    if span is None:
        return ""
    low, high = (money(amount, whole=True) for amount in (span.low, span.high))
    if low == high:
        return ""
    return f"nine in ten end between {answer.decision.currency} {low} and {high}, with tax"


def suspects(answer: Assessment) -> tuple[Belief, ...]:
    """Causes that most likely have a hand in what was noticed."""
    return tuple(belief for belief in answer.beliefs[:SUSPECTS] if belief.hand >= SUSPECT)


def unexplained_sentences(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """Signs that likelier than one in three nothing on the list explains, and what to do."""
    found = []
    for item in sorted(answer.unexplained, key=lambda item: (-item.nothing, item.finding)):
        if item.nothing <= SAID:
            continue
        what = ("ask or test it again" if item.misread >= item.unlisted else "look for what is not on the list")
        if item.misread < 0.2 * item.nothing and item.unlisted < 0.2 * item.nothing:
            what = "sound engines show it too"
        found.append(f"{knowledge.findings[item.finding].title}: nothing on our list explains it "
                     f"({percent(item.nothing)}); {what}")
    return found


def next_steps(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """What to do next."""
    decision = answer.decision
    work = answer.works[decision.job]
    if decision.then == "check_first":
        return [_check_words(knowledge, check) for check in useful_checks(answer)[:NEXT]]
    if decision.then == "look_inside" and decision.looks:
        look = next(item for item in decision.looks if item.rung == decision.look)
        return [f"Open to {lower_first(knowledge.scopes[look.rung].title)}, look, measure and report: "
                f"{money(look.price, decision.currency, whole=True)}, of which {money(look.credit, whole=True)} is "
                "credited when work follows"]
    if decision.then == "begin_with":
        proof = [_timed(knowledge, name) for name in work.after[:2]]
        return [f"Do it, then prove it: {', '.join(proof)}" if proof else "Do it, then try it and look again"]
    if decision.then == "can_wait":
        waits = [knowledge.causes[belief.cause].wait for belief in suspects(answer)[:2] if
                 knowledge.causes[belief.cause].wait]
        return ([f"Watch for this: {first_sentence(text)}" for text in waits]
                or ["Nothing has to be done; come back when something shows"])
    if decision.then == "stop":
        return ["Ask the owner before any more money goes in; he may still have reasons to mend it"]
    before = [_timed(knowledge, name) for name in work.before[:3]]
    return ([f"Before the work: {', '.join(before)}"] if before else []) + ["Quote it: howdeep quote JOB"]


def _check_words(knowledge: Knowledge, check: CheckValue) -> str:
    """'Air cleaner (8 min): clogged -> tune-up; clean -> top end'."""
    ends = [f"{lower_first(outcome.title)} -> {led_words(knowledge, outcome.leads_to)}"
            for outcome in sorted(check.outcomes, key=lambda item: (-item.chance, item.title)) if outcome.leads_to][:2]
    held = "; stands before a deeper promise" if check.hold else ""
    return f"{check.title} ({minutes(check.minutes)}{held})" + (f": {'; '.join(ends)}" if ends else "")


def _timed(knowledge: Knowledge, name: str) -> str:
    """'ignition timing (15 min)'."""
    entry = knowledge.checks.get(name) or knowledge.observations.get(name)
    text = lower_first(check_title(knowledge, name))
    return f"{text} ({minutes(entry.minutes)})" if entry else text


def turn_up_text(knowledge: Knowledge, item: TurningUp, currency: str) -> str:
    """'re-ring (29 %, USD 1,900 more)'; where the job would grow, to what."""
    more = "" if item.amount is None or not item.amount else f", {money(item.amount, currency, whole=True)} more"
    grown = f"; it grows to {lower_first(knowledge.scopes[item.grows_to].title)}" if item.grows_to else ""
    return f"{lower_first(item.title)} ({percent(item.chance)}{more}{grown})"


def check_words(check: CheckValue) -> str:
    """'Air cleaner (8 min)'."""
    return f"{check.title} ({minutes(check.minutes)})"


def left_by(knowledge: Knowledge, answer: Assessment, line: JobLine) -> dict[str, float]:
    """Cause that a job does not cure -> the chance that it has a hand in anything noticed, likeliest first."""
    if line.whole:
        return dict(next(item for item in answer.decision.ladder if item.rung == line.rung).not_cured)
    done = {item.operation for item in answer.works[line.job].items if not item.if_found}
    return {belief.cause: belief.hand for belief in sorted(
        answer.beliefs, key=lambda belief: (-round(belief.hand, 9), belief.cause))
        if belief.hand >= 0.005 and not done & set(knowledge.causes[belief.cause].cured_by)}


def stages(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """Jobs that come into question later: the likelier shallower one and deeper one, and what decides for each."""
    decision = answer.decision
    if decision.then in ("promise", "can_wait", "stop"):
        return []
    now = decision.line(decision.job)
    here = left_by(knowledge, answer, now)
    hands = {belief.cause: belief.hand for belief in answer.beliefs}
    told: dict[str, tuple[JobLine, str]] = {}
    ahead = sorted((line for line in decision.jobs if line.expected is not None and line.enough >= SOME_HOPE
                    and line.job != now.job), key=lambda line: (line.expected, line.job))
    for line in ahead:
        there = left_by(knowledge, answer, line)
        deeper = (DEPTH[line.rung], line.whole) > (DEPTH[now.rung], now.whole)
        cured = ([cause for cause in here if cause not in there] if deeper else
                 [cause for cause in sorted(hands, key=lambda name: (-round(hands[name], 9), name))
                  if cause not in there and hands[cause] >= 0.05])
        if deeper and line.enough <= now.enough:
            continue
        way = "deeper" if deeper else "less"
        if cured and way not in told:
            names = " or ".join(lower_first(knowledge.causes[cause].title) for cause in cured[:2])
            told[way] = line, f"if it {'is' if deeper else 'is only'} {names}"
    return [f"{job_title(knowledge, line)} ({percent(line.enough)} enough, "
            f"{money(line.price, decision.currency, whole=True)}) {why}"
            for _, (line, why) in sorted(told.items(), reverse=True)]


def owner_sentence(answer: Assessment) -> str:
    """What the machine is worth beside it, and the right to stop."""
    decision = answer.decision
    text = decision.beyond
    if decision.stop is not None and decision.kind != "stop":
        text = f"{text} Stopping instead costs the owner {money(decision.stop, decision.currency, whole=True)}.".strip()
    return text


def _subject(knowledge: Knowledge, kind: str, name: str) -> str:
    return str(getattr(knowledge, kind)[name].title)
