"""A shop's price list: found, read, and refused with every fault at its place."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from datetime import date
from pathlib import Path

from ..errors import Fault, HowdeepError, nearest
from ..files.strict_yaml import read
from ..knowledge.shapes import typed
from ..knowledge.where import shipped_rules
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from .money import MoneyError, read_money

_PERCENTS = ("supplies_percent", "tax_percent", "deposit_percent")


def example_prices() -> Path:
    """The invented price list that comes with the package."""
    return shipped_rules() / "prices" / "example-shop.yaml"


def find_prices(option: str | Path | None, beside: Path | None) -> Path:
    """The price list to use: the option, else HOWDEEP_PRICES, else prices.yaml beside the job, else the example."""
    named = option or os.environ.get("HOWDEEP_PRICES")
    if named:
        return Path(named)
    own = beside / "prices.yaml" if beside is not None else None
    return own if own is not None and own.is_file() else example_prices()


def load_prices(path: Path, knowledge: Knowledge) -> PriceList:
    """Read a price list and hold it against the rule base. Raises HowdeepError with every fault.

    A part or machine operation without a price is no fault here: the line it is needed in says so.
    """
    document = read(path)
    faults: list[Fault] = []
    prices: PriceList | None = typed(document, (), document.value, PriceList, faults)
    if prices is None:
        raise HowdeepError(faults)
    if not re.fullmatch(r"[A-Z]{3}", prices.currency):
        faults.append(document.fault(("currency",), f"'{prices.currency}' is not a currency's three letters"))
    for where, text in _amounts(prices):
        try:
            read_money(text, prices.currency)
        except MoneyError as error:
            faults.append(document.fault(where, str(error)))
    for name in _PERCENTS:
        if not re.fullmatch(r"\d{1,3}(\.\d+)?", getattr(prices, name)):
            faults.append(document.fault((name,), f"'{getattr(prices, name)}' is not a percentage"))
    if not re.fullmatch(r"[1-9]\d?(\.\d+)?|0\.\d+", prices.growth_factor):
        faults.append(document.fault(("growth_factor",), f"'{prices.growth_factor}' is not a factor such as 1.10"))
    try:
        date.fromisoformat(prices.date)
    except ValueError:
        faults.append(document.fault(("date",), f"'{prices.date}' is not a date such as 2026-01-31"))
    for field, known in (("parts", knowledge.parts), ("machine", knowledge.machining), ("hours", knowledge.operations)):
        for name in getattr(prices, field):
            if name not in known:
                faults.append(document.fault((field, name), f"there is no '{name}' in the rule base",
                                             nearest(name, known), at_key=True))
    for engine, parts in prices.engine_parts.items():
        for name in parts:
            if name not in knowledge.parts:
                faults.append(document.fault(("engine_parts", engine, name), f"there is no part '{name}'",
                                             nearest(name, knowledge.parts), at_key=True))
    for name, hours in prices.hours.items():
        if not 0 < hours < 500:
            faults.append(document.fault(("hours", name), f"'{hours}' hours cannot be right"))
    if prices.valid_days < 1:
        faults.append(document.fault(("valid_days",), f"'{prices.valid_days}' days is no validity"))
    if faults:
        raise HowdeepError(faults)
    return prices


def _amounts(prices: PriceList) -> Iterable[tuple[tuple, str]]:
    for name in ("labour_rate", "comeback_charge", "reopening", "teardown_inspection"):
        yield (name,), getattr(prices, name)
    if prices.replacement:
        yield ("replacement",), prices.replacement
    for field in ("parts", "machine", "risk"):
        for name, text in getattr(prices, field).items():
            yield (field, name), text
    for engine, parts in prices.engine_parts.items():
        for name, text in parts.items():
            yield ("engine_parts", engine, name), text
