"""What must hold of the papers of a job that nobody touched since they were made; shared by a test and a bench."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from howdeep.assessment.session import Shop
from howdeep.model.results import Assessment
from howdeep.quote.bills import job_of
from howdeep.quote.build import build_quote
from howdeep.quote.change_sheet import change_sheet
from howdeep.quote.found import found_sentences
from howdeep.quote.promise import promise_of


def with_promise(answer: Assessment, promise: dict) -> Assessment:
    """The answer of the job with this promise in it."""
    job = answer.job
    return dataclasses.replace(
        answer, job=dataclasses.replace(job, job=dataclasses.replace(job.job, promises={"first": promise}))
    )


def broken(shop: Shop, answer: Assessment) -> Iterator[str]:
    """Sentences of what does not hold, over every job that could be promised."""
    job = job_of(shop.knowledge, answer)
    for key in answer.works:
        quote = build_quote(shop.knowledge, answer, shop.prices, key)
        if quote.total is None or job.total(key, shop.prices) != quote.total:
            yield f"{key}: the bill with nothing found is not the total quoted"
            continue
        if not quote.total <= quote.low <= quote.likely <= quote.high:
            yield f"{key}: likely lies outside the range, or the range below the total"
        line = answer.decision.line(key)
        if quote.subtotal != line.price or quote.enough != line.enough:
            yield f"{key}: the paper and the answer speak of different jobs"
        after = with_promise(answer, promise_of(shop.knowledge, answer, quote, "2026-03-05"))
        sheet = change_sheet(shop.knowledge, after, shop.prices, "first", found_sentences)
        if (
            sheet.added
            or sheet.removed
            or sheet.changed
            or sheet.used
            or sheet.needs_yes is not None
            or sheet.total_before != sheet.total_after
            or sheet.rung_before != sheet.rung_after
        ):
            yield f"{key}: nothing has changed and the change sheet is not empty"
