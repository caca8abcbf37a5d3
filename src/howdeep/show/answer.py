"""The answer on one screen, as a value: kind, job, reasons, what comes next, what may turn up. Surfaces lay it out."""

from __future__ import annotations

from dataclasses import dataclass

from ..decision.repair_or_replace import ASK_FROM
from ..knowledge.engine_facts import engine_facts
from ..model.answer_kinds import Kind
from ..model.causes import Finding
from ..model.condition import facts_read
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment, Belief, CheckValue, JobLine
from ..model.terms import DEPTH, RUNGS
from ..quote.bills import job_of, span_of
from ..quote.first_steps import worth_making as useful_checks
from ..quote.held import waived_sentences
from ..quote.jobs import curing, named_work
from ..quote.jobs import points_to_work as points_to_work
from ..quote.told_dangers import told_dangers
from ..quote.turning_up import TurningUp, turning_up
from ..work.rules import rules_for
from .leading import spoken_for
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
REMEDIES, PROOFS = 2, 2
TURNS_UP = 3
SAID = 1 / 3
"""That nothing on the list explains a sign is said from this chance on."""
DECIDES = 0.05
"""A cause decides for another depth from this hand in what was noticed, where something speaks for it."""
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
    """What the job does in a few words; empty for another engine."""
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
        decision.kind,
        HEADINGS[decision.kind],
        headline(knowledge, answer, decision.kind),
        tuple(
            f"{danger.title}"
            f"{'' if danger.chance >= 1 else f', {odds_words(danger.chance)} ({percent(danger.chance)})'}: "
            f"{danger.hazard}"
            for danger in told_dangers(knowledge, answer)
        ),
        job_title(knowledge, line),
        work_words(knowledge, answer),
        f"{percent(line.enough)}, {odds_words(line.enough)}",
        price_words(knowledge, answer, line, prices),
        range_words(knowledge, answer, prices),
        decision.because,
        reasons_of(knowledge, answer, SUSPECTS),
        tuple(unexplained_sentences(knowledge, answer)),
        misfit_sentences(knowledge, answer),
        overlooked(knowledge, answer),
        waived_sentences(knowledge, answer),
        tuple(next_steps(knowledge, answer)),
        tuple(
            turn_up_text(knowledge, item, decision.currency)
            for item in (turning_up(knowledge, answer, prices)[:TURNS_UP] if works else ())
        ),
        tuple(stages(knowledge, answer, prices)),
        owner_sentence(answer) if works else "",
        gap_sentences(answer, prices),
    )


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
    """What a job does, what cures the likeliest cause first; empty for another engine."""
    line = answer.decision.line(answer.decision.job)
    return "" if line.rung == "replace" else named_work(knowledge, answer, line.job)


def proofs(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """What proves the work, first what proves the operation that cures the likeliest suspect."""
    job = answer.decision.job
    after = answer.works[job].after
    wanted = [check for name in curing(answer, answer.works[job]) for check in knowledge.operations[name].proved_by]
    return list(dict.fromkeys([*(check for check in wanted if check in after), *after]))


def price_words(knowledge: Knowledge, answer: Assessment, line: JobLine, prices: PriceList | None) -> str:
    """Price of the job, 'USD 178 with tax'; before tax where the price list is not at hand."""
    if line.price is None:
        return "no price"
    total = None if prices is None else job_of(knowledge, answer).total(line.job, prices)
    amount, tax = (line.price, "before") if total is None else (total, "with")
    return f"{money(amount, answer.decision.currency, whole=True)} {tax} tax"


def range_words(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> str:
    """'nine in ten end between USD 1,080 and 1,900', with tax; empty where that is not worked out."""
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
    return f"nine in ten end between {answer.decision.currency} {low} and {high}"


def suspects(answer: Assessment) -> tuple[Belief, ...]:
    """Causes that most likely have a hand in what was noticed."""
    return tuple(belief for belief in answer.beliefs[:SUSPECTS] if belief.hand >= SUSPECT)


def unexplained_sentences(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """Signs that likelier than one in three nothing on the list explains, and what to do; silent where a listed cause
    as likely as that explains it, where it forbids running, and for what is no sign of a fault but a circumstance."""
    hands = {belief.cause: belief.hand for belief in answer.beliefs}
    found = []
    for item in sorted(answer.unexplained, key=lambda item: (-item.nothing, item.finding)):
        finding = knowledge.findings[item.finding]
        explained = max((hands.get(cause, 0.0) for cause in finding.explained_by), default=0.0)
        if item.nothing <= SAID or explained > SAID or finding.forbids_running or _is_circumstance(knowledge, finding):
            continue
        told = _is_told(knowledge, finding)
        what = f"nothing on our list explains it ({percent(item.nothing)}); look for what is not on the list"
        sound = item.misread < 0.2 * item.nothing and item.unlisted < 0.2 * item.nothing
        if sound and not (told and answer.contradictions):
            what = "may be harmless; sound engines show it too"
        elif sound or item.misread >= item.unlisted:
            what = "may be a mishearing; ask again" if told else "may be a misreading; look or test again"
        found.append(f"{finding.title}: {what}")
    return found


def _is_circumstance(knowledge: Knowledge, finding: Finding) -> bool:
    """Whether a finding is what was done to the engine or when its trouble comes, as it was told: it only tells causes
    apart."""
    return finding.sort == "discriminator" and _is_told(knowledge, finding)


def _is_told(knowledge: Knowledge, finding: Finding) -> bool:
    """Whether a finding rests on the customer's word alone."""
    asked = [knowledge.observations[fact] for fact in facts_read(finding.when) if fact in knowledge.observations]
    return bool(asked) and all(item.moment == "talk" for item in asked)


def next_steps(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """What to do next; under what forbids running its remedy before all else."""
    first = (
        [danger.remedy for danger in told_dangers(knowledge, answer)[:REMEDIES] if danger.remedy]
        if answer.decision.kind == "do_not_run"
        else []
    )
    return [*first, *_then(knowledge, answer)][: NEXT + len(first)]


def _then(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """What to do next, dangers aside."""
    decision = answer.decision
    work = answer.works[decision.job]
    if decision.then == "check_first":
        return [_check_words(knowledge, check) for check in useful_checks(answer)[:NEXT]]
    if decision.then == "look_inside" and decision.looks:
        look = next(item for item in decision.looks if item.rung == decision.look)
        return [
            f"Open to {lower_first(knowledge.scopes[look.rung].title)}, look, measure and report: "
            f"{money(look.price, decision.currency, whole=True)}, of which {money(look.credit, whole=True)} is "
            "credited when work follows"
        ]
    if decision.then == "begin_with":
        proof = [_timed(knowledge, name) for name in proofs(knowledge, answer)[:PROOFS]]
        return [f"Do it, then prove it: {', '.join(proof)}" if proof else "Do it, then try it and look again"]
    if decision.then == "can_wait":
        waits = [
            knowledge.causes[belief.cause] for belief in suspects(answer)[:2] if knowledge.causes[belief.cause].wait
        ]
        return [
            f"Watch for this, {lower_first(cause.title)}: {lower_first(first_sentence(cause.wait))}" for cause in waits
        ] or ["Nothing has to be done; come back when something shows"]
    if decision.then == "stop":
        return ["Ask the owner before any more money goes in; he may still have reasons to mend it"]
    before = [_timed(knowledge, name) for name in work.before[:3]]
    return ([f"Before the work: {', '.join(before)}"] if before else []) + ["Quote it: howdeep quote JOB"]


def _check_words(knowledge: Knowledge, check: CheckValue) -> str:
    """'Air cleaner (8 min): clogged -> tune-up; clean -> top end'."""
    ends = [
        f"{lower_first(outcome.title)} -> {led_words(knowledge, outcome.leads_to)}"
        for outcome in sorted(check.outcomes, key=lambda item: (-item.chance, item.title))
        if outcome.leads_to
    ][:2]
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
    return {
        belief.cause: belief.hand
        for belief in sorted(answer.beliefs, key=lambda belief: (-round(belief.hand, 9), belief.cause))
        if belief.hand >= 0.005 and not done & set(knowledge.causes[belief.cause].cured_by)
    }


def stages(knowledge: Knowledge, answer: Assessment, prices: PriceList | None = None) -> list[str]:
    """Jobs that come into question later: the likelier shallower one and deeper one, and what decides for each."""
    decision = answer.decision
    if decision.then in ("promise", "can_wait", "stop"):
        return []
    now = decision.line(decision.job)
    here = left_by(knowledge, answer, now)
    hands = {belief.cause: belief.hand for belief in answer.beliefs if belief.hand >= DECIDES and spoken_for(belief)}
    engine = answer.job.engine
    rules = rules_for(knowledge, engine, engine_facts(engine))
    need = {
        cause: min((DEPTH[rules.rungs[name]] for name in rules.cures.get(cause, ())), default=len(RUNGS))
        for cause in hands
    }
    told: dict[str, tuple[JobLine, str]] = {}
    ahead = sorted(
        (
            line
            for line in decision.jobs
            if line.expected is not None and line.enough >= SOME_HOPE and line.job != now.job
        ),
        key=lambda line: (line.expected, line.job),
    )
    for line in ahead:
        there = left_by(knowledge, answer, line)
        deeper = (DEPTH[line.rung], line.whole) > (DEPTH[now.rung], now.whole)
        order = here if deeper else sorted(hands, key=lambda name: (-round(hands[name], 9), name))
        cured = [cause for cause in order if cause not in there and cause in hands and need[cause] == DEPTH[line.rung]]
        if deeper and line.enough <= now.enough:
            continue
        way = "deeper" if deeper else "less"
        if cured and way not in told:
            names = " or ".join(lower_first(knowledge.causes[cause].title) for cause in cured[:2])
            told[way] = line, f"if it {'is' if deeper else 'is only'} {names}"
    return [
        f"{job_title(knowledge, line)} ({percent(line.enough)} enough, "
        f"{price_words(knowledge, answer, line, prices)}) {why}"
        for _, (line, why) in sorted(told.items(), reverse=True)
    ]


def owner_sentence(answer: Assessment) -> str:
    """What the machine is worth beside it, and the right to stop; empty where the work is far from both."""
    decision = answer.decision
    expected = decision.line(decision.job).expected
    near = decision.stop is not None and expected is not None and expected * 100 >= decision.stop * ASK_FROM
    if not near and set(decision.worth) <= {"worth it"}:
        return ""
    text = decision.beyond
    if near and decision.kind != "stop":
        text = f"{text} Stopping instead costs the owner {money(decision.stop, decision.currency, whole=True)}.".strip()
    return text
