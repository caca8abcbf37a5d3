"""A promise as it was made: its quote and its estimate, whatever the answer says today."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..assessment.session import Shop
from ..interview.session import Desk
from ..quote.estimate import estimate_of
from ..quote.estimate_values import Estimate
from ..quote.promise import estimate_from_plain, quote_from_plain
from ..quote.values import Quote


def promised_estimate(shop: Shop, desk: Desk, kept: Mapping[str, Any]) -> tuple[Quote, Estimate]:
    """The quote and the estimate that a promise holds. One of before there were estimates has its sums as they were
    stored, on the page of today. Raises HowdeepError where it cannot be read."""
    made = quote_from_plain(kept["quote"], desk.path.name)
    if "estimate" in kept:
        return made, estimate_from_plain(kept["estimate"], desk.path.name)
    return made, estimate_of(
        shop.knowledge,
        desk.answer,
        made,
        shop.prices,
        shop.settings,
        promised=True,
        number=str(kept.get("number", "")) or None,
        date=str(kept["date"]),
        units=shop.settings.units,
    )


__all__ = ["promised_estimate"]
