"""A new job begun in a terminal, and what is asked of an engine without a sheet."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from rich.console import Console

from ..assessment.session import Shop
from ..errors import HowdeepError, nearest
from ..interview.engine import MOST, OPEN, answer_to, answer_to_open, engine_questions, nothing_said, said, telling
from ..job import write
from ..job.decide import placing
from ..job.sections import LATER, UNKNOWN
from ..knowledge.build_words import says_unknown
from ..knowledge.described import contradictions_of, described_by, plain_described
from ..knowledge.kinds import load_kinds
from ..model.job import OpenJob
from ..model.kind import Kind
from ..sheets.choices import Choice, engine_choices
from ..show.interview_text import engine_list_lines, engine_question_lines
from .prompt import BACK, QUIT, Ask, Leave, asked, print_faults

ENGINE_HELP = (
    "Type the number of an answer or a word for it; d = don't know, Enter = not now,\n"
    "q = leave. What is said of the engine stands in the job under 'engine' and can\n"
    "be changed there, or on the page."
)
NOT_NOW = ("n", "not now", LATER, "")
"""What puts a question off."""


def new_job_file(shop: Shop, path: Path, console: Console, ask: Ask) -> None:
    """Ask for the engine and the customer, and write a new job; `b` leads back from each question to the one before.
    Raises Leave."""
    told: dict[str, Any] = {}
    steps = [_engine, _customer, _words, *(() if shop.settings.altitude else (_altitude,))]
    number = 0
    while number < len(steps):
        try:
            told |= steps[number](shop, path, console, ask)
        except _Back:
            if not number:
                console.print("  This is the first question.")
            number = max(0, number - 1)
            continue
        number += 1
    engine, height = told.pop("engine"), told.pop("altitude", "") or shop.settings.altitude
    if shop.settings.altitude:
        console.print(f"Altitude: {height}, as the shop's settings say.")
    kept = {key: value for key, value in told.items() if value}
    write.create(
        path,
        write.new_job(
            engine,
            title=write.title_of(kept.get("words", "")) or "New job",
            **({"customer": kept} if kept else {}),
            **({"place": {"altitude": height}} if height else {}),
        ),
    )


class _Back(Exception):
    """The person wants the question before."""


def _typed(ask: Ask, prompt: str) -> str:
    """What was typed. Raises Leave and _Back."""
    typed = asked(ask, prompt)
    if typed.lower() in QUIT:
        raise Leave
    if typed.lower() in BACK:
        raise _Back
    return typed


def _engine(shop: Shop, path: Path, console: Console, ask: Ask) -> dict[str, Any]:
    """The engine of a new job, as a job writes it."""
    choices = engine_choices(shop.folders, path.parent)
    for line in engine_list_lines(choices):
        console.print(line)
    while True:
        engine, told = engine_named(_typed(ask, "Engine (number or name): "), choices, load_kinds(shop.folders))
        for line in told:
            console.print(f"  {line}")
        if engine is not None:
            return {"engine": engine}


def _customer(shop: Shop, path: Path, console: Console, ask: Ask) -> dict[str, Any]:
    """Name and telephone."""
    name, phone = name_and_phone(_typed(ask, "Customer's name and telephone (may stay empty): "))
    return {"name": name, "phone": phone}


def _words(shop: Shop, path: Path, console: Console, ask: Ask) -> dict[str, Any]:
    """What is wrong, as the customer says it."""
    return {"words": _typed(ask, "What is wrong, in the customer's own words: ")}


def engine_named(
    typed: str, choices: Sequence[Choice], kinds: Mapping[str, Kind]
) -> tuple[str | dict[str, Any] | None, list[str]]:
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
    # a name that is written as its id is one engine, not two
    names = {choice.name.lower(): choice.id for choice in choices}
    others = [name for name, id_ in names.items() if name.replace(" ", "-") != id_]
    close = nearest(plain, [*ids, *others, UNKNOWN])
    described, rest = described_by(typed, kinds)
    if described is None or rest:
        unclear = f" ('{', '.join(rest)}' is not understood)" if described is not None else ""
        return None, [
            f"'{typed}' is none of them{f'; {close}' if close else ''}{unclear}",
            "Type a number, a name, or what is known: petrol four side valve 1936; or unknown.",
        ]
    if any(contradictions_of(dict(described.build))):
        return None, [f"'{typed}': {message} ({hint})" for _, message, hint in contradictions_of(dict(described.build))]
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
    count, begun = 0, False
    while True:
        described = job.general.described
        open_now = [item for item in engine_questions(described, kinds) if item.field not in put_off]
        if not open_now or count >= MOST:
            break
        if not begun:
            console.print("\nThis engine has no sheet. A few questions on it first; d = don't know,\nEnter = not now.")
        if not begun and nothing_said(described):
            count, begun = 1, True
            job = _open_question(shop, path, console, ask)
            continue
        begun = True
        for line in engine_question_lines(open_now[0]):
            console.print(line)
        count += 1
        typed = asked(ask, "engine> ")
        if typed.lower() in QUIT:
            raise Leave
        if typed.lower() in NOT_NOW:
            put_off.add(open_now[0].field)
            continue
        if typed.lower() in ("h", "help", *BACK):
            count -= 1
            console.print(ENGINE_HELP)
            continue
        try:
            told = said(described, open_now[0].field, answer_to(open_now[0], typed))
            if wrong := next(contradictions_of(dict(told.build), kinds.get(told.known("kind"))), None):
                raise HowdeepError(f"{wrong[1]} ({wrong[2]})")
            write.save(path, job.digest, telling(told))
        except HowdeepError as error:
            count -= 1
            print_faults(console, error)
        job = shop.open_job(path)
    if begun:
        console.print(f"  {job.engine.name}.")


def _open_question(shop: Shop, path: Path, console: Console, ask: Ask) -> OpenJob:
    """Ask what is known of an engine in a few words; the job as it then stands on disk."""
    job = shop.open_job(path)
    console.print(OPEN)
    while job.general is not None:  # a sheet may have been named in the file meanwhile
        typed = asked(ask, "engine> ")
        if typed.lower() in QUIT:
            raise Leave
        if typed.lower() in NOT_NOW:
            return job
        if typed.lower() in ("h", "help", *BACK):
            console.print(ENGINE_HELP)
            continue
        try:
            told, rest = answer_to_open(job.general.described, typed, load_kinds(shop.folders))
            write.save(path, job.digest, telling(told))
        except HowdeepError as error:
            print_faults(console, error)
            continue
        if rest:
            console.print(f"  Not understood, and left out: {', '.join(rest)}.")
        return shop.open_job(path)
    return job


def _altitude(shop: Shop, path: Path, console: Console, ask: Ask) -> dict[str, Any]:
    """The altitude with its unit as typed; empty where it is not known."""
    while True:
        typed = _typed(ask, "Altitude, such as 1200 ft (Enter = not known, taken as sea level): ")
        if says_unknown(typed):
            return {"altitude": ""}
        try:
            placing(altitude=typed)
        except HowdeepError as error:
            console.print(f"  {error}")
            continue
        return {"altitude": typed}
