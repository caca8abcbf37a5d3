"""The figures of a job that no observation holds: what was found, what was promised, what was approved.

They are written by the program and mended by hand, and the record counts them; so each is held to what it can be.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping
from typing import Any

from ..errors import Fault, listed, nearest
from ..files.strict_yaml import Document, Path_
from ..model.terms import RUNGS

MOST = 10_000_000
"""No sum of money and no hours of one job are more."""
_MONEY = re.compile(r"-?\d{1,12}(\.\d+)?")
_PROMISED_MONEY = ("subtotal", "tax", "total", "likely", "low", "high", "deposit", "known_subtotal", "known_tax")


def figure_faults(document: Document, plain: Mapping[str, Any]) -> Iterator[Fault]:
    """Every fault of the figures of a job, each at its place."""
    yield from _found(document, plain.get("found"))
    approvals = plain.get("approvals")
    for index, entry in enumerate(approvals if isinstance(approvals, list) else ()):
        if isinstance(entry, dict) and "sum" in entry:
            yield from _sum(document, ("approvals", index, "sum"), entry["sum"])
    promises = plain.get("promises")
    for name, promise in promises.items() if isinstance(promises, dict) else ():
        if not (isinstance(promise, dict) and "sha256" in promise):  # that one stands in a file of its own
            yield from promise_faults(document, ("promises", name), promise)


def _found(document: Document, found: Any) -> Iterator[Fault]:
    if not isinstance(found, dict):
        return
    if isinstance(found.get("date"), str):
        yield from _day(document, ("found", "date"), found["date"])
    for field in ("hours", "cost"):
        if found.get(field) not in (None, ""):
            yield from _sum(document, ("found", field), found[field])


def promise_faults(document: Document, path: Path_, promise: Any) -> Iterator[Fault]:
    """Every fault of the figures of one promise, which stands at `path` of the document."""
    if not isinstance(promise, dict):
        yield document.fault(path, f"'{_short(promise)}' is not a promise", "it is stored by 'howdeep promise make'")
        return
    if "date" in promise:
        yield from _day(document, (*path, "date"), promise["date"])
    for field in ("rung", "recommended"):
        if field in promise:
            yield from _rung(document, (*path, field), promise[field])
    for field in ("enough", "causes"):
        for name, chance in _entries(promise, field):
            if field == "enough":
                yield from _rung(document, (*path, field, name), name)
            if isinstance(chance, bool) or not isinstance(chance, (int, float)) or not 0 <= chance <= 1:
                yield document.fault((*path, field, name), f"'{_short(chance)}' is not a chance", "from 0 to 1")
        if field in promise and not isinstance(promise[field], dict):
            yield document.fault((*path, field), f"'{_short(promise[field])}' is not a mapping of chances")
    for name, amount in _entries(promise, "expected"):
        yield from _sum(document, (*path, "expected", name), amount)
    if "quote" in promise:
        yield from _quote(document, (*path, "quote"), promise["quote"])


def _quote(document: Document, path: Path_, quote: Any) -> Iterator[Fault]:
    if not isinstance(quote, dict):
        yield document.fault(path, f"'{_short(quote)}' is not a quote")
        return
    if "rung" in quote:
        yield from _rung(document, (*path, "rung"), quote["rung"])
    for field in _PROMISED_MONEY:
        if quote.get(field) is not None:
            yield from _sum(document, (*path, field), quote[field], signed=True)
    for field in ("lines", "allowances"):
        rows = quote.get(field, [])
        for index, row in enumerate(rows if isinstance(rows, list) else [rows]):
            here = (*path, field, index) if isinstance(rows, list) else (*path, field)
            if not isinstance(row, dict):
                yield document.fault(here, f"'{_short(row)}' is not a line of a quote")
                continue
            for name, value in row.items():
                if isinstance(value, dict) or (isinstance(value, list) and name not in ("evidence", "lacks")):
                    yield document.fault((*here, name), f"'{name}' is one value")
            if row.get("amount") is not None:
                yield from _sum(document, (*here, "amount"), row["amount"], signed=True)


def _entries(promise: Mapping[str, Any], field: str) -> list[tuple[Any, Any]]:
    value = promise.get(field)
    return list(value.items()) if isinstance(value, dict) else []


def _day(document: Document, path: Path_, text: Any) -> Iterator[Fault]:
    try:
        datetime.date.fromisoformat(text)
    except (TypeError, ValueError):
        yield document.fault(path, f"'{_short(text)}' is not a date such as 2026-01-31")


def _rung(document: Document, path: Path_, name: Any) -> Iterator[Fault]:
    if name not in RUNGS:
        yield document.fault(
            path, f"there is no scope '{_short(name)}'", nearest(_short(name), RUNGS) or f"it can be {listed(RUNGS)}"
        )


def _sum(document: Document, path: Path_, value: Any, *, signed: bool = False) -> Iterator[Fault]:
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    text = str(value)
    if not number and not (isinstance(value, str) and _MONEY.fullmatch(text)):
        yield document.fault(path, f"'{_short(value)}' is not a plain number such as 1240.00")
    elif float(text) < 0 and not signed:
        yield document.fault(path, f"'{text}' is less than nothing", "it is 0 or more")
    elif not abs(float(text)) <= MOST:
        yield document.fault(path, f"'{_short(text)}' cannot be right", f"at most {MOST:,}")


def _short(value: Any) -> str:
    text = str(value)
    return text if len(text) <= 60 else f"{text[:57]}..."
