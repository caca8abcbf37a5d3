"""Closing a job: what was found is written down; what was not looked at stays unknown."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import Any

from ..errors import Fault, HowdeepError, nearest
from ..job.write import Change
from ..model.knowledge import Knowledge
from ..model.terms import RUNGS


def close_change(
    knowledge: Knowledge,
    *,
    date: str,
    causes: Mapping[str, str],
    scope_done: str | None = None,
    hours: str | float | None = None,
    cost: str = "",
    came_back: str = "",
    note: str = "",
) -> Change:
    """The change that writes down what was found. Raises HowdeepError with every fault of the values.

    `causes` maps a cause to 'present' or 'absent'; a cause that was not looked at is left out, and stays unknown. A job
    closed before keeps what was found then, unless it is said anew.
    """
    faults: list[Fault] = []

    def fault(message: str, hint: str = "") -> None:
        faults.append(Fault("", 0, 0, message, hint))

    try:
        datetime.date.fromisoformat(date)
    except ValueError:
        fault(f"'{date}' is not a date such as 2026-01-31")
    for cause, truth in causes.items():
        if cause not in knowledge.causes:
            fault(f"there is no cause '{cause}'", nearest(cause, knowledge.causes))
        if truth not in ("present", "absent"):
            fault(f"'{truth}' is neither present nor absent (cause {cause})")
    if scope_done and scope_done not in RUNGS:
        fault(f"there is no scope '{scope_done}'", nearest(scope_done, RUNGS))
    number = _number(str(hours), "hours", fault) if hours not in (None, "") else None
    amount = _number(cost, "cost", fault) if cost else None
    if came_back not in ("yes", "no", ""):
        fault(f"'{came_back}' is neither yes nor no (came back)")
    if faults:
        raise HowdeepError(faults)
    said: dict[str, Any] = {"date": date}
    if scope_done:
        said["scope_done"] = scope_done
    if number is not None:
        said["hours"] = float(number)
    if amount is not None:
        said["cost"] = f"{amount:.2f}"
    if came_back:
        said["came_back"] = came_back
    if note.strip():
        said["note"] = note.strip()

    def change(plain: dict[str, Any]) -> dict[str, Any]:
        before = dict(plain.get("found") or {})
        merged = {**(before.get("causes") or {}), **causes}
        found = {**before, **said}
        if merged:
            found["causes"] = dict(sorted(merged.items()))
        return {**plain, "found": found}

    return change


def _number(text: str, what: str, fault: Any) -> Decimal | None:
    try:
        value = Decimal(text)
    except InvalidOperation:
        fault(f"'{text}' is not a number ({what})")
        return None
    if not value.is_finite() or value < 0 or value > 10_000_000:
        fault(f"'{text}' cannot be right ({what})")
        return None
    return value
