"""The stems of words, by which what a customer says is compared with what the rule base says."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_ALIKE = {
    word: plain
    for plain, words in {
        "only": "just",
        "light": "lite lamp",
        "through": "thru",
        "carburettor": "carb carburetor carbs",
        "petrol": "gas gasoline",
        "water": "coolant antifreeze",
        "exhaust": "pipe stack muffler silencer tailpipe",
        "stand": "stood standing stands sat sitting sits sit parked",
        "lose": "lost losing loosing looses loses loose",
        "use": "used uses using",
        "burn": "burnt",
        "drink": "drank drinks drinking",
        "run": "ran running runs",
        "die": "dies died dying",
        "freeze": "froze frozen freezing",
        "cold": "cool cools cooled cooling",
        "hot": "warm warmed",
        "pull": "hill load loaded plough ploughing plowing plow climbing uphill pulls pulling pulled",
        "go": "goes going gone",
        "drip": "drips dripping dripped",
        "weak": "weaker",
        "oil": "oils oily",
        "morning": "mornings",
        "ether": "quickstart",
        "year": "years yrs",
        "fill": "topping topped",
        "beltwheel": "pulley pulleys",
    }.items()
    for word in words.split()
}
"""Word -> the plain one that means the same in a workshop."""


_SHORTENED = re.compile(r"\b(i|you|he|she|it|we|they|that|there|who)'(?:ll|d)\b")
"""Without its apostrophe "she'd" would be a shed, "she'll" a shell and "we'll" well."""


def small_letters(text: str) -> str:
    """The text in small letters, without accents and apostrophes."""
    plain = _SHORTENED.sub(r"\1 would", text.lower().replace("’", "'")).replace("'", "")
    if plain.isascii():
        return plain
    plain = unicodedata.normalize("NFKD", plain)
    return "".join(letter for letter in plain if not unicodedata.combining(letter))


@lru_cache(maxsize=4096)
def root(word: str) -> str:
    """A word of small letters without its ending, words that mean the same as one."""
    word = _ALIKE.get(word, word)
    for ending in ("ing", "ly", "ed", "es", "s", "y"):
        if word.endswith(ending) and len(word) - len(ending) >= 3 and not word.endswith("ss"):
            word = word[: -len(ending)]
            break
    if len(word) > 3 and word[-1] == word[-2] and word[-1] not in "sl":
        word = word[:-1]
    word = word[:-1] if len(word) > 3 and word.endswith("e") else word
    return _ALIKE.get(word, word)


__all__ = ["root", "small_letters"]
