"""What a person answers for one figure of a price list: read, and what it puts where. Shared by terminal and page."""

from __future__ import annotations

import re
from dataclasses import field
from decimal import Decimal
from typing import Any

from ..model.frozen import dataclass
from ..model.prices import KINDS_TAXED, PriceList
from .money import read_percent
from .places import figure_at
from .read import FACTORS
from .typed import NoPrice, typed_price
from .write import Figure

SAME = "="
"""Answer that makes the figure shown the shop's own, from today."""
NONE = "none"
"""Answer that the shop has no such price."""
HERE = "here"
"""Word behind a part's price that is meant for one engine alone."""
NEEDED = {
    "labour_rate": "without it no work has a price; give it a figure",
    "comeback_charge": "type 0 where a comeback costs you nothing besides the work",
}
"""Figures that a list cannot do without -> what is said to who takes them out."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What is to be put into the list."""

    place: str
    figure: Figure | None
    """None takes it out."""
    others: dict[str, Any] = field(default_factory=dict)
    """Plain values of other fields that the same answer gives."""
    asked: str = ""
    """Place that was asked for, where it may be another one."""


def read_answer(prices: PriceList, place: str, typed: str, today: str, *, engine: str = "") -> Answer:
    """What was typed for a figure. With an `engine`, '48.50 here' is a part's price for that engine alone.

    Raises NoPrice or MoneyError where it cannot be taken; the message says why.
    """
    low = typed.strip().lower()
    if low == NONE:
        if place in NEEDED:
            raise NoPrice(NEEDED[place])
        return Answer(place, None)
    if low == SAME:
        now = figure_at(prices, place)
        if not now:
            raise NoPrice("nothing stands there that could be yours; type a figure")
        return Answer(place, Figure(now, today))
    if place == "tax_percent":
        percent, taxed = read_tax(typed)
        return Answer(place, Figure(percent, today), {"tax_on": list(taxed or KINDS_TAXED)})
    if place == "growth_factor":
        return Answer(place, Figure(_factor(typed), today))
    if place.endswith("_percent"):
        return Answer(place, Figure(f"{_percent(typed)}", today))
    words = typed.split()
    if len(words) > 1 and words[-1].lower() == HERE and engine and place.startswith("parts."):
        typed, place = " ".join(words[:-1]), f"engine_parts.{engine}.{place.removeprefix('parts.')}"
    price = typed_price(typed, prices.currency)
    if price is None:
        raise NoPrice(f"'{typed}' is not a price; write it like 62.50, or 'none'")
    return Answer(place, Figure(f"{price}", today))


def read_tax(typed: str) -> tuple[str, tuple[str, ...]]:
    """('7', ('parts', 'supplies')) from '7 on parts, supplies'; without 'on' nothing is said of what it is on, and a
    tax of 0 is on all. Raises MoneyError or NoPrice."""
    percent, _, on = typed.partition(" on ")
    rate = _percent(percent)
    if not rate:
        return "0", KINDS_TAXED
    names = [word for word in re.split(r"[,;\s]+|\band\b", on.strip().lower()) if word]
    if names in (["all"], ["everything"]):
        return f"{rate}", KINDS_TAXED
    known = [
        next((name for name in KINDS_TAXED if name.startswith(word.rstrip("s")) and len(word) > 2), word)
        for word in names
    ]
    if not set(known) <= set(KINDS_TAXED):
        raise NoPrice(f"tax on '{on.strip()}': say on which of {', '.join(KINDS_TAXED)}, or all")
    return f"{rate}", tuple(name for name in KINDS_TAXED if name in known)


def unit_of(prices: PriceList, place: str) -> str:
    """What a figure is counted in: the currency, percent or times."""
    return "percent" if place.endswith("_percent") else "times" if place == "growth_factor" else prices.currency


def _percent(typed: str) -> Decimal:
    return read_percent(typed.replace("%", "").replace(",", ".").replace("percent", "").strip())


def _factor(typed: str) -> str:
    text = typed.replace(",", ".").strip()
    try:
        factor = 1 + float(text.rstrip("% ")) / 100 if "%" in text else float(text)
    except ValueError:
        factor = 0.0
    if not FACTORS[0] <= factor <= FACTORS[1]:
        raise NoPrice(f"'{typed}' is not a factor from 1 to 3; 1.15 or '15 %' is fifteen percent more")
    return f"{factor:.4g}"
