"""Words as people write them for how an engine is built (rules/sheet_form.yaml), and what each point is asked for."""

from __future__ import annotations

import functools
import re
import typing
from collections.abc import Iterable
from difflib import get_close_matches

from ..model.engine import Build
from .sheet_form import sheet_form

WORDS: dict[str, tuple[str, ...]] = {
    name: typing.get_args(hint) for name, hint in typing.get_type_hints(Build).items() if typing.get_args(hint)
}
"""Field of the build -> the words it can take."""

PURPOSE: dict[str, str] = {
    "fuel": "what it burns: it decides between spark and injection",
    "cylinders": "how many cylinders: readings are taken one for each",
    "layout": "where the valves stand: in the block beside the bore, or in the head",
    "use": "what it is for: it decides how the engine is reached and what load it sees",
    "cooling": "how it is cooled",
    "bores": "whether the bores are sleeves or cut in the block: it decides what a worn one costs",
    "bearings": "shells that are renewed, or poured white metal that is taken up with shims",
    "mains_in_frame": "whether main bearings can be renewed with the crankshaft in place",
    "pan_in_frame": "whether the oil pan comes off with the engine in place",
    "rear_seal": "what seals the crankshaft at the flywheel",
    "rear_seal_needs": "what must come apart for the rear seal",
    "guides": "whether valve guides are pressed in or part of the casting",
    "seats": "whether valve seats are inserted or part of the casting",
    "head_takes_resurfacing": "whether the head may be skimmed",
    "frame": "whether the engine sits in a frame, is the frame, or stands on the bench",
    "volts": "the electrical system",
    "ignition": "what makes the spark",
    "hand_crank": "whether it has a starting handle",
    "electric_start": "whether it has a starter motor",
    "oiling": "how it is oiled",
    "oil_gauge": "whether it has an oil-pressure gauge",
    "valve_rotators_sodium": "whether the exhaust valves are sodium-filled",
    "governor": "whether it is governed",
    "cold_aid": "what helps a diesel start cold",
    "carburettor": "which way the carburettor draws",
    "oil_cooler": "whether it has an oil cooler in the coolant",
    "gearbox_shares_oil": "whether engine and gearbox share the oil",
    "year": "about when it was built: it tells poured from shell bearings, six volts from twelve",
    "kind": "the kind of engine, where nobody knows more",
}
"""Field -> why it is asked, for a mechanic."""

_YES_NO = {"yes": "y, true, has, with", "no": "n, false, without, hasnt, none"}
_COUNTS = {"1": "one, single, single_cylinder, one_cylinder, thumper", "2": "two, twin, two_cylinder, pair",
           "3": "three, triple, three_cylinder", "4": "four, four_cylinder", "5": "five, five_cylinder",
           "6": "six, six_cylinder, straight_six"}
DONT_KNOW = frozenset({"unknown", "dont_know", "don't_know", "not_known", "no_idea", "not_sure", "?", "d", "any"})


def plain_word(text: object) -> str:
    """'Flat-head' -> 'flat_head'."""
    return re.sub(r"[\s_-]+", "_", str(text).strip().lower()).strip("_.")


@functools.cache
def _table(name: str) -> dict[str, str]:
    """Every way of writing a word of a field -> the word."""
    words = tuple(_COUNTS) if name == "cylinders" else WORDS.get(name, ())
    table = {word: word for word in words}
    if name == "cylinders" or words == ("yes", "no"):
        for word, others in (_COUNTS if name == "cylinders" else _YES_NO).items():
            for other in others.split(", "):
                table.setdefault(other, word)
        return table
    form = sheet_form().field(f"build.{name}")
    for word, also in (form.words if form else {}).items():
        for other in also:
            table.setdefault(plain_word(other), word)
    return table


def word_for(name: str, text: object) -> str | None:
    """The word of a field that `text` means, 'unknown' for "don't know"; None where it means none of them."""
    if isinstance(text, bool):
        text = "yes" if text else "no"
    plain = plain_word(text)
    if plain in DONT_KNOW:
        return "unknown"
    return _table(name).get(plain)


def hint_for(name: str, text: object) -> str:
    """The words that are allowed, with the nearest first where one is near."""
    words = tuple(_COUNTS) if name == "cylinders" else WORDS[name]
    close = get_close_matches(plain_word(text), list(_table(name)), n=1, cutoff=0.7)
    near = f"did you mean {_table(name)[close[0]]}? " if close else ""
    return f"{near}it can be {', '.join(words)} or unknown"


def words_in(text: str, names: Iterable[str]) -> tuple[dict[str, str], list[str]]:
    """(field -> word, words that mean nothing here) of a phrase such as 'petrol four, side valve, tractor'.

    Longest phrases first; the first field that knows a word has it.
    """
    said = [part for part in re.split(r"[^a-z0-9'?]+", text.lower()) if part]
    found: dict[str, str] = {}
    rest: list[str] = []
    names = list(names)
    place = 0
    while place < len(said):
        for length in (4, 3, 2, 1):
            phrase = "_".join(said[place:place + length])
            if len(said) - place < length:
                continue
            hit = next((name for name in names if name not in found and phrase in _table(name)), None)
            if hit is not None:
                found[hit] = _table(hit)[phrase]
                place += length
                break
        else:
            rest.append(said[place])
            place += 1
    return found, rest
