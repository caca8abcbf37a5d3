"""Words as people write them to the sheet's own."""

from __future__ import annotations

import re

from ..model.sheet_form import SheetField

_YES_NO = {
    "yes": ("y", "yes", "yep", "yeah", "true", "has", "fitted", "it has", "it does", "ja", "oui", "with"),
    "no": ("n", "no", "nope", "false", "not", "none", "without", "never", "not fitted"),
}
_NUMBERS = {
    word: number
    for number, word in enumerate(
        ("none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
    )
} | {"single": 1, "twin": 2, "triple": 3, "a": 1, "a single": 1}


def word_of(text: object, form: SheetField) -> str | None:
    """The sheet's own word for what was written; None where it is none. A number picks from the words as listed."""
    if isinstance(text, bool):
        text = "yes" if text else "no"
    said = tidy(str(text))
    ways = {word: (word, *also) for word, also in form.words.items()} if form.words else _YES_NO
    for word, also in ways.items():
        if said in {tidy(item) for item in also}:
            return word
    own = list(ways)
    close = [word for word in own if len(said) >= 3 and tidy(word).startswith(said)]
    if len(close) == 1:
        return close[0]
    if re.search(r"\b(?:no|not|non|without|part|partly|half|semi|low)\b", said):
        return None  # 'no pump' is no pump
    inside = {
        word
        for word, also in ways.items()
        for item in also
        if len(tidy(item)) >= 3 and re.search(rf"\b{re.escape(tidy(item))}\b", said)
    }
    return inside.pop() if len(inside) == 1 and form.words else None


def tidy(text: str) -> str:
    """Small letters, one space, no dash, underscore or full stop at the end."""
    return " ".join(re.sub(r"[-_./]+", " ", text.lower()).split())


def number_of(text: object) -> int | None:
    """A whole number written as figures or as a word, with whatever it counts behind it."""
    said = tidy(str(text))
    match = re.fullmatch(r"(\d{1,4})(?:\s+[a-z ]+)?", said)
    if match:
        return int(match.group(1))
    return _NUMBERS.get(said) or _NUMBERS.get(said.split(" ")[0] if said else "")
