"""How far one number of the model may move before the recommendation does: flip points in closed form.

Every prior, link and leak enters each column linearly, and every expected cost is linear in the columns over one common
total, so two rungs tie where a straight line crosses zero. A frequency word stands for many numbers at once: not
linear, and summed anew.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..model.knowledge import RUNGS, Knowledge
from ..model.results import Flip
from ..pricing.money import cents
from ..reasoning.messages import messages_of
from ..reasoning.network import with_words
from ..reasoning.variants import only, sums_under
from .numbers import Numbers, every_number, percent
from .setting import Setting, coefficients_of, contending, lead_of


@dataclass(frozen=True, slots=True, eq=False)
class TippingPoint:
    """Where one number of the model moves the recommendation."""

    numbers: Numbers
    number: int
    at: float
    to: int
    """Rung that ties with the recommended one there."""
    lead_low: float
    """Expected cost of the recommended rung less that of its best rival at the number's low end."""
    lead_high: float


def tipping_points(setting: Setting, knowledge: Knowledge) -> list[TippingPoint]:
    """Base odds, links and leaks that would move the recommendation within one word either way."""
    messages = messages_of(setting.evidence, setting.ladder.allowed)
    numbers = every_number(setting, knowledge, messages)
    coefficients, sums, rung = coefficients_of(setting), messages.sums, setting.rung
    at, to = _nearest(rung, (coefficients - coefficients[rung]) @ sums,
                      numbers.slopes @ (coefficients - coefficients[rung]).T, numbers)
    found = []
    for number in np.flatnonzero(to >= 0).tolist():
        ends = [sums + (x - numbers.value[number]) * numbers.slopes[number]
                for x in (numbers.low[number], numbers.high[number])]
        leads = (lead_of(coefficients @ end / end[0], rung) for end in ends)
        found.append(TippingPoint(numbers, number, float(at[number]), int(to[number]), *leads))
    return found


def model_flips(setting: Setting, knowledge: Knowledge) -> list[Flip]:
    """The tipping points, said."""
    flips = []
    for point in tipping_points(setting, knowledge):
        numbers, number = point.numbers, point.number
        flips.append(Flip(numbers.kind(number), numbers.subject(number),
                          numbers.said(number, float(numbers.value[number])), numbers.said(number, point.at),
                          RUNGS[point.to], cents(point.lead_low), cents(point.lead_high)))
    return flips


def _nearest(rung: int, gaps: np.ndarray, slopes: np.ndarray, numbers: Numbers) -> tuple[np.ndarray, np.ndarray]:
    """[numbers] the nearest value between its ends at which another rung ties with the recommended one, and which rung;
    -1 where none does. `gaps` [rungs] and `slopes` [numbers, rungs] are of the other rung's cost above the recommended
    one's; of equally near rungs the shallowest."""
    value = numbers.value[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        at = value - np.maximum(gaps, 0.0) / slopes
        ties = (slopes != 0) & (numbers.low[:, None] <= at) & (at <= numbers.high[:, None]) & ~np.isnan(gaps)
    ties[:, rung] = False
    away = np.where(ties, np.abs(at - value), np.inf)
    to = away.argmin(axis=1)
    rows = np.arange(len(to))
    return at[rows, to], np.where(np.isfinite(away[rows, to]), to, -1)


def word_flips(setting: Setting, knowledge: Knowledge) -> list[Flip]:
    """Frequency words that would move the recommendation if they meant half a step less or more, wherever they stand.

    A word changes many links at once, which is not linear: each word and direction is summed anew, all side by side.
    """
    settings, (coefficients, allowed) = knowledge.settings, contending(setting)
    evidence = only(setting.evidence)
    used = set((np.unique(evidence.network.link_word) - 1).tolist()) | set(evidence.network.leak_word.tolist())
    values = sorted(settings.words.values())
    tried = []
    for number, (word, value) in enumerate(settings.words.items()):
        if number not in used:
            continue
        below = max((other for other in values if other < value), default=value / 2)
        above = min((other for other in values if other > value), default=(1 + value) / 2)
        tried += [(word, value, (value + below) / 2), (word, value, (value + above) / 2)]
    networks = [with_words(evidence.network, replace(settings, words={**settings.words, word: moved}))
                for word, _, moved in tried]
    flips = []
    for (word, value, moved), sums in zip(tried, sums_under(evidence, networks, allowed), strict=True):
        expected = coefficients @ sums
        if lead_of(expected, setting.rung) > 0.005:
            flips.append(Flip("word", word, percent(value), percent(moved), RUNGS[int(np.nanargmin(expected))]))
    return flips
