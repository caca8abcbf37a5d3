"""What was read, ready to be reduced: values in the units the reductions work in, and the figures to judge by."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from typing import TypeVar

from ..model.engine import Engine
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.quantity import Quantity, QuantityError
from ..model.results import Reduction, Remark
from ..model.values import Grid, Value, Values
from .figures import Limits

Item = TypeVar("Item")


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
    rules: Knowledge
    """The rule base, for what it says of observations, gauges and reduced facts."""

    def word(self, name: str) -> str | None:
        """Answer of a choice; None where not given."""
        value = self.values.get(name)
        return value if isinstance(value, str) else None

    def number(self, name: str, unit: str) -> float | None:
        """A single number in `unit`; None where not taken."""
        return convert(self.values.get(name), self.units.get(name, unit), unit)

    def words(self, name: str) -> tuple[str | None, ...] | None:
        """One answer per journal (cylinder, valve); None where none was given."""
        return some(tuple(item if isinstance(item, str) else None for item in each_of(self.values.get(name))))

    def numbers(self, name: str, unit: str) -> tuple[float | None, ...] | None:
        """One number in `unit` per cylinder (journal, valve); None where none was taken."""
        own = self.units.get(name, unit)
        return some(tuple(convert(item, own, unit) for item in each_of(self.values.get(name))))

    def grids(self, name: str, unit: str) -> tuple[Grid | None, ...] | None:
        """Readings at several places per cylinder (journal), rows of columns in `unit`; None where none was taken."""
        own = self.units.get(name, unit)
        return some(
            tuple(
                None
                if item is None
                else tuple(tuple(convert(cell, own, unit) for cell in each_of(row)) for row in each_of(item))
                for item in each_of(self.values.get(name))
            )
        )

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


def each_of(value: Value | None) -> tuple[Value | None, ...]:
    """The elements of a value that has several; empty for any other."""
    return value if isinstance(value, tuple) else ()


def some(values: tuple[Item | None, ...]) -> tuple[Item | None, ...] | None:
    """The same; None where each of them is None."""
    return None if all(item is None for item in values) else values


def convert(value: Value | None, unit: str, wanted: str) -> float | None:
    """A number in another unit; None for what is no number."""
    if value is None or isinstance(value, (str, tuple)):
        return None
    if unit == wanted or not wanted:
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


def take(values: Values, knowledge: Knowledge, engine: Engine, altitude_ft: float, altitude_known: bool) -> Taken:
    """Values of a job with the declared units of their observations."""
    units = {
        name: knowledge.observations[name].unit
        for name in values
        if name in knowledge.observations and knowledge.observations[name].unit
    }
    return Taken(dict(values), units, engine, Limits(knowledge.limits), altitude_ft, altitude_known, knowledge)
