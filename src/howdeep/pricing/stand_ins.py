"""What stands in, where jobs are weighed against each other, for figures that a price list does not have.

A stand-in is the example list's figure times the shop's labour rate over the example's. It is never printed as a price
of the shop: a quote leaves such a line out of its sums, and an answer that rests on one says so.
"""

from __future__ import annotations

import dataclasses
from decimal import Decimal
from typing import Any

from ..model.prices import TABLES, PriceList
from .money import cents, read_money

OF_DECISION = ("growth_charge", "reopening", "replacement")
"""Sums of the decision itself that a list may lack."""
NAMES = {"parts": "part", "machine": "machine work", "risk": "risk of a check", "look_inside": "look inside"}
"""Table -> what one of its figures is called where it is missing."""


def with_stand_ins(prices: PriceList, example: PriceList) -> PriceList:
    """The list with a stand-in for everything that the example has a figure for and it has none."""
    scale = read_money(prices.labour_rate, prices.currency) / read_money(example.labour_rate, example.currency)

    def scaled(text: str) -> str:
        return f"{cents(read_money(text, example.currency) * scale)}"

    found = {
        name: scaled(getattr(example, name))
        for name in OF_DECISION
        if getattr(example, name) and not getattr(prices, name)
    }
    for table in TABLES:
        own = getattr(prices, table)
        if table == "look_inside" and own is not None:
            continue  # a shop says which looks it sells; one that it does not name is not sold
        found |= {
            f"{table}.{name}": scaled(text)
            for name, text in (getattr(example, table) or {}).items()
            if name not in (own or {})
        }
    return dataclasses.replace(prices, stand_ins=dict(sorted(found.items())))


def weighing(prices: PriceList) -> PriceList:
    """The list as jobs are weighed by it: what it lacks filled with what stands in."""
    if not prices.stand_ins:
        return prices
    filled: dict[str, Any] = {}
    for place, text in prices.stand_ins.items():
        table, _, name = place.partition(".")
        if not name:
            filled[table] = text
            continue
        rows = filled.setdefault(table, {**(getattr(prices, table) or {})})
        rows[name] = text
    return dataclasses.replace(prices, stand_ins={}, **filled)


def times(prices: PriceList, factor: Decimal) -> PriceList:
    """The list with every stand-in so many times as high."""
    return dataclasses.replace(
        prices,
        stand_ins={
            place: f"{cents(read_money(text, prices.currency) * factor)}" for place, text in prices.stand_ins.items()
        },
    )


def terms_lacking(prices: PriceList) -> tuple[str, ...]:
    """Names of the terms of the decision that a stand-in was taken for, in order of place. A replacement engine is
    among what jobs need."""
    return tuple(
        missing_name(place)
        for place in prices.stand_ins
        if place.partition(".")[0] in ("growth_charge", "reopening", "risk", "look_inside")
    )


def missing_name(place: str) -> str:
    """'parts.piston' -> 'part piston': how a figure is called that is missing."""
    table, _, name = place.partition(".")
    if not name:
        return "replacement engine" if table == "replacement" else table.replace("_", " ")
    return f"{NAMES[table]} {name}"


def place_of(missing: str) -> str:
    """'part piston' -> 'parts.piston': the place of a figure that was said to be missing."""
    for table, word in NAMES.items():
        if missing.startswith(f"{word} "):
            return f"{table}.{missing.removeprefix(f'{word} ')}"
    return "replacement" if missing == "replacement engine" else missing.replace(" ", "_")
