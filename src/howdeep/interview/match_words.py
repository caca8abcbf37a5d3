"""The customer's words, matched to the questions they lead to."""

from __future__ import annotations

import re

from ..knowledge.questions import COMPLAINTS
from ..logic.stratify import once_per_value
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from .stems import root, small_letters

_COMMON = frozenset(
    [
        "a",
        "an",
        "and",
        "are",
        "at",
        "be",
        "been",
        "but",
        "can",
        "cant",
        "did",
        "do",
        "does",
        "dont",
        "for",
        "from",
        "get",
        "gets",
        "got",
        "had",
        "has",
        "have",
        "he",
        "her",
        "his",
        "i",
        "if",
        "in",
        "is",
        "isnt",
        "it",
        "its",
        "just",
        "me",
        "my",
        "not",
        "of",
        "off",
        "on",
        "or",
        "our",
        "out",
        "she",
        "so",
        "some",
        "that",
        "the",
        "them",
        "then",
        "there",
        "they",
        "this",
        "to",
        "too",
        "up",
        "us",
        "very",
        "was",
        "we",
        "were",
        "what",
        "when",
        "with",
        "wont",
        "you",
        "your",
        "engine",
        "motor",
    ]
)


@dataclass(frozen=True, slots=True)
class Match:
    """A question (and perhaps an answer) that the words point to."""

    observation: str
    answer: str
    """Answer that the words suggest, or empty where only the question is meant."""
    phrase: str
    """The phrase of the rule base that matched best."""
    score: float
    """0 to 1."""


def words_of(text: str) -> tuple[str, ...]:
    """The stems of the words of a text, without the commonest little words."""
    return tuple(root(word) for word in re.findall(r"[a-z0-9]+", small_letters(text)) if word not in _COMMON)


def match_words(knowledge: Knowledge, text: str, most: int = 6) -> tuple[Match, ...]:
    """Questions whose phrases, title or answers share most with the customer's words, best first."""
    said = set(words_of(text[:4000]))
    if not said:
        return ()
    best: dict[tuple[str, str], Match] = {}
    for name, item in knowledge.observations.items():
        if item.moment != "talk":
            continue
        for phrase in item.phrases:
            _consider(best, said, name, "", phrase)
        if item.kind == "choice":
            for answer, wording in item.answers.items():
                if answer not in ("no", "none", "good", "dry", "right", "clean", "normal", "easy"):
                    _consider(best, said, name, answer, wording)
    ranked = sorted(best.values(), key=lambda match: (-match.score, match.observation, match.answer))
    seen: dict[str, Match] = {}
    for match in ranked:
        seen.setdefault(match.observation, match)
    return tuple(seen.values())[:most]


def spoken_of(knowledge: Knowledge, text: str, most: int = 3) -> tuple[str, ...]:
    """Questions that the customer's words clearly lead to, the clearest first."""
    kept = _spoken(knowledge)
    if text not in kept:
        while len(kept) > 64:
            kept.pop(next(iter(kept)))
        kept[text] = tuple(
            match.observation
            for match in match_words(knowledge, text, 12)
            if match.score >= knowledge.settings.asking.words_lead_from and match.observation not in COMPLAINTS
        )
    return kept[text][:most]


@once_per_value(keep=4)
def _spoken(knowledge: Knowledge) -> dict[str, tuple[str, ...]]:
    return {}


def _consider(best: dict[tuple[str, str], Match], said: set[str], name: str, answer: str, phrase: str) -> None:
    wanted = set(words_of(phrase))
    if not wanted:
        return
    shared = len(said & wanted)
    score = shared / (len(wanted) + 0.5) * (1.0 if shared > 1 else 0.8)
    if shared and score >= 0.3:
        key = (name, answer)
        if key not in best or score > best[key].score:
            best[key] = Match(name, answer, phrase, round(score, 4))
