"""Of what a paper speaks: a promise as it was made, whatever the answer says today, or today's estimate."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from ..job.promises import LOST
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment
from ..model.shop import ShopSettings
from .estimate import estimate_of
from .estimate_values import Estimate
from .numbered import content_of, estimate_content, number_of
from .promise import estimate_from_plain, quote_from_plain, quote_to_plain
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


def promise_standing(job: OpenJob) -> str:
    """The promise of which letter and order list speak where no other job is asked for: the newest that can be shown.
    Empty for none."""
    return next((name for name in reversed(job.job.promises) if _is_whole(job.job.promises[name])), "")


def offered(
    knowledge: Knowledge,
    answer: Assessment,
    made: Quote,
    prices: PriceList,
    settings: ShopSettings,
    *,
    asked: bool = False,
    date: str = "",
) -> Estimate:
    """Today's estimate of a quote, under the number that it was printed with; of a quote that was promised just so, the
    estimate of that promise, so that one number never says two things."""
    said = content_of(quote_to_plain(made))
    for promise in reversed(answer.job.job.promises.values()):
        if _is_whole(promise) and content_of(quote_to_plain(promise["quote"])) == said:
            return promised_estimate(knowledge, answer, promise, prices, settings, answer.job.path)[1]
    estimate = estimate_of(knowledge, answer, made, prices, settings, asked=asked, date=date, units=settings.units)
    number = number_of(answer.job.job, estimate_content(made, estimate))
    return dataclasses.replace(estimate, number=number or None)


def _is_whole(promise: Any) -> bool:
    return isinstance(promise, Mapping) and LOST not in promise and "quote" in promise


__all__ = ["offered", "promise_standing", "promised_estimate"]
