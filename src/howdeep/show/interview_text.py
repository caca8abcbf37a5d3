"""The interview's texts for a terminal of 80 by 24."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..interview.desk import Desk, plain_answer
from ..interview.engine import Question
from ..interview.flow import Flow
from ..interview.words import Match
from ..knowledge.engine_facts import count_of
from ..model.knowledge import Knowledge
from ..sheets.choices import Choice
from ..shown_units import unit_in
from .layout import bar
from .leading import leading
from .sentences import held_lines
from .words import minutes, money, percent

HELP = ("Type the number of an answer. Also: d = don't know, Enter = not now (an answer\n"
        "that is there stays), b = back, c NAME = change an earlier answer,\n"
        "list = what is answered, v = verdict, h = help, q = leave.")


def engine_list_lines(choices: Sequence[Choice]) -> Iterator[str]:
    """The engines a new job can name, in a picture of 78 columns: number, name, kind, cylinders, bore."""
    yield "A new job. Which engine?"
    yield f"      {'name':<17} {'kind':<38} cyl  bore"
    yield "   0  unknown           nobody knows it: a few questions follow"
    general = False
    for index, choice in enumerate(choices, 1):
        if choice.general and not general:
            general = True
            yield "  By kind, where there is no sheet (general figures):"
        title = f"{choice.name:<56.56}" if choice.general else f"{choice.id:<17.17} {choice.kind:<38.38}"
        yield f"  {index:>2}  {title} {choice.cylinders:>3}  {choice.bore}".rstrip()
    yield "  With its manual at hand, 'howdeep engine new NAME' makes a sheet of it first."


def engine_question_lines(asked: Question) -> Iterator[str]:
    """One question on an engine without a sheet, with its numbered answers."""
    yield f"\n{asked.ask}"
    if asked.field != "cylinders":
        for index, wording in enumerate(asked.answers.values(), 1):
            yield f"  {index}  {wording}"


def progress_line(desk: Desk, state: Flow) -> str:
    """What is left worth asking."""
    talk = sum(desk.knowledge.observations[question.observation].moment == "talk" for question in state.worth_asking)
    checks = state.left - talk
    return (f"\n-- worth asking still: {talk} question{'s' * (talk != 1)}, {checks} check{'s' * (checks != 1)}; "
            f"answered {state.answered} --")


def question_lines(desk: Desk, name: str) -> Iterator[str]:
    """One question with its numbered answers; for a check, the caution before how it is done."""
    knowledge = desk.knowledge
    item = knowledge.observations[name]
    for caution in item.cautions:
        entry = knowledge.cautions[caution]
        yield f"! CAUTION, {entry.title.lower()}: {entry.text}"
    yield f"{item.ask}   [{name}]"
    if item.moment == "test":
        tools = f"; {', '.join(item.tools)}" if item.tools else ""
        yield f"  ({minutes(item.minutes)}{tools})"
        if item.procedure:
            yield f"  {item.procedure}"
    for index, wording in enumerate(item.answers.values(), 1):
        yield f"  {index}  {wording}"
    count = count_of(desk.job.engine, item.each)
    if item.each:
        what = {"cylinder": "cylinder", "main": "main journal", "crankpin": "crankpin"}.get(item.each, "valve")
        places = f" x {', '.join(item.rows)} x {', '.join(item.columns)}" if item.rows else ""
        yield f"  One for each {what}, front first, {count} in all{places}, with commas between."
    if item.kind == "number":
        unit = unit_in(item.unit, desk.shop.settings.units)
        yield f"  A number with its unit, e.g. 12 {unit}." if unit else "  A number."
    before = plain_answer(desk, name)
    if before is not None:
        yield f"  (answered so far: {before})"


def verdict_lines(desk: Desk, *, short: bool = False) -> Iterator[str]:
    """The live verdict: leading causes, chances of the scopes, and what the last answer changed."""
    knowledge, answer = desk.knowledge, desk.answer
    moved = desk.moved
    if moved is not None:
        for name in moved.dropped:
            yield f"  (left out, its ground is gone: {knowledge.observations[name].title})"
        if moved.causes:
            yield "  moved: " + "; ".join(f"{knowledge.causes[cause].title.lower()} {percent(before)} -> "
                                          f"{percent(after)}" for cause, before, after in moved.causes)
        if moved.rung_before != moved.rung_after:
            yield (f"  the answer moved from {knowledge.scopes[moved.rung_before].title.lower()} to "
                   f"{knowledge.scopes[moved.rung_after].title.lower()}")
    rung = answer.decision.rung
    line = next(line for line in answer.decision.ladder if line.rung == rung)
    likely = ", ".join(f"{knowledge.causes[belief.cause].title.lower()} {percent(belief.posterior)}"
                       for belief in leading(answer, 3))
    enough = f"enough {percent(line.enough)}"
    yield (f"  now: {knowledge.scopes[rung].title}, {enough}; {likely}" if answer.counted.present else
           "  now: nothing has shown yet")
    for name in answer.contradictions:
        yield f"  ! {knowledge.contradictions[name].title}"
    if short:
        return
    for line in answer.decision.ladder:
        mark = ">" if line.rung == rung else " "
        cost = money(line.expected, answer.decision.currency, whole=True) if line.expected is not None else ""
        enough = f"{bar(line.enough)} {percent(line.enough):>6}"
        yield f"  {mark} {knowledge.scopes[line.rung].title:<28.28} {enough}  {cost}"


def matches_lines(knowledge: Knowledge, matches: tuple[Match, ...]) -> Iterator[str]:
    """What the customer's words seem to be about."""
    if matches:
        yield "These words sound like:"
        for match in matches[:4]:
            item = knowledge.observations[match.observation]
            yield f"  {item.title.lower()}" + (f": {item.answers[match.answer]}" if match.answer else "")


def finish_lines(desk: Desk) -> Iterator[str]:
    """The end: nothing more is worth asking, and what stands before a promise."""
    held = held_lines(desk.knowledge, desk.answer)
    yield ("\nNothing more is worth asking; the checks below stand before a promise." if held else
           "\nNothing more is worth asking: it is time to check or to quote.")
    yield from verdict_lines(desk)
    for line in held:
        yield f"  before a promise: {line}"
