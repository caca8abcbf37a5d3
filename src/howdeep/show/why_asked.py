"""Why a question is asked: what each answer would move, and what would be answered then."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ..interview.flow import Question
from ..interview.session import Desk
from ..model.knowledge import Knowledge
from ..model.question_worth import AnswerMoves, QuestionWorth
from ..model.results import CheckValue
from ..model.shown_units import in_prose
from .question_card import wrapped
from .sentences import led_words, lower_first
from .words import minutes, money, parts_words, percent


def worth_of(desk: Desk, name: str) -> QuestionWorth | None:
    """The worth of a question of the counter; None where it has none."""
    return next((item for item in desk.answer.questions if item.observation == name), None)


def check_of(desk: Desk, name: str) -> CheckValue | None:
    """The ranked check that an observation belongs to; None where none is."""
    return next((check for check in desk.answer.checks if name in check.observations), None)


def why_texts(desk: Desk, question: Question | None, name: str, leads: Mapping[str, str]) -> Iterator[tuple[bool, str]]:
    """Why a question is asked now, as (whether it is an item of a list, sentence). `leads`: answer -> what would then
    be answered, as 'kind job'."""
    knowledge = desk.knowledge
    if question is not None and question.observation == name:
        yield False, f"Asked now because {_because(question.reason)}."
    worth, check = worth_of(desk, name), check_of(desk, name)
    if worth is not None:
        alike = "; how likely each answer is nobody knows, so they count alike" if worth.alike else ""
        if desk.answer.counted.present:
            yield False, f"Its answer is worth about {minutes(round(worth.worth))} of labour{alike}."
        else:
            yield False, "Nothing has shown yet: an answer is worth what it would show."
        yield from (
            (True, _moves(knowledge, item, leads, weighed=bool(desk.answer.counted.present)))
            for item in worth.answers
            if item.chance >= knowledge.settings.telling.outcomes_from
        )
    elif check is not None:
        yield (
            False,
            (
                f"{check.title}: {minutes(check.minutes)}, {money(check.cost, whole=True)}; it saves "
                f"{money(check.gain, whole=True)} and {parts_words(check.parts)}."
            ),
        )
        for outcome in check.outcomes:
            if outcome.chance >= knowledge.settings.telling.outcomes_from:
                to = leads.get(outcome.answer, outcome.leads_to)
                led = f": {led_words(knowledge, to)}" if to else ""
                yield True, f"{outcome.title} ({percent(outcome.chance)}){led}"
    else:
        yield False, "It moves nothing as things stand."
    if leads:
        yield False, "(Where it leads is what would be answered if nothing more were asked.)"


def why_lines(desk: Desk, question: Question | None, name: str, leads: Mapping[str, str], width: int) -> Iterator[str]:
    """The same in lines of a width."""
    for item, text in why_texts(desk, question, name, leads):
        told = in_prose(text, desk.shop.settings.units)
        yield from wrapped(told, width, "      " if item else "  ", "  - " if item else "")


def _because(reason: str) -> str:
    return {
        "opens the talk": "it opens the talk",
        "follows from the last answer": "it follows from the last answer",
        "belongs to the same subject": "it belongs to the same subject and is worth nearly as much as any",
        "belongs to the same check": "it belongs to the same check",
    }.get(reason, reason)


def _moves(knowledge: Knowledge, item: AnswerMoves, leads: Mapping[str, str], *, weighed: bool) -> str:
    moved = [
        f"{lower_first(knowledge.causes[cause].title)} {percent(before)} -> {percent(after)}"
        for cause, before, after in (*item.up, *item.down)
    ][:3]
    told = "; ".join(moved) or ("moves next to nothing" if weighed else "")
    if not told:  # nothing has shown that it could move
        to = f": leads to {led_words(knowledge, leads[item.answer])}" if item.answer in leads else ""
        return f"{item.title} ({percent(item.chance)}){to}"
    text = f"{item.title} ({percent(item.chance)}): {told}"
    if abs(item.bill) >= 1:
        text += f"; bill {'+' if item.bill > 0 else '-'}{abs(item.bill):,.0f}"
    if item.nearer:
        text += f"; {percent(item.nearer)} of the way to a promise"
    if item.danger:
        text += "; it must then not be run"
    return text + (f"; leads to {led_words(knowledge, leads[item.answer])}" if item.answer in leads else "")
