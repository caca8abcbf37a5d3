"""Changes of a job that are no answers: a hold waived, the place of the tests."""

from __future__ import annotations

from typing import Any

from ..errors import HowdeepError
from ..quantity import QuantityError, parse
from .write import Change

PLACE = (("altitude", "ft"), ("air_temperature", "degF"))


def waiving(hold: str, *, by: str, how: str, date: str, reason: str = "") -> Change:
    """The change that records who decided to go on without the check of a hold. Raises HowdeepError without a name."""
    if not by.strip() or not how.strip():
        raise HowdeepError("a waiver names who decided (--by) and how (--how)")
    entry = {"by": by.strip(), "how": how.strip(), "date": date}
    if reason.strip():
        entry["reason"] = reason.strip()

    def change(plain: dict[str, Any]) -> dict[str, Any]:
        return {**plain, "waived": {**(plain.get("waived") or {}), hold: entry}}

    return change


def placing(**given: str) -> Change:
    """The change that sets where the readings were taken: altitude and air_temperature, each with its unit; an empty
    one stays as it is. Raises HowdeepError for what is no such quantity."""
    for field, unit in PLACE:
        if given.get(field):
            try:
                parse(given[field], unit=unit)
            except QuantityError as error:
                raise HowdeepError(f"{field.replace('_', ' ')}: {error}") from None

    kept = {name: text for name, text in given.items() if text}

    def change(plain: dict[str, Any]) -> dict[str, Any]:
        return {**plain, "place": {**(plain.get("place") or {}), **kept}}

    return change
