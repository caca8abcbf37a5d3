"""Tax on priced lines: once, on the sum of the taxed kinds."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from ..model.prices import PriceList
from .money import share

_TAXED_AS = {"part": "parts", "consumable": "parts", "replacement": "parts"}


def is_taxed(kind: str, prices: PriceList) -> bool:
    """Whether lines of this kind (labour, machine, part, consumable, replacement, supplies) bear tax at this shop."""
    return _TAXED_AS.get(kind, kind) in prices.tax_on


def tax_on(lines: Iterable[tuple[str, Decimal | None]], prices: PriceList) -> Decimal:
    """Tax on (kind, amount) of lines, rounded half up to the cent once; a line without a price bears none."""
    taxable = sum((amount for kind, amount in lines if amount is not None and is_taxed(kind, prices)), Decimal(0))
    return share(taxable, prices.tax_percent)
