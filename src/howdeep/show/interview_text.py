"""The interview's texts for a terminal of 80 by 24."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from ..interview.engine import Question
from ..interview.flow import PROMISES, Flow
from ..interview.heard import Heard
from ..interview.session import Desk, plain_answer
from ..knowledge.questions import COMPLAINTS
from ..model.shown_units import in_prose
from ..sheets.choices import Choice
from .answers import echo, summary
from .layout import bar
from .question_card import wrapped
from .sentences import lower_first
from .verdict import BESIDE, verdict_of
from .words import minutes, percent

HELP = (
    "Type the number of an answer. d = don't know, Enter = not now (an answer that is\n"
    "there stays), b = back, list = what is answered, c 3 or c smoke = change it,\n"
    "w = why do you ask, p = how it is done, v = verdict, e = enough of this part,\n"
    "h = help, q = leave."
)
BESIDE_TITLE = 35
"""Columns of a row of the ladder beside its title: mark, bar, chance and cost."""
LIKELY = 3
"""Causes named."""
LIVE = ("dangers", "doubt", "job", "causes")
"""Sections of the verdict after each answer."""


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
    """Which part of the interview it is, and what is left worth asking."""
    if desk.part == "open":
        taken = sum(desk.knowledge.observations[name].moment == "teardown" for name in desk.job.values)
        return f"\n-- Open engine: {state.left} still to look at or measure, {taken} taken down --"
    if state.next is not None and state.next.reason == PROMISES:
        return "\n-- Bench, a word from the customer: it could carry this to a promise --"
    if desk.part == "bench":
        made = sum(len(checks) for _, checks in desk.answer.plan)
        this = f"{made} check{'s' * (made != 1)} in this round, {minutes(desk.answer.plan_minutes)}"
        return f"\n-- Bench: {this}; {state.left} worth making in all, {state.answered} answered --"
    more = f"about {state.left} more to ask" if state.left > 1 else "nearly done"
    return f"\n-- Customer's part: {state.answered} answered, {more} --"


def heard_lines(desk: Desk, heard: Heard, width: int) -> Iterator[str]:
    """The customer's own words, and all that they say, numbered, to be confirmed."""
    observations = desk.knowledge.observations
    yield from wrapped(f'The customer says: "{desk.job.job.customer.words}"', width, "  ")
    yield "The words sound like:"
    told = [observations[COMPLAINTS[0]].answers[answer] for answer in heard.complaints]
    told += [echo(observations[name], answer).rstrip(".") for name, answer in heard.signs]
    for index, text in enumerate(told, 1):
        yield from wrapped(text, width, "     ", f"  {index}  ")
    beyond = range(len(heard.complaints), len(told))
    main = ", main complaint first" if len(heard.complaints) > 1 else ""
    so = "so it is"
    if len(heard.complaints) > len(COMPLAINTS):
        so = " ".join(str(number + 1) for number in (0, 1, *beyond))
    elif heard.more:
        so = "so it is, and that is all; m = so it is, and there is more"
    only = f"; or only some, such as {'2 1' if main else '1'}{main}" if len(told) > 1 else ""
    yield from wrapped(f"Is that so? y = {so}{only}; Enter = ask one by one.", width)


def change_lines(desk: Desk, width: int, *, short: bool = False) -> Iterator[str]:
    """What the last answer moved, and what stands now."""
    knowledge, moved = desk.knowledge, desk.moved
    if moved is not None:
        for name in moved.dropped:
            gone = knowledge.observations[name].title
            yield from wrapped(f"(left out, its ground is gone: {gone})", width, "  ", "  ")
        if moved.causes:
            yield from wrapped(
                "moved: "
                + "; ".join(
                    f"{lower_first(knowledge.causes[cause].title)} {percent(before)} -> {percent(after)}"
                    for cause, before, after in moved.causes[: 2 if short else 3]
                ),
                width,
                "    ",
                "  ",
            )


def verdict_lines(desk: Desk, width: int = 80, *, short: bool = False) -> Iterator[str]:
    """The live verdict: what the last answer changed, the job with its chance, leading causes; where not `short` every
    job of the ladder too."""
    knowledge, answer, shown = desk.knowledge, desk.answer, in_units_of(desk)
    yield from change_lines(desk, width, short=short)
    # a short one is told after every answer, and stands without prices
    told = verdict_of(knowledge, answer, None, LIVE if short else BESIDE, spread=False)
    job = answer.decision.line(answer.decision.job)
    likely = ", ".join(
        f"{lower_first(line.lead)} {line.text.partition(',')[0]}" for line in told.lines("causes")[:LIKELY]
    )
    said = lower_first(told.headline) + (f"; once that is cleared: {lower_first(told.cleared)}" if told.cleared else "")
    if desk.part in ("talk", "beside") and told.kind == "promise":  # the talk is not over: nothing is promised yet
        said = f"as it stands: {lower_first(told.job)}"
    yield from shown(
        f"now: {said}{f', enough {percent(job.enough)}' if told.lines('job') else ''}; {likely}"
        if answer.counted.present
        else "now: nothing has shown yet",
        width,
        "    ",
        "  ",
    )
    doubt = told.lines("doubt")
    for line in (*told.lines("dangers")[:1], *doubt[: 1 if short else None]):
        yield from shown(f"! {line.brief}", width, "    ", "  ")
    if short:
        if len(doubt) > 1:
            yield f"  ! {len(doubt) - 1} more in doubt: v"
        return
    table = told.section("ladder").table
    room = max(10, min(40, width - BESIDE_TITLE))
    for row in table.rows if table else ():
        title, enough, *money_ = row.cells
        cost = money_[-1] if money_ else ""
        yield f"  {'>' if row.chosen else ' '} {title:<{room}.{room}} {bar(row.share)} {enough:>6}  {cost}".rstrip()


def answered_names(desk: Desk) -> list[str]:
    """Everything answered or put off, in the order in which it stands in the job."""
    job = desk.job.job
    told = [
        name
        for section in (job.answers, job.readings, job.teardown)
        for name in section
        if name in desk.knowledge.observations
    ]
    return list(dict.fromkeys(told))


def answered_lines(desk: Desk, width: int) -> Iterator[str]:
    """Every answer in words, numbered."""
    for index, name in enumerate(answered_names(desk), 1):
        item = desk.knowledge.observations[name]
        yield from wrapped(f"{item.title}: {summary(item, plain_answer(desk, name))}", width, "      ", f"{index:>3}  ")
    yield "  c 3 or c smoke changes one of them."


def in_units_of(desk: Desk) -> Callable[..., list[str]]:
    """`wrapped` with every figure in the shop's units."""
    return lambda text, *how: wrapped(in_prose(text, desk.shop.settings.units), *how)


def judged_lines(desk: Desk, name: str, width: int, place: int = 0) -> Iterator[str]:
    """What a reading comes to against sheet and limits; of a reading with places, of one of them."""
    facts, shown = desk.answer.facts, in_units_of(desk)
    for fact, reduction in facts.reductions.items():
        reduced = desk.knowledge.reduced.get(fact)
        if reduced is None or name not in reduced.taken_from:
            continue
        parts = [part for part in reduction.how.split("; ") if not place or part.startswith(f"{place}: ")]
        if parts and (place or not reduced.each or reduced.kind == "choice"):
            yield from shown(f"{reduced.title}: {'; '.join(parts)}", width, "    ", "  ")
    for remark in facts.remarks:
        if remark.observation == name and remark.kind != "conditions not recorded":
            yield from shown(f"! {remark.kind}: {remark.text}", width, "    ", "  ")
