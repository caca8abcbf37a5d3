"""How far one number of the model may move before the recommendation does: flip points in closed form.

Every prior, link and leak enters each column linearly, and every expected cost is linear in the columns over one common
total, so two rungs tie where a straight line crosses zero. Money enters the costs linearly and the columns not at all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from ..model.knowledge import RUNGS, Knowledge, Rung
from ..model.results import Flip
from ..pricing.money import cents
from ..reasoning.elimination import on_network
from ..reasoning.messages import messages_of, sums_of
from ..reasoning.network import LEAST, Network, with_words
from .setting import Setting, coefficients_of, contending, with_costs

CHARGE_RANGE = (0.0, 3.0)
"""The comeback charge is tried from nothing to three times what it is."""
LABOUR_RANGE = (0.7, 1.5)
"""So is the labour rate."""


@dataclass(frozen=True, slots=True, eq=False)
class Number:
    """One number of the model and how the columns move with it."""

    kind: str
    subject: str
    value: float
    low: float
    high: float
    slope: np.ndarray
    """[columns] change of the sums per unit."""
    said: Callable[[float], str]
    """How a value of it is said."""


@dataclass(frozen=True, slots=True, eq=False)
class TippingPoint:
    """Where one number of the model moves the recommendation."""

    number: Number
    at: float
    to: int
    """Rung that ties with the recommended one there."""
    lead_low: float
    """Expected cost of the recommended rung less that of its best rival at the number's low end."""
    lead_high: float


def tipping_points(setting: Setting, knowledge: Knowledge) -> list[TippingPoint]:
    """Base odds, links and leaks that would move the recommendation within one word either way."""
    messages = messages_of(setting.evidence, setting.ladder.allowed)
    numbers = list(_numbers(setting, knowledge, messages))
    if not numbers:
        return []
    coefficients, sums, rung = coefficients_of(setting), messages.sums, setting.rung
    gaps = (coefficients - coefficients[rung]) @ sums
    gap_slopes = np.array([number.slope for number in numbers]) @ (coefficients - coefficients[rung]).T
    found = []
    for number, moving in zip(numbers, gap_slopes, strict=True):
        nearest = _nearest(rung, gaps, moving, number.value, number.low, number.high)
        if nearest is not None:
            ends = [sums + (x - number.value) * number.slope for x in (number.low, number.high)]
            found.append(TippingPoint(number, *nearest, *(_lead(coefficients @ end / end[0], rung) for end in ends)))
    return found


def model_flips(setting: Setting, knowledge: Knowledge) -> list[Flip]:
    """The tipping points, said."""
    return [Flip(point.number.kind, point.number.subject, point.number.said(point.number.value),
                 point.number.said(point.at), RUNGS[point.to], cents(point.lead_low), cents(point.lead_high))
            for point in tipping_points(setting, knowledge)]


def _lead(expected: np.ndarray, rung: int) -> float:
    """Expected cost of the recommended rung less that of its best rival."""
    rivals = [cost for other, cost in enumerate(expected) if other != rung and cost == cost]
    return float(expected[rung] - min(rivals, default=expected[rung]))


def _nearest(rung: int, gaps: np.ndarray, slopes: np.ndarray, value: float, low: float,
             high: float) -> tuple[float, int] | None:
    """The nearest value from low to high at which another rung ties with the recommended one, and which."""
    best: tuple[float, float, int] | None = None
    for other in range(len(RUNGS)):
        gap, slope = float(gaps[other]), float(slopes[other])
        if other == rung or gap != gap or not slope:
            continue
        at = value - max(gap, 0.0) / slope
        if low <= at <= high and (best is None or (abs(at - value), other) < (best[0], best[2])):
            best = (abs(at - value), at, other)
    return None if best is None else (best[1], best[2])


def _numbers(setting: Setting, knowledge: Knowledge, messages) -> Iterator[Number]:
    evidence, network = setting.evidence, setting.network
    off, on = messages.parts()
    ladder_of_bases = sorted(knowledge.settings.base_words.values())
    for number, cause in enumerate(network.causes):
        prior = float(network.prior[number])
        low, high = _base_step(ladder_of_bases, float(network.base[number]), prior)
        spared = evidence.odds[number] * (1 - prior) / prior
        yield Number("prior", cause, prior, low, high, (spared * on[number] - off[number]) / (1 - prior), _percent)
    links, leaks = messages.slopes()
    for number in range(len(network.causes)):
        for finding in evidence.absent:
            if network.q[number, finding] > 0:
                links[number, finding] = -evidence.odds[number] * on[number] / (1 - network.q[number, finding])
    for (number, finding), slope in sorted(links.items()):
        word = int(network.link_word[number, finding]) - 1
        yield _word_number(network, "link", f"{network.findings[finding]} given {network.causes[number]}", word,
                           float(network.q[number, finding]), _shown, slope, network.misread_of(finding))
    for finding, slope in sorted(leaks.items()):
        yield _word_number(network, "link", f"{network.findings[finding]} otherwise", int(network.leak_word[finding]),
                           float(network.leak[finding]), _leaked, slope, network.misread_of(finding))


def _shown(value: float, misread: float) -> float:
    return min(value * (1 - misread), 1 - LEAST)


def _leaked(value: float, misread: float) -> float:
    return min(max(1 - (1 - value) * (1 - misread), LEAST), 1 - LEAST)


def _word_number(network: Network, kind: str, subject: str, word: int, value: float,
                 applied: Callable[[float, float], float], slope: np.ndarray, misread: float) -> Number:
    """A number that a frequency word stands for, from one word lower to one word higher."""
    order = sorted(range(len(network.words)), key=lambda index: network.word_values[index])
    place = order.index(word)
    near = (order[max(0, place - 1)], order[min(len(order) - 1, place + 1)])
    low, high = (applied(network.word_values[index], misread) for index in near)

    def said(x: float) -> str:
        return network.words[word] if x == value else network.words[near[0] if x < value else near[1]]

    return Number(kind, subject, value, low, high, slope, said)


def _base_step(bases: list[float], base: float, prior: float) -> tuple[float, float]:
    """The prior with the base word one step lower and one step higher, history kept."""
    lower = max((value for value in bases if value < base * 0.999), default=base / 2.5)
    higher = min((value for value in bases if value > base * 1.001), default=min(0.5, base * 2))
    shift = _logit(prior) - _logit(base)
    return tuple(float(np.clip(1 / (1 + np.exp(-_logit(value) - shift)), LEAST, 1 - LEAST))
                 for value in (lower, higher))


def _logit(p: float) -> float:
    return float(np.log(p / (1 - p)))


def _percent(probability: float) -> str:
    """Two figures: '0.42 %', '4.2 %', '42 %'."""
    percent = 100 * probability
    digits = 2 if percent < 0.95 else 1 if percent < 9.5 else 0
    return f"{percent:.{digits}f} %"


def word_flips(setting: Setting, knowledge: Knowledge) -> list[Flip]:
    """Frequency words that would move the recommendation if they meant half a step less or more, wherever they stand.

    A word changes many links at once, which is not linear: one fresh pass for each word and direction.
    """
    flips = []
    settings, (coefficients, allowed) = knowledge.settings, contending(setting)
    used = set((np.unique(setting.network.link_word) - 1).tolist()) | set(setting.network.leak_word.tolist())
    values = sorted(settings.words.values())
    for number, (word, value) in enumerate(settings.words.items()):
        if number not in used:
            continue
        below = max((other for other in values if other < value), default=value / 2)
        above = min((other for other in values if other > value), default=(1 + value) / 2)
        for moved in ((value + below) / 2, (value + above) / 2):
            network = with_words(setting.network, replace(settings, words={**settings.words, word: moved}))
            sums, _, _ = sums_of(on_network(setting.evidence, network), allowed)
            expected = coefficients @ sums
            if _lead(expected, setting.rung) > 0.005:
                flips.append(Flip("word", word, _percent(value), _percent(moved), RUNGS[int(np.nanargmin(expected))]))
    return flips


def money_flips(setting: Setting, labour: Mapping[Rung, float] | None = None, rate: float | None = None) -> list[Flip]:
    """Comeback charge and labour rate at which the recommendation would move.

    `labour` is what each rung's work costs in labour (and what is charged as a share of it) at `rate` an hour.
    """
    flips = []
    charge = setting.terms.comeback_charge

    def with_charge(x: float) -> np.ndarray:
        terms = replace(setting.terms, comeback_charge=x)
        return with_costs(setting, terms=terms).expected

    flips += _money_flip(setting.rung, "comeback charge", charge, CHARGE_RANGE, with_charge)
    if labour is not None and rate:
        wages = tuple(float(labour[rung]) for rung in RUNGS)

        def with_rate(x: float) -> np.ndarray:
            prices = tuple(price + wage * (x / rate - 1) for price, wage in zip(setting.prices, wages, strict=True))
            return with_costs(setting, prices=prices).expected

        flips += _money_flip(setting.rung, "labour rate", rate, LABOUR_RANGE, with_rate)
    return flips


def _money_flip(rung: int, subject: str, value: float, span: tuple[float, float],
                expected: Callable[[float], np.ndarray]) -> list[Flip]:
    low, high = value * span[0], value * span[1]
    flips = []
    now = expected(value)
    for end in (low, high):
        then = expected(end)
        if end == value or _lead(then, rung) <= 0.005:
            continue
        to = int(np.nanargmin(then))
        # straight between the ends unless a price overtakes another on the way; halving settles both
        inside, outside = value, end
        at = value + (end - value) * (now[to] - now[rung]) / ((now[to] - now[rung]) - (then[to] - then[rung]))
        if abs(_lead(expected(at), rung)) > 1e-6:
            for _ in range(50):
                at = (inside + outside) / 2
                inside, outside = (at, outside) if _lead(expected(at), rung) <= 0 else (inside, at)
            to = int(np.nanargmin(np.where(np.arange(len(now)) == rung, np.inf, expected(at))))
        leads = (cents(_lead(expected(low), rung)), cents(_lead(expected(high), rung)))
        flips.append(Flip("money", subject, f"{cents(value)}", f"{cents(at)}", RUNGS[to], *leads))
    return flips
