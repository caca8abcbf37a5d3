"""Words as people write them for how an engine is built (rules/sheet_form.yaml)."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable
from difflib import get_close_matches

from .sheet_form import build_words, sheet_form

WORDS: dict[str, tuple[str, ...]] = {name: words for name, words in build_words().items() if name != "cylinders"}
"""Field of the build -> the words it can take; cylinders are a number."""

_YES_NO = {"yes": "y, true, has, with", "no": "n, false, without, hasnt, none"}
_COUNTS = {
    "1": "one, single, single_cylinder, one_cylinder, thumper",
    "2": "two, twin, two_cylinder, pair",
    "3": "three, triple, three_cylinder",
    "4": "four, four_cylinder",
    "5": "five, five_cylinder",
    "6": "six, six_cylinder, straight_six",
}
DONT_KNOW = frozenset(
    re.findall(
        r"\S+",
        "? d unknown dont_know do_not_know not_known no_idea not_sure unsure dunno dont_no idk no_clue not_a_clue "
        "havent_a_clue cannot_say cant_say couldnt_say could_not_say cannot_tell cant_tell couldnt_tell could_not_tell "
        "hard_to_say who_knows nobody_knows skip pass",
    )
)
"""Ways of saying that one does not know, as plain words without apostrophes."""
_BEFORE = re.compile(r"^(?:(?:i|we|he|she|im|were|really|honestly|sorry|well)_)+")


def plain_word(text: object) -> str:
    """'Flat-head' -> 'flat_head'."""
    return re.sub(r"[\s_-]+", "_", str(text).strip().lower()).strip("_.")


def says_unknown(text: object) -> bool:
    """Whether it says no more than that nobody knows: "don't know", "I'm not sure", "no idea", "pass"."""
    plain = plain_word(re.sub(r"['’]|[.!,]+(?=\s|$)", "", str(text)))
    return plain in DONT_KNOW or _BEFORE.sub("", plain) in DONT_KNOW


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
    if plain == "any" or says_unknown(text):
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
            phrase = "_".join(said[place : place + length])
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
