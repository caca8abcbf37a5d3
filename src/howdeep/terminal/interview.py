"""The interview in a terminal: keyboard only, 80x24, over any line, with or without colour."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from rich.console import Console

from ..assessment.session import Shop
from ..errors import HowdeepError
from ..files.strict_yaml import read
from ..interview.flow import Question
from ..interview.session import Desk, Part, newest, open_desk, turned_to
from ..job.sections import section_of
from ..show.end_text import ABOVE, end_lines
from ..show.interview_text import HELP, answered_names, progress_line, verdict_lines
from ..show.question_card import head_line
from ..show.sentences import lower_first
from .answer import ask_one
from .engine import ask_engine, new_job_file
from .opening import confirmed
from .prompt import QUIT, Ask, Leave, asked
from .screen import paged, size_of
from .sitting import Enough, Sitting

TALK: Part = "beside"
"""The customer's part, with the answer shown after each question of the kind that the end of it would say."""
PARTS: dict[str, Part] = {"g": "bench", "t": TALK, "o": "open"}
"""What is typed at the end of a part -> the part that follows."""


ECHO = 4
"""Rows that an answer takes when it is read back, with the empty one after it."""


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
    desk = open_desk(shop, path, part=TALK)
    desk = replace(desk, last=newest(desk.job))
    sitting = Sitting(console, ask, answered_names(desk))
    console.print(head_line(desk, sitting.width))
    console.print(HELP)
    kept = [desk]
    try:
        kept[0] = confirmed(kept[0], sitting)
        while _part(kept, sitting):
            pass
        how = "Done"
    except (Leave, EOFError, KeyboardInterrupt):
        how = "Stopped"
    for line in stopped_lines(kept[0], sitting.unsaved, how):
        console.print(line)
    return kept[0]


def _part(kept: list[Desk], sitting: Sitting) -> bool:
    """Sit through one part of the interview; whether the person goes on after it. `kept` holds the desk as it
    stands."""
    part, more, begun = kept[0].part, False, kept[0].answer.decision.kind
    while True:
        try:
            while more or not _can_be_promised_now(kept[0], begun):
                question = _next(kept[0], sitting, more)
                if question is None:
                    break
                sitting.console.print(progress_line(kept[0], kept[0].flow))
                kept[0] = ask_one(kept[0], question, sitting)
        except Enough:
            pass
        at_bench = turned_to(kept[0], "bench")
        rows = size_of(sitting.console)[1]
        if kept[0].moved is not None:  # what the last answer moved stands above it
            above = ECHO + len(list(verdict_lines(kept[0], sitting.width, short=True)))
            rows -= max(0, above - ABOVE)
        paged(sitting.console, sitting.ask, ["", *end_lines(at_bench, sitting.width, part=part, rows=rows)])
        choice = _which_way(kept[0], at_bench, sitting)
        if choice == "":
            return False
        if choice != "m":
            kept[0] = turned_to(at_bench, PARTS[choice])
            return True
        more = True


def _can_be_promised_now(desk: Desk, begun: str) -> bool:
    """Whether the bench has brought what it was gone to for; `begun`: the kind of answer as it began."""
    return desk.part == "bench" and begun != "promise" and desk.answer.decision.kind == "promise"


def _which_way(desk: Desk, at_bench: Desk, sitting: Sitting) -> str:
    """What comes after a part: '' to leave, a key of PARTS for another part, 'm' for more of this one."""
    ways = {"": "Enter = leave"}
    if desk.part != "bench" and at_bench.bench.next is not None:
        ways["g"] = "g = go to the bench"
    if desk.part != TALK:
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


def _next(desk: Desk, sitting: Sitting, more: bool) -> Question | None:
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


def stopped_lines(desk: Desk, unsaved: tuple[str, str, Any] | None, how: str = "Stopped") -> Iterator[str]:
    """Where the answers are, by what stands on disk now, and what comes next."""
    path, on_from = desk.path, f"'howdeep interview {desk.path}' goes on from here."
    try:
        plain = read(path).value or {}
    except HowdeepError as error:
        yield f"\n{how}. The answers are not safe: {error.faults[0]}"
        return
    if unsaved is not None:
        name, typed, value = unsaved
        observation = desk.knowledge.observations[name]
        section = plain.get(section_of(observation))
        if not isinstance(section, dict) or section.get(name) != value:
            yield (
                f"\n{how}. NOT saved: '{typed}' to \"{observation.title}\". The answers before it are in {path}; "
                f"{on_from}"
            )
            return
    following = _when_resumed(desk)
    after = f"Next: {lower_first(desk.knowledge.observations[following].title)}; " if following else ""
    yield f"\n{how}. Every answer is in {path}. {after}{on_from}"


def _when_resumed(desk: Desk) -> str:
    """The question that the interview asks when it is gone on with: of the customer's part where that has one left,
    then what was put off, then of the part that was left; empty where there is none."""
    talk = replace(turned_to(desk, TALK), last=newest(desk.job)).flow
    here = None if desk.part == TALK else desk.flow.next
    if talk.next is not None:
        return talk.next.observation
    return talk.put_off[0] if talk.put_off else here.observation if here else ""
