"""Figures of a price list that stand with a mark: parted into the figure, where it belongs, and what is known of it."""

from __future__ import annotations

import copy
import datetime
from collections.abc import Iterator
from typing import Any

from ..errors import Fault
from ..files.strict_yaml import Document
from ..knowledge.validate import typed
from ..model.prices import TABLES, TERMS, Mark, Priced

Place = tuple[str, ...]


def is_date(text: str) -> bool:
    """Whether a text is a day such as 2026-01-31."""
    try:
        return len(text) == 10 and bool(datetime.date.fromisoformat(text))
    except ValueError:
        return False


def figures_in(plain: dict[str, Any]) -> Iterator[tuple[Place, Any]]:
    """(place, what stands there) of every figure of a plain price list that may carry a mark."""
    for name in TERMS:
        if name in plain:
            yield (name,), plain[name]
    tables: list[tuple[tuple[str, ...], Any]] = [((name,), plain.get(name)) for name in TABLES]
    engines = plain.get("engine_parts")
    tables += (
        [(("engine_parts", engine), table) for engine, table in engines.items()] if isinstance(engines, dict) else []
    )
    for place, table in tables:
        for name, value in table.items() if isinstance(table, dict) else ():
            yield (*place, str(name)), value


def parted(document: Document, plain: dict[str, Any], faults: list[Fault]) -> tuple[dict[str, Any], dict[str, Mark]]:
    """The list with bare figures, and the marks by place ('parts.piston').

    What is no figure, with a mark or without, is a fault and stands as None in the list that comes back.
    """
    bare, marks = copy.deepcopy(plain), {}
    for place, value in figures_in(plain):
        here = bare
        for part in place[:-1]:
            here = here[part]
        if isinstance(value, dict):
            found: Priced | None = typed(document, place, value, Priced, faults)
            if found is not None and found.date and not is_date(found.date):
                faults.append(document.fault((*place, "date"), f"'{found.date}' is not a date such as 2026-01-31"))
            here[place[-1]] = None if found is None else found.figure
            if found is not None:
                marks[".".join(place)] = Mark(found.date, found.example)
        elif isinstance(value, bool) or not isinstance(value, (str, int, float)):
            told = "nothing" if value is None else f"'{value}'"
            faults.append(
                document.fault(
                    place,
                    f"{told} is not a price",
                    "write it like '62.50', or leave the line out where it is not known",
                )
            )
            here[place[-1]] = None
    return bare, marks
