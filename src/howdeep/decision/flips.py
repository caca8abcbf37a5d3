"""What would move the recommendation: answers still open, answers that might be wrong, odds, words and money."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from typing import Any

from ..model.knowledge import RUNGS, Knowledge, Rung
from ..model.results import Flip
from ..model.truth import Truth
from .checks import Ranking
from .money_flips import money_flips
from .sensitivity import model_flips, word_flips
from .setting import SUMMED_EXACTLY, Setting
from .then import counted_change, rungs_if
from .whatif import Change, Known, known_of

LEAST_CHANCE = 0.01
"""An outcome less likely than this is not worth naming as one that would move the recommendation."""
MISTAKEN_TO = 3
"""Most other answers named for one given answer."""

MovedBy = Callable[[Mapping[str, Any]], Mapping[str, Any]]
"""Given changed answers, every fact that would be another (answers, reduced readings); None where it would be gone."""


def find_flips(setting: Setting, knowledge: Knowledge, facts: Mapping[str, Any],
               findings: Mapping[str, Truth], given: Mapping[str, Any], ranking: Ranking | None, *,
               moved_by: MovedBy | None = None, labour: Mapping[Rung, float] | None = None,
               rate: float | None = None) -> tuple[Flip, ...]:
    """Everything that would move the recommendation, in this order: open answers (likeliest first), given answers
    being wrong, money, base odds (nearest first), links, words.

    `given` are the answers of the job. Exact only up to a width of 13 open findings; beyond, only open answers and
    money are looked at. Nothing is looked at where prices are missing.
    """
    if setting.provisional:
        return ()
    flips = [] if ranking is None else _open(setting, ranking)
    exact = not setting.estimated and setting.evidence.plan.width <= SUMMED_EXACTLY
    if exact:
        flips += wrong_answers(setting, known_of(knowledge, setting.network, facts, findings), given, moved_by)
    flips += money_flips(setting, labour, rate)
    if exact:
        model = model_flips(setting, knowledge)
        flips += sorted((flip for flip in model if flip.kind == "prior"), key=lambda flip: (_swing(flip), flip.subject))
        flips += sorted((flip for flip in model if flip.kind != "prior"), key=lambda flip: (_swing(flip), flip.subject))
        flips += word_flips(setting, knowledge)
    return tuple(flips)


def _swing(flip: Flip) -> float:
    """Widest swing first."""
    return -abs(float(flip.high or 0) - float(flip.low or 0))


def _open(setting: Setting, ranking: Ranking) -> list[Flip]:
    now = RUNGS[setting.rung]
    found = [(outcome.chance, check.check, outcome) for check in ranking.checks for outcome in check.outcomes
             if outcome.leads_to != now and outcome.chance >= LEAST_CHANCE]
    found.sort(key=lambda item: (-round(item[0], 9), item[1], item[2].answer))
    return [Flip("open", check, "not known", outcome.title, outcome.leads_to) for _, check, outcome in found]


def wrong_answers(setting: Setting, known: Known, given: Mapping[str, Any],
                  moved_by: MovedBy | None = None) -> list[Flip]:
    """Given answers whose being wrong would move the recommendation: each other answer in turn.

    Readings are not looked at: what else a gauge might have shown has no end.
    """
    changes: dict[tuple[str, str], Change] = {}
    for name in sorted(given):
        item = known.knowledge.observations.get(name)
        if item is None or item.kind != "choice" or item.each or item.moment == "teardown":
            continue
        for answer in item.answers:
            if answer != given[name]:
                changes[name, answer] = counted_change(known, moved_by({name: answer}) if moved_by else {name: answer})
    rungs = rungs_if(setting, changes.values())
    flips: list[Flip] = []
    named: Counter[str] = Counter()
    for (name, answer), change in changes.items():
        to = rungs[change]
        if to != setting.rung and named[name] < MISTAKEN_TO:
            named[name] += 1
            flips.append(Flip("answer", name, str(given[name]), answer, RUNGS[to]))
    return flips
