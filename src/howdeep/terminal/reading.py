"""Readings taken in a terminal: conditions ticked once, a row at a time, each judged as soon as it is full."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from rich.console import Console

from ..errors import HowdeepError
from ..interview.conditions import conditions_of
from ..interview.match_words import words_of
from ..interview.session import Desk, plain_answer
from ..job.sections import LATER, UNKNOWN
from ..knowledge.build_words import plain_word, says_unknown
from ..knowledge.engine_facts import count_of
from ..model.observations import Observation
from ..model.quantity import DIMENSION, UNITS
from ..model.shown_units import unit_in
from ..readings.entry import NOT_TAKEN, UnitWanted, corrected, corrections, needs_unit, row_of
from .prompt import BACK, QUIT, Ask, Leave, asked

NOT_NOW = ("n", "not now", LATER, "")
TOLD = 6
"""So many answers are told again after a wrong one; more of them stand on the card above."""
PLACES = {"cylinder": "cylinder", "main": "main journal", "crankpin": "crankpin"}


@dataclass(slots=True)
class Units:
    """The units of bare figures, asked once a sitting for each dimension."""

    settled: dict[str, str] = field(default_factory=dict)

    def of(self, unit: str) -> str:
        return self.settled.get(DIMENSION[unit], "") if unit else ""

    def settle(self, unit: str, units: str, console: Console, ask: Ask) -> None:
        """Ask for the unit of bare figures."""
        first = unit_in(unit, units)
        offered = list(dict.fromkeys((first, unit, *UNITS[DIMENSION[unit]])))[:5]
        while True:
            typed = asked(ask, f"  In which unit? {', '.join(offered)} (Enter = {first}): ")
            if typed.lower() in QUIT:
                raise Leave
            if says_unknown(typed) or typed.lower() in BACK:
                raise HowdeepError("without a unit nothing is taken down: type the figures again")
            if not typed or typed in UNITS[DIMENSION[unit]]:
                self.settled[DIMENSION[unit]] = typed or first
                return
            console.print(f"  '{typed}' is none of {', '.join(UNITS[DIMENSION[unit]])}.")


def typed_value(observation: Observation, typed: str, count: int, default: str = "", stored: Any = None) -> Any:
    """What was typed, as a plain job value: a number picks an answer, blanks or commas part the places.

    `default` is the unit of bare figures, `stored` the value that a correction such as '3=65' changes. Raises
    HowdeepError for what picks nothing, for too few values, or an 'n' that could be a no; UnitWanted for bare figures.
    """
    lower = typed.lower()
    if lower == "n" and any(answer.startswith("n") for answer in observation.answers):
        noes = [f"{index} = {answer}" for index, answer in enumerate(observation.answers, 1) if answer.startswith("n")]
        raise HowdeepError(f"'n' could be meant as an answer: type {', '.join(noes)}, or Enter for not now")
    if says_unknown(typed):
        return _no_telling(observation, typed) or UNKNOWN
    if lower in NOT_NOW:
        return LATER
    if not observation.each:
        return _one(observation, typed, default)
    changes = corrections(typed, count)
    if changes is not None:
        before = stored if isinstance(stored, dict) else {}
        if "all" in before:
            before = dict.fromkeys(range(1, count + 1), before["all"])
        return corrected(
            before,
            {
                place: None if text in NOT_TAKEN else _place(observation, text, default)
                for place, text in changes.items()
            },
        )
    if observation.rows:
        return dict(enumerate(_grid(observation, typed, count, default), 1))
    if observation.kind == "number":
        row = row_of(typed, count, unit=observation.unit, bare=observation.bare, default=default)
        return _kept(dict(enumerate(row, 1)))
    parts = _words(typed, count)
    if len(parts) == 1 and count > 1:
        return {"all": _pick(observation, parts[0])}
    if len(parts) != count:
        raise HowdeepError(f"{len(parts)} values were typed; {count} are wanted (? where not looked at)")
    return _kept(
        {index: None if part in NOT_TAKEN else _pick(observation, part) for index, part in enumerate(parts, 1)}
    )


def _no_telling(observation: Observation, typed: str) -> str:
    """The answer of the question itself that says that it cannot be told, where that was typed; else empty."""
    plain = plain_word(typed)
    if plain in observation.answers:
        return plain
    if observation.each or not plain.endswith(("_tell", "_say")):
        return ""
    return next(
        (answer for answer, wording in observation.answers.items() if says_unknown(re.split(r"[,;(]", wording)[0])), ""
    )


def _kept(values: dict[int, Any]) -> dict[int, Any]:
    kept = {place: value for place, value in values.items() if value is not None}
    if not kept:
        raise HowdeepError("none of them was taken: type d for don't know")
    return kept


def _one(observation: Observation, typed: str, default: str) -> Any:
    if observation.kind != "number":
        return _pick(observation, typed)
    return row_of(typed, 1, unit=observation.unit, bare=observation.bare, default=default)[0] or UNKNOWN


def _place(observation: Observation, text: str, default: str) -> Any:
    if observation.rows:
        return _grid(observation, text, 1, default)[0]
    return _one(observation, text, default)


def _words(typed: str, count: int) -> list[str]:
    """Answers for the places: parted by commas; by blanks where that gives as many as there are places."""
    parts = [part.strip() for part in re.split(r"[,;]", typed) if part.strip()]
    blanks = typed.replace(",", " ").replace(";", " ").split()
    return blanks if len(parts) != count and len(blanks) == count else parts


def row_size(observation: Observation) -> int:
    """Figures in one place of a grid."""
    return len(observation.rows) * max(1, len(observation.columns))


def _grid(observation: Observation, typed: str, count: int, default: str) -> list[dict[str, list[str]]]:
    size = row_size(observation)
    try:
        row = row_of(typed, size * count, unit=observation.unit, bare=observation.bare, default=default)
    except HowdeepError as error:
        places = ", ".join(
            f"{name} {column}".strip() for name in observation.rows for column in observation.columns or ("",)
        )
        raise HowdeepError(
            f"{error.faults[0].message}: {places}" + (f", for each of {count}" if count > 1 else "")
        ) from None
    width = max(1, len(observation.columns))
    return [
        {
            name: [cell or UNKNOWN for cell in row[start + place * width : start + (place + 1) * width]]
            for place, name in enumerate(observation.rows)
        }
        for start in range(0, size * count, size)
    ]


def _pick(observation: Observation, typed: str) -> str:
    answers = list(observation.answers)
    if typed.isdigit():
        if typed in answers:
            return typed
        if 1 <= int(typed) <= len(answers):
            return answers[int(typed) - 1]
        raise HowdeepError(f"{typed} is none of 1 to {len(answers)}")
    lower = typed.lower().replace(" ", "_")
    if lower in answers:
        return lower
    close = [answer for answer in answers if answer.startswith(lower)] or _meant(observation, typed)
    if len(close) == 1:
        return close[0]
    named = close or answers
    told = "; ".join(f"{answers.index(answer) + 1} {observation.answers[answer]}" for answer in named)
    if close:
        raise HowdeepError(f"'{typed}' could be {told}")
    if len(answers) > TOLD:
        told = f"type a number from 1 to {len(answers)}, or words of one answer"
    raise HowdeepError(f"'{typed}' is none of the answers: {told}")


def _meant(observation: Observation, typed: str) -> list[str]:
    """The answers whose wording has all the words that were typed."""
    said = frozenset(words_of(typed))
    return [answer for answer, wording in observation.answers.items() if said and said <= frozenset(words_of(wording))]


def read_in(desk: Desk, name: str, typed: str, units: Units, console: Console, ask: Ask) -> Any:
    """The plain value of what was typed, the unit asked for where it needs one. Raises HowdeepError, Leave."""
    item = desk.asked(name)
    count = count_of(desk.job.engine, item.each)
    while True:
        try:
            return typed_value(item, typed, count, units.of(item.unit), plain_answer(desk, name))
        except UnitWanted as wanted:
            units.settle(wanted.unit, desk.shop.settings.units, console, ask)


def ticked(desk: Desk, name: str, console: Console, ask: Ask) -> dict[str, Any]:
    """The conditions of a test that are not on record, ticked: observation -> plain value; nothing where the person
    takes none down. Raises Leave."""
    entries = {other: desk.knowledge.observations[other] for other in conditions_of(desk.knowledge, desk.job, name)}
    choices = [other for other, item in entries.items() if item.kind == "choice"]
    found: dict[str, Any] = {}
    if choices:
        console.print("Conditions of the test, taken down once for this job:")
        for index, other in enumerate(choices, 1):
            item = entries[other]
            console.print(f"  {index}  {item.title}: {next(iter(item.answers.values()))}"[:79])
        found = _ticks(entries, choices, console, ask)
    for other in (other for other in entries if other not in choices):
        found.update(_counted(desk, other, console, ask))
    return found


def _ticks(entries: dict[str, Observation], choices: list[str], console: Console, ask: Ask) -> dict[str, Any]:
    while True:
        typed = asked(ask, "Which hold? Numbers (the others do not), a = all, 0 = none, Enter = not noted: ").lower()
        if typed in QUIT:
            raise Leave
        if typed in (*NOT_NOW, *BACK):
            return {}
        if typed in ("a", "all"):
            hold = set(range(1, len(choices) + 1))
        else:
            numbers = re.split(r"[\s,;]+", typed)
            if not all(number.isdigit() and 0 <= int(number) <= len(choices) for number in numbers):
                console.print(f"  Numbers from 1 to {len(choices)} are wanted.")
                continue
            hold = {int(number) for number in numbers}
        answers = {other: tuple(entries[other].answers) for other in choices}
        return {other: answers[other][0 if place in hold else -1] for place, other in enumerate(choices, 1)}


def _counted(desk: Desk, name: str, console: Console, ask: Ask) -> Iterator[tuple[str, Any]]:
    item = desk.knowledge.observations[name]
    while True:
        typed = asked(ask, f"{item.title}, a figure (Enter = not counted): ")
        if typed.lower() in QUIT:
            raise Leave
        if typed.lower() in (*NOT_NOW, *BACK):
            return iter(())
        try:
            return iter([(name, _one(item, typed, ""))])
        except (HowdeepError, UnitWanted) as error:
            console.print(f"  {error}")


def next_row(observation: Observation, stored: Any, count: int) -> int:
    """The first place of a grid that holds nothing; one past the last where all hold something."""
    held = stored if isinstance(stored, dict) else {}
    return next((place for place in range(1, count + 1) if place not in held and "all" not in held), count + 1)


def row_prompt(observation: Observation, place: int) -> str:
    """What stands before a row of a grid."""
    return f"{PLACES.get(observation.each, 'valve')} {place}> "


__all__ = [
    "BACK",
    "NOT_NOW",
    "Units",
    "needs_unit",
    "next_row",
    "read_in",
    "row_prompt",
    "row_size",
    "ticked",
    "typed_value",
]
