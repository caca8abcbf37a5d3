"""The interview in a terminal: keyboard only, 80x24, over any line, with or without colour."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from rich.console import Console

from .errors import HowdeepError, StaleFile, nearest
from .files.strict_yaml import read
from .interview.desk import Desk, Part, open_desk, plain_answer, put, put_many, turned_to
from .interview.flow import Question, conditions_of
from .interview.leads import leads_of
from .interview.words import COMPLAINTS, complaints_in, match_words, words_of
from .job.sections import LATER, UNKNOWN, section_of
from .knowledge.engine_facts import count_of
from .model.knowledge import Observation
from .session import Shop
from .show.answers import echo
from .show.interview_text import (
    HELP,
    answered_lines,
    answered_names,
    complaint_lines,
    end_lines,
    judged_lines,
    progress_line,
    verdict_lines,
)
from .show.question_card import cards, cautions_of, head_line, wrapped
from .show.why_asked import why_lines
from .terminal_engine import ask_engine, new_job_file
from .terminal_prompt import BACK, HELP_WANTED, QUIT, Ask, Leave, asked, print_faults
from .terminal_reading import NOT_NOW, Units, next_row, read_in, row_prompt, row_size, ticked
from .terminal_screen import on, paged, say, size_of


@dataclass(slots=True)
class _Sitting:
    """What one interview remembers between questions."""

    console: Console
    ask: Ask
    history: list[str] = field(default_factory=list)
    """Questions answered, the newest last."""
    asked_again: set[str] = field(default_factory=set)
    """Questions put off and asked once more; who puts them off again is not asked a third time."""
    passed: set[str] = field(default_factory=set)
    """Questions beyond those worth asking that were put off in this sitting."""
    read: set[str] = field(default_factory=set)
    """Cautions that were read."""
    ticked: set[str] = field(default_factory=set)
    """Tests whose conditions were asked for."""
    units: Units = field(default_factory=Units)
    unsaved: tuple[str, str, Any] | None = None
    """Question, what was typed and its plain value, where it is not known to be on disk."""

    @property
    def width(self) -> int:
        return size_of(self.console)[0]


PARTS: dict[str, Part] = {"g": "bench", "t": "talk", "o": "open"}
"""What is typed at the end of a part -> the part that follows."""


class _Enough(Exception):
    """The person has had enough of this part."""


def run(shop: Shop, path: Path, console: Console, ask: Ask) -> Desk:
    """Interview until nothing more is worth asking or the person leaves. Every answer is saved as it is given.

    Raises Leave where the person stops before there is a job.
    """
    if not path.exists():
        try:
            new_job_file(shop, path, console, ask)
        except (EOFError, KeyboardInterrupt):
            raise Leave from None
    try:
        ask_engine(shop, path, console, ask)
    except (Leave, EOFError, KeyboardInterrupt):
        console.print(f"\nStopped. Every answer is in {path}; 'howdeep interview {path}' goes on from here.")
        return open_desk(shop, path)
    desk = open_desk(shop, path, part="talk")
    sitting = _Sitting(console, ask, answered_names(desk))
    console.print(head_line(desk, sitting.width))
    console.print(HELP)
    kept = [desk]
    try:
        kept[0] = _confirmed(kept[0], sitting)
        while _part(kept, sitting):
            pass
    except (Leave, EOFError, KeyboardInterrupt):
        for line in stopped_lines(kept[0], sitting.unsaved):
            console.print(line)
    return kept[0]


def _part(kept: list[Desk], sitting: _Sitting) -> bool:
    """Sit through one part of the interview; whether the person goes on after it. `kept` holds the desk as it
    stands."""
    part, more = kept[0].part, False
    while True:
        try:
            while (question := _next(kept[0], sitting, more)) is not None:
                sitting.console.print(progress_line(kept[0], kept[0].flow))
                kept[0] = _one(kept[0], question, sitting)
        except _Enough:
            pass
        at_bench = turned_to(kept[0], "bench")
        paged(sitting.console, sitting.ask, ["", *end_lines(at_bench, sitting.width, part=part)])
        choice = _which_way(kept[0], at_bench, sitting)
        if choice == "":
            return False
        if choice != "m":
            kept[0] = turned_to(at_bench, PARTS[choice])
            return True
        more = True


def _which_way(desk: Desk, at_bench: Desk, sitting: _Sitting) -> str:
    """What comes after a part: '' to leave, a key of PARTS for another part, 'm' for more of this one."""
    ways = {"": "Enter = leave"}
    if desk.part != "bench" and at_bench.bench.next is not None:
        ways["g"] = "g = go to the bench"
    if desk.part != "talk":
        ways["t"] = "t = the customer"
    if desk.part != "open":
        ways["o"] = "o = it stands open"
    if desk.flow.next is not None or any(name not in sitting.passed for name in desk.flow.open):
        ways["m"] = "m = more"
    while True:
        typed = asked(sitting.ask, f"{', '.join(ways.values())}: ").lower()
        if typed in QUIT:
            return ""
        if typed in ways:
            return typed
        sitting.console.print("  That is none of them.")


def _next(desk: Desk, sitting: _Sitting, more: bool) -> Question | None:
    """The question that comes next: the best, then what was put off, once; with `more` whatever else could be asked."""
    state = desk.flow
    if state.next is not None:
        return state.next
    again = next((name for name in state.put_off if name not in sitting.asked_again), None)
    if again is not None:
        sitting.asked_again.add(again)
        sitting.console.print("\nPut off earlier:")
        return Question(again, 0.0, "it was put off")
    beyond = next((name for name in state.open if name not in sitting.passed), None) if more else None
    if beyond is not None:
        sitting.passed.add(beyond)
        return Question(beyond, 0.0, "you asked for more")
    return None


def _confirmed(desk: Desk, sitting: _Sitting) -> Desk:
    """Offer the complaints that the customer's own words sound like, to be confirmed."""
    found = complaints_in(desk.knowledge, desk.job.job.customer.words)
    if not found or any(name in desk.job.values or name in desk.job.later for name in COMPLAINTS):
        return desk
    say(sitting.console, ["", *complaint_lines(desk, found, sitting.width)])
    while True:
        typed = asked(sitting.ask, "> ").lower()
        if typed in QUIT:
            raise Leave
        if typed in NOT_NOW or typed == "0":
            return desk
        numbers = re.split(r"[\s,;]+", typed)
        if all(number.isdigit() and 1 <= int(number) <= len(found) for number in numbers):
            break
        sitting.console.print(f"  Numbers from 1 to {len(found)} are wanted, or Enter.")
    told = list(dict.fromkeys(found[int(number) - 1] for number in numbers))
    values = dict(zip(COMPLAINTS, told, strict=False))
    desk = put_many(desk, values)
    for name, value in values.items():
        sitting.console.print(f"  {echo(desk.knowledge.observations[name], value)}")
        sitting.history.append(name)
    return desk


def stopped_lines(desk: Desk, unsaved: tuple[str, str, Any] | None) -> Iterator[str]:
    """Where the answers are, by what stands on disk now, and what comes next."""
    path, on_from = desk.path, f"'howdeep interview {desk.path}' goes on from here."
    try:
        plain = read(path).value or {}
    except HowdeepError as error:
        yield f"\nStopped. The answers are not safe: {error.faults[0]}"
        return
    if unsaved is not None:
        name, typed, value = unsaved
        observation = desk.knowledge.observations[name]
        section = plain.get(section_of(observation))
        if not isinstance(section, dict) or section.get(name) != value:
            yield (f"\nStopped. NOT saved: '{typed}' to \"{observation.title}\". The answers before it are in {path}; "
                   f"{on_from}")
            return
    following = desk.flow.next
    after = f"Next: {desk.knowledge.observations[following.observation].title.lower()}; " if following else ""
    yield f"\nStopped. Every answer is in {path}. {after}{on_from}"


def _show(desk: Desk, name: str, sitting: _Sitting) -> Desk:
    """The cards of one question, each read before the next; the conditions of a test are ticked before what it
    reads."""
    width, height = size_of(sitting.console)
    tick = name not in sitting.ticked and name not in desk.job.values and bool(
        conditions_of(desk.knowledge, desk.job, name))
    pages = cards(desk, name, width, height - 1, read=sitting.read, said=_said(desk, name), apart=tick)
    sitting.ticked.add(name)
    for number, page in enumerate(pages):
        last = number == len(pages) - 1
        if last and tick:
            desk = _conditions(desk, name, sitting)
        say(sitting.console, page)
        if not last and not (tick and number == len(pages) - 2):
            on(sitting.ask)
    sitting.read.update(cautions_of(desk, name))
    return desk


def _said(desk: Desk, name: str) -> str:
    """The answer that the customer's own words sound like, in words; empty where they say none."""
    words = desk.job.job.customer.words
    if not words or name in desk.job.values or name in COMPLAINTS:
        return ""
    match = next((match for match in match_words(desk.knowledge, words) if match.observation == name), None)
    return desk.knowledge.observations[name].answers.get(match.answer, "") if match is not None else ""


def _one(desk: Desk, question: Question, sitting: _Sitting) -> Desk:
    """Ask one question until it is answered, put off, or left for another."""
    name, console, ask = question.observation, sitting.console, sitting.ask
    desk = _show(desk, name, sitting)
    if desk.knowledge.observations[name].rows:
        return _rows(desk, question, sitting)
    while True:
        typed = asked(ask, "> ")
        other = _command(desk, question, typed, sitting)
        if other is _AGAIN:
            continue
        if other is not None:
            return other
        if typed.lower() in NOT_NOW and plain_answer(desk, name) not in (None, LATER):
            console.print("  Left as it is.")
            return replace(desk, last=name, moved=None)
        made = _save(desk, name, typed, sitting)
        if isinstance(made, Desk):
            return made
        desk = made[0]


_AGAIN: Any = object()
"""The command was seen to; the question stands."""


def _command(desk: Desk, question: Question, typed: str, sitting: _Sitting) -> Any:
    """What a command leads to: _AGAIN, the desk after another question, or None where it is none."""
    name, console, command = question.observation, sitting.console, typed.lower()
    if command in QUIT:
        raise Leave
    if command in ("e", "enough"):
        raise _Enough
    lines: list[str] = []
    if command in HELP_WANTED:
        lines = HELP.splitlines()
    elif command in ("v", "verdict"):
        lines = list(verdict_lines(desk, sitting.width))
    elif command in ("w", "why"):
        lines = list(why_lines(desk, question, name, leads_of(desk, name), sitting.width))
    elif command == "list":
        lines = list(answered_lines(desk, sitting.width))
    elif command == "p":
        _show(desk, name, sitting)  # conditions were seen to
        return _AGAIN
    if lines:
        paged(console, sitting.ask, lines)
        return _AGAIN
    if command in BACK:
        earlier = [other for other in sitting.history if other != name]
        if not earlier:
            console.print("  There is nothing to go back to.")
            return _AGAIN
        sitting.history = earlier
        return _one(desk, Question(sitting.history.pop(), 0.0, "you went back to it"), sitting)
    if match := re.fullmatch(r"c(?:hange)?\s+(.+)", command):
        wanted, hint = named(desk, match.group(1))
        if wanted:
            return _one(desk, Question(wanted, 0.0, "you called it"), sitting)
        console.print(f"  There is no question '{match.group(1)}'{hint}; 'list' shows those answered.")
        return _AGAIN
    return None


def named(desk: Desk, text: str) -> tuple[str, str]:
    """(observation, hint) for the number of an answer in the list, an id, or words of its title; '' where none is meant
    alone."""
    answered = answered_names(desk)
    if text.isdigit():
        return (answered[int(text) - 1], "") if 1 <= int(text) <= len(answered) else ("", f" (1 to {len(answered)})")
    plain = text.replace(" ", "_")
    observations = desk.knowledge.observations
    if plain in observations:
        return plain, ""
    said = set(words_of(text))
    for names in (answered, list(observations)):
        scores = {name: len(said & set(words_of(f"{observations[name].title} {name.replace('_', ' ')}")))
                  for name in names}
        best = max(scores.values(), default=0)
        close = [name for name, score in scores.items() if score == best]
        if best and len(close) == 1:
            return close[0], ""
        if best and names is answered:
            return "", f" alone: {', '.join(observations[name].title.lower() for name in close[:3])}"
    near = nearest(plain, observations)
    return "", f", {near}" if near else ""


def _conditions(desk: Desk, name: str, sitting: _Sitting) -> Desk:
    """Take down the conditions of a test, once."""
    values = ticked(desk, name, sitting.console, sitting.ask)
    if not values:
        return desk
    try:
        desk = put_many(desk, values)
    except HowdeepError as error:
        print_faults(sitting.console, error)
        return desk
    for other, value in values.items():
        sitting.console.print(f"  {echo(desk.knowledge.observations[other], value)}"[:sitting.width])
    return desk


def _rows(desk: Desk, question: Question, sitting: _Sitting) -> Desk:
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
        other = _command(desk, question, typed, sitting)
        if other is _AGAIN:
            continue
        if other is not None:
            return other
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
    if place > count or "=" in typed or len(figures) > row_size(item) or not re.match(r"[-+.,0-9?]", typed) or (
            typed == "?"):
        return typed
    return f"{place}={typed.replace(';', ' ')}"


def _save(desk: Desk, name: str, typed: str, sitting: _Sitting) -> Desk | tuple[Desk]:
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
    rows = [place for place, row in plain.items() if not isinstance(before, dict) or before.get(place) != row] if (
        item.rows and isinstance(plain, dict)) else []
    told = {place: plain[place] for place in rows} if rows else plain
    lines = wrapped(echo(item, told), sitting.width, "    ", "  ")
    if item.moment != "talk" and plain not in (LATER, UNKNOWN):
        lines += [line for place in rows or [0] for line in judged_lines(made, name, sitting.width, place)]
    if not rows:
        lines += list(verdict_lines(made, sitting.width, short=True))
    paged(console, sitting.ask, lines)
    return replace(made, last=name)
