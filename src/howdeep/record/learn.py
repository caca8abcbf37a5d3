"""What the shop's own jobs say of the frequency words and base odds: proposals, never applied by themselves.

A frequency word is "if this cause is present, how often would you see this?". In a noisy-OR model a finding that is
seen may be due to any present cause, so the blame is shared out (`blame.py`), with a beta prior whose mean is the word
as it stands, or as all links like it stand (`pooled.py`), and whose worth is stated.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TypeVar

from ..beliefs.speakers import seen_by
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.terms import BASE_WORDS, WORDS
from .blame import blamed
from .pooled import Factor, by_group, channel_of_finding, shifted
from .row import Row


@dataclass(frozen=True, slots=True)
class Lesson:
    """What the jobs say of one word."""

    kind: str
    """link or base."""
    finding: str
    """Empty for base odds."""
    cause: str
    jobs: float
    """Jobs that speak of it."""
    seen: float
    """Jobs in which it was due to this cause (expected)."""
    word: str
    """The word as it stands."""
    learned: float
    """Mean of the beta posterior."""
    low: float
    high: float
    """95 % interval of the beta posterior (normal approximation on the logit scale)."""
    proposed: str
    """The word nearest to what was learned; the same as `word` where nothing is proposed."""


AnyWord = TypeVar("AnyWord", bound=str)


def nearest_word(probability: float, words: Mapping[AnyWord, float], order: Sequence[AnyWord]) -> AnyWord:
    """The word whose probability is nearest on the scale of log odds."""
    return min(order, key=lambda word: (abs(_logit(words[word]) - _logit(probability)), order.index(word)))


def _logit(probability: float) -> float:
    held = min(max(probability, 1e-4), 1 - 1e-4)
    return math.log(held / (1 - held))


def _interval(hits: float, misses: float) -> tuple[float, float, float]:
    """Mean and 95 % interval of a beta posterior with these counts (both include the prior)."""
    total = hits + misses
    mean = hits / total
    spread = math.sqrt(1 / max(hits, 0.5) + 1 / max(misses, 0.5))
    return mean, _unlogit(_logit(mean) - 1.96 * spread), _unlogit(_logit(mean) + 1.96 * spread)


def _unlogit(value: float) -> float:
    return 1 / (1 + math.exp(-value))


def learn(
    knowledge: Knowledge, rows: Sequence[Row], odds: Mapping[str, Mapping[str, float]], pooled: Sequence[Factor] = ()
) -> tuple[Lesson, ...]:
    """Lessons from closed jobs (rows read with their findings); `odds` gives job -> cause -> stated probability.

    With `pooled`, a word stands beforehand where all links with that word and kind of sign put it, and is worth as many
    jobs as they stray little. Sorted by kind, finding, cause; every link and base with enough jobs is reported, also
    those that stay.
    """
    groups = by_group(pooled)
    lessons = [lesson for name in knowledge.findings for lesson in _links(knowledge, name, rows, odds, groups)]
    lessons += _bases(knowledge, rows, odds)
    return tuple(sorted(lessons, key=lambda lesson: (lesson.kind, lesson.finding, lesson.cause)))


def _links(
    knowledge: Knowledge,
    name: str,
    rows: Sequence[Row],
    odds: Mapping[str, Mapping[str, float]],
    groups: Mapping[tuple[str, str], Factor],
) -> list[Lesson]:
    finding = knowledge.findings[name]
    if not finding.explained_by:
        return []
    words, learning = knowledge.settings.words, knowledge.settings.learning
    misread, mixed = seen_by(knowledge, name)
    shows = (1 - misread) * mixed  # the words mean marked faults; the record counts faults of any degree
    channel = channel_of_finding(knowledge, name) if groups else ""
    prior, worth = {}, {}
    for cause, word in finding.explained_by.items():
        group = groups.get((channel, word))
        share = words[word] * shows
        prior[cause] = share if group is None else shifted(share, math.log(group.factor))
        worth[cause] = learning.word_worth if group is None else max(learning.word_worth, group.worth)
    result = []
    for item in blamed(knowledge, name, rows, odds, least=learning.least_jobs, prior=prior, worth=worth):
        held, count = worth[item.cause], item.there
        mean, low, high = _interval(
            held * prior[item.cause] + item.seen, held * (1 - prior[item.cause]) + count - item.seen
        )
        mean, low, high = (min(value / shows, 1.0) for value in (mean, low, high))
        word = finding.explained_by[item.cause]
        near = nearest_word(mean, words, WORDS)
        sure = not low <= words[word] <= high
        result.append(
            Lesson("link", name, item.cause, float(count), item.seen, word, mean, low, high, near if sure else word)
        )
    return result


def _bases(knowledge: Knowledge, rows: Sequence[Row], odds: Mapping[str, Mapping[str, float]]) -> list[Lesson]:
    words, learning = knowledge.settings.base_words, knowledge.settings.learning
    result = []
    for name, cause in knowledge.causes.items():
        looked = sum(name in row.truths for row in rows)
        could = sum(name in row.truths or name in odds.get(row.name, {}) for row in rows)
        if looked < learning.least_jobs or looked < learning.looked_at * could:
            continue
        hits = sum(
            float(row.truths[name]) if name in row.truths else odds.get(row.name, {}).get(name, 0.0)
            for row in rows
            if name in row.truths or name in odds.get(row.name, {})
        )
        count = sum(name in row.truths or name in odds.get(row.name, {}) for row in rows)
        prior = words[cause.base]
        mean, low, high = _interval(
            learning.base_worth * prior + hits, learning.base_worth * (1 - prior) + count - hits
        )
        sure = not low <= prior <= high
        near = nearest_word(mean, words, BASE_WORDS)
        result.append(
            Lesson("base", "", name, float(count), hits, cause.base, mean, low, high, near if sure else cause.base)
        )
    return result


def proposals(lessons: Sequence[Lesson]) -> tuple[Lesson, ...]:
    """Lessons that would change a word, those with most jobs behind them first."""
    return tuple(
        sorted(
            (lesson for lesson in lessons if lesson.proposed != lesson.word),
            key=lambda lesson: (-lesson.jobs, lesson.finding, lesson.cause),
        )
    )
