"""What would be recommended if some facts were different: the whole way from facts to a rung, at the prices of now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from ..reasoning.elimination import Evidence, evidence_of
from ..reasoning.messages import sums_of
from .joints import joint_sums
from .ladder import cheapest
from .setting import Setting, contending
from .whatif import Change, Known, change_if, findings_if, odds_if

TOGETHER = 3
"""From so many changes that take the same findings away, one pair of messages costs less than a pass for each."""


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
    rungs: dict[Change, int] = {}
    groups: dict[tuple[int, ...], list[Change]] = {}
    for change in dict.fromkeys(changes):
        if change.is_news:
            groups.setdefault(change.no_longer_present, []).append(change)
        else:
            rungs[change] = setting.rung
    for group in groups.values():
        if len(group) < TOGETHER:
            for change in group:
                sums, _, _ = sums_of(evidence_under(setting.evidence, change), allowed)
                rungs[change] = cheapest(coefficients @ sums)
        else:
            for change, sums in joint_sums(setting.evidence, allowed, group).items():
                rungs[change] = cheapest(coefficients @ (sums / sums[0]))
    return rungs


def evidence_under(evidence: Evidence, change: Change) -> Evidence:
    """The evidence as it would be under a change."""
    present = {*evidence.present, *change.present} - set(change.no_longer_present)
    absent = {*evidence.absent, *change.absent} - set(change.no_longer_absent)
    changed = evidence_of(evidence.network, tuple(present), tuple(absent), like=evidence)
    if not change.odds:
        return changed
    odds = changed.odds.copy()
    for cause, factor in change.odds:
        odds[cause] *= factor
    return replace(changed, odds=odds)
