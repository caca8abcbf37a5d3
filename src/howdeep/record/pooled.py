"""What all closed jobs say together of the frequency words: one factor for each word and kind of sign.

A single link is seen too seldom: most would need hundreds of jobs each. But a word is used many times over, and if
customers say "it smokes" less often than "usually" claims, they do so for many faults alike. So the links with one
word, shown by one kind of speaker (told, tested, seen open), share a factor on their odds, and each link strays from
it by as much as the jobs show (beta-binomial; empirical Bayes, Casella 1985). With k of n jobs in which a present
fault showed the sign, and p what the word stands for there,

    k ~ BetaBinomial(n, a = m w, b = (1 - m) w),   logit m = logit p + log f

f is the factor, w the worth of the word in jobs: how far single links stray. Beforehand log f is 0 give or take
`SPREAD`. Nothing here changes a rule.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from ..beliefs.questions import all_facts
from ..beliefs.speakers import channel_of, readings_of, seen_by
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.terms import WORDS, Word
from .blame import Blamed, blamed
from .row import Row

SPREAD = 0.45
"""Spread of log f before any job: a word as it stands is then worth about twenty jobs (judgement)."""
WORTHS = (4.0, 8.0, 16.0, 32.0, 64.0, 128.0, 256.0)
"""Worths of a word that are tried: from links that go each their own way to links that all keep to it."""
BOUND = 3.0
"""Log f is looked for within this of 0: a factor of twenty either way."""
DROP = 1.92
"""Fall of the log likelihood at the ends of a 95 % interval (half of chi squared with one degree of freedom)."""
CHANNELS = ("talk", "test", "teardown")
Count = tuple[float, float, float]
"""(jobs in which it was seen by this cause, jobs in which the cause was there, what the word stands for there)."""


@dataclass(frozen=True, slots=True)
class Factor:
    """What the jobs say of one word as one kind of speaker shows it."""

    channel: str
    """talk, test or teardown."""
    word: Word
    links: int
    """Links that at least one job speaks of."""
    jobs: int
    """Closed jobs behind it."""
    sightings: float
    """Times that such a cause was there and the sign was asked for."""
    seen: float
    """Of them: times that it was due to the cause (expected)."""
    expected: float
    """Of them: times that the word as it stands would have brought it."""
    factor: float
    """On the odds of the word; 1 where the jobs agree with it."""
    low: float
    high: float
    """95 % interval (likelihood with what was held beforehand)."""
    worth: float
    """How many jobs a single link's word is worth beside them."""

    @property
    def speaks(self) -> bool:
        """Whether the jobs contradict the word."""
        return not self.low <= 1.0 <= self.high


def log_likelihood(counts: Sequence[Count], log_factor: float, worth: float) -> float:
    """Log likelihood of the counts, up to terms that hang on neither (the binomial coefficients)."""
    total = 0.0
    for seen, there, share in counts:
        mean = shifted(share, log_factor)
        a, b = mean * worth, (1 - mean) * worth
        total += _log_beta(seen + a, there - seen + b) - _log_beta(a, b)
    return total


def shifted(share: float, log_factor: float) -> float:
    """A share with its odds multiplied by exp(log_factor)."""
    held = min(max(share, 1e-6), 1 - 1e-6)
    return 1 / (1 + math.exp(-(math.log(held / (1 - held)) + log_factor)))


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)


def fit(counts: Sequence[Count]) -> tuple[float, float, float, float]:
    """(log f, low, high, worth) at the highest posterior; the interval is of the posterior profiled over the worths."""

    def profile(log_factor: float) -> tuple[float, float]:
        held = -0.5 * (log_factor / SPREAD) ** 2
        return max((log_likelihood(counts, log_factor, worth) + held, worth) for worth in WORTHS)

    best = _highest(lambda value: profile(value)[0], -BOUND, BOUND)
    top, worth = profile(best)
    low = _crossing(lambda value: profile(value)[0] - top + DROP, -BOUND, best)
    high = _crossing(lambda value: profile(value)[0] - top + DROP, BOUND, best)
    return best, low, high, worth


def _highest(curve: Callable[[float], float], low: float, high: float) -> float:
    """Place of the highest point of a curve with one summit (golden section, to 1e-5)."""
    golden = (math.sqrt(5) - 1) / 2
    one, other = high - golden * (high - low), low + golden * (high - low)
    at_one, at_other = curve(one), curve(other)
    while high - low > 1e-5:
        if at_one > at_other:
            high, other, at_other = other, one, at_one
            one = high - golden * (high - low)
            at_one = curve(one)
        else:
            low, one, at_one = one, other, at_other
            other = low + golden * (high - low)
            at_other = curve(other)
    return (low + high) / 2


def _crossing(curve: Callable[[float], float], outside: float, inside: float) -> float:
    """Where a curve that is above zero at `inside` comes down to zero towards `outside`; `outside` where it does
    not."""
    if curve(outside) > 0:
        return outside
    for _ in range(40):
        middle = (outside + inside) / 2
        if curve(middle) > 0:
            inside = middle
        else:
            outside = middle
    return (outside + inside) / 2


def factors(knowledge: Knowledge, rows: Sequence[Row], odds: Mapping[str, Mapping[str, float]]) -> tuple[Factor, ...]:
    """One factor for each kind of sign and word that some job speaks of, in that order.

    `rows` are closed jobs read with their findings; `odds` gives job -> cause -> stated probability.
    """
    groups: dict[tuple[str, Word], list[tuple[Blamed, float]]] = {}
    for name, finding in knowledge.findings.items():
        if not finding.explained_by:
            continue
        channel = channel_of_finding(knowledge, name)
        misread, mixed = seen_by(knowledge, name)
        for item in blamed(knowledge, name, rows, odds):
            word = finding.explained_by[item.cause]
            share = knowledge.settings.words[word] * (1 - misread) * mixed
            groups.setdefault((channel, word), []).append((item, share))
    return tuple(
        _factor(channel, word, groups[channel, word])
        for channel in CHANNELS
        for word in WORDS
        if (channel, word) in groups
    )


def _factor(channel: str, word: Word, links: Sequence[tuple[Blamed, float]]) -> Factor:
    counts = [(item.seen, float(item.there), share) for item, share in links]
    best, low, high, worth = fit(counts)
    return Factor(
        channel,
        word,
        len(links),
        len({job for item, _ in links for job in item.jobs}),
        sum(there for _, there, _ in counts),
        sum(seen for seen, _, _ in counts),
        sum(there * share for _, there, share in counts),
        math.exp(best),
        math.exp(low),
        math.exp(high),
        worth,
    )


def channel_of_finding(knowledge: Knowledge, finding: str) -> str:
    """Who shows a finding: talk, test or teardown."""
    facts = (fact for fact in all_facts(knowledge, finding) if not fact.startswith("engine."))
    return channel_of(knowledge, readings_of(knowledge, facts))


def by_group(found: Sequence[Factor]) -> dict[tuple[str, str], Factor]:
    """(channel, word) -> factor."""
    return {(item.channel, item.word): item for item in found}
