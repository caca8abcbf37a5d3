"""The interview in a terminal: keyboard only, 80x24, over any line, with or without colour."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from rich.console import Console

from .errors import HowdeepError, StaleFile, nearest
from .files.strict_yaml import read
from .interview.desk import Desk, open_desk, plain_answer, put
from .interview.engine import (
    MOST,
    OPEN,
    answer_to,
    answer_to_open,
    engine_questions,
    nothing_said,
    said,
    telling,
)
from .interview.words import match_words
from .job import write
from .job.decide import placing
from .job.sections import LATER, UNKNOWN, section_of
from .knowledge.described import contradictions_of, described_by, plain_described
from .knowledge.engine_facts import count_of
from .knowledge.kinds import load_kinds
from .model.job import OpenJob
from .model.kind import Kind
from .model.knowledge import Observation
from .session import Shop
from .sheets.choices import Choice, engine_choices
from .show.interview_text import (
    HELP,
    engine_list_lines,
    engine_question_lines,
    finish_lines,
    matches_lines,
    progress_line,
    question_lines,
    verdict_lines,
)

Ask = Callable[[str], str]


ENGINE_HELP = ("Type the number of an answer or a word for it; d = don't know, Enter = not now,\n"
               "q = leave. What is said of the engine stands in the job under 'engine' and can\n"
               "be changed there, or on the page.")
_NOT_NOW = ("n", "not now", LATER, "")


class Leave(Exception):
    """The person wants to stop."""


@dataclass(slots=True)
class _Sitting:
    """What one interview remembers between questions."""

    history: list[str] = field(default_factory=list)
    """Questions answered, the newest last."""
    asked_again: set[str] = field(default_factory=set)
    """Questions put off earlier and asked once more; who puts them off again is not asked a third time."""
    unsaved: tuple[str, str, Any] | None = None
    """Question, what was typed and its plain value, where it is not known to be on disk."""


def new_job_file(shop: Shop, path: Path, console: Console, ask: Ask) -> None:
    """Ask for the engine and the customer, and write a new job."""
    choices = engine_choices(shop.folders, path.parent)
    for line in engine_list_lines(choices):
        console.print(line)
    while True:
        typed = write.clean_text(ask("Engine (number or name): ")).strip()
        engine, told = engine_named(typed, choices, load_kinds(shop.folders))
        for line in told:
            console.print(f"  {line}")
        if engine is not None:
            break
    name, phone = name_and_phone(write.clean_text(ask("Customer's name and telephone (may stay empty): ").strip()))
    customer = {"name": name, "phone": phone,
                "words": write.clean_text(ask("What is wrong, in the customer's own words: ").strip())}
    height = shop.settings.altitude or _altitude(console, ask)
    if shop.settings.altitude:
        console.print(f"Altitude: {height}, as the shop's settings say.")
    kept = {key: value for key, value in customer.items() if value}
    write.create(path, write.new_job(engine, title=kept.get("words", "New job")[:70], **(
        {"customer": kept} if kept else {}), **({"place": {"altitude": height}} if height else {})))


def engine_named(typed: str, choices: Sequence[Choice],
                 kinds: Mapping[str, Kind]) -> tuple[str | dict[str, Any] | None, list[str]]:
    """(what a job writes under `engine`, what is said about it) for a number, a name, a kind, 'unknown', or a few words
    such as 'petrol four, side valve, 1936'; None for what is none of these, with the nearest names."""
    ids = [choice.id for choice in choices]
    plain = typed.lower()
    if plain in ids:
        return plain, []
    if typed.isdigit():
        if int(typed) == 0:
            return UNKNOWN, []
        if int(typed) <= len(ids):
            return ids[int(typed) - 1], []
        return None, [f"{typed} is none of 0 to {len(ids)}."]
    if not typed:
        return None, ["Type a number or a name; 0 or unknown where nobody knows the engine."]
    named = next((choice.id for choice in choices if choice.name.lower() == plain), None)
    if named is not None:
        return named, []
    close = nearest(plain, [*ids, *(choice.name.lower() for choice in choices), UNKNOWN])
    described, rest = described_by(typed, kinds)
    if described is None or rest:
        unclear = f" ('{', '.join(rest)}' is not understood)" if described is not None else ""
        return None, [f"'{typed}' is none of them{f'; {close}' if close else ''}{unclear}",
                      "Type a number, a name, or what is known: petrol four side valve 1936; or unknown."]
    if any(contradictions_of(dict(described.build))):
        return None, [f"'{typed}': {message} ({hint})" for _, message, hint in
                      contradictions_of(dict(described.build))]
    if described.kind and not described.build and not described.year:
        return described.kind, []
    return plain_described(described), []


_PHONE = re.compile(r"(?:^|[,;\s]+)(\+?[0-9(][0-9 ()/.-]{3,})$")


def name_and_phone(typed: str) -> tuple[str, str]:
    """'Ann O., 555 0101' as name and number; either may be empty."""
    match = _PHONE.search(typed)
    if match is None:
        return typed, ""
    return typed[: match.start()].strip(" ,;"), match.group(1).strip()


def ask_engine(shop: Shop, path: Path, console: Console, ask: Ask) -> None:
    """Ask what is still open of an engine without a sheet; every answer is on disk before the next question.

    Raises Leave where the person stops; what was answered stays.
    """
    kinds = load_kinds(shop.folders)
    put_off: set[str] = set()
    job = shop.open_job(path)
    if job.general is None:
        return
    asked, begun = 0, False
    while True:
        described = job.general.described
        open_now = [item for item in engine_questions(described, kinds) if item.field not in put_off]
        if not open_now or asked >= MOST:
            break
        if not begun:
            console.print("\nThis engine has no sheet. A few questions on it first; d = don't know,\n"
                          "Enter = not now.")
        if not begun and nothing_said(described):
            asked, begun = 1, True
            job = _open_question(shop, path, console, ask)
            continue
        begun = True
        for line in engine_question_lines(open_now[0]):
            console.print(line)
        asked += 1
        typed = write.clean_text(ask("engine> ")).strip()
        if typed.lower() in ("q", "quit"):
            raise Leave
        if typed.lower() in _NOT_NOW:
            put_off.add(open_now[0].field)
            continue
        if typed.lower() in ("h", "help", "b", "back"):
            asked -= 1
            console.print(ENGINE_HELP)
            continue
        try:
            told = said(described, open_now[0].field, answer_to(open_now[0], typed))
            if wrong := next(contradictions_of(dict(told.build), kinds.get(told.known("kind"))), None):
                raise HowdeepError(f"{wrong[1]} ({wrong[2]})")
            write.save(path, job.digest, telling(told))
        except HowdeepError as error:
            asked -= 1
            for fault in error.faults:
                console.print(f"  {fault}")
        job = shop.open_job(path)
    if begun:
        console.print(f"  {job.engine.name}.")


def _open_question(shop: Shop, path: Path, console: Console, ask: Ask) -> OpenJob:
    """Ask what is known of an engine in a few words; the job as it then stands on disk."""
    job = shop.open_job(path)
    console.print(OPEN)
    while True:
        typed = write.clean_text(ask("engine> ")).strip()
        if typed.lower() in ("q", "quit"):
            raise Leave
        if typed.lower() in _NOT_NOW:
            return job
        if typed.lower() in ("h", "help", "b", "back"):
            console.print(ENGINE_HELP)
            continue
        try:
            told, rest = answer_to_open(job.general.described, typed, load_kinds(shop.folders))
            write.save(path, job.digest, telling(told))
        except HowdeepError as error:
            for fault in error.faults:
                console.print(f"  {fault}")
            continue
        if rest:
            console.print(f"  Not understood, and left out: {', '.join(rest)}.")
        return shop.open_job(path)


def _altitude(console: Console, ask: Ask) -> str:
    """The altitude with its unit as typed; empty where it is not known."""
    while True:
        typed = write.clean_text(ask("Altitude, such as 1200 ft (Enter = not known, taken as sea level): "
                                     ).strip())
        try:
            placing(altitude=typed)
        except HowdeepError as error:
            console.print(f"  {error}")
            continue
        return typed


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
        typed = write.clean_text(ask("> ")).strip()
        command = typed.lower()
        if command in ("q", "quit"):
            raise Leave
        if command in ("h", "?", "help"):
            console.print(HELP)
            continue
        if command in ("v", "verdict"):
            for line in verdict_lines(desk):
                console.print(line)
            continue
        if command in ("b", "back"):
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
        if command in _NOT_NOW and plain_answer(desk, name) not in (None, LATER):
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
                for fault in damage.faults:
                    console.print(f"  {fault}")
                continue
            console.print(f"  On disk: {fresh.job.values.get(name, 'no answer')}. You typed: {typed}.")
            console.print("  Type your answer again to put it over what is there now.")
            desk = fresh
            continue
        except HowdeepError as error:
            for fault in error.faults:
                console.print(f"  {fault}")
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
    if lower in _NOT_NOW:
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
