"""A promise as it was made: its quote and its estimate, whatever the answer says today."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment
from ..model.shop import ShopSettings
from .estimate import estimate_of
from .estimate_values import Estimate
from .promise import estimate_from_plain, quote_from_plain
from .values import Quote


def promised_estimate(
    knowledge: Knowledge,
    answer: Assessment,
    kept: Mapping[str, Any],
    prices: PriceList,
    settings: ShopSettings,
    path: str,
) -> tuple[Quote, Estimate, bool]:
    """(quote, estimate, whether the estimate is the one that was signed) of a promise. One of before there were
    estimates has its sums as they were stored, on the page of today. Raises HowdeepError where it cannot be read;
    `path` is the file that is then named."""
    made = quote_from_plain(kept["quote"], path)
    if "estimate" in kept:
        return made, estimate_from_plain(kept["estimate"], path), True
    number = str(kept.get("number", "")) or None
    page = estimate_of(
        knowledge,
        answer,
        made,
        prices,
        settings,
        promised=True,
        number=number,
        date=str(kept["date"]),
        units=settings.units,
    )
    return made, page, False


__all__ = ["promised_estimate"]
