"""What a check uses up, by the shop's list."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from ..model.prices import PriceList
from .money import read_money


def used_up(parts: Iterable[str], prices: PriceList) -> Decimal:
    """What one of each of these parts costs; nothing for a part that the list does not price."""
    priced = (prices.parts[part] for part in parts if part in prices.parts)
    return sum((read_money(text, prices.currency) for text in priced), Decimal(0))
