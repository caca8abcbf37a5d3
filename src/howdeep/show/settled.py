"""What a job says of itself that was promised or closed, or of which nothing was asked yet, in place of a verdict."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import Any, Literal

from ..job.standing import job_standing
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.results import Assessment
from ..quote.promised import promise_standing
from .section import Line, Section
from .sentences import lower_first
from .words import money

Way = Literal["promised", "closed", "unasked"]
LEFT_OUT = ("job", "held", "stages", "turns_up", "owner", "leaves")
"""Sections about what is to be decided, which is decided."""


@dataclass(frozen=True, slots=True)
class Settled:
    """Where a job stands of which no verdict is told."""

    heading: str
    job: str
    """The job that was promised or done; empty where none is known."""
    way: Way
    sections: tuple[Section, ...]
    """What takes the place of the sections of the same ids."""


def settled(knowledge: Knowledge, answer: Assessment) -> Settled | None:
    """What is said where a promise stands, the job is closed or nothing was asked; None where the answer speaks for
    itself: before a promise, on the open engine, where it came back, and of a promise while something forbids
    running."""
    job = answer.job.job
    standing = job_standing(job)
    if standing == "closed" and job.found is not None:
        found = [knowledge.causes[name].title for name, truth in job.found.causes.items() if truth == "present"]
        told = f"Closed on {job.found.date}." + (f" Found: {lower_first('; '.join(found))}." if found else "")
        done = knowledge.scopes[job.found.scope_done].title if job.found.scope_done else ""
        return _settled("Closed", done, told, "Nothing is left to do here; if it comes back, write that down", "closed")
    if standing == "new" and not answer.job.values:
        told = "Nothing was asked or measured, so there is no answer."
        return _settled("Nothing asked yet", "", told, "Ask the customer", "unasked")
    if standing not in ("promised", "waits for a yes") or answer.decision.kind == "do_not_run":
        return None
    name = promise_standing(answer.job)
    if not name:
        return None
    promise = job.promises[name]
    quote = promise["quote"]
    told = f"Promised on {promise['date']} as {name}: {_sum(quote)}."
    title = str(quote.get("title", ""))
    yes = [entry for entry in job.approvals if entry.get("promise", "") in ("", name)]
    if not yes:
        then = "Have the estimate signed, or write down the customer's yes"
        return _settled("Promised, waits for a yes", title, told, then, "promised")
    said = ", ".join(yes[-1][key] for key in ("by", "how", "date") if yes[-1].get(key))
    then = "Order the parts and do the work; what is found on opening goes on the change sheet"
    return _settled("Promised", title, f"{told} The yes: {said}.", then, "promised")


def _settled(heading: str, job: str, told: str, then: str, way: Way) -> Settled:
    return Settled(
        heading,
        job,
        way,
        (
            Section("because", "Where it stands", (Line(told),)),
            Section("next", "Next", (Line(then),)),
            *(Section(name, "") for name in LEFT_OUT),
        ),
    )


def _sum(quote: dict[str, Any]) -> str:
    try:
        return f"{money(Decimal(str(quote.get('total'))), str(quote.get('currency', '')))} with tax"
    except InvalidOperation:
        return "no sum"
