"""What would be recommended if some facts were different: the whole way from facts to a rung, at the prices of now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from ..reasoning.elimination import evidence_of
from ..reasoning.messages import sums_of
from .ladder import cheapest
from .setting import Setting
from .whatif import Change, Known, change_if, findings_if, odds_if


def rung_if(setting: Setting, known: Known, coefficients: np.ndarray, new: Mapping[str, Any],
            seen: dict[Change, int] | None = None) -> int:
    """The rung that would be recommended if these facts had these values, at the prices of now."""
    changed = findings_if(known, new)
    change = replace(change_if(known, changed), odds=odds_if(known, new, changed))
    if seen is not None and change in seen:
        return seen[change]
    rung = setting.rung
    if change.is_news:
        present = {*setting.evidence.present, *change.present} - set(change.no_longer_present)
        absent = {*setting.evidence.absent, *change.absent} - set(change.no_longer_absent)
        evidence = evidence_of(setting.network, tuple(present), tuple(absent), like=setting.evidence)
        if change.odds:
            odds = evidence.odds.copy()
            for cause, factor in change.odds:
                odds[cause] *= factor
            evidence = replace(evidence, odds=odds)
        sums, _, _ = sums_of(evidence, setting.ladder.allowed)
        rung = cheapest(coefficients @ sums)
    if seen is not None:
        seen[change] = rung
    return rung
