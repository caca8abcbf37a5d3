"""A promise once made: stored in the job exactly as made, shown again exactly, and held beside what came of it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from ..errors import Fault, HowdeepError, nearest
from ..job.write import Change as JobChange
from ..model.job import OpenJob
from ..model.knowledge import RUNGS, Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment
from .bills import causes_of
from .build import build_quote
from .estimate_values import Estimate
from .found import found_sentences as found_sentences
from .jobs import job_title
from .values import Allowance, Change, ChangeSheet, Quote, QuoteLine, TwoSteps

_DIGITS = 6


def promise_of(knowledge: Knowledge, answer: Assessment, quote: Quote, date: str,
               estimate: Estimate | None = None) -> dict[str, Any]:
    """The promise as plain values for the job file, with the estimate that was signed."""
    return {
        "date": date,
        "rule_base": knowledge.version,
        "price_list": quote.price_list,
        "price_date": quote.price_date,
        "rung": quote.rung,
        "recommended": answer.decision.rung,
        "enough": {line.rung: round(line.enough, _DIGITS) for line in answer.decision.ladder},
        "expected": {line.rung: f"{line.expected:.2f}" for line in answer.decision.ladder if line.expected is not None},
        "causes": {belief.cause: round(belief.posterior, _DIGITS) for belief in sorted(answer.beliefs,
                                                                                       key=lambda b: b.cause)},
        "quote": quote_to_plain(quote),
        **({"estimate": quote_to_plain(estimate)} if estimate is not None else {}),
    }


def storing(promise_id: str, promise: Mapping[str, Any]) -> JobChange:
    """The change that stores a promise; an id that is taken is refused."""

    def change(plain: dict[str, Any]) -> dict[str, Any]:
        promises = dict(plain.get("promises") or {})
        if promise_id in promises:
            raise HowdeepError(Fault("", 0, 0, f"a promise '{promise_id}' was made already and is never changed"))
        return {**plain, "promises": {**promises, promise_id: dict(promise)}}

    return change


def approving(amount: Decimal, by: str, date: str, how: str) -> JobChange:
    """The change that records the customer's yes to a sum."""

    def change(plain: dict[str, Any]) -> dict[str, Any]:
        entry = {"date": date, "by": by, "sum": f"{amount:.2f}", "how": how}
        return {**plain, "approvals": [*(plain.get("approvals") or []), entry]}

    return change


def stored(job: OpenJob, promise_id: str) -> dict[str, Any]:
    """A promise of the job by id ('last' for the newest). Raises HowdeepError where there is none."""
    promises = job.job.promises
    if promise_id == "last" and promises:
        promise_id = list(promises)[-1]
    if promise_id not in promises or not isinstance(promises[promise_id], dict):
        raise HowdeepError(Fault(job.path, 0, 0, f"there is no promise '{promise_id}' in this job",
                                 nearest(promise_id, promises) or ("known: " + ", ".join(promises) if promises
                                                                   else "make one with --promise")))
    return promises[promise_id]


def quote_to_plain(value: Any) -> Any:
    """A quote as plain values; money and quantities as text, so that it is read back exactly."""
    if dataclasses.is_dataclass(value):
        return {item.name: quote_to_plain(getattr(value, item.name)) for item in dataclasses.fields(value)}
    if isinstance(value, (list, tuple)):
        return [quote_to_plain(item) for item in value]
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, float):
        return round(value, _DIGITS)
    return value


def quote_from_plain(plain: Mapping[str, Any], where: str) -> Quote:
    """The quote that `quote_to_plain` wrote. Raises HowdeepError where somebody edited it beyond reading."""

    def amount(text: Any) -> Decimal | None:
        return None if text is None else Decimal(str(text))

    def built(shape: type, item: Mapping[str, Any], money: tuple[str, ...], rows: tuple[str, ...]) -> Any:
        values = {key: amount(value) if key in money else tuple(value) if key in rows else value
                  for key, value in item.items()}
        return shape(**values)

    try:
        fields = dict(plain)
        fields["lines"] = tuple(built(QuoteLine, item, ("quantity", "unit_price", "amount"), ("evidence",))
                                for item in plain["lines"])
        fields["allowances"] = tuple(built(Allowance, item, ("amount",), ("evidence", "lacks"))
                                     for item in plain["allowances"])
        if plain.get("two_steps"):
            fields["two_steps"] = built(TwoSteps, plain["two_steps"], ("inspection", "way_back_assembled", "cap"), ())
        for key in ("subtotal", "tax", "total", "likely", "low", "high", "deposit"):
            fields[key] = amount(plain[key])
        for key in ("known_subtotal", "known_tax", "cap"):
            fields[key] = amount(plain.get(key))
        for key in ("tax_on", "missing", "held", "waived"):
            fields[key] = tuple(plain.get(key, ()))
        for key in ("tax_percent", "deposit_percent", "price_date"):
            fields[key] = str(plain[key])
        return Quote(**fields)
    except (KeyError, TypeError, ValueError, ArithmeticError, AttributeError) as error:
        raise HowdeepError(Fault(where, 0, 0, f"a stored promise cannot be read back: {error}")) from None


def estimate_from_plain(plain: Mapping[str, Any], where: str) -> Estimate:
    """The estimate that `quote_to_plain` wrote. Raises HowdeepError where somebody edited it beyond reading."""
    from pydantic import TypeAdapter, ValidationError

    try:
        return TypeAdapter(Estimate).validate_python(dict(plain))
    except ValidationError as error:
        raise HowdeepError(Fault(where, 0, 0, f"a stored estimate cannot be read back: {error.errors()[0]['msg']} "
                                              f"({'.'.join(map(str, error.errors()[0]['loc']))})")) from None


def authorised(job: OpenJob, promised: Quote) -> Decimal | None:
    """The most that a recorded yes covers: the largest sum approved, else nothing beyond the promised total."""
    sums = [Decimal(entry["sum"]) for entry in job.job.approvals if "sum" in entry]
    return max(sums) if sums else promised.total


def change_sheet(knowledge: Knowledge, answer: Assessment, prices: PriceList, promise_id: str,
                 found_text: Callable[[Knowledge, Assessment], tuple[str, ...]]) -> ChangeSheet:
    """What moved since a promise, and what of it needs the customer's yes."""
    promise = stored(answer.job, promise_id)
    before = quote_from_plain(promise["quote"], answer.job.path)
    after = build_quote(knowledge, answer, prices, job_after(promise, answer), two_step=False)
    old = {(line.kind, line.subject): line for line in before.lines}
    new = {(line.kind, line.subject): line for line in after.lines}
    allowed = {item.operation: item for item in before.allowances}

    def change(line: QuoteLine, first: QuoteLine | None, then: QuoteLine | None, because: str) -> Change:
        return Change(line.subject, line.title + (f", {line.size}" if line.size else ""),
                      first.amount if first else None, then.amount if then else None, because)

    used = {key: allowed[line.subject] for key, line in new.items()
            if line.kind == "labour" and key not in old and line.subject in allowed
            and _is_found(knowledge, answer, allowed[line.subject])}
    added = tuple(change(line, None, line, "an allowance of the promise, now found" if key in used else line.why)
                  for key, line in new.items() if key not in old)
    removed = tuple(change(line, line, None, "no longer called for") for key, line in old.items() if key not in new)
    changed = tuple(change(line, old[key], line, "other size or quantity" if line.size != old[key].size
                           or line.quantity != old[key].quantity else "other price")
                    for key, line in new.items() if key in old and line.amount != old[key].amount)
    limit = authorised(answer.job, before)
    beyond = None
    if after.total is not None and limit is not None and after.total > limit:
        beyond = after.total - limit
    return ChangeSheet(
        promise_id, str(promise["date"]), job_title(knowledge, before.job or before.rung),
        job_title(knowledge, after.job),
        before.total, after.total, found_text(knowledge, answer), added, removed, changed,
        tuple(item.title for item in used.values()), limit, beyond,
    )


def _is_found(knowledge: Knowledge, answer: Assessment, allowance: Allowance) -> bool:
    """Whether a cause that an allowance was for now calls for its work."""
    return any(answer.called.get(cause, 0.0) >= knowledge.settings.include_at
               for cause in causes_of(allowance.evidence))


def job_after(promise: Mapping[str, Any], answer: Assessment) -> str:
    """The job that a promise stands for now: the promised one, moved only as far as the advice itself has moved.

    Where the customer chose another job than the one recommended then, an unchanged recommendation leaves that choice
    alone. Advice that went deeper takes a shallower promise with it, advice that went shallower a deeper one, but not
    one that was chosen deeper than advised.
    """
    promised, then, now = promise["quote"]["rung"], promise.get("recommended"), answer.decision.rung
    goes = promised
    if then in RUNGS and RUNGS.index(now) > RUNGS.index(then):
        goes = max(promised, now, key=RUNGS.index)
    elif then in RUNGS and RUNGS.index(now) < RUNGS.index(then) and RUNGS.index(promised) <= RUNGS.index(then):
        goes = min(promised, now, key=RUNGS.index)
    return answer.decision.job if goes != promised else promise["quote"].get("job") or promised
