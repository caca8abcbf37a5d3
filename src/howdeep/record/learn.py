"""What the shop's own jobs say of the frequency words and base odds: proposals, never applied by themselves.

A frequency word is "if this cause is present, how often would you see this?". In a noisy-OR model a finding that is
seen may be due to any present cause, so the share of the blame that falls on one link is worked out and summed
(expectation-maximisation), with a beta prior whose mean is the word as it stands and whose worth is stated. A cause
that was not looked at is unknown: it counts with the probability that was stated for it, never as absent.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..beliefs.network import seen_by
from ..model.knowledge import BASE_WORDS, WORDS, Knowledge
from .row import Row

PRIOR_WORTH = 20.0
"""A word as it stands is worth so many jobs seen (judgement)."""
BASE_WORTH = 50.0
"""Base odds as they stand are worth so many jobs (judgement)."""
LEAST_JOBS = 12
"""With fewer jobs in which the cause was there, nothing is proposed."""
LOOKED_AT = 0.8
"""Base odds are learned only where the cause was looked at in this share of the jobs: who looks where he suspects finds
more than there is."""
ROUNDS = 25


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


def nearest_word(probability: float, words: Mapping[str, float], order: Sequence[str]) -> str:
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


def learn(knowledge: Knowledge, rows: Sequence[Row], odds: Mapping[str, Mapping[str, float]]) -> tuple[Lesson, ...]:
    """Lessons from closed jobs (rows read with their findings); `odds` gives job -> cause -> stated probability.

    Sorted by kind, finding, cause; every link and base with enough jobs is reported, also those that stay.
    """
    lessons = [lesson for name in knowledge.findings for lesson in _links(knowledge, name, rows, odds)]
    lessons += _bases(knowledge, rows, odds)
    return tuple(sorted(lessons, key=lambda lesson: (lesson.kind, lesson.finding, lesson.cause)))


def _links(knowledge: Knowledge, name: str, rows: Sequence[Row],
           odds: Mapping[str, Mapping[str, float]]) -> list[Lesson]:
    finding = knowledge.findings[name]
    if not finding.explained_by:
        return []
    words = knowledge.settings.words
    misread, mixed = seen_by(knowledge, name)
    shows = (1 - misread) * mixed  # the words mean marked faults; the record counts faults of any degree
    leak = 1 - (1 - words[finding.otherwise or "never"]) * (1 - misread)
    rate = {cause: words[word] * shows for cause, word in finding.explained_by.items()}
    prior = dict(rate)
    told = [(row.findings[name], _presence(rate, row, odds.get(row.name, {})), row) for row in rows
            if name in row.findings]
    known = {cause: [(seen, there) for seen, there, row in told if row.truths.get(cause)] for cause in rate}
    chosen = {cause for cause, jobs in known.items() if len(jobs) >= LEAST_JOBS}
    if not chosen:
        return []
    hits: dict[str, float] = {}
    for _ in range(ROUNDS):
        moved = 0.0
        for cause in sorted(chosen):
            blame = 0.0
            for seen, there in known[cause]:
                if seen:
                    dark = (1 - leak) * (1 - rate[cause])
                    for other, presence in there.items():
                        if other != cause:
                            dark *= 1 - presence * rate[other]
                    blame += rate[cause] / max(1 - dark, 1e-9)
            hits[cause] = min(blame, float(len(known[cause])))
            new = (PRIOR_WORTH * prior[cause] + hits[cause]) / (PRIOR_WORTH + len(known[cause]))
            moved = max(moved, abs(new - rate[cause]))
            rate[cause] = new
        if moved < 1e-5:
            break
    result = []
    for cause in sorted(chosen):
        count = len(known[cause])
        mean, low, high = _interval(PRIOR_WORTH * prior[cause] + hits[cause],
                                    PRIOR_WORTH * (1 - prior[cause]) + count - hits[cause])
        mean, low, high = (min(value / shows, 1.0) for value in (mean, low, high))
        word = finding.explained_by[cause]
        near = nearest_word(mean, words, WORDS)
        sure = not low <= words[word] <= high
        result.append(Lesson("link", name, cause, float(count), hits[cause], word, mean, low, high,
                             near if sure else word))
    return result


def _presence(rate: Mapping[str, float], row: Row, stated: Mapping[str, float]) -> dict[str, float]:
    """Cause -> 1 there, 0 not there, or the stated probability where it was not looked at."""
    return {cause: float(row.truths[cause]) if cause in row.truths else stated.get(cause, 0.0) for cause in rate}


def _bases(knowledge: Knowledge, rows: Sequence[Row], odds: Mapping[str, Mapping[str, float]]) -> list[Lesson]:
    words = knowledge.settings.base_words
    result = []
    for name, cause in knowledge.causes.items():
        looked = sum(name in row.truths for row in rows)
        could = sum(name in row.truths or name in odds.get(row.name, {}) for row in rows)
        if looked < LEAST_JOBS or looked < LOOKED_AT * could:
            continue
        hits = sum(float(row.truths[name]) if name in row.truths else odds.get(row.name, {}).get(name, 0.0)
                   for row in rows if name in row.truths or name in odds.get(row.name, {}))
        count = sum(name in row.truths or name in odds.get(row.name, {}) for row in rows)
        prior = words[cause.base]
        mean, low, high = _interval(BASE_WORTH * prior + hits, BASE_WORTH * (1 - prior) + count - hits)
        sure = not low <= prior <= high
        near = nearest_word(mean, words, BASE_WORDS)
        result.append(Lesson("base", "", name, float(count), hits, cause.base, mean, low, high,
                             near if sure else cause.base))
    return result


def proposals(lessons: Sequence[Lesson]) -> tuple[Lesson, ...]:
    """Lessons that would change a word, those with most jobs behind them first."""
    return tuple(sorted((lesson for lesson in lessons if lesson.proposed != lesson.word),
                        key=lambda lesson: (-lesson.jobs, lesson.finding, lesson.cause)))
