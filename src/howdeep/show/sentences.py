"""Sentences and titles that the screen, the page and the papers share."""

from __future__ import annotations

from ..beliefs.waterfall import BROUGHT_IN
from ..knowledge.engine_facts import engine_facts
from ..logic.applicability import applies
from ..model.engine import Engine
from ..model.knowledge import Knowledge
from ..model.results import Assessment, Flip, WorkItem
from ..model.terms import rung_named
from ..quote.held import held_checks
from ..quote.texts import denied
from ..quote.texts import first_sentence as first_sentence
from ..quote.texts import lower_first as lower_first
from .leading import unmoved
from .words import minutes, one_in, percent

MONEY = {
    "labour_rate": "labour rate",
    "comeback_charge": "charge for a comeback",
    "growth_charge": "charge for growth",
    "value_running": "worth of the machine, running,",
    "stand_ins": "prices that the list lacks",
}
"""Prices and terms that are moved, in words."""
UNMOVED = 4
"""Most causes named that nothing speaks for."""


def defended_sentence(knowledge: Knowledge, answer: Assessment) -> str:
    """The shallowest and deepest rungs that a careful person could defend; empty where they are one."""
    rungs = answer.decision.shallowest, answer.decision.deepest
    first, last = (knowledge.scopes[rung].title.lower() for rung in rungs)
    return f"A careful person could defend anything from {first} to {last}." if first != last else ""


def opened_sentence(answer: Assessment) -> str:
    """What stands open is in every price; empty where nothing does."""
    return (
        "The engine stands open: every price but another engine's holds what it takes to put it together again."
        if answer.decision.opened
        else ""
    )


def risk_sentence(knowledge: Knowledge, answer: Assessment) -> str:
    """Who carries which risk if the recommended rung is promised."""
    line = answer.decision.line(answer.decision.job)
    not_cured = next(item for item in answer.decision.ladder if item.rung == line.rung).not_cured
    if line.enough > 0.995 or not not_cured:
        return ""
    mostly = [knowledge.causes[name].title.lower() for name, _ in not_cured[:2]]
    first = "" if line.enough >= 0.5 else "This is where to begin, not yet the cure. "
    return f"{first}If you promise this, {one_in(1 - line.enough)} will need more: mostly {' or '.join(mostly)}."


def others_sentence(knowledge: Knowledge, answer: Assessment) -> str:
    """Causes that nothing speaks for and that stand only by how common they are; empty where there are none."""
    others = [
        f"{knowledge.causes[belief.cause].title.lower()} {percent(belief.posterior)}"
        for belief in unmoved(answer, UNMOVED)
    ]
    return (
        f"Nothing so far speaks for these, which are common on such an engine: {', '.join(others)}." if others else ""
    )


def step_title(knowledge: Knowledge, label: str, kind: str) -> str:
    """What a step of the waterfall is about, in words."""
    if kind == "history" and label in knowledge.history:
        return f"As a rule, {lower_first(knowledge.history[label].title)}"
    if kind == "history" and label in knowledge.operations:
        return f"Done already: {lower_first(knowledge.operations[label].title)}"
    if label in knowledge.findings:
        title = knowledge.findings[label].title
        return title if kind == "present" else denied(title)
    return STEPS.get(label, label)


def flip_lines(knowledge: Knowledge, flips: tuple[Flip, ...]) -> list[str]:
    """What would move the answer, as sentences."""
    return [text for _, text in flips_told(knowledge, flips)]


def flips_told(knowledge: Knowledge, flips: tuple[Flip, ...]) -> list[tuple[str, str]]:
    """(subject, sentence) of what would move the answer: values of one thing that lead to the same answer stand
    together."""
    found: dict[tuple[str, str, str, str], list[str]] = {}
    for flip in flips:
        found.setdefault((flip.kind, flip.subject, flip.now, flip.to), []).append(flip.at)
    return [
        (subject, flip_text(knowledge, Flip(kind, subject, now, _either(at, quoted=kind == "open"), to)))
        for (kind, subject, now, to), at in found.items()
    ]


def _either(values: list[str], *, quoted: bool) -> str:
    shown = [f"'{value}'" for value in values] if quoted else values
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} or {shown[-1]}"


STEPS = {
    "base": "How common it is on such an engine",
    BROUGHT_IN: "It was brought in for trouble, so something is behind it",
}
"""Label of a step that is neither finding nor history -> its words."""


def flip_text(knowledge: Knowledge, flip: Flip) -> str:
    """One thing that would move the answer, as a sentence."""
    kinds = {
        "open": "if '{s}' turned out to be {at}",
        "answer": "if '{s}' was really '{at}', not '{now}'",
        "prior": "if the base odds of '{s}' were {at}, not {now}",
        "money": "if the {s} were {at}, not {now}",
    }
    subject = MONEY.get(flip.subject) or subject_title(knowledge, flip.subject)
    text = kinds[flip.kind].format(s=subject, at=flip.at, now=flip.now)
    return f"{text[0].upper()}{text[1:]}: {led_words(knowledge, flip.to)}."


def led_words(knowledge: Knowledge, leads_to: str) -> str:
    """'look inside, then refresh in the frame' from 'look_inside refresh:only'."""
    kind, _, job = leads_to.partition(" ")
    rung, _, only = job.partition(":")
    names = {
        "promise": "promise ",
        "check_first": "more checks, then ",
        "look_inside": "look inside, then ",
        "begin_with": "begin with ",
        "can_wait": "it can wait",
        "stop": "stop",
        "do_not_run": "do not run it; then ",
    }
    title = "another engine" if rung == "replace" else knowledge.scopes[rung].title if rung in knowledge.scopes else ""
    job_words = lower_first(title) + (", only what cures it" if only else "")
    return names.get(kind, "") + ("" if kind in ("can_wait", "stop") else job_words)


def subject_title(knowledge: Knowledge, subject: str) -> str:
    """The title of what an id stands for."""
    for kind in ("observations", "checks", "causes", "findings", "operations", "scopes", "holds"):
        entry = getattr(knowledge, kind).get(subject)
        if entry is not None:
            return str(entry.title)
    return subject.replace("_", " ")


def check_title(knowledge: Knowledge, name: str) -> str:
    """The title of a check, or of an observation that is one of its own."""
    entry = knowledge.checks.get(name) or knowledge.observations.get(name)
    return entry.title if entry else name


def no_check_sentence(knowledge: Knowledge, answer: Assessment) -> str:
    """What to do where no check is worth its cost by the odds alone."""
    held = held_checks(answer, answer.decision.rung)
    if not held:
        return (
            "No check left is worth its cost: it is time to quote."
            if answer.decision.kind == "promise"
            else "No check left parts the suspects or moves the choice."
        )
    titles = ", ".join(f"{check_title(knowledge, item.check)} ({minutes(item.minutes)})" for item in held)
    return (
        f"First the checks that stand before a promise: {titles}. By the odds no other check is worth its cost; "
        "after these it is time to quote."
    )


def reason_text(knowledge: Knowledge, entry: WorkItem) -> str:
    """Why an operation is in the job."""
    reasons = []
    for reason in entry.because:
        kind, _, name = reason.partition("/")
        if kind == "causes":
            reasons.append(f"cures {knowledge.causes[name].title.lower()}")
        elif kind == "scopes":
            reasons.append(f"belongs to {knowledge.scopes[rung_named(name)].title.lower()}")
        elif kind == "operations" and name != entry.operation:
            reasons.append(f"comes with '{knowledge.operations[name].title.lower()}'")
        else:
            reasons.append("called for by what was found")
    order = {"c": 0, "b": 1}  # what it cures and what scope it belongs to say more than what it comes with
    shown = sorted(dict.fromkeys(reasons), key=lambda reason: order.get(reason[:1] if reason[:5] != "comes" else "", 2))
    return "; ".join(shown[:2])


def cautions_of(knowledge: Knowledge, observations: tuple[str, ...], engine: Engine) -> list[str]:
    """Titles of the cautions that stand before these observations on this engine."""
    names = dict.fromkeys(
        name
        for observation in observations
        if observation in knowledge.observations
        for name in knowledge.observations[observation].cautions
    )
    built = engine_facts(engine)
    return [knowledge.cautions[name].title for name in names if applies(knowledge.cautions[name], built)]
