"""What was read, ready to be reduced: values in the units the reductions work in, and the figures to judge by."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from ..model.engine import Engine
from ..model.knowledge import Knowledge
from ..model.results import Reduction, Remark
from ..model.values import Value, Values
from ..quantity import Quantity, QuantityError
from .figures import Figure, Limits


@dataclass(frozen=True, slots=True)
class Taken:
    """Readings that count: refused, invalid and questioned ones are gone from `values`."""

    values: Values
    """Observation -> value as in OpenJob.values, in the observation's declared unit."""
    units: Mapping[str, str]
    """Observation -> declared unit; empty for choices."""
    engine: Engine
    limits: Limits
    altitude_ft: float
    """0 where the place is not recorded."""
    altitude_known: bool

    def word(self, name: str) -> str | None:
        """Answer of a choice; None where not given."""
        value = self.values.get(name)
        return value if isinstance(value, str) else None

    def number(self, name: str, unit: str) -> float | None:
        """A single number in `unit`; None where not taken."""
        value = self.values.get(name)
        return (
            None
            if value is None or isinstance(value, (str, tuple))
            else convert(value, self.units.get(name, unit), unit)
        )

    def each(self, name: str, unit: str = "") -> tuple[Any, ...] | None:
        """One value per cylinder (journal, valve), numbers in `unit`, grids kept; None where none was taken."""
        value = self.values.get(name)
        if not isinstance(value, tuple) or all(item is None for item in value):
            return None
        return tuple(convert(item, self.units.get(name, unit), unit) for item in value)

    def per_inch(self, limit: str, inches: float | None) -> Figure | None:
        """A general limit that is counted per inch, times those inches; None where either is not known."""
        return self.limits.get(limit, "in", inches)

    def without(self, name: str, numbers: frozenset[int] | None = None) -> Taken:
        """The same without a reading, or without its values numbered (from 1) in `numbers`."""
        values = dict(self.values)
        value = values.get(name)
        if numbers is None or not isinstance(value, tuple):
            values.pop(name, None)
        else:
            kept = tuple(None if index + 1 in numbers else item for index, item in enumerate(value))
            values[name] = kept
            if all(item is None for item in kept):
                del values[name]
        return replace(self, values=values)


def convert(value: Any, unit: str, wanted: str) -> Any:
    """A number, or numbers in nested tuples, in another unit; words and None pass."""
    if isinstance(value, tuple):
        return tuple(convert(item, unit, wanted) for item in value)
    if value is None or isinstance(value, str) or unit == wanted or not wanted:
        return value
    try:
        return Quantity(float(value), unit).to(wanted)
    except QuantityError:
        return value


@dataclass(frozen=True, slots=True)
class Found:
    """What one subject gives: reduced facts and remarks."""

    reductions: tuple[Reduction, ...] = ()
    remarks: tuple[Remark, ...] = ()

    def __add__(self, other: Found) -> Found:
        return Found((*self.reductions, *other.reductions), (*self.remarks, *other.remarks))


@dataclass(slots=True)
class Collect:
    """Gathers reductions and remarks while one subject is worked through."""

    taken: Taken
    reductions: list[Reduction] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)

    def fact(self, name: str, value: Value | None, how: str, basis: str) -> None:
        """Add a reduced fact; nothing where the value is unknown for every cylinder."""
        if value is None or (isinstance(value, tuple) and all(item is None for item in value)):
            return
        self.reductions.append(Reduction(name, value, how, basis))

    def remark(self, observation: str, kind: str, text: str, instead: str = "") -> None:
        self.remarks.append(Remark(observation, kind, text, instead))

    def done(self) -> Found:
        return Found(tuple(self.reductions), tuple(self.remarks))


def take(
    values: Values, knowledge: Knowledge, engine: Engine, altitude_ft: float, altitude_known: bool
) -> Taken:
    """Values of a job with the declared units of their observations."""
    units = {
        name: knowledge.observations[name].unit
        for name in values
        if name in knowledge.observations and knowledge.observations[name].unit
    }
    return Taken(dict(values), units, engine, Limits(knowledge.limits), altitude_ft, altitude_known)
