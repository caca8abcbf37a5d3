"""What is known of an engine, as answers, readings and rules hold it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypeAlias

Value: TypeAlias = str | float | tuple["Value | None", ...]
"""A word, a number, or a tuple with one of them per cylinder (journal, valve), None where not taken. Of readings at
several places each is a tuple of rows, each row a tuple of columns."""
Values: TypeAlias = Mapping[str, Value]
"""Fact, or observation -> its value; what is not known is not here."""

Grid: TypeAlias = Sequence[Sequence[float | None]]
"""Readings of one cylinder or journal at several places: rows of columns."""


def numbers_of(value: Value | None) -> tuple[float | None, ...]:
    """One number per cylinder (journal, valve), None where not taken; empty where the value is not of that kind."""
    if not isinstance(value, tuple):
        return ()
    return tuple(item if isinstance(item, (int, float)) else None for item in value)
