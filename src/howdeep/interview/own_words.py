"""What the customer's own words say outright, clause by clause, to be offered for a yes; it is never taken for said.

The rule base gives for an answer the ways in which customers say it (`said` of an observation). Such a phrase is there
where all its words stand in one clause, in order and near each other, and none of them is denied. Spelling is forgiven
where the word is long enough to be known all the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache

from ..knowledge.questions import COMPLAINTS
from ..logic.stratify import once_per_value
from ..model.frozen import dataclass
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from .match_words import complaints_in
from .stems import root, small_letters

MOST = 4000
"""So many characters of a customer's words are read."""
GAP = 2
"""So many other words may stand between two of a phrase (judgement)."""
KEPT = 64
NOT, AND, ONCE = "not", "&", "once"


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_FILLERS = _words(
    "a an the it its is are was were be been am i me my we us our he his she her they them their this that these "
    "those you your there theres of for to so if at in on from with by as has have had having do does did can could "
    "will would get gets got very quite really bit some always all about engine motor tractor boat car truck lorry "
    "van machine thing again also now then every time"
)
_NOT = _words(
    "no not never none nor without hardly dont doesnt dosnt doesn didnt didn isnt isn wasnt arent wont won cant cannot "
    "couldnt wouldnt wouldn hasnt havent hadnt aint nothing"
)
_SOFT = _words("and but or though although because")
_BETWEEN = _words("any much ever even blue black white bad odd strange more see find sign")
"""What may stand between a denial and what it denies."""


@dataclass(frozen=True, slots=True)
class Said:
    """One answer that the words say outright."""

    question: str
    answer: str
    phrase: str
    """The phrase of the rule base that was met."""
    place: int
    """Which word of the customer it begins with."""


@dataclass(frozen=True, slots=True)
class _Phrase:
    question: str
    answer: str
    text: str
    words: tuple[str, ...]
    tied: tuple[bool, ...]
    """Which of the words stand right after the one before."""


def _phrase(question: str, answer: str, text: str) -> _Phrase:
    """A phrase as the rule base writes it: a hyphen ties two words."""
    words: list[str] = []
    tied: list[bool] = []
    for chunk in text.split():
        for number, word in enumerate(word for part in chunk.split("-") for word in _plain(part)[0]):
            words.append(word)
            tied.append(bool(number))
    return _Phrase(question, answer, text, tuple(words), tuple(tied))


@once_per_value(keep=4)
def _phrases(knowledge: Knowledge) -> tuple[tuple[_Phrase, ...], frozenset[str], dict[str, tuple[Said, ...]]]:
    """Every phrase, every word of them, and what was found in the words read last."""
    phrases = tuple(
        _phrase(name, answer, text)
        for name, item in knowledge.observations.items()
        for answer, texts in item.said.items()
        for text in texts
    )
    return phrases, frozenset(word for phrase in phrases for word in phrase.words), {}


def said_in(knowledge: Knowledge, text: str) -> tuple[Said, ...]:
    """The answers that a customer's words say, at most one to a question, in the order in which he says them. Of two
    answers to one question the one that more of his words say is meant, of two as long the one said first."""
    phrases, vocabulary, kept = _phrases(knowledge)
    if text not in kept:
        while len(kept) >= KEPT:
            kept.pop(next(iter(kept)))
        kept[text] = _found(phrases, vocabulary, text)
    return kept[text]


def complaints_said(knowledge: Knowledge, text: str) -> tuple[str, ...]:
    """The complaints that a customer's words say, in the order in which he says them."""
    phrases, vocabulary, _ = _phrases(knowledge)
    met = sorted(_met([phrase for phrase in phrases if phrase.question == "complaint"], vocabulary, text), key=_first)
    wider: dict[int, str] = {}  # "won't start hot" is not "won't start"
    for said, _ in met:
        wider.setdefault(said.place, said.answer)
    return tuple(dict.fromkeys(said.answer for said, _ in met if wider[said.place] == said.answer))


def complaints_offered(knowledge: Knowledge, text: str) -> tuple[str, ...]:
    """The complaints to be confirmed: those that a customer's words say; where they say none, those they sound like."""
    return complaints_said(knowledge, text) or complaints_in(knowledge, text)


def offered(knowledge: Knowledge, job: OpenJob, name: str) -> str:
    """The answer to a question that the customer's words say, while nobody has answered it; empty where they say
    none. For what else troubles him, the next complaint after the main one."""
    words = job.job.customer.words
    if not words or name in job.values or name in job.unknown:
        return ""
    if name in COMPLAINTS:
        found = (told for told in complaints_offered(knowledge, words) if told not in job.values.values())
        return next((told for told in found if told in knowledge.observations[name].answers), "")
    return next((said.answer for said in said_in(knowledge, words) if said.question == name), "")


def _found(phrases: Sequence[_Phrase], vocabulary: frozenset[str], text: str) -> tuple[Said, ...]:
    best: dict[str, tuple[Said, int]] = {}
    for said, length in _met(phrases, vocabulary, text):
        held = best.get(said.question)
        if held is None or (-length, said.place) < (-held[1], held[0].place):
            best[said.question] = said, length
    return tuple(said for said, _ in sorted(best.values(), key=_first))


def _first(met: tuple[Said, int]) -> tuple[int, int, str]:
    return met[0].place, -met[1], met[0].question


def _met(phrases: Sequence[_Phrase], vocabulary: frozenset[str], text: str) -> Iterator[tuple[Said, int]]:
    """Each phrase that is there, with how many words it has."""
    start = 0
    for clause in _plain(text):
        words = tuple(_known(word, vocabulary) for word in clause)
        there = frozenset(words)
        for phrase in phrases:
            if there.issuperset(phrase.words):
                place = _place(phrase, words)
                if place is not None:
                    yield Said(phrase.question, phrase.answer, phrase.text, start + place), len(phrase.words)
        start += len(words)


def _plain(text: str) -> list[list[str]]:
    """The clauses of a text as their telling words: small letters, without accents, endings and little words; every
    denial is NOT, every joint of two half clauses AND, what is said of earlier days ONCE."""
    plain = re.sub(r"\btick(?:s|ing)?[ -]?over\b", "idle", small_letters(text[:MOST])).replace("used to", ONCE)
    return [
        [
            NOT if word in _NOT else AND if word in _SOFT else ONCE if word == ONCE else root(word)
            for word in re.findall(r"[a-z0-9]+", clause)
            if word not in _FILLERS
        ]
        for clause in re.split(r"[.,;:!?\n()]|\s-+\s", plain)
    ]


def _known(word: str, vocabulary: frozenset[str]) -> str:
    """A word of the phrases that this one is a slip of, else the word itself."""
    if word in vocabulary or len(word) < 5:
        return word
    allowed = 1 if len(word) < 8 else 2
    near = [
        other
        for other in vocabulary
        if other[0] == word[0] and len(other) >= 5 and abs(len(other) - len(word)) <= allowed
    ]
    slips = sorted((_slips(word, other), other) for other in near)
    return slips[0][1] if slips and slips[0][0] <= allowed else word


@lru_cache(maxsize=4096)
def _slips(one: str, other: str) -> int:
    """How many letters are wrong, missing, too many, or two of them turned round (optimal string alignment)."""
    before: list[int] = []
    last = list(range(len(other) + 1))
    for row, letter in enumerate(one, 1):
        now = [row]
        for column, wanted in enumerate(other, 1):
            best = min(last[column] + 1, now[-1] + 1, last[column - 1] + (letter != wanted))
            if row > 1 and column > 1 and letter == other[column - 2] and one[row - 2] == wanted:
                best = min(best, before[column - 2] + 1)
            now.append(best)
        before, last = last, now
    return last[-1]


def _place(phrase: _Phrase, words: Sequence[str]) -> int | None:
    """Where the phrase begins; None where it is not there, or is denied."""
    for start, word in enumerate(words):
        if word != phrase.words[0] or _denied(words, start):
            continue
        at = start
        for following, tied in zip(phrase.words[1:], phrase.tied[1:], strict=True):
            stretch = words[at + 1 : at + 2 + (0 if tied else GAP)]
            if following not in stretch or {NOT, AND, ONCE} & set(stretch[: stretch.index(following)]):
                break
            at += 1 + stretch.index(following)
        else:
            return start
    return None


def _denied(words: Sequence[str], start: int) -> bool:
    if words[start] == NOT:
        return False
    before = words[max(0, start - 2) : start]
    return before[-1:] in ((NOT,), (ONCE,)) or (len(before) == 2 and before[0] in (NOT, ONCE) and before[1] in _BETWEEN)


__all__ = ["Said", "complaints_offered", "complaints_said", "offered", "said_in"]
