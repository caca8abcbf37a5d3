"""What the papers show besides figures: the shop's head, the letter, the pictures of a job."""

from __future__ import annotations

from dataclasses import dataclass

from ..model.knowledge import RUNGS, Knowledge
from ..model.results import Assessment
from ..quote.found import found_sentences
from ..quote.jobs import is_only
from ..quote.sheets import reading_text
from ..quote.values import Quote
from .answer import NEXT, NO_PROMISE, check_words, next_steps, useful_checks
from .reasons import Reason, reasons_of, signs_text
from .spoken import AsSaid
from .words import every_words, money, one_in, percent

SIGNS = 160
"""Letters given to the signs that speak for a cause, in a letter."""
LIKELY_ENOUGH = 0.2
"""A cause is named to a customer from this chance of having a hand in what was noticed."""
UNLIKELY_TO_NEED_MORE = 0.65
"""From this chance of being enough ('likely' in odds words) deeper work is said not to be likely to be needed."""


@dataclass(frozen=True, slots=True)
class Letter:
    """Half a page in plain words."""

    head: str
    """That this is no promise, and what comes first; empty for a promise."""
    told: str
    measured: tuple[str, ...]
    found: tuple[str, ...]
    """What was found on opening; empty where nothing was opened."""
    likely: tuple[str, ...]
    propose: str
    worth: str
    """The work beside the machine's value and a replacement engine; empty where nothing is said of it."""
    not_propose: tuple[str, ...]
    could_turn_up: tuple[str, ...]
    waiting: tuple[str, ...]


def letter_of(knowledge: Knowledge, answer: Assessment, quote: Quote, *, promised: bool = False,
              units: str = "") -> Letter:
    """The explanation letter; `promised` where the quote is a promise, made with all that stood before it waived."""
    job = answer.job
    words = " ".join(job.job.customer.words.split())
    asked = knowledge.observations
    tests = [(name, value) for name, value in job.values.items()
             if asked[name].moment == "test" and asked[name].group != "test_conditions"]
    tests.sort(key=lambda test: (asked[test[0]].kind != "number", test[0]))
    measured = [f"{asked[name].title}: {reading_text(asked[name], value, units)}" for name, value in tests[:6]]
    likely = [likely_sentence(knowledge, reason) for reason in reasons_of(knowledge, answer, 3, LIKELY_ENOUGH)]
    plain = ("What cures what was noticed, with all that goes with it; the rest at this depth stays as it is."
             if is_only(quote.job) else knowledge.scopes[quote.rung].plain)
    propose = (f"{quote.title}: {plain} The chance that this is enough is {percent(quote.enough)}. "
               f"{every_words(quote.enough, quote.every)}").rstrip()
    not_propose = [f"{knowledge.scopes[line.rung].title}: {_why_not(answer, line.rung, quote)}"
                   for line in answer.decision.ladder
                   if abs(RUNGS.index(line.rung) - RUNGS.index(quote.rung)) == 1]
    could = [f"{item.title}: {one_in(item.chance)}, " + (
        "not priced yet." if item.amount is None else f"{money(item.amount, quote.currency)} more.")
        for item in quote.allowances[:4]]
    waiting = [knowledge.causes[belief.cause].wait for belief in answer.beliefs[:4]
               if belief.posterior >= 0.3 and knowledge.causes[belief.cause].wait]
    head = "" if promised else no_promise_sentence(knowledge, answer)
    return Letter(head, AsSaid(words), tuple(measured), found_sentences(knowledge, answer),
                  tuple(likely), propose, quote.worth, tuple(not_propose), tuple(could), tuple(waiting[:2]))


def no_promise_sentence(knowledge: Knowledge, answer: Assessment) -> str:
    """'This is not a promise: check first. Ignition timing (15 min); ...'; empty where the answer is a promise."""
    kind = answer.decision.kind
    if kind == "promise":
        return ""
    text = f"This is not a promise: {NO_PROMISE[kind]}."
    if kind == "do_not_run":
        return " ".join([text, *(danger.text for danger in answer.decision.dangers[:1])])
    if kind == "look_inside":
        return " ".join([text, *(f"{step}." for step in next_steps(knowledge, answer))])
    checks = useful_checks(answer)[:NEXT] if kind == "check_first" else []
    if not checks:
        return text
    return f"{text} {'; '.join(check_words(check) for check in checks)}."


def likely_sentence(knowledge: Knowledge, reason: Reason) -> str:
    """What a cause is, how likely, and the signs that speak for it, for a customer."""
    text = f"{knowledge.causes[reason.cause].plain} ({one_in(reason.hand)})"
    if not reason.speaks_for:
        return text
    lead = "It" if reason.shared else "What speaks for it:"
    return f"{text} {lead} {signs_text(knowledge, reason, SIGNS)}."


def _why_not(answer: Assessment, rung: str, quote: Quote) -> str:
    """Why not the package of another rung."""
    line, here = next(line for line in answer.decision.ladder if line.rung == rung), quote.enough
    if RUNGS.index(rung) < RUNGS.index(quote.rung):
        return f"cheaper to begin with, but the chance that it holds is {percent(line.enough)}."
    if line.enough <= here:
        return f"it would not make sure of more: the chance that it is enough is {percent(line.enough)}."
    if here >= UNLIKELY_TO_NEED_MORE:
        return ("it would make sure of more, but on what we know now the extra work is not likely to be needed "
                f"(this less deep job has {percent(here)}).")
    dearer = line.price is not None and quote.subtotal is not None and line.price > quote.subtotal
    return (f"it would make sure of more ({percent(line.enough)} against {percent(here)})"
            + (", but it costs more to begin with" if dearer else "")
            + "; whether it is needed is decided by what is found, and with you.")
