"""Values as people write them in a job, turned into values a rule can compare."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from ..errors import nearest
from ..files.strict_yaml import Path_
from ..model.observations import Observation
from ..model.quantity import QuantityError, parse
from ..model.values import Value
from .sections import LATER, UNKNOWN

Report = Callable[[Path_, str, str], None]
"""(path inside the value, message, hint)"""

_PLACE = {
    "cylinder": "cylinder",
    "main": "main journal",
    "crankpin": "crankpin",
    "inlet_valve": "cylinder",
    "exhaust_valve": "cylinder",
}
_GAUGES = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(?:psi|kPa|bar)?\s*/\s*(\d+(?:\.\d+)?)\s*(?:psi|kPa|bar)?\s*\Z")


def value_of(observation: Observation, plain: Any, count: int, report: Report) -> Value | None:
    """The value of one observation; None where nothing usable stands there (faults go to `report`).

    `count` is how many cylinders, journals or valves the engine has for this observation. Returns a word, a number in
    the observation's unit, or a tuple of them of length `count` with None where not taken; for readings at several
    places each element is a tuple of rows, each a tuple of columns.
    """
    if not observation.each:
        return _single(observation, plain, (), report)
    what = _PLACE[observation.each]
    if isinstance(plain, list):
        if len(plain) != count:
            report((), f"{len(plain)} values are listed, but this engine has {count} for '{observation.title}'", "")
            return None
        plain, told = {index + 1: item for index, item in enumerate(plain)}, report

        def report(path: Path_, message: str, hint: str) -> None:
            """A fault of the first of a list stands at its place 0."""
            told((int(path[0]) - 1, *path[1:]), message, hint)

    if not isinstance(plain, dict):
        report(
            (),
            f"'{plain}' is one value; this is taken for each {what}",
            f"write 1: ..., 2: ... up to {count}, or all: ...",
        )
        return None
    values: list[Value | None] = [None] * count
    for key, item in plain.items():
        if key == "all":
            if len(plain) > 1:
                report((key,), "'all' stands alone or not at all", "")
            values = [_item(observation, item, (key,), report)] * count
            continue
        if not isinstance(key, int) or not 1 <= key <= count:
            report((key,), f"there is no {what} {key} on this engine", f"it has 1 to {count}")
            continue
        values[key - 1] = _item(observation, item, (key,), report)
    return None if all(value is None for value in values) else tuple(values)


def _item(observation: Observation, plain: Any, path: Path_, report: Report) -> Value | None:
    if not observation.rows:
        return _single(observation, plain, path, report)
    if not isinstance(plain, dict):
        report(
            path,
            f"'{plain}' is one value; this is measured at {', '.join(observation.rows)}",
            f"write {observation.rows[0]}: [{', '.join(observation.columns)}], ...",
        )
        return None
    rows: list[tuple[Value | None, ...]] = []
    for name in plain:
        if name not in observation.rows:
            report(
                (*path, name),
                f"'{name}' is none of the places {', '.join(observation.rows)}",
                nearest(str(name), observation.rows),
            )
    for name in observation.rows:
        cells = plain.get(name)
        wanted = len(observation.columns) or 1
        if cells is None:
            rows.append((None,) * wanted)
            continue
        places = [(*path, name, index) for index in range(len(cells))] if isinstance(cells, list) else [(*path, name)]
        cells = cells if isinstance(cells, list) else [cells]
        if len(cells) != wanted:
            report(
                (*path, name),
                f"{len(cells)} values are listed; {wanted} are wanted ({', '.join(observation.columns)})",
                "",
            )
            continue
        rows.append(tuple(_single(observation, cell, where, report) for cell, where in zip(cells, places, strict=True)))
    return tuple(rows) if len(rows) == len(observation.rows) else None


def _single(observation: Observation, plain: Any, path: Path_, report: Report) -> Value | None:
    if isinstance(plain, (dict, list)):
        report(path, f"several values are written; '{observation.title}' is one answer for the whole engine", "")
        return None
    if plain in (UNKNOWN, LATER) or plain is None:
        return None
    if observation.kind == "choice":
        word = str(plain) if isinstance(plain, int) and not isinstance(plain, bool) else plain
        if word not in observation.answers:
            hint = nearest(str(plain), [*observation.answers, UNKNOWN])
            if isinstance(plain, bool) and {"yes", "no"} <= set(observation.answers):
                hint = f"write {'yes' if plain else 'no'}"
            report(
                path,
                f"'{plain if not isinstance(plain, bool) else str(plain).lower()}' is no answer to "
                f"'{observation.title}'",
                hint or f"it can be {', '.join(observation.answers)}",
            )
            return None
        return word
    if observation.unit == "percent" and isinstance(plain, str) and (match := _GAUGES.match(plain)):
        supply, held = float(match.group(1)), float(match.group(2))
        if not 0 < supply < float("inf") or held > supply:
            report(path, f"'{plain}': the pressure held cannot be above the supply", "write supply/held, e.g. 80/62")
            return None
        return 100.0 * (supply - held) / supply
    try:
        number = parse(plain, unit=observation.unit, bare=observation.bare).to(observation.unit)
    except QuantityError as error:
        report(path, str(error), "")
        return None
    low, high = observation.range or (float("-inf"), float("inf"))
    if not low <= number <= high:
        report(
            path,
            f"'{plain}' is outside what '{observation.title}' can be ({low:g} to {high:g} {observation.unit})".replace(
                " )", ")"
            ),
            "check the unit and the decimal point",
        )
        return None
    return number
