"""The answer on one screen, as a value: kind, job, reasons, what comes next, what may turn up. Surfaces lay it out."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from ..model.knowledge import Knowledge
from ..model.results import Assessment, Belief, CheckValue, JobLine, Kind
from .sentences import check_title, first_sentence, led_words, step_title
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
"""Kind of answer -> its heading."""
SUSPECTS = 3
SUSPECT = 0.1
SIGNS = 2
NEXT = 3
TURNS_UP = 3
TELLING = 0.45


@dataclass(frozen=True, slots=True)
class Answer:
    """What stands on one screen."""

    kind: Kind
    heading: str
    dangers: tuple[str, ...]
    job: str
    """The job in a few words; empty where none is meant."""
    chance: str
    price: str
    because: tuple[str, ...]
    """Why this kind of answer."""
    reasons: tuple[str, ...]
    """Suspects with the signs that speak for them."""
    unexplained: tuple[str, ...]
    """What nothing on the list explains, and what to do then."""
    next: tuple[str, ...]
    """What to do next, with minutes."""
    turns_up: tuple[str, ...]
    stages: tuple[str, ...]
    """What is still to come and what decides it."""
    owner: str
    """What is to be said of the machine's worth and of the right to stop."""


def answer_of(knowledge: Knowledge, answer: Assessment) -> Answer:
    """The answer on one screen."""
    decision = answer.decision
    line = decision.line(decision.job)
    return Answer(
        decision.kind, HEADINGS[decision.kind],
        tuple(f"{_subject(knowledge, danger.kind, danger.subject)}: {first_sentence(danger.text)}"
              for danger in decision.dangers),
        job_title(knowledge, line), f"{percent(line.enough)}, {odds_words(line.enough)}", price_words(answer, line),
        decision.because, tuple(suspect_text(knowledge, belief) for belief in suspects(answer)),
        tuple(unexplained_sentences(knowledge, answer)), tuple(next_steps(knowledge, answer)),
        tuple(turning_up(knowledge, answer)), tuple(stages(knowledge, answer)), owner_sentence(answer))


def job_title(knowledge: Knowledge, line: JobLine) -> str:
    """'Top end: only what cures it', 'Top end: the whole of it'; outside work and another engine have no two forms."""
    title = knowledge.scopes[line.rung].title
    if line.rung == "replace":
        return title
    return f"{title}: the whole of it" if line.whole else f"{title}: only what cures it"


def price_words(answer: Assessment, line: JobLine) -> str:
    """Price of the job, and what it is expected to come to."""
    if line.price is None or line.expected is None:
        return "no price"
    text = money(line.price, answer.decision.currency, whole=True)
    if line.expected - line.price >= Decimal("1"):
        text += f", {money(line.expected, whole=True)} expected in the end"
    return text


def suspects(answer: Assessment) -> tuple[Belief, ...]:
    """Causes that most likely have a hand in what was noticed."""
    return tuple(belief for belief in answer.beliefs[:SUSPECTS] if belief.hand >= SUSPECT)


def suspect_text(knowledge: Knowledge, belief: Belief) -> str:
    """'Burnt exhaust valve, very likely (91 %): one cylinder is below the others; air at the tail pipe'."""
    signs = [step for step in belief.steps if step.kind == "present" and step.decibans > TELLING]
    signs.sort(key=lambda step: (-step.decibans, step.label))
    told = "; ".join(_lower(step_title(knowledge, step.label, step.kind)) for step in signs[:SIGNS])
    text = f"{knowledge.causes[belief.cause].title}, {odds_words(belief.hand)} ({percent(belief.hand)})"
    return f"{text}: {told}" if told else text


def unexplained_sentences(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """Signs that likelier than one in three nothing on the list explains, and what to do."""
    found = []
    for item in sorted(answer.unexplained, key=lambda item: (-item.nothing, item.finding)):
        if item.nothing <= 1 / 3:
            continue
        what = ("ask or test it again" if item.misread >= item.unlisted else "look for what is not on the list")
        if item.misread < 0.2 * item.nothing and item.unlisted < 0.2 * item.nothing:
            what = "sound engines show it too"
        found.append(f"{knowledge.findings[item.finding].title}: {percent(item.nothing)} that nothing on our list "
                     f"explains it; {what}")
    return found


def useful_checks(answer: Assessment) -> list[CheckValue]:
    """Checks worth naming, holds first among equals."""
    return [check for check in answer.checks if check.net > 0 or check.hold or check.first_look or check.parts >= 0.02]


def next_steps(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """What to do next."""
    decision = answer.decision
    if decision.then in ("check_first",):
        steps = []
        for check in useful_checks(answer)[:NEXT]:
            ends = [f"{_lower(outcome.title)} -> {led_words(knowledge, outcome.leads_to)}"
                    for outcome in sorted(check.outcomes, key=lambda item: (-item.chance, item.title))
                    if outcome.leads_to][:2]
            held = ", asked for before any deeper promise" if check.hold else ""
            steps.append(f"{check.title} ({minutes(check.minutes)}{held})" + (f": {'; '.join(ends)}" if ends else ""))
        return steps
    if decision.then == "look_inside" and decision.looks:
        look = next(item for item in decision.looks if item.rung == decision.look)
        return [f"Open to {_lower(knowledge.scopes[look.rung].title)}, look, measure and report: "
                f"{money(look.price, decision.currency, whole=True)}, of which {money(look.credit, whole=True)} is "
                "credited when work follows"]
    work = answer.works[decision.job]
    if decision.then == "begin_with":
        proof = [check_title(knowledge, name) for name in work.after[:2]]
        return [f"Do it, then prove it by: {', '.join(proof)}" if proof else "Do it, then look again"]
    if decision.then == "can_wait":
        waits = [knowledge.causes[belief.cause].wait for belief in suspects(answer)[:2] if
                 knowledge.causes[belief.cause].wait]
        return [f"Watch for this: {first_sentence(text)}" for text in waits]
    if decision.then == "stop":
        return ["Ask the owner before any more money goes in; he may still have reasons to mend it"]
    before = [check_title(knowledge, name) for name in work.before[:3]]
    return ([f"Before opening: {', '.join(before)}"] if before else []) + ["Quote it: howdeep quote"]


def turning_up(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """What may turn up, likeliest first."""
    work = answer.works[answer.decision.job]
    maybe = sorted((item for item in work.items if item.if_found), key=lambda item: (-item.chance, item.operation))
    return [f"{knowledge.operations[item.operation].title} ({percent(item.chance)})" for item in maybe[:TURNS_UP]]


def stages(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """Jobs that come into question later and what decides between them."""
    decision = answer.decision
    if decision.then == "promise":
        return []
    ahead = [line for line in decision.jobs if line.expected is not None and line.enough >= decision.floor]
    ahead.sort(key=lambda line: (line.expected, line.job))
    return [f"{job_title(knowledge, line)}: {percent(line.enough)} enough, {price_words(answer, line)}"
            for line in ahead[:2]]


def owner_sentence(answer: Assessment) -> str:
    """What the machine is worth beside it, and the right to stop."""
    decision = answer.decision
    text = decision.beyond
    if decision.stop is not None and decision.kind != "stop":
        text = f"{text} Stopping instead costs the owner {money(decision.stop, decision.currency, whole=True)}.".strip()
    return text


def _subject(knowledge: Knowledge, kind: str, name: str) -> str:
    return getattr(knowledge, kind)[name].title


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
