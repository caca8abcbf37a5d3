"""Money as decimals of one currency, rounded half up to the cent."""

from __future__ import annotations

import math
import re
from decimal import ROUND_HALF_UP, Decimal

from ..errors import HowdeepError

_CENT = Decimal("0.01")
_MONEY = re.compile(r"(?:([A-Za-z]{3})\s*)?(\d{1,9}(?:\.\d{1,2})?)")
_PERCENT = re.compile(r"\d{1,3}(?:\.\d{1,4})?")


class MoneyError(HowdeepError):
    """A price that cannot be used; the text says why."""


def whole_cents(amount: float) -> int:
    """A float amount in cents, rounded half up; first to a millionth, so that its last bits cannot tip a cent."""
    return math.floor(round(amount * 100, 4) + 0.5)


def cents(amount: Decimal | float) -> Decimal:
    """The amount rounded half up to the cent."""
    if isinstance(amount, Decimal):
        return amount.quantize(_CENT, rounding=ROUND_HALF_UP)
    return Decimal(whole_cents(float(amount))).scaleb(-2).quantize(_CENT)


def known(amount: Decimal | None) -> Decimal:
    """An amount that the steps before have made sure of. Raises ValueError where it is missing all the same: a sum that
    is not known is never taken for nothing."""
    if amount is None:
        raise ValueError("an amount is missing")
    return amount


def read_money(text: str, currency: str) -> Decimal:
    """'62.50' or 'USD 62.50' as a decimal. Raises MoneyError: not a plain decimal, negative, another currency."""
    text = str(text).strip()
    if text.startswith("-"):
        raise MoneyError(f"'{text}' is negative; a price is 0 or more")
    match = _MONEY.fullmatch(text)
    if match is None:
        raise MoneyError(f"'{text}' is not a price; write it like '62.50', without thousands marks or currency signs")
    if match.group(1) and match.group(1).upper() != currency.upper():
        raise MoneyError(
            f"'{text}' is in {match.group(1).upper()}, but the list is in {currency}; one list, one currency"
        )
    return Decimal(match.group(2))


def read_percent(text: str) -> Decimal:
    """'8.25' as a decimal. Raises MoneyError."""
    text = str(text).strip()
    if not _PERCENT.fullmatch(text):
        raise MoneyError(f"'{text}' is not a percentage; write it like '8.25'")
    return Decimal(text)


def share(amount: Decimal, percent: str) -> Decimal:
    """So many percent of an amount, rounded half up to the cent."""
    return cents(amount * read_percent(percent) / 100)
