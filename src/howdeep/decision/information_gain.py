"""How far each check that can be made now parts who has a hand in it, in bits.

The measure is the expected fall of the entropy of who has a hand in what was noticed, cause by cause: it says what a
check tells where no single check moves the choice of a job. Which checks are worked out exactly is chosen by a
screening value that takes the causes as independent given what is known.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import numpy as np

from ..arrays import Floats
from ..beliefs.evidence import Evidence
from ..beliefs.posteriors import posteriors_after
from ..model.frozen import dataclass
from .open_checks import OpenCheck
from .outcome_columns import Answered, factors_of, fitting, used_by
from .problem import Problem

CELLS = 30_000
"""Cells of the tables worked out for the entropy of outcomes: more checks at small widths, fewer at large ones."""
ROUNDING = 1e-9
"""Bits by which what is worked out alone may differ from what is worked out beside others."""


@dataclass(frozen=True, slots=True)
class Parted:
    """How far each check that can be made now parts the suspects."""

    order: tuple[OpenCheck, ...]
    """Wanted checks first, then those that part most by the screening."""
    screened: Mapping[str, float]
    """Check -> bits, the causes taken as independent."""
    exact: Mapping[str, tuple[Floats, float]]
    """Check -> [outcomes] their chances, and bits; of those worked out exactly."""

    def bits(self, check: str) -> float:
        """Bits by which a check parts the suspects, exact where that was worked out."""
        return float(self.exact[check][1] if check in self.exact else self.screened[check])


def parted(
    problem: Problem,
    offered: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    hands: Floats,
    *,
    wanted: Sequence[str] = (),
) -> Parted:
    """How far each open check parts the suspects; arguments as of `rank`."""
    evidence = problem.evidence
    screened = _screened(evidence, hands, {check.check: answered[check.check] for check in offered})
    order = sorted(offered, key=lambda check: (check.check not in wanted, -screened[check.check], check.check))
    return Parted(tuple(order), screened, _parts(problem, hands, order, answered, wanted))


def one_parts(
    problem: Problem,
    wanted: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    hands: Floats,
    least: float,
    *,
    of: Collection[str],
    tried: int = 3,
) -> bool:
    """Whether one of the likeliest of the wanted checks, each worked out alone, surely parts the suspects by so many
    bits: soon found where it is so. `of`: ids that count. False says nothing."""
    evidence, names = problem.evidence, [check.check for check in wanted]
    screened = _screened(evidence, hands, {check.check: answered[check.check] for check in wanted})
    order = sorted(wanted, key=lambda check: (-screened[check.check], check.check))
    exact = set(fitting(evidence, order, answered, CELLS, 1, names)[0])  # the others count by the screening alone
    likely = [check for check in order if check.check in exact and check.check in of][:tried]
    return any(
        _parts(problem, hands, [check], answered, names).get(check.check, ((), 0.0))[1] > least + ROUNDING
        for check in likely
    )


def room_used(
    evidence: Evidence, checks: Sequence[OpenCheck], answered: Mapping[str, Sequence[Answered]]
) -> tuple[int, int, int]:
    """What these checks take of the room for exact bits, as of `used_by`."""
    return used_by(evidence, checks, answered, CELLS, 1)


def _screened(evidence: Evidence, hands: Floats, outcomes: Mapping[str, Sequence[Answered]]) -> dict[str, float]:
    """Check -> bits by which its outcomes part the causes, were these independent given what is known; no cause counts
    for more than it has a hand in what was noticed."""
    answers = list(dict.fromkeys(answer for each in outcomes.values() for answer in each if answer.is_news))
    if not answers:
        return dict.fromkeys(outcomes, 0.0)
    terms = [factors_of(evidence, answer) for answer in answers]
    begins = np.cumsum([0, *(len(part) for part in terms[:-1])])
    shown = np.stack([factor[1] for part in terms for _, factor in part])
    mixed = 1 - hands + hands * shown
    whole = mixed.prod(axis=1) * np.array([weight for part in terms for weight, _ in part])
    chances = np.add.reduceat(whole, begins)
    joint = np.add.reduceat(whole[:, None] * hands * shown / mixed, begins, axis=0)
    told = chances > 1e-9
    place = {answer: number for number, answer in enumerate(answers)}
    bits = {}
    for name, each in outcomes.items():
        mine = [place[answer] for answer in dict.fromkeys(each) if answer in place and told[place[answer]]]
        bits[name] = max(0.0, _fall(hands, chances[mine], joint[mine])) if mine else 0.0
    return bits


def _fall(now: Floats, chances: Floats, joint: Floats) -> float:
    """Expected fall of the entropy of `now` [causes] by outcomes of these chances, `joint` [outcomes, causes].

    What they leave uncovered is one more outcome; where they come to more than one they are shares of their sum.
    """
    total = float(chances.sum())
    left = chances @ _entropy(np.clip(joint / chances[:, None], 0.0, 1.0))
    if total > 1:
        return float((_entropy(np.clip(joint.sum(axis=0) / total, 0.0, 1.0)) - left / total).sum())
    rest = max(1 - total, 1e-12)
    return float((_entropy(now) - left - rest * _entropy(np.clip((now - joint.sum(axis=0)) / rest, 0.0, 1.0))).sum())


def _entropy(chance: Floats) -> Floats:
    """Bits of each chance."""
    p = np.clip(chance, 1e-12, 1 - 1e-12)
    return -(p * np.log2(p) + (1 - p) * np.log2(1 - p))


def _parts(
    problem: Problem,
    hands: Floats,
    order: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    wanted: Sequence[str],
) -> dict[str, tuple[Floats, float]]:
    """Check -> [outcomes] their chances, and the expected fall of the entropy of hands in bits."""
    evidence = problem.evidence
    names, answers = fitting(evidence, order, answered, CELLS, 1, wanted)
    if not answers:
        return {}
    terms = [factors_of(evidence, answer) for answer in answers]
    factors = np.stack([np.ones_like(evidence.odds), *(factor for part in terms for _, factor in part)], axis=-1)
    sums, after = posteriors_after(evidence, factors, problem.nobody)
    result: dict[Answered, tuple[float, Floats]] = {}
    column = 1
    for answer, part in zip(answers, terms, strict=True):
        chance, joint = 0.0, np.zeros(len(hands))
        for weight, _ in part:
            whole = weight * float(sums[column])
            chance += whole
            joint += whole * after[:, column]
            column += 1
        result[answer] = max(chance, 0.0), joint
    values = {}
    for name in names:
        outcomes = answered[name]
        alike = {answer: sum(other == answer for other in outcomes) for answer in outcomes}
        chances = np.array([result[answer][0] / alike[answer] if answer.is_news else 0.0 for answer in outcomes])
        total = chances.sum()
        scale = 1 / total if total > 1 else 1.0
        told = [result[answer] for answer in dict.fromkeys(outcomes) if answer.is_news and result[answer][0] > 1e-12]
        come, with_it = np.array([part for part, _ in told]), [part for _, part in told]
        fall = _fall(after[:, 0], come, np.stack(with_it)) if told else 0.0
        if any(not answer.is_news for answer in outcomes):
            quiet = [place for place, answer in enumerate(outcomes) if not answer.is_news]
            chances[quiet] = max(0.0, 1 - total) / len(quiet)
        values[name] = chances * (scale if total > 1 else 1.0), max(fall, 0.0)
    return values
