"""What each answer to a question would do to who has a hand in what was noticed: its chance, and the hands after it.

One measure for signs and for history alike. An answer that is a sign comes with the chance that the network gives it;
an answer that only shifts base odds (hours, standing, storage) has none there. Exact for the questions at the front of
an order, all in one pass of the elimination; for the others, and to find the order, as if causes were independent.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import TypeVar

import numpy as np

from ..arrays import Floats, Ints
from ..beliefs.evidence import Evidence
from ..beliefs.network import Network
from ..beliefs.posteriors import posteriors_after
from ..beliefs.signs import Signs
from ..model.frozen import dataclass
from ..model.values import Values
from .open_checks import OpenCheck
from .outcome_columns import Answered, factors_of
from .what_if import Known, reactions_of

CELLS = 12_000
"""Cells of the tables that are worked out exactly; the questions behind are only screened."""
LEAST_CHANCE = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Counter:
    """What is known at the counter, ready for what-if questions."""

    evidence: Evidence
    network: Network
    signs: Signs
    known: Known
    hands: Floats
    """[causes] chance of a hand in what was noticed."""
    nobody: float = 0.0
    """Chance that nobody is behind what must go, before that was ruled out."""
    factors: dict[int, list[tuple[float, Floats]]] = field(default_factory=dict)
    """Columns of the outcomes, by their identity: each is worked out once, for the screening and the exact pass."""

    def factors_of(self, answer: Answered) -> list[tuple[float, Floats]]:
        """(signed weight of the leaks, [degrees, causes] factor of the odds) of each column of an outcome."""
        if id(answer) not in self.factors:
            self.factors[id(answer)] = factors_of(self.evidence, answer)
        return self.factors[id(answer)]


@dataclass(frozen=True, slots=True, eq=False)
class Moved:
    """What the answers of some questions, one after another, would do."""

    chances: list[float | None]
    """[answers] chance of each; None where the network gives none."""
    before: Floats
    """[causes] hands before them."""
    after: Floats
    """[answers, causes] hands after each; as they are where an answer says nothing."""


def history_factor(here: Counter, given: Values) -> Floats | None:
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


def screened(
    here: Counter,
    questions: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    shifts: Mapping[str, Sequence[Floats | None]],
) -> Moved:
    """What the answers of questions would do, one after another, were causes independent given what is known.
    `answered`, `shifts`: question -> what each of its answers adds, and what it multiplies the odds with."""
    hands, answers = here.hands, _of_all(questions, answered)
    weights: list[float] = []
    rows: list[Floats] = []
    of, starts, ends = [], [], []
    shifted = np.repeat(hands[None, :], len(answers), axis=0)
    moves = {number: shift for number, shift in enumerate(_of_all(questions, shifts)) if shift is not None}
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


def exactly(
    here: Counter,
    order: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    shifts: Mapping[str, Sequence[Floats | None]],
) -> tuple[Sequence[OpenCheck], Moved]:
    """The questions at the front of the order in one pass, and what their answers do; arguments as of `screened`."""
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
        return (), Moved([], here.hands, np.zeros((0, len(here.hands))))
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
    return names, moved


Item = TypeVar("Item")


def _of_all(questions: Sequence[OpenCheck], each: Mapping[str, Sequence[Item]]) -> list[Item]:
    """What stands for each answer of some questions, one after another."""
    return [item for question in questions for item in each[question.check]]


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
    return Moved(chances, before, after)
