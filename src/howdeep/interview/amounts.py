"""Numbers and spans of time as people say them ("about three years", "two or three hundred hours", "half an hour").

Each is written as one word that says unit and amount: `year#3`. In a phrase of the rule base a word asks for an
amount: `years>1`, `hours<500`, `minutes=2..30`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

from .stems import root

_SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
)
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety"
_COUNTS = {word: number for number, word in enumerate(re.findall("[a-z]+", _SMALL))} | {
    word: 10 * number for number, word in enumerate(re.findall("[a-z]+", _TENS), 2)
}
_VAGUE = {"couple": 2, "few": 3, "several": 4, "half": 0.5}
_TIMES = {"dozen": 12, "hundred": 100, "thousand": 1000}
_LITTLE = ("a", "an", "and", "of", "odd", "good", "or")
_UNITS = {
    spoken: unit
    for unit, words in {
        "year": "year years yr yrs winters summers seasons harvests",
        "month": "month months",
        "week": "week weeks fortnight",
        "day": "day days",
        "hour": "hour hours hr hrs",
        "minute": "minute minutes min mins",
        "second": "second seconds sec secs",
        "mile": "mile miles",
        "time": "times",
        "swing": "swings",
    }.items()
    for spoken in words.split()
}
_NUMBER = r"(?:\d+(?:[.]\d+)?k?|" + "|".join((*_COUNTS, *_VAGUE, *_TIMES)) + ")"
_RUN = rf"(?:an? )?{_NUMBER}(?:[ -](?:(?:and |of |a |an |odd |good ){{0,2}}{_NUMBER})){{0,4}}"
_UNIT = "|".join(sorted(_UNITS, key=len, reverse=True))
_SPAN = re.compile(
    rf"\b(?:{_RUN},? ?(?:or|to|-|if not|maybe|perhaps) ?)?(?P<run>{_RUN}|an?)[ -]"
    rf"(?:(?:or (?:so|more)|odd|more|of|a|an|good) ){{0,2}}(?P<unit>{_UNIT})\b"
    rf"(?:,? (?:maybe|perhaps|possibly|or) (?:more|{_RUN})\b(?: {_UNIT})?(?=,|$| since| ago),?| or (?:so|two|more)\b)?"
)
_LARGER = re.compile(r"(?<=\d),(?=\d{3}\b)")
_MONTHS = "january|february|march|april|may|june|july|august|september|october|november|december"
_SEASON = re.compile(
    r"\bsince (?:the |last |this |about ){0,2}"
    rf"(?:spring|summer|autumn|fall|winter|harvest|christmas|easter|back end|{_MONTHS})\b"
)
_YEAR = re.compile(
    r"\bsince (?:about |the ){0,2}"
    r"(?:19\d\d|20[01]\d|(?:nineteen )?(?:[3-9]0s|(?:twen|thir|for|fif|six|seven|eigh|nine)ties))\b"
)
_WANTED = re.compile(r"([a-z]+)(?:(<|>)(\d+)|=(\d+)\.\.(\d+))")
_SPELT = re.compile(r"([a-z]+)#(\d+)")


def with_amounts(text: str) -> str:
    """A text of small letters with every amount of time, distance or number of times as one word, the larger of two
    that are left open; since a season and since a year of the last century are `since season` and `since year`."""
    text = _YEAR.sub("since year", _SEASON.sub("since season", _LARGER.sub("", text)))
    text = re.sub(r"\btwice\b", "time#2", re.sub(r"\bmany times\b", "time#4", text))
    return _SPAN.sub(_one_word, text)


def _one_word(found: re.Match[str]) -> str:
    number, unit = _worth(found["run"]), _UNITS[found["unit"]]
    if found["run"] in ("a", "an") and unit in ("day", "time"):  # "a day" is each day
        return found.group()
    if unit in ("hour", "year") and number < 1:
        number, unit = number * (60 if unit == "hour" else 12), "minute" if unit == "hour" else "month"
    return f"{unit}#{round(number)}"


def _worth(run: str) -> float:
    """'three hundred and fifty' -> 350; 'a' -> 1; 'half a dozen' -> 6."""
    total, part = 0.0, 0.0
    for word in re.split(r"[ -]+", run):
        if word in _TIMES:
            part = (part or 1) * _TIMES[word]
            if word == "thousand":
                total, part = total + part, 0.0
        elif word[0].isdigit():
            part += float(word.rstrip("k")) * (1000 if word.endswith("k") else 1)
        elif word not in _LITTLE:
            part += _COUNTS.get(word, 0) or _VAGUE.get(word, 0)
    return total + part or 1.0


def is_wanted(word: str) -> bool:
    """Whether a word of a phrase asks for an amount."""
    return bool(_WANTED.fullmatch(word) or _SPELT.fullmatch(word))


def wanted(word: str) -> str:
    """A word of a phrase that asks for an amount, by the root of its unit: `years>1` is `year>1`, `year#3`
    `year=3..3`."""
    if spelt := _SPELT.fullmatch(word):
        return f"{root(spelt[1])}={spelt[2]}..{spelt[2]}"
    found = _WANTED.fullmatch(word)
    return root(found[1]) + word[found.end(1) :] if found else root(word)


def met_by(word: str, asked: Iterable[str]) -> frozenset[str]:
    """The words of phrases that a word of a customer is: itself, or its unit and each amount asked for that it
    meets."""
    spelt = _SPELT.fullmatch(word)
    if spelt is None:
        return frozenset((word,))
    unit, number = root(spelt[1]), int(spelt[2])
    return frozenset((unit, *(one for one in asked if _meets(one, unit, number))))


@lru_cache(maxsize=512)
def _bounds(asked: str) -> tuple[str, float, float]:
    found = _WANTED.fullmatch(asked)
    if found is None:
        return "", 0.0, 0.0
    if found[2]:
        number = float(found[3])
        return found[1], *((0.0, number - 0.5) if found[2] == "<" else (number + 0.5, 1e9))
    return found[1], float(found[4]), float(found[5])


def _meets(asked: str, unit: str, number: int) -> bool:
    of, least, most = _bounds(asked)
    return of == unit and least <= number <= most


__all__ = ["is_wanted", "met_by", "wanted", "with_amounts"]
