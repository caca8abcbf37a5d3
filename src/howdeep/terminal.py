"""The interview in a terminal: keyboard only, 80x24, over any line, with or without colour."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from rich.console import Console

from .errors import HowdeepError, StaleFile
from .files.strict_yaml import read
from .interview.desk import Desk, open_desk, plain_answer, put
from .interview.words import match_words
from .job.sections import LATER, UNKNOWN, section_of
from .knowledge.engine_facts import count_of
from .model.knowledge import Observation
from .session import Shop
from .show.interview_text import HELP, finish_lines, matches_lines, progress_line, question_lines, verdict_lines
from .terminal_engine import NOT_NOW, ask_engine, new_job_file
from .terminal_prompt import BACK, HELP_WANTED, QUIT, Ask, Leave, asked, print_faults


@dataclass(slots=True)
class _Sitting:
    """What one interview remembers between questions."""

    history: list[str] = field(default_factory=list)
    """Questions answered, the newest last."""
    asked_again: set[str] = field(default_factory=set)
    """Questions put off earlier and asked once more; who puts them off again is not asked a third time."""
    unsaved: tuple[str, str, Any] | None = None
    """Question, what was typed and its plain value, where it is not known to be on disk."""


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
    desk = open_desk(shop, path)
    console.print(HELP)
    if desk.job.job.customer.words and "complaint" not in desk.job.values:
        for line in matches_lines(shop.knowledge, match_words(shop.knowledge, desk.job.job.customer.words)):
            console.print(line)
    sitting = _Sitting()
    going_on = False
    try:
        while True:
            state = desk.flow
            question = state.next.observation if state.next else None
            if question is None:
                question = next((name for name in state.put_off if name not in sitting.asked_again), None)
                if question is not None:
                    sitting.asked_again.add(question)
                    console.print("\nPut off earlier:")
            if question is None and going_on and state.open:
                question = state.open[0]
            if question is None:
                for line in finish_lines(desk):
                    console.print(line)
                if not state.open or not _go_on(ask):
                    return desk
                going_on = True
                continue
            console.print(progress_line(desk, state))
            desk = _one(desk, question, sitting, console, ask)
    except (Leave, EOFError, KeyboardInterrupt):
        for line in stopped_lines(desk, sitting.unsaved):
            console.print(line)
        return desk


def stopped_lines(desk: Desk, unsaved: tuple[str, str, Any] | None) -> Iterator[str]:
    """Where the answers are, by what stands on disk now."""
    path, on = desk.path, f"'howdeep interview {desk.path}' goes on from here."
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
                   f"{on}")
            return
    yield f"\nStopped. Every answer is in {path}; {on}"


def _go_on(ask: Ask) -> bool:
    return ask("Enter to leave, or g to go on asking: ").strip().lower() in ("g", "go", "go on")


def _one(desk: Desk, name: str, sitting: _Sitting, console: Console, ask: Ask) -> Desk:
    """Ask one question until it is answered, put off, or left for another."""
    observation = desk.knowledge.observations[name]
    for line in question_lines(desk, name):
        console.print(line)
    while True:
        typed = asked(ask, "> ")
        command = typed.lower()
        if command in QUIT:
            raise Leave
        if command in HELP_WANTED:
            console.print(HELP)
            continue
        if command in ("v", "verdict"):
            for line in verdict_lines(desk):
                console.print(line)
            continue
        if command in BACK:
            if not sitting.history:
                console.print("  There is nothing to go back to.")
                continue
            return _one(desk, sitting.history.pop(), sitting, console, ask)
        if match := re.fullmatch(r"c(?:hange)?\s+([a-z_0-9]+)", command):
            if match.group(1) in desk.knowledge.observations:
                return _one(desk, match.group(1), sitting, console, ask)
            console.print(f"  There is no question '{match.group(1)}'; 'list' shows those answered.")
            continue
        if command == "list":
            for other in sorted({*desk.job.values, *desk.job.unknown, *desk.job.later}):
                console.print(f"  {other}: {desk.knowledge.observations[other].title}")
            continue
        if command in NOT_NOW and plain_answer(desk, name) not in (None, LATER):
            console.print("  Left as it is.")
            return replace(desk, last=name, moved=None)
        sitting.unsaved = None
        try:
            plain = typed_value(observation, typed, count_of(desk.job.engine, observation.each))
            sitting.unsaved = (name, typed, plain)
            moved = put(desk, name, plain)
        except StaleFile as error:
            console.print(f"  {error}")
            try:
                fresh = open_desk(desk.shop, desk.path, desk.last)
            except HowdeepError as damage:
                print_faults(console, damage)
                continue
            console.print(f"  On disk: {fresh.job.values.get(name, 'no answer')}. You typed: {typed}.")
            console.print("  Type your answer again to put it over what is there now.")
            desk = fresh
            continue
        except HowdeepError as error:
            print_faults(console, error)
            continue
        sitting.unsaved = None
        sitting.history.append(name)
        for line in verdict_lines(moved, short=True):
            console.print(line)
        return replace(moved, last=name)


def typed_value(observation: Observation, typed: str, count: int) -> Any:
    """What was typed, as a plain job value: a number picks an answer, commas separate cylinders.

    Raises HowdeepError for a number that picks nothing, too few values, or an 'n' that could be a no.
    """
    lower = typed.lower()
    if lower == "n" and any(answer.startswith("n") for answer in observation.answers):
        noes = [f"{index} = {answer}" for index, answer in enumerate(observation.answers, 1) if answer.startswith("n")]
        raise HowdeepError(f"'n' could be meant as an answer: type {', '.join(noes)}, or Enter for not now")
    if lower in ("d", "?", "don't know", "dont know", UNKNOWN):
        return UNKNOWN
    if lower in NOT_NOW:
        return LATER
    if not observation.each:
        return _pick(observation, typed)
    parts = [part.strip() for part in re.split(r"[,;]", typed)]
    if observation.rows:
        return _grid(observation, parts, count)
    if len(parts) == 1 and observation.kind == "choice" and count > 1:
        return {"all": _pick(observation, parts[0])}
    if len(parts) != count:
        raise HowdeepError(f"{len(parts)} values were typed; "
                           f"{count} are wanted, with commas between (? where not taken)")
    return {index: _pick(observation, part) for index, part in enumerate(parts, 1) if part not in ("?", "-", "")}


def _grid(observation: Observation, parts: list[str], count: int) -> Any:
    size = len(observation.rows) * max(1, len(observation.columns))
    if len(parts) != size * count:
        raise HowdeepError(f"{len(parts)} values were typed; {size * count} are wanted: for each of {count} the places "
                           f"{', '.join(observation.rows)}, each with {', '.join(observation.columns) or 'one value'}")
    result = {}
    for index in range(count):
        mine = iter(parts[index * size: (index + 1) * size])
        result[index + 1] = {row: [next(mine) for _ in (observation.columns or ("",))] for row in observation.rows}
    return result


def _pick(observation: Observation, typed: str) -> str:
    if observation.kind != "choice":
        return typed
    answers = list(observation.answers)
    if typed.isdigit():
        if typed in answers:
            return typed
        if 1 <= int(typed) <= len(answers):
            return answers[int(typed) - 1]
        raise HowdeepError(f"{typed} is none of 1 to {len(answers)}")
    lower = typed.lower().replace(" ", "_")
    close = [answer for answer in answers if answer.startswith(lower)]
    return close[0] if len(close) == 1 else lower if lower in answers else typed
