"""The head of a job's pages: whose it is, which engine, and where it stands."""

from __future__ import annotations

from ..interview.session import Desk
from ..job.standing import job_standing
from ..model.frozen import dataclass
from ..sheets.shelf import bore_words, kind_words

PLACES = (
    ("talk", "Talk", "/ask"),
    ("test", "Test", "/readings"),
    ("answer", "Answer", ""),
    ("promise", "Promise", "/papers"),
    ("open", "Open", "/open"),
    ("prove", "Prove", "/prove"),
)
"""The six places of a job, in the order in which a shop lives through it: (id, its word, end of its address)."""

_PLACE_OF = {
    "ask": "talk",
    "answer": "talk",
    "answers": "talk",
    "heard": "talk",
    "readings": "test",
    "save_readings": "test",
    "place": "test",
    "job": "answer",
    "explained": "answer",
    "waive": "answer",
    "job_engine": "answer",
    "keeping": "answer",
    "history": "answer",
    "papers": "promise",
    "job_prices": "promise",
    "promises": "promise",
    "changes": "promise",
    "number": "promise",
    "approve": "promise",
    "opened": "open",
    "save_opened": "open",
    "prove": "prove",
    "close": "prove",
}
"""Endpoint -> the place of a job that it belongs to."""


def place_of(endpoint: str) -> str:
    """The place of a job that a page belongs to; empty for a page of no job."""
    return _PLACE_OF.get(endpoint, "")


@dataclass(frozen=True, slots=True)
class JobCard:
    """The main figures of a job, as texts; what is not known is empty."""

    title: str
    standing: str
    opened: str
    customer: str
    phone: str
    machine: str
    engine: str
    figures: str
    """'petrol, side valves, farm; 4 cylinders, bore 3.25 in, stroke 4 in'."""


def job_card(desk: Desk, name: str) -> JobCard:
    """The card of an open job; `name` stands in for a title that was not given."""
    job, engine = desk.job.job, desk.job.engine
    build = engine.build
    sizes = [
        f"{build.cylinders} cylinder{'' if build.cylinders == 1 else 's'}",
        *(f"{word} {text}" for word, text in (("bore", bore_words(engine.bore)), ("stroke", engine.stroke)) if text),
    ]
    return JobCard(
        job.title or name,
        job_standing(job),
        job.opened,
        job.customer.name,
        job.customer.phone,
        job.customer.machine,
        engine.name,
        f"{kind_words(engine)}; {', '.join(sizes)}",
    )


__all__ = ["PLACES", "JobCard", "job_card", "place_of"]
