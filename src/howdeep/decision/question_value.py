"""What a question at the counter is worth: how far its answer would move who has a hand in it, the bill, and the kind.

An answer that only shifts base odds (hours, standing, storage) has no chance in the network, so such answers count
alike (judgement; the measure only orders questions and says when to stop, it never enters the answer). For each answer
the chances of a hand are worked out anew (`hands_after`), and the question is worth

    sum over answers of chance x ( parted_hours x half the sum over causes of |hand after - hand before|
                                   + bill_share x |expected cost of the cures after - before|
                                   + danger_hours where the answer forbids running
                                   + promise_hours x share of the way to a promise
                                   + first_sign_hours where nothing has shown yet and the answer is a sign of trouble )

in minutes of labour (the figures stand under `asking` in the settings): a suspect parted from another saves about an
hour of looking, a bill that is known better saves a share of the difference, an engine that must not be run is found
out, and what can be promised need not be begun with and looked at again.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from ..arrays import Bools, Floats
from ..beliefs.evidence import Evidence
from ..beliefs.network import Network
from ..beliefs.signs import Signs
from ..logic.evaluate import evaluate
from ..model.condition import facts_read
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.question_worth import AnswerMoves, QuestionWorth
from ..model.truth import Truth
from ..model.values import Values
from .hands_after import LEAST_CHANCE, Counter, Moved, exactly, history_factor, screened
from .open_checks import OpenCheck
from .outcome_columns import Answered
from .outcomes import answered_by
from .what_if import Known, findings_if, known_of, reactions_of


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """How near the cheapest job is to what may be promised."""

    left: Bools
    """[causes] which of them the job leaves."""
    enough: float
    """Chance that everything noticed goes away by it."""
    floor: float
    """Chance from which on the shop promises."""
    decides_from: float
    """Share of the way below which an answer decides nothing."""

    def share(self, before: Floats, after: Floats) -> Floats:
        """[answers] how much of the way to a promise each answer goes, 0 where it decides nothing. What the job
        leaves is taken as if its causes were independent. `before` [causes] and `after` [answers, causes] are
        hands."""
        if self.enough >= self.floor:
            return np.zeros(len(after))
        kept = np.maximum(1 - np.vstack([before, after])[:, self.left], LEAST_CHANCE).prod(axis=1)
        now = self.enough * kept[1:] / kept[0]
        share = np.clip((now - self.enough) / (self.floor - self.enough), 0.0, 1.0)
        return np.where(share >= self.decides_from, share, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Stakes:
    """What an answer can move besides who has a hand in it."""

    costs: Floats
    """[causes] what its cure costs by itself, 0 where unknown."""
    rate: float
    """Money an hour of labour costs; 1 without prices."""
    dangers: Mapping[str, tuple[bool, ...]]
    """Question -> per answer whether it forbids running."""
    reach: Reach


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
    here = Counter(evidence, network, signs, known, np.array([hands[cause] for cause in network.causes]), nobody)
    stakes = Stakes(
        np.array([costs.get(cause, 0.0) for cause in network.causes]),
        rate,
        {name: tuple(_forbids(known, changed) for changed in each) for name, each in changes.items()},
        reach,
    )
    answered = answered_by(network, signs, known, offered, changes)
    shifts = {
        question.check: tuple(history_factor(here, outcome.facts) for outcome in question.outcomes)
        for question in offered
    }
    worths = _worths(here, stakes, offered, answered, screened(here, offered, answered, shifts))
    order = sorted(offered, key=lambda question: (-worths[question.check].worth, question.check))
    front, moved = exactly(here, order, answered, shifts)
    found = _with_followers(here, stakes, offered, {**worths, **_worths(here, stakes, front, answered, moved)})
    return tuple(sorted(found, key=lambda item: (-round(item.worth, 6), item.observation)))


def _with_followers(
    here: Counter, stakes: Stakes, offered: Sequence[OpenCheck], found: Mapping[str, QuestionWorth]
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
    joint = _joint(here, stakes, {item.check: item for item in offered}, pairs)
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
    here: Counter, stakes: Stakes, offered: Mapping[str, OpenCheck], pairs: Sequence[tuple[str, AnswerMoves, str]]
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
    here = replace(here, factors={})
    stakes = replace(stakes, dangers={item.check: (False,) * len(item.outcomes) for item in questions})
    shifts = {item.check: [history_factor(here, outcome.facts) for outcome in item.outcomes] for item in questions}
    worths = _worths(here, stakes, questions, answered, screened(here, questions, answered, shifts))
    return {key: worths[question.check].worth for key, question in made.items()}


def _forbids(known: Known, changed: Mapping[str, Truth]) -> bool:
    """Whether one of these changed findings forbids running."""
    return any(
        truth is Truth.PRESENT and known.knowledge.findings[name].forbids_running for name, truth in changed.items()
    )


def _worths(
    here: Counter,
    stakes: Stakes,
    questions: Sequence[OpenCheck],
    answered: Mapping[str, Sequence[Answered]],
    moved: Moved,
) -> dict[str, QuestionWorth]:
    """What questions are worth, from the chance of each of their answers and the hands after it."""
    change = moved.after - moved.before
    sizes, bills = np.abs(change).sum(axis=1) / 2, change @ stakes.costs
    nearer = stakes.reach.share(moved.before, moved.after)
    asking = here.known.knowledge.settings.asking
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
                moved.before,
                change[row],
            )
            for row, (chance, outcome, danger) in enumerate(
                zip(chances, question.outcomes, stakes.dangers[question.check], strict=True), start=place
            )
        )
        expected = sum(item.chance * item.moved for item in answers)
        worth = 60 * (
            asking.parted_hours * expected
            + sum(
                item.chance
                * (asking.bill_share * abs(item.bill) / stakes.rate + (asking.danger_hours if item.danger else 0.0))
                for item in answers
            )
        )
        if not here.hands.any():
            shows = (bool(outcome.telling) for outcome in outcomes)
            worth += (
                60
                * asking.first_sign_hours
                * sum(item.chance for item, sign in zip(answers, shows, strict=True) if sign)
            )
        promised = 60 * asking.promise_hours * sum(item.chance * item.nearer for item in answers)
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
