"""The phrases of the rule base (`said`, `not_said` of an observation), and where they stand in a customer's words.

All words of a phrase stand in one clause, in order and near each other, and none is denied. A hyphen ties two words, a
stroke parts words of which one will do, words joined by `+` may stand in any order, `..` leaves room for more words,
`$` is the end of the clause, and `years>1`, `hours<500` or `minutes=2..30` asks for an amount. Spelling is forgiven
where the word is long enough to be known all the same.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Sequence
from dataclasses import field
from functools import lru_cache

from ..logic.stratify import once_per_value
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from .amounts import is_wanted, met_by, wanted
from .clauses import AND, END, NOT, ONCE, brought_together, clauses, denied, may_stand_between, telling
from .stems import root, small_letters

GAP, FAR = 2, 8
"""So many other words may stand between two of a phrase, and where the phrase leaves room (judgement)."""
ROOM = ".."
KEPT = 4096
"""So many words are remembered with what they are a slip of."""

Words = Sequence[frozenset[str]]
"""A clause: of each telling word what it is to a phrase (an amount is its unit and each amount asked for that it
meets)."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """One way of saying an answer, with one word for each of its places."""

    question: str
    answer: str
    """Empty: said of the question, and no answer to it."""
    text: str
    """As the rule base writes it."""
    words: tuple[str, ...]
    reach: tuple[int, ...]
    """How many other words may stand before each of the words and behind the one before."""


@dataclass(frozen=True, slots=True)
class Found:
    """A phrase that is there."""

    phrase: Phrase
    clause: int
    half: int
    """Which half of the clause it begins in."""
    last_half: int
    """Which half of the clause it ends in."""
    place: int
    """Which telling word of the customer it begins with."""


@dataclass(frozen=True, slots=True)
class Phrases:
    """All phrases of a rule base, by the words they begin with."""

    by_words: dict[str, dict[str, tuple[Phrase, ...]]]
    """First word -> second word -> phrases; the second of one that has no other word is empty."""
    vocabulary: frozenset[str]
    real: frozenset[str]
    """Words of the rule base that are no slip of a word of a phrase."""
    amounts: tuple[str, ...]
    slips: dict[str, str] = field(default_factory=dict)
    """What was found of words read before."""


@once_per_value(keep=4)
def phrases_of(knowledge: Knowledge) -> Phrases:
    """The phrases of a rule base, ready to be looked for."""
    written = [
        (name, answer, text)
        for name, item in knowledge.observations.items()
        for answer, texts in (*item.said.items(), ("", item.not_said))
        for text in texts
    ]
    plain = brought_together("\n".join(text for _, _, text in written)).split("\n")
    made = [
        phrase
        for (name, answer, text), chunks in zip(written, plain, strict=True)
        for phrase in _ways(name, answer, text, chunks.split())
    ]
    by_words: dict[str, dict[str, tuple[Phrase, ...]]] = {}
    for phrase in dict.fromkeys(made):
        some = by_words.setdefault(phrase.words[0], {})
        second = phrase.words[1] if len(phrase.words) > 1 else ""
        some[second] = (*some.get(second, ()), phrase)
    words = frozenset(word for phrase in made for word in phrase.words)
    told = " ".join(
        text
        for item in knowledge.observations.values()
        for text in (item.title, item.ask, *item.answers.values(), *item.phrases)
    )
    return Phrases(
        by_words,
        words,
        frozenset(map(root, re.findall(r"[a-z]+", small_letters(told)))) | _REAL,
        tuple(sorted(word for word in words if is_wanted(word))),
    )


_REAL = frozenset(
    root(word)
    for word in re.findall(
        "[a-z]+",
        "clock block brick track trick flash shirt short stars stale stare either other others clack clank crank crack "
        "stick house horse thing three wheel shook struck steep brother baker loader older overhead overload different "
        "somewhere wherever among depth doubt drawn grown shown chance bound blank plant planted sight slack "
        "stock sport shout sling spline splined spill spilt strain strap strand stranger shallow shelf "
        "shrink stable stairs stitch swept sweep swift spend speedo torch tower trial trough company collar compressor "
        "regulator induction inspector property explosion emission expansion primary secondary alternate rebore "
        "chock cheek creak crease crowd crush grand garbage harden sleeve seller shall patrol pinch pitch react "
        "steal device decade thank bitter birth winner waiter foster skill shoulder thirty eleven rivet flesh "
        "chatter clutter exhaustive century",
    )
)
"""Other plain words that are no slip of a word of a phrase."""
_EMPTY = frozenset((NOT, AND, END))
"""Of these words alone no phrase is made."""


def ways(question: str, answer: str, text: str) -> Iterator[Phrase]:
    """Every way of saying that a phrase of the rule base stands for."""
    return _ways(question, answer, text, brought_together(text).split())


def _ways(question: str, answer: str, text: str, chunks: Sequence[str]) -> Iterator[Phrase]:
    for order in _orders(chunks):
        for chosen in itertools.product(*(chunk.split("/") for chunk in order)):
            words: list[str] = []
            reach: list[int] = []
            before = GAP
            for chunk in chosen:
                if chunk == ROOM:
                    before = FAR
                    continue
                told = told_by(chunk)
                words.extend(told)
                reach.extend([before, *[0] * len(told)][: len(told)])
                before = GAP
            if not _EMPTY.issuperset(words):
                yield Phrase(question, answer, text, tuple(words), tuple(reach))


@lru_cache(maxsize=4096)
def told_by(chunk: str) -> tuple[str, ...]:
    """The telling words of a chunk, which a hyphen may part."""
    if is_wanted(chunk):
        return (wanted(chunk),)
    return tuple(word for part in chunk.split("-") for word in ((part,) if part in (END, AND) else telling(part)))


def _orders(chunks: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """The chunks of a phrase in every order that it allows: `a + b c` is `a b c` and `b a c`."""
    groups: list[list[str]] = []
    joined = False
    for chunk in chunks:
        if chunk == "+":
            joined = True
        elif joined:
            groups[-1].append(chunk)
            joined = False
        else:
            groups.append([chunk])
    for some in itertools.product(*(itertools.permutations(group) for group in groups)):
        yield tuple(itertools.chain.from_iterable(some))


def found_in(phrases: Phrases, text: str) -> Iterator[Found]:
    """Each phrase that is there, clause by clause."""
    start = 0
    for number, clause in enumerate(clauses(text)):
        words = [*(met_by(_known(word, phrases), phrases.amounts) for word in clause), frozenset((END,))]
        half = 0
        for place, word in enumerate(words):
            half += AND in word
            ahead = frozenset().union(("",), *words[place + 1 : place + 2 + FAR])
            for first in sorted(word & phrases.by_words.keys()):
                seconds = phrases.by_words[first]
                for second in sorted(ahead & seconds.keys()):
                    for phrase in seconds[second]:
                        last = _ends(phrase, words, place)
                        if last >= 0:
                            joints = sum(AND in word for word in words[place + 1 : last])
                            yield Found(phrase, number, half, half + joints, start + place)
        start += len(clause)


def _ends(phrase: Phrase, words: Words, start: int) -> int:
    """With which word a phrase ends that begins at a place of a clause; -1 where it is not there, or is denied."""
    if denied(words, start):
        return -1
    at = start
    for before, following, reach in zip(phrase.words, phrase.words[1:], phrase.reach[1:], strict=False):
        for step in range(1, reach + 2):
            if at + step >= len(words):
                return -1
            word = words[at + step]
            if following in word:
                at += step
                break
            if word & _PARTS or (before == NOT and not may_stand_between(word)):
                return -1
        else:
            return -1
    return at


_PARTS = frozenset((NOT, AND, ONCE))


def _known(word: str, phrases: Phrases) -> str:
    """A word of the phrases that this one is a slip of, else the word itself."""
    if word in phrases.vocabulary or len(word) < 5 or "#" in word or word in phrases.real:
        return word
    kept = phrases.slips
    if word not in kept:
        while len(kept) >= KEPT:
            kept.pop(next(iter(kept)))
        kept[word] = _nearest(word, phrases.vocabulary)
    return kept[word]


def _nearest(word: str, vocabulary: frozenset[str]) -> str:
    allowed = 1 if len(word) < 8 else 2
    near = [
        other
        for other in vocabulary
        if other[0] == word[0] and len(other) >= 5 and abs(len(other) - len(word)) <= allowed and not is_wanted(other)
    ]
    slips = sorted((_slips(word, other), other) for other in near)
    return slips[0][1] if slips and slips[0][0] <= allowed else word


def _slips(one: str, other: str) -> int:
    """How many letters are wrong, missing, too many, or two of them turned round (optimal string alignment)."""
    before: list[int] = []
    last = list(range(len(other) + 1))
    for row, letter in enumerate(one, 1):
        now = [row]
        for column, wanted_letter in enumerate(other, 1):
            best = min(last[column] + 1, now[-1] + 1, last[column - 1] + (letter != wanted_letter))
            if row > 1 and column > 1 and letter == other[column - 2] and one[row - 2] == wanted_letter:
                best = min(best, before[column - 2] + 1)
            now.append(best)
        before, last = last, now
    return last[-1]


__all__ = ["Found", "Phrase", "Phrases", "found_in", "phrases_of", "told_by", "ways"]
