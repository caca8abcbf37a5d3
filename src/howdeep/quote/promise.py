"""A promise once made: kept beside the job exactly as made, and shown again exactly."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, TypeVar

from ..errors import Fault, HowdeepError, nearest
from ..job.promises import LOST
from ..job.write import Change as JobChange
from ..model.job import OpenJob
from ..model.knowledge import Knowledge
from ..model.results import Assessment
from .estimate_values import Estimate
from .values import Allowance, Quote, QuoteLine, TwoSteps

_DIGITS = 6


def promise_of(
    knowledge: Knowledge,
    answer: Assessment,
    quote: Quote,
    date: str,
    estimate: Estimate | None = None,
    *,
    number: str = "",
) -> dict[str, Any]:
    """The promise as plain values, with the estimate that was signed and the number it carries."""
    return {
        "date": date,
        **({"number": number} if number else {}),
        "rule_base": knowledge.version,
        "price_list": quote.price_list,
        "price_date": quote.price_date,
        "rung": quote.rung,
        "recommended": answer.decision.rung,
        "enough": {line.rung: round(line.enough, _DIGITS) for line in answer.decision.ladder},
        "expected": {line.rung: f"{line.expected:.2f}" for line in answer.decision.ladder if line.expected is not None},
        "causes": {
            belief.cause: round(belief.posterior, _DIGITS) for belief in sorted(answer.beliefs, key=lambda b: b.cause)
        },
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


Part = TypeVar("Part", QuoteLine, Allowance, TwoSteps)
ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


def free_name(promises: Iterable[str], number: str = "") -> str:
    """A name for a promise that nobody named: its number, else the next of first, second ..."""
    later = (f"promise {count}" for count in range(11, 1000))
    names: tuple[str, ...] = (*((number,) if number else ()), *ORDINALS, *later)
    return next(name for name in names if name not in promises)


def approving(amount: Decimal, by: str, date: str, how: str, *, time: str = "", **of: str) -> JobChange:
    """The change that records the customer's yes to a sum: it is appended, and nothing that was promised moves.

    `of` is what it was said to: promise (its id), sheet (file of the change sheet) and number; empty ones are left out.
    """
    entry = {
        "date": date,
        **({"time": time} if time else {}),
        "by": by,
        "sum": f"{amount:.2f}",
        "how": how,
        **{name: text for name, text in of.items() if text},
    }

    def change(plain: dict[str, Any]) -> dict[str, Any]:
        return {**plain, "approvals": [*(plain.get("approvals") or []), entry]}

    return change


def stored(job: OpenJob, promise_id: str) -> dict[str, Any]:
    """A promise of the job by id ('last' for the newest). Raises HowdeepError where there is none."""
    promises, promise_id = job.job.promises, name_of(job, promise_id)
    promise = promises.get(promise_id)
    if not isinstance(promise, dict):
        raise HowdeepError(
            Fault(
                job.path,
                0,
                0,
                f"there is no promise '{promise_id}' in this job",
                nearest(promise_id, promises)
                or (
                    "known: " + ", ".join(promises) if promises else f"make one: 'howdeep promise make {job.path} NAME'"
                ),
            )
        )
    if LOST in promise:
        raise HowdeepError(Fault(job.path, 0, 0, f"the promise '{promise_id}' cannot be shown: {promise[LOST]}"))
    return promise


def name_of(job: OpenJob, promise_id: str) -> str:
    """A promise's own name where 'last' was asked for."""
    return list(job.job.promises)[-1] if promise_id == "last" and job.job.promises else promise_id


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

    def built(shape: type[Part], item: Mapping[str, Any], money: tuple[str, ...], rows: tuple[str, ...]) -> Part:
        values: dict[str, Any] = {
            key: amount(value) if key in money else tuple(value) if key in rows else value
            for key, value in item.items()
        }
        return shape(**values)

    try:
        fields = dict(plain)
        fields["lines"] = tuple(
            built(QuoteLine, item, ("quantity", "unit_price", "amount"), ("evidence",)) for item in plain["lines"]
        )
        fields["allowances"] = tuple(
            built(Allowance, item, ("amount",), ("evidence", "lacks")) for item in plain["allowances"]
        )
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
        raise HowdeepError(
            Fault(
                where,
                0,
                0,
                f"a stored estimate cannot be read back: {error.errors()[0]['msg']} "
                f"({'.'.join(map(str, error.errors()[0]['loc']))})",
            )
        ) from None
