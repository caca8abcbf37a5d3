"""How often each present cause was behind a finding, over closed jobs: blame shared out by expectation-maximisation.

A finding that is seen may be due to any present cause or to none. The share of the blame that falls on one link is
worked out from the words as they stand, summed, and the words estimated anew, until nothing moves. A cause that was
not looked at counts with the probability that was stated for it, never as absent.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..beliefs.speakers import seen_by
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from .row import Row

ROUNDS = 25


@dataclass(frozen=True, slots=True)
class Blamed:
    """One link over all jobs in which its cause was found and its sign was asked for."""

    finding: str
    cause: str
    seen: float
    """Jobs in which the sign was due to this cause (expected)."""
    there: int
    """Jobs in which the cause was there."""
    jobs: tuple[str, ...]
    """Their names."""


def blamed(
    knowledge: Knowledge,
    name: str,
    rows: Sequence[Row],
    odds: Mapping[str, Mapping[str, float]],
    *,
    least: int = 1,
    prior: Mapping[str, float] | None = None,
    worth: Mapping[str, float] | None = None,
) -> tuple[Blamed, ...]:
    """Links of one finding that at least `least` jobs speak of, in order of cause.

    `prior` gives cause -> share that stands beforehand (else the words), `worth` how many jobs it is worth.
    """
    words = knowledge.settings.words
    finding = knowledge.findings[name]
    misread, mixed = seen_by(knowledge, name)
    shows = (1 - misread) * mixed  # the words mean marked faults; the record counts faults of any degree
    leak = 1 - (1 - words[finding.otherwise or "never"]) * (1 - misread)
    before = (
        {cause: words[word] * shows for cause, word in finding.explained_by.items()} if prior is None else dict(prior)
    )
    rate = dict(before)
    told = [
        (row.findings[name], _presence(rate, row, odds.get(row.name, {})), row) for row in rows if name in row.findings
    ]
    known = {cause: [(seen, there, row.name) for seen, there, row in told if row.truths.get(cause)] for cause in rate}
    chosen = sorted(cause for cause, jobs in known.items() if len(jobs) >= max(least, 1))
    hits: dict[str, float] = dict.fromkeys(chosen, 0.0)
    for _ in range(ROUNDS if chosen else 0):
        moved = 0.0
        for cause in chosen:
            blame = 0.0
            for seen, there, _ in known[cause]:
                if seen:
                    dark = (1 - leak) * (1 - rate[cause])
                    for other, presence in there.items():
                        if other != cause:
                            dark *= 1 - presence * rate[other]
                    blame += rate[cause] / max(1 - dark, 1e-9)
            hits[cause] = min(blame, float(len(known[cause])))
            held = knowledge.settings.learning.word_worth if worth is None else worth[cause]
            new = (held * before[cause] + hits[cause]) / (held + len(known[cause]))
            moved = max(moved, abs(new - rate[cause]))
            rate[cause] = new
        if moved < 1e-5:
            break
    return tuple(
        Blamed(name, cause, hits[cause], len(known[cause]), tuple(job for _, _, job in known[cause]))
        for cause in chosen
    )


def _presence(rate: Mapping[str, float], row: Row, stated: Mapping[str, float]) -> dict[str, float]:
    """Cause -> 1 there, 0 not there, or the stated probability where it was not looked at."""
    return {cause: float(row.truths[cause]) if cause in row.truths else stated.get(cause, 0.0) for cause in rate}
