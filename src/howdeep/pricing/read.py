"""The shop's price list: found, read strictly, and refused with every fault at once."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from pathlib import Path

from ..errors import Fault, HowdeepError, nearest
from ..files.strict_yaml import Document, read
from ..knowledge.cache import file_cached
from ..knowledge.shapes import typed
from ..knowledge.where import shipped_rules
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from .money import MoneyError, read_money, read_percent

_MONEY = ("labour_rate", "comeback_charge", "growth_charge", "reopening", "replacement", "teardown_inspection",
          "wait_up_to")
_PERCENT = ("supplies_percent", "tax_percent", "deposit_percent", "look_credit_percent")
_MOST_HOURS = 400.0
_FACTORS = (1.0, 3.0)


def example_prices() -> Path:
    """The price list that comes with the package: an invented shop's."""
    return shipped_rules() / "prices" / "example-shop.yaml"


def find_prices(option: str | Path | None = None, folder: str | Path | None = None) -> Path:
    """The price list to use: the option, else HOWDEEP_PRICES, else prices.yaml beside the job, else the example."""
    named = option or os.environ.get("HOWDEEP_PRICES") or None
    if named is not None:
        return Path(named)
    if folder is not None and os.path.lexists(Path(folder) / "prices.yaml"):  # a broken link is a fault, not a lack
        return Path(folder) / "prices.yaml"
    return example_prices()


def load_prices(path: str | Path, knowledge: Knowledge, engines: Iterable[str] | None = None) -> PriceList:
    """Read a price list against the rule base (and, where given, the ids of the engine sheets).

    Raises HowdeepError with all faults, each at its line: a missing or zero labour rate, a price that is negative, no
    plain decimal or in another currency, an unknown part, machine operation, operation or engine.
    """
    sheets = None if engines is None else sorted(engines)
    also = (knowledge.version, *(("any engine",) if sheets is None else sheets))
    return file_cached("prices", PriceList, Path(path), also, lambda: _read(path, knowledge, sheets))


def _read(path: str | Path, knowledge: Knowledge, sheets: list[str] | None) -> PriceList:
    document = read(path)
    faults: list[Fault] = []
    prices = typed(document, (), document.value, PriceList, faults)
    if prices is None:
        raise HowdeepError(faults)
    faults.extend(_unknown(document, prices, knowledge, sheets))
    if not (len(prices.currency) == 3 and prices.currency.isalpha() and prices.currency.isupper()):
        faults.append(document.fault(("currency",), f"'{prices.currency}' is not a currency of three capital letters",
                                     "for example USD"))
    for where, text in _prices(prices):
        try:
            amount = read_money(text, prices.currency)
        except MoneyError as error:
            faults.append(document.fault(where, str(error)))
            continue
        if where == ("labour_rate",) and not amount:
            faults.append(document.fault(where, "the labour rate is 0; without it no work has a price"))
    for field in _PERCENT:
        try:
            if field != "tax_percent" and read_percent(getattr(prices, field)) > 100:
                faults.append(document.fault((field,), f"'{getattr(prices, field)}' is more than 100 percent"))
            read_percent(getattr(prices, field))
        except MoneyError as error:
            faults.append(document.fault((field,), str(error)))
    try:
        factor = float(prices.growth_factor)
    except ValueError:
        factor = -1.0
    if not _FACTORS[0] <= factor <= _FACTORS[1]:
        faults.append(document.fault(("growth_factor",), f"'{prices.growth_factor}' is not a factor from 1 to 3",
                                     "1.10 means that work added at teardown costs a tenth more"))
    for field in ("promise_floor", "firm_floor"):
        chance = getattr(prices, field)
        if not 0 <= chance <= 1:
            faults.append(document.fault((field,), f"'{chance:g}' is not a chance from 0 to 1",
                                         f"write {chance / 100:g} for {chance:g} percent" if 1 < chance <= 100 else ""))
    for operation, hours in prices.hours.items():
        if not 0 < hours <= _MOST_HOURS:
            faults.append(document.fault(("hours", operation), f"'{hours:g}' hours is not more than 0 and at most 400"))
    if prices.valid_days < 1:
        faults.append(document.fault(("valid_days",), f"'{prices.valid_days}' days: a quote holds for at least one"))
    if faults:
        raise HowdeepError(faults)
    return prices


def _prices(prices: PriceList) -> Iterator[tuple[tuple, str]]:
    """(path, text) of every sum of money in the list."""
    for field in _MONEY:
        text = getattr(prices, field)
        if text or field in ("labour_rate", "comeback_charge"):
            yield (field,), text
    for field in ("parts", "machine", "risk", "look_inside"):
        for name, text in getattr(prices, field).items():
            yield (field, name), text
    for engine, parts in prices.engine_parts.items():
        for name, text in parts.items():
            yield ("engine_parts", engine, name), text


def _unknown(document: Document, prices: PriceList, knowledge: Knowledge,
             sheets: list[str] | None) -> Iterator[Fault]:
    kinds = (("parts", prices.parts, knowledge.parts, "part"),
             ("machine", prices.machine, knowledge.machining, "machine-shop operation"),
             ("hours", prices.hours, knowledge.operations, "operation"))
    for field, given, known, what in kinds:
        for name in given:
            if name not in known:
                yield document.fault((field, name), f"there is no {what} '{name}' in the rule base",
                                     nearest(name, known), at_key=True)
    for engine, parts in prices.engine_parts.items():
        if sheets is not None and engine not in sheets:
            yield document.fault(("engine_parts", engine), f"there is no engine sheet '{engine}'",
                                 nearest(engine, sheets), at_key=True)
        for name in parts:
            if name not in knowledge.parts:
                yield document.fault(("engine_parts", engine, name), f"there is no part '{name}' in the rule base",
                                     nearest(name, knowledge.parts), at_key=True)
