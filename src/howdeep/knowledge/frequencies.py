"""What each frequency word rests on: the figures that ground it, its standing, and whether it agrees with them.

A word is addressed by where it stands: `causes/CAUSE` is a base word, `findings/FINDING/CAUSE` a link word,
`findings/FINDING/otherwise` what sound engines show, `history/RULE/CAUSE` a shift, `misread/SPEAKER` and
`unlisted/MOMENT` settings; `blame/FINDING/CAUSE` is base and link word multiplied.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator

from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.sources import Frequency
from ..model.terms import BASE_WORDS, WORD_STANDINGS, WORDS, WordStanding

KINDS_OF_WORD = {
    "causes": "base words",
    "findings": "link words",
    "otherwise": "words of sound engines",
    "history": "history shifts",
    "settings": "constants",
}
"""Kind of word -> its name in a table."""
OTHERWISE = "otherwise"
_FUZZ = 1e-9


def words_of(knowledge: Knowledge) -> Iterator[tuple[str, str]]:
    """(kind of word, address) of every frequency word and every shift, in order of kind and id."""
    yield from (("causes", f"causes/{name}") for name in knowledge.causes)
    for name, finding in knowledge.findings.items():
        yield from (("findings", f"findings/{name}/{cause}") for cause in finding.explained_by)
        if finding.otherwise is not None:
            yield "otherwise", f"findings/{name}/{OTHERWISE}"
    for name, rule in knowledge.history.items():
        yield from (("history", f"history/{name}/{cause}") for cause in rule.shifts)
    yield from (("settings", f"misread/{speaker}") for speaker in knowledge.settings.misread)
    yield from (("settings", f"unlisted/{moment}") for moment in knowledge.settings.unlisted)


def number_at(knowledge: Knowledge, address: str) -> float | None:
    """The number behind an address: a probability, or for a shift how many times the odds; None where there is none."""
    kind, _, rest = address.partition("/")
    name, _, part = rest.partition("/")
    settings = knowledge.settings
    if kind == "causes" and not part:
        return settings.base_words[knowledge.causes[name].base] if name in knowledge.causes else None
    if kind == "findings" and name in knowledge.findings:
        finding = knowledge.findings[name]
        word = finding.otherwise if part == OTHERWISE else finding.explained_by.get(part)
        return None if word is None else settings.words[word]
    if kind == "blame":
        link, base = number_at(knowledge, f"findings/{name}/{part}"), number_at(knowledge, f"causes/{part}")
        return None if link is None or base is None else link * base
    if kind == "history" and name in knowledge.history:
        shift = knowledge.history[name].shifts.get(part)
        return None if shift is None else 10 ** (shift / 10)
    if kind == "misread" and not part:
        return {str(speaker): share for speaker, share in settings.misread.items()}.get(name)
    if kind == "unlisted" and not part:
        return {str(moment): share for moment, share in settings.unlisted.items()}.get(name)
    return None


def scale_of(knowledge: Knowledge, address: str) -> tuple[float, ...]:
    """The numbers among which a word is chosen, in rising order; empty where it is no word."""
    if address.startswith("causes/"):
        return tuple(knowledge.settings.base_words[word] for word in BASE_WORDS)
    if address.startswith("findings/"):
        return tuple(knowledge.settings.words[word] for word in WORDS)
    return ()


def band_of(number: float, scale: tuple[float, ...]) -> tuple[float, float]:
    """Shares from 0 to 1 that lie nearer to `number` than to any other of `scale`, on the scale of log odds."""
    place = scale.index(number)
    low = _between(scale[place - 1], number) if place else 0.0
    high = _between(number, scale[place + 1]) if place + 1 < len(scale) else 1.0
    return low, high


def _between(one: float, other: float) -> float:
    middle = (_logit(one) + _logit(other)) / 2
    return 1 / (1 + math.exp(-middle))


def _logit(share: float) -> float:
    return math.log(share / (1 - share))


def comes_to(knowledge: Knowledge, entry: Frequency) -> float:
    """What the words of an entry come to: added up, shifted by the history it is taken under, over those against it.

    Raises KeyError for an address where there is no number (the load refuses it).
    """
    above = _sum(knowledge, entry, entry.words)
    return above / _sum(knowledge, entry, entry.against) if entry.against else above


def _sum(knowledge: Knowledge, entry: Frequency, addresses: tuple[str, ...]) -> float:
    total = 0.0
    for address in addresses:
        number = number_at(knowledge, address)
        if number is None:
            raise KeyError(address)
        if address.startswith(("causes/", "blame/")) and entry.under:
            cause = address.rpartition("/")[2]
            shift = sum(knowledge.history[rule].shifts.get(cause, 0.0) for rule in entry.under)
            base = knowledge.settings.base_words[knowledge.causes[cause].base]
            odds = base / (1 - base) * 10 ** (shift / 10)
            number *= odds / (1 + odds) / base
        total += number
    return total


def disagreement(knowledge: Knowledge, entry: Frequency) -> str:
    """In what the words do not agree with the figure, in words; empty where they agree."""
    if entry.low is not None or entry.high is not None:
        total = comes_to(knowledge, entry)
        low, high = entry.low or 0.0, math.inf if entry.high is None else entry.high
        if not low - _FUZZ <= total <= high + _FUZZ:
            span = f"from {low:.3g}" + ("" if high == math.inf else f" to {high:.3g}")
            return f"comes to {total:.3g}, not {span}"
        return ""
    for address in entry.words:
        scale = scale_of(knowledge, address)
        number = number_at(knowledge, address)
        if number is None:
            raise KeyError(address)
        low, high = band_of(number, scale) if number in scale else (number, number)
        if not low - _FUZZ <= entry.figure <= high + _FUZZ:
            return f"'{address}' stands for {low:.3g} to {high:.3g}, not {entry.figure:.3g}"
    return ""


Grounds = dict[str, tuple[tuple[str, WordStanding], ...]]
"""Address of a word -> (id of a figure that names it, the standing it gives it)."""


def grounds_of(knowledge: Knowledge) -> Grounds:
    """What grounds each word, in order of id. A blame grounds its link word.

    A figure that was counted makes a word published where the word stands alone on its side; one of several that are
    added up is only bounded by it, and so derived.
    """
    found: dict[str, dict[str, WordStanding]] = {}
    for name, entry in knowledge.frequencies.items():
        added = entry.low is not None or entry.high is not None
        for side in (entry.words, entry.against):
            for address in side:
                alone = not added or len(side) == 1
                word = address.replace("blame/", "findings/", 1)
                found.setdefault(word, {})[name] = entry.standing if alone else "derived"
    return {word: tuple(names.items()) for word, names in sorted(found.items())}


def standing_of(grounds: Grounds, address: str) -> WordStanding:
    """The firmest standing that a figure gives a word; judgement where none names it."""
    return min((standing for _, standing in grounds.get(address, ())), key=WORD_STANDINGS.index, default="judgement")


@dataclass(frozen=True, slots=True)
class Tally:
    """How many words of one kind have which standing."""

    kind: str
    """Key of KINDS_OF_WORD."""
    counts: dict[str, int]
    """Standing -> number, every standing named."""


def tallies(knowledge: Knowledge) -> tuple[Tally, ...]:
    """Frequency words by kind and standing; every word is counted once."""
    grounds = grounds_of(knowledge)
    counts: dict[str, Counter[str]] = {kind: Counter() for kind in KINDS_OF_WORD}
    for kind, address in words_of(knowledge):
        counts[kind][standing_of(grounds, address)] += 1
    return tuple(Tally(kind, {standing: counts[kind][standing] for standing in WORD_STANDINGS}) for kind in counts)
