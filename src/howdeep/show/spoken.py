"""Texts of every surface with their figures in the shop's units: what is printed in a terminal, and values of texts."""

from __future__ import annotations

import copy
import dataclasses
from collections.abc import Callable, Iterable, Iterator
from typing import Any, TypeVar

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from ..assessment.explain import Explanation
from ..model.shown_units import in_prose
from .layout import TOGETHER, Whole

Value = TypeVar("Value")


class AsSaid(str):
    """A person's own words: no figure in them is turned."""


class Said(Whole):
    """The same for a terminal."""


def spoken(parts: Iterable[RenderableType], units: str) -> Iterator[RenderableType]:
    """What is to be printed, with every figure in the shop's units; as it is where the shop chose none."""
    return (_spoken(part, units) for part in parts) if units else iter(parts)


def _spoken(part: RenderableType, units: str) -> RenderableType:
    if isinstance(part, str):
        return in_prose(part, units)
    if isinstance(part, Text):
        told = in_prose(part.plain, units)
        return part if isinstance(part, Said) or told == part.plain else type(part)(told, style=part.style)
    if isinstance(part, Padding):
        return Padding(
            _spoken(part.renderable, units),
            (part.top, part.right, part.bottom, part.left),
            style=part.style,
            expand=part.expand,
        )
    if isinstance(part, Table):
        return _table(part, units)
    return part


def _table(table: Table, units: str) -> Table:
    """The same table with other texts in it."""
    made = copy.copy(table)
    made.columns, made.rows = [column.copy() for column in table.columns], []
    for column in made.columns:
        column.header = _spoken(column.header, units)
    for row, cells in zip(table.rows, zip(*(column.cells for column in table.columns), strict=True), strict=True):
        made.add_row(*(_spoken(cell, units) for cell in cells), style=row.style, end_section=row.end_section)
    return made


def explained_in(explanation: Explanation, units: str) -> Explanation:
    """An explanation with its figures in the shop's units; sources are named as they are."""
    return dataclasses.replace(in_units_of(explanation, units), sources=explanation.sources)


def in_units_of(value: Value, units: str) -> Value:
    """A value of texts (a dataclass, tuples, lists and texts in one another) with every figure in the shop's units."""
    if not units:
        return value
    told: Value = _each(value, lambda text: in_prose(text, units))
    return told


def kept_together(value: Value) -> Value:
    """A value of texts in which no line breaks between a figure and its unit or currency."""
    told: Value = _each(value, lambda text: TOGETHER.sub("\xa0", text))
    return told


def _each(value: Any, change: Callable[[str], str]) -> Any:
    if isinstance(value, str):
        return value if isinstance(value, AsSaid) else change(value)
    if isinstance(value, (tuple, list)) and not hasattr(value, "_fields"):
        return type(value)(_each(item, change) for item in value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return dataclasses.replace(
            value,
            **{
                field.name: _each(getattr(value, field.name), change)
                for field in dataclasses.fields(value)
                if field.init
            },
        )
    return value
