"""What would be recommended if some facts were different: the whole way from facts to a rung, at the prices of now."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from ..reasoning.elimination import evidence_of
from ..reasoning.messages import sums_of
from ..reasoning.network import with_history
from .ladder import cheapest
from .setting import Setting
from .whatif import Known, change_if, findings_if


def rung_if(setting: Setting, known: Known, coefficients: np.ndarray, new: Mapping[str, Any],
            seen: dict[Any, int] | None = None) -> int:
    """The rung that would be recommended if these facts had these values, at the prices of now."""
    changed = findings_if(known, new)
    change = change_if(known, changed)
    network = setting.network
    if known.reactions.history_reads & set(new):
        network = with_history(network, known.knowledge, {**known.facts, **new}, {**known.findings, **changed})
    key = (change, network.history)
    if seen is not None and key in seen:
        return seen[key]
    rung = setting.rung
    if change.is_news or change.no_longer_present or change.no_longer_absent or network is not setting.network:
        present = {*setting.evidence.present, *change.present} - set(change.no_longer_present)
        absent = {*setting.evidence.absent, *change.absent} - set(change.no_longer_absent)
        evidence = evidence_of(network, tuple(present), tuple(absent), thorough=False)
        sums, _, _ = sums_of(evidence, setting.ladder.allowed)
        rung = cheapest(coefficients @ sums)
    if seen is not None:
        seen[key] = rung
    return rung
