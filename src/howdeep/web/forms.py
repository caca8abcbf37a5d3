"""The fields of a form and the places of a value that they stand for."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from ..job.sections import LATER, UNKNOWN
from ..job.write import clean_text
from ..model.frozen import dataclass
from ..model.observations import Observation
from ..model.quantity import DIMENSION, UNITS
from ..model.shown_units import unit_in
from ..readings.entry import with_point

MOST = 2000
_BARE = re.compile(r"[-+]?(?:[0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)?(?:\.[0-9]*)?(?<=[0-9.])")
_PLACE = {"cylinder": "Cylinder", "main": "Main journal", "crankpin": "Crankpin"}


@dataclass(frozen=True, slots=True)
class Cell:
    """One field: `NAME` for a single value, `NAME.3` for the third cylinder, `NAME.3.top.0` for a place and an axis."""

    field: str
    index: int | None = None
    """Cylinder, journal or valve from 1; None for a single value."""
    row: str = ""
    column: int = 0
    where: str = ""
    """'Cylinder 3, top thrust'; empty for a single value."""


def place_title(observation: Observation) -> str:
    """What the places of an observation are called."""
    return _PLACE.get(observation.each, "Valve of cylinder")


def cells_of(observation: Observation, name: str, count: int) -> tuple[Cell, ...]:
    """Every field of an observation; `count` is how many cylinders, journals or valves the engine has for it."""
    if not observation.each:
        return (Cell(name),)
    what, cells = place_title(observation), []
    for index in range(1, count + 1):
        if not observation.rows:
            cells.append(Cell(f"{name}.{index}", index, where=f"{what} {index}"))
            continue
        for row in observation.rows:
            cells += [
                Cell(f"{name}.{index}.{row}.{column}", index, row, column, f"{what} {index}, {row} {axis}".strip())
                for column, axis in enumerate(observation.columns or ("",))
            ]
    return tuple(cells)


def stored_cell(plain: Any, cell: Cell) -> Any:
    """What stands at one place of a plain value as it is in the job; None where nothing does."""
    if plain in (None, UNKNOWN, LATER):
        return None
    if cell.index is None:
        return None if isinstance(plain, (dict, list)) else plain
    if isinstance(plain, list):
        plain = dict(enumerate(plain, 1))
    if not isinstance(plain, dict):
        return None
    here = plain.get(cell.index, plain.get("all"))
    if cell.row:
        line = here.get(cell.row) if isinstance(here, dict) else None
        line = line if isinstance(line, list) else [line]
        here = line[cell.column] if cell.column < len(line) else None
    return None if here in (UNKNOWN, LATER) or isinstance(here, (dict, list)) else here


def cell_text(observation: Observation, plain: Any, cell: Cell) -> str:
    """What a field shows of a stored value; empty where nothing stands.

    A bare number shows its unit, because the unit chosen beside the field is for what is typed now.
    """
    here = stored_cell(plain, cell)
    text = "" if here is None else str(here)
    return with_unit(text, observation.unit) if observation.kind == "number" else text


def typed_text(form: Mapping[str, str], field: str) -> str:
    """What was typed into a field."""
    return clean_text(form.get(field, ""))[:MOST].strip()


def sent_text(observation: Observation, form: Mapping[str, str], name: str, cell: Cell) -> str:
    """What a field says: a decimal comma is a point, and the unit in `NAME.unit` is put behind a bare number."""
    text = typed_text(form, cell.field)
    if observation.kind != "number":
        return text
    return with_unit(with_point(text), typed_text(form, f"{name}.unit"))


def with_unit(text: str, unit: str) -> str:
    """A bare number with the unit behind it; anything else as it is."""
    return f"{text} {unit}" if unit and _BARE.fullmatch(text) else text


def units_of(observation: Observation, units: str = "") -> tuple[str, ...]:
    """The units in which a number may be given, the shop's choice or its own first; none for a count."""
    if observation.kind != "number" or not observation.unit:
        return ()
    first = unit_in(observation.unit, units)
    return (first, *(unit for unit in UNITS[DIMENSION[observation.unit]] if unit != first))


def plain_of(observation: Observation, cells: Mapping[Cell, Any]) -> Any:
    """The plain value made of what stands at its places (None where nothing does); None where all are empty."""
    if not observation.each:
        return next(iter(cells.values())) or None
    values: dict[int | None, Any] = {}
    for cell, here in cells.items():
        if not observation.rows:
            if here not in (None, ""):
                values[cell.index] = here
            continue
        width = len(observation.columns) or 1
        rows = values.setdefault(cell.index, {row: [UNKNOWN] * width for row in observation.rows})
        if here not in (None, ""):
            rows[cell.row][cell.column] = here
    if observation.rows:
        values = {
            index: rows
            for index, rows in values.items()
            if any(here != UNKNOWN for line in rows.values() for here in line)
        }
    return values or None
