"""What a shop's settings make of the rule base, the price list and a job."""

from __future__ import annotations

import dataclasses

from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.shop import ShopSettings


def equipped(knowledge: Knowledge, settings: ShopSettings) -> Knowledge:
    """The rule base as this shop can use it: what needs a tool that it does not own is not offered."""
    lacking = tuple(name for name in knowledge.tools if settings.tools.get(name) == "no")
    return dataclasses.replace(knowledge, not_owned=lacking) if lacking else knowledge


def with_floors(prices: PriceList, settings: ShopSettings) -> PriceList:
    """The price list with the shop's floors of a promise and its letterhead, where it names them."""
    own = {name: value for name in ("promise_floor", "firm_floor") if (value := getattr(settings, name)) is not None}
    if settings.letterhead is not None:
        own["shop"] = settings.letterhead
    return dataclasses.replace(prices, **own) if own else prices


def placed(job: OpenJob, settings: ShopSettings) -> OpenJob:
    """The job, at the shop's altitude where it gives none of its own."""
    if job.job.place.altitude or not settings.altitude:
        return job
    place = dataclasses.replace(job.job.place, altitude=settings.altitude)
    return dataclasses.replace(job, job=dataclasses.replace(job.job, place=place))
