"""How far a price list is the shop's own: of one figure, and of all."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from typing import Literal

from ..model.asked import AskedFigure
from ..model.prices import TERMS, PriceList
from .places import figure_at

Standing = Literal["own", "old", "example", "missing"]


def standing(prices: PriceList, place: str, today: str) -> Standing:
    """Whether the figure at a place is the shop's own, its own but old, an example, or not there."""
    if not figure_at(prices, place):
        return "missing"
    if prices.mark(place).example:
        return "example"
    return "old" if age_of(prices, place, today) > prices.old_after_days else "own"


def is_own(prices: PriceList, place: str) -> bool:
    """Whether the list has a figure of the shop's own there."""
    return bool(figure_at(prices, place)) and not prices.mark(place).example


def age_of(prices: PriceList, place: str, today: str) -> int:
    """Days since a figure holds."""
    return (datetime.date.fromisoformat(today) - datetime.date.fromisoformat(prices.mark(place).date)).days


def open_figures(figures: Iterable[AskedFigure], prices: PriceList) -> list[AskedFigure]:
    """Those of the figures that are an example in the list."""
    return [figure for figure in figures if figure_at(prices, figure.of) and prices.mark(figure.of).example]


def counted(prices: PriceList) -> tuple[int, int]:
    """(figures of the shop's own, figures in all): terms, the machine shop's work, parts, and parts for one engine.
    Whatever counts a list counts it so."""
    places = places_of(prices)
    return sum(is_own(prices, place) for place in places), len(places)


def places_of(prices: PriceList) -> list[str]:
    """Every figure of a list that may be an example, by place."""
    return [
        *(name for name in TERMS if figure_at(prices, name)),
        *(f"{table}.{name}" for table in ("machine", "parts") for name in getattr(prices, table)),
        *(f"engine_parts.{engine}.{name}" for engine, parts in prices.engine_parts.items() for name in parts),
    ]
