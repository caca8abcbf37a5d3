"""Of which job a paper speaks, and what stands behind it: as an address says, and as a form offers it."""

from __future__ import annotations

from typing import Any

from flask import abort, request

from ..interview.session import Desk
from ..model.frozen import dataclass
from ..model.odds import odds_words
from ..model.terms import RUNGS, Rung
from ..quote.jobs import job_title, rung_of
from ..show.words import money, percent

JOB, TWO_STEP, COMPARE, ANNEX, SHOP_COPY = "job", "two_step", "compare", "annex", "shop_copy"
"""What an address may say: the key of a job; the offer to open first and look; the depth set beside it; every line with
its reason; the same with the evidence."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One job that a paper can speak of."""

    key: str
    """Empty for the one that the answer speaks of."""
    words: str
    """'Top end, only what cures it: 85 %, likely; USD 900'."""


def job_choices(desk: Desk) -> tuple[Choice, ...]:
    """The job that the answer speaks of, then every job of the engine, shallow to deep."""
    decision, knowledge = desk.answer.decision, desk.knowledge

    def said(key: str) -> str:
        line = decision.line(key)
        price = "no price" if line.price is None else money(line.price, decision.currency, whole=True)
        return f"{job_title(knowledge, key)}: {percent(line.enough)}, {odds_words(line.enough)}; {price}"

    lines = sorted(decision.jobs, key=lambda line: (RUNGS.index(line.rung), line.whole))
    return (
        Choice("", f"As the answer stands ({job_title(knowledge, decision.job).lower()})"),
        *(Choice(line.job, said(line.job)) for line in lines),
    )


def asked_job(desk: Desk) -> str:
    """The key of the job that the address (or a form) names, else of the one that the answer speaks of."""
    key = request.values.get(JOB, "")
    if key and key not in desk.answer.works:
        abort(404, "There is no such job of this engine as it stands.")
    return key or desk.answer.decision.job


def is_asked() -> bool:
    """Whether a job is named."""
    return bool(request.values.get(JOB))


def two_step() -> bool | None:
    """True where the offer to open first is asked for; else it is made where the answer calls for it."""
    return True if request.values.get(TWO_STEP) else None


def beside(desk: Desk) -> Rung | None:
    """The depth that is to be set beside the job."""
    rung = request.args.get(COMPARE, "")
    if rung and rung not in desk.knowledge.scopes:
        abort(404, "There is no such depth.")
    return rung_of(rung) if rung else None


def carried() -> dict[str, Any]:
    """What the address says of the job, to be said again by the address that follows."""
    return {name: told for name in (JOB, TWO_STEP) if (told := request.values.get(name, ""))}


__all__ = [
    "ANNEX",
    "COMPARE",
    "JOB",
    "SHOP_COPY",
    "TWO_STEP",
    "Choice",
    "asked_job",
    "beside",
    "carried",
    "is_asked",
    "job_choices",
    "two_step",
]
