"""Numbers of papers as a job keeps them: what says the same keeps its number, anything else takes a new one."""

from __future__ import annotations

import hashlib
import json
from decimal import Decimal
from pathlib import Path
from typing import Any, Literal

from ..clock import date_today
from ..job.write import Change, save
from ..model.job import Job, OpenJob, Paper
from ..model.knowledge import Knowledge
from ..shop.numbers import take_number
from .estimate_values import Estimate
from .promise import quote_to_plain
from .values import Quote

_DIGITS = 16


def content_of(plain: dict[str, Any]) -> str:
    """Short hash of what a paper says, from its plain values."""
    return hashlib.sha256(json.dumps(plain, sort_keys=True, ensure_ascii=False).encode()).hexdigest()[:_DIGITS]


def estimate_content(quote: Quote, estimate: Estimate) -> str:
    """Short hash of what an estimate says: its quote, which paper it is, and whether it is promised. The same sums are
    one thing where work is offered and another where something is found out first, so each has its number."""
    return content_of({**quote_to_plain(quote), "paper": [estimate.paper, estimate.promised]})


def number_of(job: Job, content: str) -> str:
    """The number under which a paper was printed already; empty where it was not."""
    return next((paper.number for paper in job.papers if paper.content == content), "")


def numbering(paper: Paper) -> Change:
    """The change that enters a numbered paper; one with the same number is not entered twice."""
    entry = {"number": paper.number, "kind": paper.kind, "date": paper.date, "content": paper.content}
    if paper.total:
        entry["total"] = paper.total

    def change(plain: dict[str, Any]) -> dict[str, Any]:
        held = list(plain.get("papers") or ())
        if any(item.get("number") == paper.number for item in held):
            return plain
        return {**plain, "papers": [*held, entry]}

    return change


def give_number(
    settings: Path,
    knowledge: Knowledge,
    path: Path,
    job: OpenJob,
    kind: Literal["estimate", "change sheet"],
    content: str,
    total: Decimal | None,
) -> tuple[str, str]:
    """(number of a paper, digest of the job after it): the number it has, else the shop's next, entered in the job file
    at `path`; empty where the shop numbers nothing. Raises StaleFile where the job was changed meanwhile: the number is
    then left out, and never given again."""
    had = number_of(job.job, content)
    number = had or take_number(settings, knowledge)
    if had or not number:
        return number, job.digest
    paper = Paper(number, kind, date_today(), content, "" if total is None else f"{total:.2f}")
    return number, save(path, job.digest, numbering(paper))
