"""What is asked of an engine that has no sheet: at most six questions, "don't know" to any, without any screen."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from ..errors import HowdeepError, nearest
from ..job.write import Change
from ..knowledge.build_words import WORDS, hint_for, word_for
from ..knowledge.described import FIELDS, contradictions_of, described_by, plain_described
from ..knowledge.fill_in import FIRST_YEAR, LAST_YEAR, MAIN, UNKNOWN, years_of
from ..model.frozen import dataclass
from ..model.kind import Described, Kind

MOST = 6
"""So many questions are asked of an engine without a sheet, the open one included."""
MOST_OF_KIND = 3
"""So many where the kind is named: it says the rest."""
OPEN = (
    "In a few words, what is known of it: fuel, cylinders, valves, what it is for, cooling, about when? "
    "For example: petrol four, side valve, tractor, radiator, 1936. d = nobody knows."
)
NAMED = ("year", "bearings", "ignition", "cold_aid", "cooling", "bores", "oiling", "layout", "use")
"""What is asked where a kind is named, as far as its engines differ in it."""
ASK: dict[str, str] = {
    "fuel": "What does it burn?",
    "cylinders": "How many cylinders has it?",
    "layout": "Where are the valves?",
    "use": "What is it for?",
    "cooling": "How is it cooled?",
    "year": "About when was it built? (a year, or such as 1930s)",
    "bearings": "What are its rod and main bearings?",
    "ignition": "What makes the spark?",
    "cold_aid": "What helps it start cold?",
    "bores": "How are the cylinders made?",
    "oiling": "How is it oiled?",
}
WORDING: dict[str, dict[str, str]] = {
    "fuel": {"petrol": "Petrol, or petrol and paraffin: it has a spark", "diesel": "Diesel: it has injectors"},
    "layout": {
        "side_valve": "In the block beside the bores (side valve, flathead)",
        "overhead_valve": "In the head, under a cover (overhead valve)",
    },
    "use": {
        "farm": "A tractor or farm machine",
        "marine": "A boat",
        "stationary": "It stands: a pump, saw, generator",
        "light_vehicle": "A car, van or light lorry",
    },
    "cooling": {
        "pump": "Water with a pump",
        "thermosiphon": "A radiator without a pump",
        "hopper": "An open hopper",
        "raw_water": "The water it floats in",
        "air": "Air: fins and a fan",
    },
    "bearings": {"inserts": "Shells that are renewed", "babbitt": "Poured white metal with shims"},
    "ignition": {"battery": "Battery and coil", "magneto": "A magneto", "none": "Nothing: it is a diesel"},
    "cold_aid": {"none": "Nothing", "glow_plugs": "Glow plugs", "intake_heater": "A heater in the intake"},
    "bores": {
        "wet_sleeves": "Sleeves that draw out, with water round them",
        "dry_sleeves": "Dry sleeves",
        "in_block": "Bores cut in the block",
    },
    "oiling": {
        "pressure": "A pump feeds every bearing",
        "splash": "Dippers splash it",
        "part_splash": "A pump with little pressure, and splash",
    },
}


@dataclass(frozen=True, slots=True)
class Question:
    """One question on the engine."""

    field: str
    """A field of the build, or 'year'."""
    ask: str
    answers: dict[str, str]
    """Word -> wording; empty for the year."""


def engine_questions(described: Described, kinds: Mapping[str, Kind]) -> tuple[Question, ...]:
    """What is still to be asked, in order; at most six in all, with those that were answered."""
    kind = kinds.get(described.known("kind"))
    if kind is None:
        wanted = [name for name in MAIN if not (name == "layout" and described.known("fuel") == "diesel")]
    else:
        wanted = [name for name in NAMED if name == "year" or len(_words(kind, name)) > 1][:MOST_OF_KIND]
    return tuple(question(name, described, kind) for name in wanted if not described.word(name))


def _words(kind: Kind, name: str) -> tuple[str, ...]:
    if name == "ignition" and kind.build.fuel == "diesel":
        return ()
    return kind.choices.get(name, ())


def question(name: str, described: Described, kind: Kind | None = None) -> Question:
    """One question; where a kind is named, with the answers that its engines allow."""
    if name == "year":
        return Question(name, ASK[name], {})
    if name == "cylinders":
        return Question(name, ASK[name], {str(count): str(count) for count in range(1, 7)})
    words = _words(kind, name) if kind is not None else WORDS[name]
    if name == "cooling" and kind is None:
        words = tuple(word for word in words if not (word == "hopper" and described.known("use") == "light_vehicle"))
    return Question(name, ASK[name], {word: WORDING[name][word] for word in words})


def answer_to(asked: Question, typed: str) -> str:
    """The word that was typed: the number of an answer, a word as people write it, or "don't know".

    Raises HowdeepError with the words that are allowed.
    """
    text = typed.strip()
    if word_for("fuel", text) == UNKNOWN:
        return UNKNOWN
    if asked.field == "year":
        if years_of(text) is None:
            raise HowdeepError(
                f"'{text}' does not say about when; type a year or a decade from {FIRST_YEAR} to "
                f"{LAST_YEAR} (1936, 1930s, 1935-1940), or d for don't know"
            )
        return text
    words = list(asked.answers)
    if text.isdigit() and asked.field != "cylinders":
        if 1 <= int(text) <= len(words):
            return words[int(text) - 1]
        raise HowdeepError(f"{text} is none of 1 to {len(words)}")
    word = word_for(asked.field, text)
    if word is None or word not in words:
        near = nearest(text, words) if word is None else ""
        raise HowdeepError(f"'{text}': " + (near or hint_for(asked.field, text)))
    return word


def said(described: Described, name: str, word: str) -> Described:
    """The description with one more answer."""
    if name == "year":
        return dataclasses.replace(described, year=word)
    build = {**dict(described.build), name: word}
    return dataclasses.replace(described, build=tuple((field, build[field]) for field in FIELDS if field in build))


def nothing_said(described: Described) -> bool:
    """Whether nobody was asked yet."""
    return described == Described()


def answer_to_open(described: Described, typed: str, kinds: Mapping[str, Kind]) -> tuple[Described, list[str]]:
    """(what is known after the open question, words that were not understood). "Don't know" answers all six.

    Raises HowdeepError where nothing of it says anything of an engine, or where two things contradict each other.
    """
    if word_for("fuel", typed) == UNKNOWN:
        return Described("", UNKNOWN, tuple((name, UNKNOWN) for name in FIELDS if name in MAIN)), []
    found, rest = described_by(typed, kinds)
    if found is None:
        raise HowdeepError(
            f"'{typed}' says nothing of an engine here; name fuel, cylinders, valves, use, cooling or "
            "the year, or type d for don't know"
        )
    for _, message, hint in contradictions_of(dict(found.build), kinds.get(found.kind)):
        raise HowdeepError(f"{message} ({hint})")
    return found, rest


def telling(described: Described) -> Change:
    """The change that writes what is known of the engine into a job."""

    def change(plain: dict[str, Any]) -> dict[str, Any]:
        return {**plain, "engine": plain_described(described)}

    return change
