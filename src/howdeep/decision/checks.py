"""The next check: what each check that can be made now would save, less what it costs.

Chances of outcomes come from the model itself: an outcome is the set of findings it would settle, and its chance their
joint probability given the evidence. Outcomes of one check exclude each other; what they leave uncovered counts as no
news (normalising would overstate the value). The expected saving is summed over the outcomes; it is never negative and
never more than the value of perfect information. Answers that settle the same findings share one chance, and outcomes
that overlap after all are scaled down together, so that chances never sum to more than 1.

Where an outcome takes the place of a finding that counts now (a more telling one of its line), its chance is that of
its new findings given all that counts now, and the costs after it are those of the evidence that would count then.

Answers that only bear on history rules have no chance in the model (they share what is left) and are worth nothing by
this measure; what they would lead to is shown all the same.
The value looks one check ahead: zeros are common, and do not prove that a pair of checks is worthless. Where even
perfect information is worth less than the cheapest check, that does.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

import numpy as np

from ..model.engine import Engine
from ..model.knowledge import RUNGS, Knowledge
from ..model.prices import PriceList
from ..model.results import CheckValue, OutcomeValue
from ..model.truth import Truth
from ..pricing.money import cents, read_money
from ..reasoning.sampling import sample_worlds
from .joints import joint_sums, sampled_weights
from .ladder import cheapest
from .outcomes import OpenCheck, open_checks
from .setting import SUMMED_EXACTLY, Setting, contending, state_numbers
from .value import perfect_information, sample_information
from .whatif import Change, Known, change_if, findings_if, known_of, odds_if, settled_if


@dataclass(frozen=True, slots=True)
class Ranking:
    """Every check that can be made now, best net value first."""

    checks: tuple[CheckValue, ...]
    perfect: Decimal
    """What perfect information would save: no check is worth more."""
    estimated: bool = False
    """True where the findings are too tangled for exact values."""

    @property
    def quote_now(self) -> bool:
        """Whether no check is worth its cost."""
        return not any(check.net > 0 for check in self.checks)


@dataclass(frozen=True, slots=True)
class _After:
    """What an outcome would lead to."""

    settled: Change
    """What it would settle: this has a chance in the model."""
    change: Change
    """What would count then: this decides what it is worth."""
    then: Change
    """The same with what history would do to the odds: this decides where it leads to."""


NOTHING = Ranking((), Decimal("0.00"))


def rank_checks(setting: Setting, knowledge: Knowledge, engine: Engine, facts: Mapping[str, Any],
                findings: Mapping[str, Truth], made: Collection[str], prices: PriceList, *,
                all_checks: bool = True) -> Ranking:
    """Rank the checks. `facts` hold engine facts too; `made` are observations with an answer, "don't know" included.

    Without `all_checks` nothing is worked out where perfect information would not pay for the cheapest check. Where
    the recommendation is provisional (prices missing) checks cannot be weighed and none are returned.
    """
    if setting.provisional:
        return NOTHING
    perfect = perfect_information(setting.costs.whole, setting.states, setting.rung)
    offered = open_checks(knowledge, engine, facts, made)
    costs = {check.check: cost_of_check(check, prices) for check in offered}
    if not offered or (not all_checks and cents(perfect) <= min(costs.values())):
        return Ranking((), cents(perfect))
    known = known_of(knowledge, setting.network, facts, findings)
    after = {check.check: [_after(known, outcome.facts) for outcome in check.outcomes] for check in offered}
    chances, expected, estimated = consequences(setting, (item for items in after.values() for item in items))
    ranked = [_value(setting, check, after[check.check], chances, expected, perfect, costs[check.check])
              for check in offered]
    return Ranking(tuple(sorted(ranked, key=lambda value: (-value.net, value.cost, value.check))), cents(perfect),
                   estimated)


def cost_of_check(check: OpenCheck, prices: PriceList) -> Decimal:
    """Minutes at the labour rate, and the money set against its risk."""
    rate = read_money(prices.labour_rate, prices.currency)
    risk = prices.risk.get(check.risk)
    return cents(Decimal(repr(float(check.minutes))) * rate / 60) + (read_money(risk, prices.currency) if risk else 0)


def _after(known: Known, new: Mapping[str, Any]) -> _After:
    changed = findings_if(known, new)
    change = change_if(known, changed)
    odds = odds_if(known, new, changed)
    return _After(settled_if(known, changed), change, replace(change, odds=odds) if odds else change)


def consequences(setting: Setting, after: Any) -> tuple[dict[Change, float], dict[Change, np.ndarray], bool]:
    """Chance of each set of settled findings; [rungs] expected cost after each change; whether sampled."""
    items = list(after)
    settled = {item.settled for item in items if item.settled.is_news}
    changes = {change for item in items for change in (item.change, item.then) if change.is_news}
    wanted = settled | changes
    if setting.estimated or setting.evidence.plan.width > SUMMED_EXACTLY:
        worlds = setting.worlds or sample_worlds(setting.evidence)
        weights = sampled_weights(setting.evidence, worlds, wanted)
        costs = setting.costs.whole[:, state_numbers(setting.ladder, worlds.present)]
        return ({key: float(weights[key].sum()) for key in settled},
                {key: costs @ (weights[key] / weights[key].sum()) for key in changes}, True)
    coefficients, allowed = contending(setting)
    sums = joint_sums(setting.evidence, allowed, wanted)
    return ({key: float(sums[key][0]) for key in settled},
            {key: coefficients @ (sums[key] / sums[key][0]) for key in changes}, False)


def _value(setting: Setting, check: OpenCheck, after: list[_After], chances: Mapping[Change, float],
           expected: Mapping[Change, np.ndarray], perfect: float, cost: Decimal) -> CheckValue:
    shares: dict[Change, int] = {}
    for item in after:
        shares[item.settled] = shares.get(item.settled, 0) + 1
    total = sum(chances[settled] for settled in shares if settled.is_news)
    scale = 1 / total if total > 1 else 1.0
    left = max(0.0, 1 - total)
    joint, outcomes, seen = [], [], set()
    for outcome, item in zip(check.outcomes, after, strict=True):
        chance = chances[item.settled] * scale if item.settled.is_news else left
        then = expected[item.then] if item.then.is_news else setting.expected
        outcomes.append(OutcomeValue(outcome.title, outcome.answer, chance / shares[item.settled],
                                     RUNGS[cheapest(then)]))
        if item.settled.is_news and item.change.is_news and item.settled not in seen:
            seen.add(item.settled)
            joint.append(chance * expected[item.change])
    gain = min(sample_information(np.array(joint), setting.rung), perfect)
    covered = 1.0 if any(not settled.is_news for settled in shares) else min(1.0, total)
    money = cents(gain)
    return CheckValue(check.check, check.title, check.observations, check.minutes, check.risk, check.setup, money, cost,
                      money - cost, tuple(outcomes), covered, check.moment)
