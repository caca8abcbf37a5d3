"""What would be recommended if some facts were different: the whole way from facts to a rung, at the prices of now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from ..reasoning.messages import sums_of
from .joints import evidence_under, joint_sums
from .ladder import cheapest
from .setting import Setting, contending
from .whatif import Change, Known, change_if, findings_if, odds_if

TOGETHER = 3
"""From so many changes one pair of messages costs less than a pass for each."""


def counted_change(known: Known, new: Mapping[str, Any]) -> Change:
    """What would count otherwise, and how history would move the odds, if these facts had these values."""
    changed = findings_if(known, new)
    return replace(change_if(known, changed), odds=odds_if(known, new, changed))


def rung_if(setting: Setting, known: Known, new: Mapping[str, Any]) -> int:
    """The rung that would be recommended if these facts had these values, at the prices of now."""
    change = counted_change(known, new)
    return rungs_if(setting, [change])[change]


def rungs_if(setting: Setting, changes: Iterable[Change]) -> dict[Change, int]:
    """Change -> the rung that would be recommended under it, at the prices of now."""
    coefficients, allowed = contending(setting)
    changes = list(dict.fromkeys(changes))
    rungs = {change: setting.rung for change in changes if not change.is_news}
    news = [change for change in changes if change.is_news]
    if len(news) < TOGETHER:
        for change in news:
            sums, _, _ = sums_of(evidence_under(setting.evidence, change), allowed)
            rungs[change] = cheapest(coefficients @ sums)
    else:
        for change, sums in joint_sums(setting.evidence, allowed, news).items():
            rungs[change] = cheapest(coefficients @ (sums / sums[0]))
    return rungs
