"""Checked values as plain ones and back, without the validator: for the copies that save reading files anew."""

from __future__ import annotations

import dataclasses
import functools
import types
import typing
from collections.abc import Callable
from typing import Any, TypeVar

from ..model import condition as conditions

T = TypeVar("T")

_CONDITIONS = {
    "fact": conditions.FactTest,
    "finding": conditions.FindingTest,
    "all": conditions.AllOf,
    "any": conditions.AnyOf,
    "not": conditions.Not,
}


def to_plain(value: Any) -> Any:
    """Dataclasses as lists of their fields, conditions as tagged lists, all else as it is."""
    if isinstance(value, conditions.FactTest):
        return ["fact", value.fact, list(value.one_of), [list(bound) for bound in value.bounds], value.cylinders]
    if isinstance(value, conditions.FindingTest):
        return ["finding", value.finding]
    if isinstance(value, conditions.Not):
        return ["not", to_plain(value.part)]
    if isinstance(value, (conditions.AllOf, conditions.AnyOf)):
        return ["all" if isinstance(value, conditions.AllOf) else "any", *map(to_plain, value.parts)]
    if dataclasses.is_dataclass(value):
        return [to_plain(getattr(value, name)) for name in value.__dataclass_fields__]
    if isinstance(value, dict):
        return {key: to_plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [to_plain(item) for item in value]
    return value


def from_plain(shape: type[T], plain: Any) -> T:
    """The value of a dataclass that `to_plain` wrote. Raises ValueError, KeyError or TypeError for anything else."""
    # a class can be hashed; the checker looks at its values
    made: T = _builder(shape)(plain)  # type: ignore[arg-type]
    return made


def _condition(plain: list[Any]) -> Any:
    tag = plain[0]
    if tag == "fact":
        _, fact, words, bounds, cylinders = plain
        return conditions.FactTest(fact, tuple(words), tuple((name, limit) for name, limit in bounds), cylinders)
    if tag == "finding":
        return conditions.FindingTest(plain[1])
    if tag == "not":
        return conditions.Not(_condition(plain[1]))
    return _CONDITIONS[tag](tuple(_condition(part) for part in plain[1:]))


def _as_it_is(plain: Any) -> Any:
    """A word, a number, or a mapping of them."""
    return plain


@functools.cache
def _builder(shape: Any) -> Callable[[Any], Any]:
    """A function that builds a value of `shape` from what `to_plain` made of one."""
    if isinstance(shape, type) and dataclasses.is_dataclass(shape):
        return _dataclass_builder(shape)
    origin, args = typing.get_origin(shape), typing.get_args(shape)
    if origin in (typing.Union, types.UnionType):
        if any(part is conditions.FactTest for part in args):
            return lambda plain: None if plain is None else _condition(plain)
        inner = [part for part in args if part is not type(None)]
        if len(inner) == 1 and len(args) == 2:
            only = _builder(inner[0])
            return _as_it_is if only is _as_it_is else lambda plain: None if plain is None else only(plain)
        return _as_it_is
    if origin is dict:
        item = _builder(args[1])
        return _as_it_is if item is _as_it_is else lambda plain: {key: item(value) for key, value in plain.items()}
    if origin is tuple:
        item = _builder(args[0])
        if len(args) == 2 and args[1] is Ellipsis and item is not _as_it_is:
            return lambda plain: tuple([item(value) for value in plain])
        return tuple
    return _as_it_is


def _dataclass_builder(shape: type) -> Callable[[Any], Any]:
    hints = typing.get_type_hints(shape)
    builders = [_builder(hints[item.name]) for item in dataclasses.fields(shape)]
    count, made = len(builders), [(place, one) for place, one in enumerate(builders) if one is not _as_it_is]

    def build(plain: list[Any]) -> Any:
        if len(plain) != count:
            raise ValueError(f"{shape.__name__} has {count} fields, not {len(plain)}")
        values = [*plain]
        for place, one in made:
            values[place] = one(values[place])
        return shape(*values)

    return build
