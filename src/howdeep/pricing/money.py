"""Money in Decimal: read from text, rounded half up to the cent, line by line, so that totals always add up."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal

CENT = Decimal("0.01")
_MONEY = re.compile(r"(?:([A-Z]{3})\s*)?(-?\d{1,9}(?:\.\d{1,2})?)\Z")


class MoneyError(ValueError):
    """A text that is not money; the text says why."""


def read_money(text: str, currency: str) -> Decimal:
    """'12.50' or 'USD 12.50' in the list's currency. Raises MoneyError for another currency, a sign or a bad number."""
    match = _MONEY.match(str(text).strip())
    if not match:
        raise MoneyError(f"'{text}' is not an amount such as 12.50")
    if match.group(1) and match.group(1) != currency:
        raise MoneyError(f"'{text}' is in {match.group(1)}, but the list is in {currency}")
    amount = Decimal(match.group(2))
    if amount < 0:
        raise MoneyError(f"'{text}' is negative")
    return amount


def cents(amount: Decimal) -> Decimal:
    """Rounded half up to the cent."""
    return amount.quantize(CENT, ROUND_HALF_UP)


def share(amount: Decimal, percent: str) -> Decimal:
    """So many percent of an amount, to the cent."""
    return cents(amount * Decimal(percent) / 100)
