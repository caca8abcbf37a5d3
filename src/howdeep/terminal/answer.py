"""One question asked in a terminal until it is answered, put off, or left for another; each answer saved at once."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from ..errors import HowdeepError, StaleFile
from ..interview.doubted import doubt_about
from ..interview.flow import Question
from ..interview.session import Desk, open_desk, plain_answer, put
from ..job.sections import LATER, UNKNOWN
from ..knowledge.engine_facts import count_of
from ..model.observations import Observation
from ..show.answers import echo
from ..show.interview_text import judged_lines, verdict_lines
from ..show.question_card import confirming, wrapped
from .card import offer_of, show_cards
from .command import Again, commanded
from .prompt import BACK, NO, QUIT, YES, Leave, asked, print_faults
from .reading import NOT_NOW, next_row, read_in, row_prompt, row_size
from .screen import paged, say
from .sitting import Sitting


def ask_one(desk: Desk, question: Question, sitting: Sitting) -> Desk:
    """Ask one question until it is answered, put off, or left for another. Raises Leave and Enough."""
    while True:
        desk = show_cards(desk, question.observation, sitting)
        grid = bool(desk.knowledge.observations[question.observation].rows)
        after = _rows(desk, question, sitting) if grid else _plain(desk, question, sitting)
        if isinstance(after, Desk):
            return after
        desk, question = after


def _plain(desk: Desk, question: Question, sitting: Sitting) -> Desk | tuple[Desk, Question]:
    """Ask for one answer: the desk after it, or another question that was called for."""
    name = question.observation
    while True:
        typed = asked(sitting.ask, "> ")
        other = commanded(desk, question, typed, sitting)
        if isinstance(other, Again):
            continue
        if other is not None:
            return desk, other
        if typed.lower() in NOT_NOW and plain_answer(desk, name) not in (None, LATER):
            sitting.console.print("  Left as it is.")
            return replace(desk, last=name, moved=None)
        said = offer_of(desk, name)
        if said and typed.lower() in YES:
            key = confirming(desk.asked(name), said)
            if key not in YES:
                sitting.console.print(
                    f"  'y' could be meant either way: {key} is what it sounds like; or another number."
                )
                continue
            typed = said
        made = _save(desk, name, typed, sitting)
        if isinstance(made, Desk):
            return made
        desk = made[0]


def _rows(desk: Desk, question: Question, sitting: Sitting) -> Desk | tuple[Desk, Question]:
    """Fill a grid row by row; each row is saved and judged as soon as it is full."""
    name = question.observation
    item = desk.knowledge.observations[name]
    count = count_of(desk.job.engine, item.each)
    place = next_row(item, plain_answer(desk, name), count)
    while True:
        prompt = row_prompt(item, place) if place <= count else "full; 2=.. corrects a row, Enter = on> "
        typed = asked(sitting.ask, prompt)
        if typed.lower() in BACK and place > 1:
            place -= 1
            continue
        other = commanded(desk, question, typed, sitting)
        if isinstance(other, Again):
            continue
        if other is not None:
            return desk, other
        held = plain_answer(desk, name)
        if typed.lower() in NOT_NOW and (place > count or held not in (None, LATER)):
            return replace(desk, last=name, moved=None)
        made = _save(desk, name, _as_row(item, typed, place, count), sitting)
        desk = made if isinstance(made, Desk) else made[0]
        if isinstance(made, Desk):
            if plain_answer(desk, name) in (LATER, UNKNOWN):
                return desk
            place = next_row(item, plain_answer(desk, name), count)


def _as_row(item: Observation, typed: str, place: int, count: int) -> str:
    """A row as the correction of its place; what is no row, or holds more than one, as it is."""
    figures = [chunk for chunk in typed.replace(";", " ").split() if re.match(r"[-+]?[.,]?[0-9]|[?]", chunk)]
    if (
        place > count
        or "=" in typed
        or len(figures) > row_size(item)
        or not re.match(r"[-+.,0-9?]", typed)
        or (typed == "?")
    ):
        return typed
    return f"{place}={typed.replace(';', ' ')}"


def _save(desk: Desk, name: str, typed: str, sitting: Sitting) -> Desk | tuple[Desk]:
    """Save what was typed: the desk after it; or, in a tuple, the desk as it stands where it must be typed again."""
    console = sitting.console
    item = desk.knowledge.observations[name]
    sitting.unsaved = None
    try:
        plain = read_in(desk, name, typed, sitting.units, console, sitting.ask)
        sitting.unsaved = (name, typed, plain)
        made = put(desk, name, plain)
    except StaleFile as error:
        console.print(f"  {error}")
        try:
            fresh = open_desk(desk.shop, desk.path, desk.last, desk.part)
        except HowdeepError as damage:
            print_faults(console, damage)
            return (desk,)
        console.print(f"  On disk: {fresh.job.values.get(name, 'no answer')}. You typed: {typed}.")
        console.print("  Type your answer again to put it over what is there now.")
        return (fresh,)
    except HowdeepError as error:
        print_faults(console, error)
        return (desk,)
    sitting.unsaved = None
    sitting.history = [*(other for other in sitting.history if other != name), name]
    before = plain_answer(desk, name)
    rows = (
        [place for place, row in plain.items() if not isinstance(before, dict) or before.get(place) != row]
        if (item.rows and isinstance(plain, dict))
        else []
    )
    told = {place: plain[place] for place in rows} if rows else plain
    lines = wrapped(echo(item, told), sitting.width, "    ", "  ")
    doubt = doubt_about(made, name)
    if doubt and not _is_right(lines, doubt, sitting):
        return (replace(made, last=name),)
    if doubt:
        lines = []
    if item.moment != "talk" and plain not in (LATER, UNKNOWN):
        lines += [line for place in rows or [0] for line in judged_lines(made, name, sitting.width, place)]
    if not rows and plain not in (LATER, UNKNOWN):  # what nobody knows moves nothing
        lines += list(verdict_lines(made, sitting.width, short=True))
    paged(console, sitting.ask, lines)
    return replace(made, last=name)


def _is_right(lines: Sequence[str], doubt: str, sitting: Sitting) -> bool:
    """Whether a reading that can hardly be is right as it was typed. Raises Leave."""
    say(sitting.console, [*lines, *wrapped(f"! {doubt}", sitting.width, "    ", "  ")])
    while True:
        typed = asked(sitting.ask, "  Is that right? (y = it is, Enter = type it again) ").lower()
        if typed in QUIT:
            raise Leave
        if typed in ("", *NO, *BACK):
            return False
        if typed in YES:
            return True
        sitting.console.print("  y or Enter is wanted.")
