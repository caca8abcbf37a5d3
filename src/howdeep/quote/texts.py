"""Titles and sentences as they stand inside other sentences."""

from __future__ import annotations

import re
from collections.abc import Sequence


def lower_first(text: str) -> str:
    """A title inside a sentence: its first letter small, unless the word is written in capitals."""
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


def first_sentence(text: str) -> str:
    """The first sentence of a text."""
    return " ".join(text.split()).split(". ", 1)[0].rstrip(".") + "."


def some_of(titles: Sequence[str], most: int = 3) -> str:
    """'a, b and c', 'a, b and 2 more'."""
    shown = [lower_first(title) for title in titles[:most]]
    if len(titles) > most:
        return f"{', '.join(shown[: most - 1])} and {len(titles) - most + 1} more"
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"


def whole_within(text: str, most: int) -> str:
    """As many whole sentences as stand in so many characters; where not even the first does, its beginning."""
    sentences = re.split(r"(?<=[.!?]) (?=[A-Z])", " ".join(text.split()))
    told = sentences[0]
    for sentence in sentences[1:]:
        if len(told) + 1 + len(sentence) > most:
            break
        told = f"{told} {sentence}"
    return within(told, most)


def within(text: str, most: int) -> str:
    """A text of at most so many characters; a longer one is cut at a word where there is one near, ending in '...'."""
    text = " ".join(text.split())
    if len(text) <= most:
        return text
    cut = text[: most - 3]
    at = cut.rfind(" ")
    return (cut[:at] if at > most // 2 else cut).rstrip(" ,;:.") + "..."


_VERBS = re.compile(r"\b(is|are|was|were|can|could|has)\b")
_CLAUSE = re.compile(r"\b(and|or|yet|but|no|not|nothing|nobody|never|hardly|only)\b|[,;:(]")
_PARTICIPLE = re.compile(r" (\w+ed|lost|been|gone|got|had|stood|run|come|broken|worn)\b")
_RELATIVE = re.compile(r"\b(that|which|who|where|when|while|if|until|since)\b")


def denied(title: str) -> str:
    """A claim as what is not so: 'It is hard to start' -> 'it is not hard to start', 'It uses coolant' -> 'it does not
    use coolant'; 'no sign of: ...' where neither reads well."""
    text = lower_first(title)
    verb = _VERBS.search(text)
    clause = _CLAUSE.search(text)
    there = re.match(r"there is (?:an? )?", text)
    if clause and not (there and clause.group() == ","):
        return f"no sign of: {text}"
    if there:
        return f"there is no {text[there.end() :]}"
    if verb and not _RELATIVE.search(text[: verb.start()]):
        after = text[verb.end() :]
        if verb.group() == "has" and not _PARTICIPLE.match(after):
            return f"no sign of: {text}"
        return f"{text[: verb.end()]}{'not' if verb.group() == 'can' else ' not'}{after}"
    plain = re.match(r"it (\w+s)\b", text)
    if plain and not verb:
        return f"it does not {_base_form(plain.group(1))}{text[plain.end() :]}"
    return f"no sign of: {text}"


def _base_form(word: str) -> str:
    """'uses' -> 'use', 'misses' -> 'miss', 'carries' -> 'carry', 'goes' -> 'go'."""
    if word.endswith("ies") and len(word) > len("dies"):
        return word[:-3] + "y"
    return word[:-2] if re.search(r"(ss|sh|ch|x|zz|o)es$", word) else word[:-1]
