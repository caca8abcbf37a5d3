"""How deep: the rung that costs least in the end, by how much it wins, and what else a careful person could defend."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

import numpy as np

from ..model.knowledge import RUNGS, Rung
from ..model.prices import PriceList
from ..model.results import CostLine, Counted, Decision
from ..pricing.money import cents, read_money
from ..reasoning.network import Network
from .ladder import Terms
from .setting import Setting, setting_of
from .worth import worth_of

DEFENSIBLE = 0.10
"""A rung whose expected cost exceeds the least by at most this share can be defended."""
DEFENSIBLE_ENOUGH = (0.65, 0.95)
"""Without prices the shallowest and deepest rung defended are the first with at least these chances of enough."""
HOPELESS = 0.05
"""A shallower rung with less than this chance of being enough is not defended, however little it costs."""
WORTH_NAMING = 0.005
"""A cause less probable than this is not listed among those a rung leaves uncured."""


def terms_of(prices: PriceList | None) -> Terms:
    """What growth and comebacks cost at a shop; nothing without a price list."""
    if prices is None:
        return Terms()
    return Terms(float(prices.growth_factor), float(read_money(prices.comeback_charge, prices.currency)),
                 float(read_money(prices.reopening or "0", prices.currency)),
                 float(read_money(prices.growth_charge, prices.currency)))


def decide(network: Network, counted: Counted, need: Mapping[str, Rung], seen: Mapping[str, Rung],
           prices_of_rung: Mapping[Rung, Decimal | None], terms: Terms, posteriors: Mapping[str, float], *,
           currency: str = "", missing: tuple[str, ...] = (), value_running: Decimal | None = None,
           replacement: Decimal | None = None) -> Decision:
    """The recommendation. `need` and `seen` are the smallest rungs that cure each cause and open it to view."""
    setting = setting_of(network, counted, need, seen, prices_of_rung, terms)
    return decision_of(setting, posteriors, currency=currency, missing=missing, value_running=value_running,
                       replacement=replacement)


def decision_of(setting: Setting, posteriors: Mapping[str, float], *, currency: str = "",
                missing: tuple[str, ...] = (), value_running: Decimal | None = None,
                replacement: Decimal | None = None, opened: tuple[str, ...] = ()) -> Decision:
    """The recommendation of a setting that is worked out already."""
    lines = tuple(_line(setting, rung, posteriors) for rung in range(len(RUNGS)))
    wins_by = runner_up = None
    if not setting.provisional:
        others = sorted((line.expected, index) for index, line in enumerate(lines)
                        if index != setting.rung and line.expected is not None)
        if others:
            wins_by, runner_up = others[0][0] - lines[setting.rung].expected, RUNGS[others[0][1]]
    shallowest, deepest = _defensible(setting)
    worth, beyond = worth_of(lines[setting.rung], currency, value_running, replacement)
    return Decision(
        rung=RUNGS[setting.rung], provisional=setting.provisional, wins_by=wins_by, runner_up=runner_up,
        shallowest=RUNGS[shallowest], deepest=RUNGS[deepest], ladder=lines, estimated=setting.estimated,
        missing=missing, currency=currency,
        beyond=beyond, worth=worth, opened=opened,
    )


def _line(setting: Setting, rung: int, posteriors: Mapping[str, float]) -> CostLine:
    not_cured = sorted(((cause, posteriors[cause]) for cause, need in
                        zip(setting.network.causes, setting.ladder.need, strict=True)
                        if need > rung and posteriors[cause] >= WORTH_NAMING),
                       key=lambda item: (-round(item[1], 12), item[0]))
    enough = min(1.0, max(0.0, float(setting.enough[rung])))
    noticed = min(1.0, max(enough, float(setting.noticed[rung])))
    price = None if np.isnan(setting.prices[rung]) else cents(setting.prices[rung])
    if np.isnan(setting.expected[rung]):
        return CostLine(RUNGS[rung], enough, noticed, price, None, None, None, tuple(not_cured))
    expected = cents(float(setting.expected[rung]))
    growth = cents(float(setting.costs.growth[rung] @ setting.states))
    comeback = expected - price - growth  # the printed parts add up to the printed sum
    return CostLine(RUNGS[rung], enough, noticed, price, growth, comeback, expected, tuple(not_cured))


def _defensible(setting: Setting) -> tuple[int, int]:
    if setting.provisional:
        return tuple(next((rung for rung, chance in enumerate(setting.enough) if round(chance, 9) >= least),
                          len(RUNGS) - 1) for least in DEFENSIBLE_ENOUGH)
    least = setting.expected[setting.rung]
    near = [rung for rung in range(len(RUNGS)) if setting.expected[rung] <= least * (1 + DEFENSIBLE) + 0.005
            and (rung >= setting.rung or setting.enough[rung] >= HOPELESS)]
    return min(near, default=setting.rung), max(near, default=setting.rung)
