"""Changes of a job that are no answers: a hold waived, the place of the tests."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator
from typing import Any

from ..errors import Fault, HowdeepError
from ..model.quantity import QuantityError, parse
from .write import Change

PLACE = (("altitude", "ft", (-1500.0, 20_000.0)), ("air_temperature", "degF", (-70.0, 140.0)))
"""Field, unit and what it can be where people work: from the lowest shore to above the highest town (judgement)."""
MOST_WORDS = 200


def waiving(hold: str, *, by: str, how: str, date: str, reason: str = "") -> Change:
    """The change that records who decided to go on without the check of a hold. Raises HowdeepError without a name."""
    if not by.strip() or not how.strip():
        raise HowdeepError("a waiver names who decided (--by) and how (--how)")
    for text in (by, how, reason):
        if len(text.strip()) > MOST_WORDS:
            raise HowdeepError(f"'{text.strip()[:40]}...' is longer than {MOST_WORDS} letters")
    try:
        datetime.date.fromisoformat(date)
    except ValueError:
        raise HowdeepError(f"'{date[:40]}' is not a date such as 2026-01-31") from None
    entry = {"by": by.strip(), "how": how.strip(), "date": date}
    if reason.strip():
        entry["reason"] = reason.strip()

    def change(plain: dict[str, Any]) -> dict[str, Any]:
        return {**plain, "waived": {**(plain.get("waived") or {}), hold: entry}}

    return change


def placing(without: Collection[str] = (), **given: str) -> Change:
    """The change that sets where the readings were taken: altitude and air_temperature, each with its unit; an empty
    one stays as it is, or is taken away where `without` names it. Raises HowdeepError for what is no such quantity, and
    for what no place has."""
    faults = [
        fault
        for field, unit, span in PLACE
        if given.get(field)
        for fault in _place_faults(field, given[field], unit, span)
    ]
    if faults:
        raise HowdeepError(faults)
    kept = {name: text for name, text in given.items() if text}

    def change(plain: dict[str, Any]) -> dict[str, Any]:
        place = {**(plain.get("place") or {}), **kept}
        return {**plain, "place": {name: text for name, text in place.items() if name in kept or name not in without}}

    return change


def _place_faults(field: str, text: str, unit: str, span: tuple[float, float]) -> Iterator[Fault]:
    name = field.replace("_", " ")
    try:
        number = parse(text, unit=unit).to(unit)
    except QuantityError as error:
        yield Fault("", 0, 0, f"{name}: {error}")
        return
    if not span[0] <= number <= span[1]:
        yield Fault(
            "",
            0,
            0,
            f"{name}: '{text}' is outside what a place can have ({span[0]:g} to {span[1]:g} {unit})",
            "check the unit and the decimal point",
        )
