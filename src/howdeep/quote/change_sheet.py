"""The change sheet: what was promised, what was found, what moved since, and the yes to it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

from ..errors import HowdeepError
from ..job.promises import put_beside
from ..job.write import Change as JobChange
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment
from ..model.terms import DEPTH, RUNGS
from ..pricing.lines import is_replacement
from .bills import causes_of
from .build import build_quote
from .found import found_sentences
from .jobs import job_title
from .promise import approving, name_of, quote_from_plain, quote_to_plain, stored
from .values import Allowance, Change, ChangeSheet, Pictured, Quote, QuoteLine, Yes

CHANGE_SHAPE = 2


def yeses_to(job: OpenJob, promise_id: str) -> tuple[Yes, ...]:
    """Recorded yeses to a promise; one that names none counts for each."""
    return tuple(
        Yes(
            entry.get("by", ""),
            entry.get("how", ""),
            entry.get("date", ""),
            entry.get("time", ""),
            Decimal(str(entry["sum"])),
        )
        for entry in job.job.approvals
        if "sum" in entry and entry.get("promise", promise_id) == promise_id
    )


def authorised(job: OpenJob, promised: Quote, promise_id: str = "") -> Decimal | None:
    """The most that a recorded yes covers: the largest sum approved, else nothing beyond the promised total."""
    sums = [yes.amount for yes in yeses_to(job, promise_id)]
    return max(sums) if sums else promised.total


def sheet_to_plain(sheet: ChangeSheet) -> dict[str, Any]:
    """A change sheet as plain values, as it is kept beside the job with the yes that was said to it."""
    return {"howdeep_change": CHANGE_SHAPE, **quote_to_plain(sheet)}


def said_of(sheet: ChangeSheet) -> dict[str, Any]:
    """What a change sheet says, without its number and the yeses to it: two that say the same are one paper."""
    return {
        key: value
        for key, value in quote_to_plain(sheet).items()
        if key not in ("number", "yeses", "authorised", "needs_yes")
    }


def moves(sheet: ChangeSheet) -> bool:
    """Whether anything moved since the promise: without that a change sheet says nothing."""
    return bool(sheet.added or sheet.removed or sheet.changed or sheet.used or sheet.total_before != sheet.total_after)


def keeping_yes(
    path: Path,
    sheet: ChangeSheet | None,
    *,
    by: str,
    how: str,
    date: str,
    time: str,
    promise: str,
    amount: Decimal | None = None,
) -> tuple[JobChange, Decimal]:
    """(the change that records a yes, its sum): to `amount`, or to the new total of a change sheet, which is then kept
    beside the job at `path` as it was shown. Raises HowdeepError where it cannot be kept or has no total."""
    kept, number = "", ""
    if sheet is not None:
        if sheet.total_after is None:
            raise HowdeepError("the change sheet has no total, for prices are missing: name the sum")
        amount, number = sheet.total_after, sheet.number
        kept = put_beside(path, f"changes {sheet.promise}", sheet_to_plain(sheet))["file"]
    assert amount is not None
    return approving(amount, by, date, how, time=time, promise=promise, sheet=kept, number=number), amount


def change_sheet(
    knowledge: Knowledge,
    answer: Assessment,
    prices: PriceList,
    promise_id: str,
    found_text: Callable[[Knowledge, Assessment], tuple[str, ...]] = found_sentences,
) -> ChangeSheet:
    """What moved since a promise ('last' for the newest), and what of it needs the customer's yes."""
    promise, promise_id = stored(answer.job, promise_id), name_of(answer.job, promise_id)
    before = quote_from_plain(promise["quote"], answer.job.path)
    after = build_quote(knowledge, answer, prices, job_after(promise, answer), two_step=False)
    old = {(line.kind, line.subject): line for line in before.lines}
    new = {(line.kind, line.subject): line for line in after.lines}
    allowed = {item.operation: item for item in before.allowances}

    def change(line: QuoteLine, first: QuoteLine | None, then: QuoteLine | None, because: str) -> Change:
        return Change(
            line.subject,
            line.title + (f", {line.size}" if line.size else ""),
            first.amount if first else None,
            then.amount if then else None,
            because,
        )

    engine = next((item for name, item in allowed.items() if is_replacement(knowledge, name)), None)

    def allowance_of(line: QuoteLine) -> Allowance | None:
        """What was allowed for a line of work; another engine is a line of its own kind."""
        if line.kind == "replacement":
            return engine
        return allowed.get(line.subject) if line.kind == "labour" else None

    used = {
        key: item
        for key, line in new.items()
        if key not in old and (item := allowance_of(line)) is not None and _is_found(knowledge, answer, item)
    }
    added = tuple(
        change(line, None, line, "an allowance of the promise, now found" if key in used else line.why)
        for key, line in new.items()
        if key not in old
    )
    removed = tuple(change(line, line, None, "no longer called for") for key, line in old.items() if key not in new)
    changed = tuple(
        change(
            line,
            old[key],
            line,
            "a share of the labour"
            if line.kind == "supplies"
            else "other size or quantity"
            if line.size != old[key].size or line.quantity != old[key].quantity
            else "other price",
        )
        for key, line in new.items()
        if key in old and line.amount != old[key].amount
    )
    limit = authorised(answer.job, before, promise_id)
    beyond = None
    if after.total is not None and limit is not None and after.total > limit:
        beyond = after.total - limit
    return ChangeSheet(
        promise_id,
        str(promise["date"]),
        job_title(knowledge, before.job or before.rung),
        job_title(knowledge, after.job),
        before.total,
        after.total,
        found_text(knowledge, answer),
        added,
        removed,
        changed,
        tuple(item.title for item in used.values()),
        limit,
        beyond,
        _moved(before, after),
        None if before.tax is None or after.tax is None else after.tax - before.tax,
        _pictured(knowledge, answer, str(promise["date"])),
        yeses_to(answer.job, promise_id),
    )


def _moved(before: Quote, after: Quote) -> Decimal | None:
    """By how much the sum of the lines moved."""
    return None if before.subtotal is None or after.subtotal is None else after.subtotal - before.subtotal


def _pictured(knowledge: Knowledge, answer: Assessment, since: str) -> tuple[Pictured, ...]:
    """Photographs of the open engine, and those taken since the promise."""
    found = []
    for photo in answer.job.job.photos:
        shown = knowledge.observations.get(photo.of)
        if photo.date >= since or (shown is not None and shown.moment == "teardown"):
            found.append(Pictured(shown.title if shown else photo.of, photo.date, photo.file))
    return tuple(found)


def _is_found(knowledge: Knowledge, answer: Assessment, allowance: Allowance) -> bool:
    """Whether a cause that an allowance was for now calls for its work."""
    return any(
        answer.called.get(cause, 0.0) >= knowledge.settings.include_at for cause in causes_of(allowance.evidence)
    )


def job_after(promise: Mapping[str, Any], answer: Assessment) -> str:
    """The job that a promise stands for now: the promised one, moved only as far as the advice itself has moved.

    Where the customer chose another job than the one recommended then, an unchanged recommendation leaves that choice
    alone. Advice that went deeper takes a shallower promise with it, advice that went shallower a deeper one, but not
    one that was chosen deeper than advised.
    """
    promised, then, now = promise["quote"]["rung"], promise.get("recommended"), answer.decision.rung
    goes = promised
    if then in RUNGS and DEPTH[now] > DEPTH[then]:
        goes = max(promised, now, key=RUNGS.index)
    elif then in RUNGS and DEPTH[now] < DEPTH[then] and DEPTH[promised] <= DEPTH[then]:
        goes = min(promised, now, key=RUNGS.index)
    return answer.decision.job if goes != promised else promise["quote"].get("job") or promised
