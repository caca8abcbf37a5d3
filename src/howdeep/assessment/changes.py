"""What would change the answer: outcomes of open checks, given answers being wrong, base odds one word off, prices.

Each is a whole re-assessment with that one thing changed, and each is compared with the answer that stands if nothing
more is checked. The tie between two base words is found by bisection. How many are tried is bounded, the likeliest
suspects and the most telling answers first; so a change that is not named is not thereby impossible.
"""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any

import numpy as np

from ..beliefs.network import LEAST, Network
from ..beliefs.speakers import readings_of
from ..knowledge.questions import taken_as_sound
from ..logic.evaluate import evaluate_all
from ..model.condition import facts_read, findings_read
from ..model.frozen import dataclass
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment, Flip
from ..model.terms import BASE_WORDS
from ..pricing.money import cents, read_money
from ..pricing.stand_ins import times as stand_ins_times
from ..work.job_network import network_for
from .assess import answer_in_short
from .facts import facts_of

SUSPECTS = 4
"""Causes whose base odds are moved."""
ANSWERS = 6
"""Given answers that are taken as mistaken."""
HALVINGS = 5
"""Bisections of a tie between two base words: to a thirtieth of their distance in log odds."""
HALF, DOUBLE = Decimal("0.5"), Decimal(2)
STAND_INS = "stand_ins"
"""Subject of a flip: what stands in for the prices that the list lacks, all of it together."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One job as it stands, ready to be asked again with something changed."""

    knowledge: Knowledge
    answer: Assessment
    prices: PriceList | None

    def again(
        self, *, job: OpenJob | None = None, prices: PriceList | None = None, network: Network | None = None
    ) -> str:
        """The answer in short with another job, other prices or another network; what is not given stays."""
        if job is None or job.values == self.answer.job.values:
            facts, findings = self.answer.facts, self.answer.conclusions.findings
        else:
            facts, _ = facts_of(self.knowledge, job)
            findings = evaluate_all(self.knowledge, facts.values)
        return answer_in_short(self.knowledge, job or self.answer.job, facts, findings, prices or self.prices, network)


def with_changes(knowledge: Knowledge, answer: Assessment, prices: PriceList | None) -> Assessment:
    """The same assessment with `flips` filled."""
    asked = Asked(knowledge, answer, prices)
    now = asked.again()
    flips = (*_open(answer, now), *_given(asked, now), *_base_odds(asked, now), *_money(asked, now))
    return dataclasses.replace(answer, flips=flips)


def _open(answer: Assessment, now: str) -> Iterator[Flip]:
    """Outcomes of open checks that lead elsewhere, as far as that was worked out."""
    for check in answer.checks:
        for outcome in check.outcomes:
            if outcome.leads_to and outcome.leads_to != now:
                yield Flip("open", check.check, "", outcome.title, outcome.leads_to)


def telling_answers(knowledge: Knowledge, answer: Assessment) -> list[str]:
    """Questions whose given answer counts as a sign, those that say most of the likeliest suspects first."""
    weight: dict[str, float] = {}
    for belief in answer.beliefs[:SUSPECTS]:
        for step in belief.steps:
            if step.kind == "present":
                weight[step.label] = max(weight.get(step.label, 0.0), abs(step.decibans))
    found: dict[str, None] = {}
    for finding in sorted(answer.counted.present, key=lambda name: (-round(weight.get(name, 0.0), 9), name)):
        for name in sorted(_observations(knowledge, finding)):
            item = knowledge.observations[name]
            value = answer.job.values.get(name)
            if (
                item.kind == "choice"
                and not item.each
                and isinstance(value, str)
                and (sound := sound_answers(knowledge, name))
                and value not in sound
            ):
                found[name] = None
    return list(found)


def sound_answers(knowledge: Knowledge, name: str) -> tuple[str, ...]:
    """Answers that a sound engine gives to a question; none where no answer is one."""
    return taken_as_sound(knowledge.observations[name])


def _observations(knowledge: Knowledge, finding: str) -> frozenset[str]:
    """Observations that a finding reads, directly or through others."""
    when = knowledge.findings[finding].when
    own = readings_of(knowledge, (fact for fact in facts_read(when) if not fact.startswith("engine.")))
    return frozenset(name for name in own if name in knowledge.observations).union(
        *(_observations(knowledge, other) for other in findings_read(when))
    )


def as_sound(knowledge: Knowledge, job: OpenJob, name: str) -> OpenJob:
    """The job with one question answered as a sound engine would."""
    return dataclasses.replace(job, values={**job.values, name: sound_answers(knowledge, name)[0]})


def _given(asked: Asked, now: str) -> Iterator[Flip]:
    """Given answers that, taken as sound, lead elsewhere."""
    job = asked.answer.job
    for name in telling_answers(asked.knowledge, asked.answer)[:ANSWERS]:
        to = asked.again(job=as_sound(asked.knowledge, job, name))
        if to != now:
            words = asked.knowledge.observations[name].answers
            value = str(job.values[name])
            sound = sound_answers(asked.knowledge, name)[0]
            yield Flip("answer", name, words.get(value, value), words.get(sound, sound), to)


def with_base(network: Network, cause: str, probability: float) -> Network:
    """The same network with another base probability of one cause; history shifts it as before."""
    place = network.causes.index(cause)
    shift = _log_odds(probability) - _log_odds(float(network.base[place]))
    base, prior = network.base.copy(), network.prior.copy()
    base[place] = probability
    moved = 1 / (1 + math.exp(-(_log_odds(float(prior[place])) + shift)))
    prior[place] = np.clip(moved, LEAST, 1 - LEAST)
    return dataclasses.replace(network, base=base, prior=prior)


def _log_odds(probability: float) -> float:
    return math.log(probability / (1 - probability))


def _base_odds(asked: Asked, now: str) -> Iterator[Flip]:
    """Suspects whose base odds, one word lower or higher, lead elsewhere; from where on."""
    answer, knowledge = asked.answer, asked.knowledge
    words = knowledge.settings.base_words
    network = network_for(knowledge, answer.job, answer.facts, answer.conclusions.findings)

    def said(cause: str, probability: float) -> str:
        return asked.again(network=with_base(network, cause, probability))

    def stays(cause: str, probability: float) -> bool:
        return said(cause, probability) == now

    for belief in answer.beliefs[:SUSPECTS]:
        word = knowledge.causes[belief.cause].base
        place = BASE_WORDS.index(word)
        for other in (place - 1, place + 1):
            if not 0 <= other < len(BASE_WORDS):
                continue
            here, there = words[word], words[BASE_WORDS[other]]
            if said(belief.cause, there) == now:
                continue
            tie = _tie(functools.partial(stays, belief.cause), here, there)
            yield Flip(
                "prior",
                belief.cause,
                f"{100 * here:.2g} %",
                f"{100 * tie:.2g} % or {'less' if other < place else 'more'}",
                said(belief.cause, tie),
            )


def _tie(stays: Callable[[float], bool], stay: float, leave: float) -> float:
    """The probability nearest to `stay`, of those tried between it and `leave`, at which the answer has changed."""
    near, far = _log_odds(stay), _log_odds(leave)
    for _ in range(HALVINGS):
        middle = (near + far) / 2
        if stays(1 / (1 + math.exp(-middle))):
            near = middle
        else:
            far = middle
    return 1 / (1 + math.exp(-far))


def gap_flips(knowledge: Knowledge, answer: Assessment, prices: PriceList) -> tuple[Flip, ...]:
    """Where the answer goes if what stands in for prices that the list lacks is half or double; empty where nowhere."""
    asked = Asked(knowledge, answer, prices)
    return tuple(_gaps(asked, asked.again())) if prices.stand_ins and answer.decision.missing else ()


def _gaps(asked: Asked, now: str) -> Iterator[Flip]:
    assert asked.prices is not None
    for factor, word in ((HALF, "half"), (DOUBLE, "double")):
        to = asked.again(prices=stand_ins_times(asked.prices, factor))
        if to != now:
            yield Flip("money", STAND_INS, "as the example has them", word, to)


def _money(asked: Asked, now: str) -> Iterator[Flip]:
    """Prices and terms that at half or double lead elsewhere."""
    if asked.prices is None:
        return
    if asked.prices.stand_ins and asked.answer.decision.missing:
        yield from _gaps(asked, now)
    currency = asked.prices.currency
    for name in ("labour_rate", "comeback_charge", "growth_charge"):
        amount = read_money(getattr(asked.prices, name) or "0", currency)
        for times in (HALF, DOUBLE):
            if amount:
                to = asked.again(prices=priced(asked.prices, name, times))
                if to != now:
                    yield Flip("money", name, _sum(currency, amount), _sum(currency, amount * times), to)
    text = asked.answer.job.job.customer.value_running or asked.answer.job.engine.value_running
    worth = read_money(text, currency) if text else None
    for times in (HALF, DOUBLE):
        if worth:
            to = asked.again(job=worth_times(asked.answer.job, worth * times))
            if to != now:
                yield Flip("money", "value_running", _sum(currency, worth), _sum(currency, worth * times), to)


def priced(prices: PriceList, name: str, times: Decimal) -> PriceList:
    """The price list with one term so many times as high; growth takes its surcharge with it."""
    amount = read_money(getattr(prices, name), prices.currency) * times
    changed: dict[str, Any] = {name: f"{cents(amount)}"}
    if name == "growth_charge":
        changed["growth_factor"] = f"{1 + (Decimal(prices.growth_factor) - 1) * times}"
    return dataclasses.replace(prices, **changed)


def worth_times(job: OpenJob, worth: Decimal) -> OpenJob:
    """The job with another value of the machine running."""
    customer = dataclasses.replace(job.job.customer, value_running=f"{cents(worth)}")
    return dataclasses.replace(job, job=dataclasses.replace(job.job, customer=customer))


def _sum(currency: str, amount: Decimal) -> str:
    return f"{currency} {amount:,.0f}"
