"""What a question at the counter is worth: how far its answer would move who has a hand in it, the bill, and the kind.

One measure for signs and for history alike. An answer that is a sign comes with the chance that the network gives it;
an answer that only shifts base odds (hours, standing, storage) has none there, so such answers count alike (judgement;
the measure only orders questions and says when to stop, it never enters the answer). For each answer the chances of a
hand are worked out anew, and the question is worth

    sum over answers of chance x ( HOURS x half the sum over causes of |hand after - hand before|
                                   + BILL x |expected cost of the cures after - before|
                                   + DANGER where the answer forbids running
                                   + PROMISE x share of the way to a promise
                                   + SHOWS where nothing has shown yet and the answer is a sign of trouble )

in minutes of labour: a suspect parted from another saves about an hour of looking, a bill that is known better saves a
share of the difference, an engine that must not be run is found out, and what can be promised need not be begun with
and looked at again. Exact for the questions at the front of a
screening in which causes are independent given what is known; the screening's own figure for the others.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from typing import TypeVar

import numpy as np

from ..arrays import Bools, Floats, Ints
from ..beliefs.evidence import Evidence
from ..beliefs.network import Network
from ..beliefs.posteriors import posteriors_after
from ..beliefs.signs import Signs
from ..logic.evaluate import evaluate
from ..model.condition import facts_read
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.question_worth import AnswerMoves, QuestionWorth
from ..model.truth import Truth
from ..model.values import Values
from .open_checks import OpenCheck
from .outcome_columns import Answered, factors_of
from .outcomes import answered_by
from .what_if import Known, findings_if, known_of, reactions_of

HOURS = 1.0
"""Hours of looking that one whole suspect parted from another saves (judgement)."""
BILL = 0.1
"""Share of a difference of the expected bill that knowing it is worth at the counter (judgement)."""
DANGER = 0.3
"""Hours that finding out is worth that an engine must not be run (judgement)."""
PROMISE = 0.5
"""Hours that it saves where the cheapest job can be promised and need not be begun with: a second visit (judgement)."""
SHOWS = 0.25
"""Hours that a first sign saves while nothing has shown: what was noticed can be parted, what was not cannot
(judgement)."""
DECIDES = 0.25
"""Share of the way to a promise below which an answer decides nothing (judgement)."""
CELLS = 12_000
"""Cells of the tables that are worked out exactly; the questions behind are only screened."""
LEAST_CHANCE = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """How near the cheapest job is to what may be promised."""

    left: Bools
    """[causes] which of them the job leaves."""
    enough: float
    """Chance that everything noticed goes away by it."""
    floor: float
    """Chance from which on the shop promises."""

    def share(self, before: Floats, after: Floats) -> Floats:
        """[answers] how much of the way to a promise each answer goes, from a quarter to 1; 0 where it goes less. What
        the job leaves is taken as if its causes were independent. `before` [causes] and `after` [answers, causes] are
        hands."""
        if self.enough >= self.floor:
            return np.zeros(len(after))
        kept = np.maximum(1 - np.vstack([before, after])[:, self.left], LEAST_CHANCE).prod(axis=1)
        now = self.enough * kept[1:] / kept[0]
        share = np.clip((now - self.enough) / (self.floor - self.enough), 0.0, 1.0)
        return np.where(share >= DECIDES, share, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Counter:
    """What is known at the counter, ready for what-if questions."""

    evidence: Evidence
    network: Network
    signs: Signs
    known: Known
    hands: Floats
    """[causes] chance of a hand in what was noticed."""
    costs: Floats
    """[causes] what its cure costs by itself, 0 where unknown."""
    rate: float
    """Money an hour of labour costs; 1 without prices."""
    dangers: Mapping[str, tuple[bool, ...]]
    """Question -> per answer whether it forbids running."""
    reach: Reach
    nobody: float = 0.0
    """Chance that nobody is behind what must go, before that was ruled out."""
    factors: dict[int, list[tuple[float, Floats]]] = field(default_factory=dict)
    """Columns of the outcomes, by their identity: each is worked out once, for the screening and the exact pass."""

    def factors_of(self, answer: Answered) -> list[tuple[float, Floats]]:
        """(signed weight of the leaks, [degrees, causes] factor of the odds) of each column of an outcome."""
        if id(answer) not in self.factors:
            self.factors[id(answer)] = factors_of(self.evidence, answer)
        return self.factors[id(answer)]


def question_worths(
    knowledge: Knowledge,
    facts: Values,
    findings: Mapping[str, Truth],
    network: Network,
    signs: Signs,
    evidence: Evidence,
    hands: Mapping[str, float],
    costs: Mapping[str, float],
    rate: float,
    offered: Sequence[OpenCheck],
    reach: Reach,
    nobody: float = 0.0,
) -> tuple[QuestionWorth, ...]:
    """Every offered question with its worth, the most worthwhile first.

    Of offered follow-ups whose ground is not known yet only the worth goes to the question that they wait for.
    `hands` and `costs`: cause -> chance of a hand, and cost of its cure; `rate`: labour an hour, 1 without prices;
    `nobody`: chance that nobody is behind what must go, before that was ruled out.
    """
    known = known_of(knowledge, facts, findings)
    changes = {
        question.check: [findings_if(known, outcome.facts) for outcome in question.outcomes] for question in offered
    }
    here = Counter(
        evidence,
        network,
        signs,
        known,
        np.array([hands[cause] for cause in network.causes]),
        np.array([costs.get(cause, 0.0) for cause in network.causes]),
        rate,
        {name: tuple(_forbids(known, changed) for changed in each) for name, each in changes.items()},
        reach,
        nobody,
    )
    answered = answered_by(network, signs, known, offered, changes)
    shifts = {
        question.check: tuple(_history_factor(here, outcome.facts) for outcome in question.outcomes)
        for question in offered
    }
    screened = _worths(
        here, offered, answered, _screened(here, _of_all(offered, answered), _of_all(offered, shifts)), here.hands
    )
    order = sorted(offered, key=lambda question: (-screened[question.check].worth, question.check))
    found = _with_followers(here, offered, {**screened, **_exact(here, order, answered, shifts)})
    return tuple(sorted(found, key=lambda item: (-round(item.worth, 6), item.observation)))


def _with_followers(
    here: Counter, offered: Sequence[OpenCheck], found: Mapping[str, QuestionWorth]
) -> list[QuestionWorth]:
    """The questions that have their ground; each is worth as well what its answers would bring up: by the chance of
    each answer, the most that a follow-up of it would be worth."""
    knowledge, facts = here.known.knowledge, here.known.facts
    limits = {name: limit.value for name, limit in knowledge.limits.items()}
    grounds = {
        name: ground
        for name in found
        if (ground := knowledge.observations[name].follows) is not None
        and evaluate(ground, facts, {}, limits) is not Truth.PRESENT
    }
    pairs = [
        (asked, answer, name)
        for name, ground in grounds.items()
        for asked in sorted(facts_read(ground) & found.keys() - grounds.keys())
        for answer in found[asked].answers
        if evaluate(ground, {**facts, asked: answer.answer}, {}, limits) is Truth.PRESENT
    ]
    joint = _joint(here, {item.check: item for item in offered}, pairs)
    brought: dict[str, dict[str, tuple[float, float]]] = {}
    for asked, answer, name in pairs:
        worth = joint.get((asked, answer.answer, name), found[name].worth)
        most = brought.setdefault(asked, {})
        most[answer.answer] = max(most.get(answer.answer, (0.0, 0.0)), (worth, answer.chance))
    return [
        replace(item, worth=item.worth + sum(worth * chance for worth, chance in brought.get(name, {}).values()))
        for name, item in found.items()
        if name not in grounds
    ]


def _joint(
    here: Counter, offered: Mapping[str, OpenCheck], pairs: Sequence[tuple[str, AnswerMoves, str]]
) -> dict[tuple[str, str, str], float]:
    """(question, answer, follow-up) -> what the follow-up would be worth after it, screened, where history reads both:
    what was done last and whether the trouble began with it say nothing one by one."""
    reads = reactions_of(here.known.knowledge).history_reads
    made = {
        (asked, answer.answer, name): replace(
            offered[name],
            check=f"{name} after {asked} {answer.answer}",
            outcomes=tuple(
                replace(outcome, facts={asked: answer.answer, **outcome.facts}) for outcome in offered[name].outcomes
            ),
        )
        for asked, answer, name in pairs
        if asked in reads and name in reads
    }
    questions = list(made.values())
    answered = answered_by(here.network, here.signs, here.known, questions)
    here = replace(here, factors={}, dangers={item.check: (False,) * len(item.outcomes) for item in questions})
    shifts = {item.check: [_history_factor(here, outcome.facts) for outcome in item.outcomes] for item in questions}
    worths = _worths(
        here, questions, answered, _screened(here, _of_all(questions, answered), _of_all(questions, shifts)), here.hands
    )
    return {key: worths[question.check].worth for key, question in made.items()}


def _forbids(known: Known, changed: Mapping[str, Truth]) -> bool:
    """Whether one of these changed findings forbids running."""
    return any(
        truth is Truth.PRESENT and known.knowledge.findings[name].forbids_running for name, truth in changed.items()
    )


def _history_factor(here: Counter, given: Values) -> Floats | None:
    """[causes] what the odds are multiplied with by the history rules that would come or go; None where none would."""
    reactions = reactions_of(here.known.knowledge)
    if not reactions.history_reads & given.keys():
        return None
    facts = {**here.known.facts, **given}
    number = {cause: place for place, cause in enumerate(here.network.causes)}
    standing = {name for name, _ in here.network.history}
    shift = np.zeros(len(number))
    for name, holds, reads in reactions.history:
        if not reads & given.keys():
            continue
        now = holds(facts, here.known.truths) is True
        if now != (name in standing):
            for cause, decibans in here.known.knowledge.history[name].shifts.items():
                if cause in number:
                    shift[number[cause]] += decibans if now else -decibans
    return np.power(10.0, shift / 10) if shift.any() else None


@dataclass(frozen=True, slots=True, eq=False)
class Moved:
    """What the answers of some questions, one after another, would do."""

    chances: list[float | None]
    """[answers] chance of each; None where the network gives none."""
    after: Floats
    """[answers, causes] hands after each; as they are where an answer says nothing."""


def _moved(
    before: Floats,
    weights: Floats,
    hands: Floats,
    starts: Ints | Sequence[int],
    ends: Ints | Sequence[int],
    news: Sequence[bool],
    shifted: Floats,
) -> Moved:
    """The chance of each answer and the hands after it, from its columns.

    `weights` [columns] and `hands` [columns, causes] of all columns; `starts`, `ends` [answers]: which are whose;
    `news`: whether the network gives the answer a chance; `shifted` [answers, causes]: the hands where it gives none.
    """
    heard = np.array(news, dtype=bool)
    chance, joint = np.zeros(len(news)), np.zeros((len(news), len(before)))
    filled = np.flatnonzero(np.array(ends) > np.array(starts))
    if len(filled):
        first = np.array(starts)[filled]
        chance[filled] = np.add.reduceat(weights, first)
        joint[filled] = np.add.reduceat(weights[:, None] * hands, first, axis=0)
    told = heard & (chance > LEAST_CHANCE)
    after = np.where(heard[:, None], before[None, :], shifted)
    after[told] = np.clip(joint[told] / chance[told][:, None], 0.0, 1.0)
    chances = [max(float(part), 0.0) if is_news else None for part, is_news in zip(chance, news, strict=True)]
    return Moved(chances, after)


def _screened(here: Counter, answers: Sequence[Answered], shifts: Sequence[Floats | None]) -> Moved:
    """Answers as if causes were independent given what is known."""
    hands = here.hands
    weights: list[float] = []
    rows: list[Floats] = []
    of, starts, ends = [], [], []
    shifted = np.repeat(hands[None, :], len(answers), axis=0)
    moves = {number: shift for number, shift in enumerate(shifts) if shift is not None}
    if moves:
        odds = (hands / np.maximum(1 - hands, 1e-9))[None, :] * np.stack(list(moves.values()))
        shifted[list(moves)] = odds / (1 + odds)
    for number, answer in enumerate(answers):
        starts.append(len(weights))
        for weight, factor in here.factors_of(answer) if answer.is_news else ():
            weights.append(weight)
            rows.append(factor[1])
            of.append(number)
        ends.append(len(weights))
    shown = np.stack(rows) if rows else np.zeros((0, len(hands)))
    given = shifted[of]
    mixed = 1 - given + given * shown
    return _moved(
        hands,
        np.prod(mixed, axis=1) * np.array(weights),
        given * shown / mixed,
        starts,
        ends,
        [answer.is_news for answer in answers],
        shifted,
    )


def _exact(
    here: Counter,
    order: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    shifts: Mapping[str, Sequence[Floats | None]],
) -> dict[str, QuestionWorth]:
    """The questions at the front of the order, in one pass."""
    odds, names = here.evidence.odds, []
    terms: list[list[tuple[float, Floats]]] = []
    budget = max(24, CELLS >> min(here.evidence.width, 20))
    for question in order:
        mine = []
        for answer, shift in zip(answered[question.check], shifts[question.check], strict=True):
            scale = 1.0 if shift is None else shift[None, :]
            if answer.is_news:
                mine.append([(weight, factor * scale) for weight, factor in here.factors_of(answer)])
            else:
                mine.append([] if shift is None else [(1.0, np.ones_like(odds) * scale)])
        if sum(len(part) for part in (*terms, *mine)) > budget:
            break
        terms += mine
        names.append(question)
    factors = [np.ones_like(odds), *(factor for part in terms for _, factor in part)]
    if len(factors) == 1:
        return {}
    stacked = np.stack(factors, axis=-1)
    weighed, found = posteriors_after(here.evidence, stacked, here.nobody)
    sums, before, hands = weighed[1:], found[:, 0], found[:, 1:].T
    news = [answer.is_news for question in names for answer in answered[question.check]]
    ends = np.cumsum([len(part) for part in terms])
    starts = ends - [len(part) for part in terms]
    weights = np.array([weight for part in terms for weight, _ in part])
    heard = np.repeat(news, [len(part) for part in terms])
    shifted = np.stack([hands[start] if end > start else before for start, end in zip(starts, ends, strict=True)])
    moved = _moved(before, weights * np.where(heard, sums, 1.0), hands, starts, ends, news, shifted)
    return _worths(here, names, answered, moved, before)


def _worths(
    here: Counter,
    questions: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    moved: Moved,
    before: Floats,
) -> dict[str, QuestionWorth]:
    """What questions are worth, from the chance of each of their answers and the hands after it."""
    change = moved.after - before
    sizes, bills = np.abs(change).sum(axis=1) / 2, change @ here.costs
    nearer = here.reach.share(before, moved.after)
    place, result = 0, {}
    for question in questions:
        outcomes = answered[question.check]
        doubles = [sum(other == answer for other in outcomes) if answer.is_news else 1 for answer in outcomes]
        chances = [
            None if chance is None else chance / double
            for chance, double in zip(moved.chances[place : place + len(outcomes)], doubles, strict=True)
        ]
        told = sum(chance for chance in chances if chance is not None)
        quiet = sum(chance is None for chance in chances)
        scale = 1 / told if told > 1 else 1.0
        rest = max(0.0, 1 - told) / quiet if quiet else 0.0
        answers = tuple(
            AnswerMoves(
                outcome.answer,
                outcome.title,
                rest if chance is None else chance * scale,
                float(sizes[row]),
                float(bills[row]),
                danger,
                float(nearer[row]),
                here.network.causes,
                before,
                change[row],
            )
            for row, (chance, outcome, danger) in enumerate(
                zip(chances, question.outcomes, here.dangers[question.check], strict=True), start=place
            )
        )
        expected = sum(item.chance * item.moved for item in answers)
        worth = 60 * (
            HOURS * expected
            + sum(
                item.chance * (BILL * abs(item.bill) / here.rate + (DANGER if item.danger else 0.0)) for item in answers
            )
        )
        if not here.hands.any():
            shows = (bool(outcome.telling) for outcome in outcomes)
            worth += 60 * SHOWS * sum(item.chance for item, sign in zip(answers, shows, strict=True) if sign)
        promised = 60 * PROMISE * sum(item.chance * item.nearer for item in answers)
        result[question.check] = QuestionWorth(
            question.check,
            (worth if math.isfinite(worth) else 0.0) + promised,
            expected,
            all(chance is None for chance in chances),
            answers,
            promised,
        )
        place += len(outcomes)
    return result


Item = TypeVar("Item")


def _of_all(questions: Sequence[OpenCheck], each: Mapping[str, Sequence[Item]]) -> list[Item]:
    """What stands for each answer of some questions, one after another."""
    return [item for question in questions for item in each[question.check]]
