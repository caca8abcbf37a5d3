"""How far the shop's own figures may move before the recommendation does: comeback charge and labour rate.

Money enters the costs and not the beliefs, so nothing is summed again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from ..model.knowledge import RUNGS, Rung
from ..model.results import Flip
from ..pricing.money import cents
from .setting import Setting, lead_of, with_costs

CHARGE_RANGE = (0.0, 3.0)
"""The comeback charge is tried from nothing to three times what it is."""
LABOUR_RANGE = (0.7, 1.5)
"""So is the labour rate."""


def money_flips(setting: Setting, labour: Mapping[Rung, float] | None = None, rate: float | None = None) -> list[Flip]:
    """Comeback charge and labour rate at which the recommendation would move.

    `labour` is what each rung's work costs in labour (and what is charged as a share of it) at `rate` an hour.
    """
    flips = []
    charge = setting.terms.comeback_charge

    def with_charge(x: float) -> np.ndarray:
        terms = replace(setting.terms, comeback_charge=x)
        return with_costs(setting, terms=terms).expected

    flips += _money_flip(setting.rung, "comeback charge", charge, CHARGE_RANGE, with_charge)
    if labour is not None and rate:
        wages = tuple(float(labour[rung]) for rung in RUNGS)

        def with_rate(x: float) -> np.ndarray:
            prices = tuple(price + wage * (x / rate - 1) for price, wage in zip(setting.prices, wages, strict=True))
            return with_costs(setting, prices=prices).expected

        flips += _money_flip(setting.rung, "labour rate", rate, LABOUR_RANGE, with_rate)
    return flips


def _money_flip(rung: int, subject: str, value: float, span: tuple[float, float],
                expected: Callable[[float], np.ndarray]) -> list[Flip]:
    low, high = value * span[0], value * span[1]
    flips = []
    now = expected(value)
    for end in (low, high):
        then = expected(end)
        if end == value or lead_of(then, rung) <= 0.005:
            continue
        to = int(np.nanargmin(then))
        # straight between the ends unless a price overtakes another on the way; halving settles both
        inside, outside = value, end
        at = value + (end - value) * (now[to] - now[rung]) / ((now[to] - now[rung]) - (then[to] - then[rung]))
        if abs(lead_of(expected(at), rung)) > 1e-6:
            for _ in range(50):
                at = (inside + outside) / 2
                inside, outside = (at, outside) if lead_of(expected(at), rung) <= 0 else (inside, at)
            to = int(np.nanargmin(np.where(np.arange(len(now)) == rung, np.inf, expected(at))))
        leads = (cents(lead_of(expected(low), rung)), cents(lead_of(expected(high), rung)))
        flips.append(Flip("money", subject, f"{cents(value)}", f"{cents(at)}", RUNGS[to], *leads))
    return flips
