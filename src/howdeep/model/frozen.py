"""Frozen values: the standard library's dataclasses, made ready in a quarter of the time.

The library compiles up to seven small functions for every class while it is imported; of the 270 classes that one
answer loads that was a tenth of a whole `howdeep assess`. Here a class gets shared functions that do the same (compare,
hash, show, refuse to be changed), and its `__init__` is compiled when its first value is made. The checker, `fields`,
`replace` and pydantic see a dataclass; `tests/test_frozen.py` holds both sorts to each other.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import MISSING, Field, FrozenInstanceError
from operator import attrgetter
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(*, frozen=False, slots=False, eq=True, **other):
        """What `dataclasses.dataclass` makes; other sorts than frozen ones with slots the library makes itself."""
        if frozen and slots and not other:
            return lambda plain: _made(plain, eq)
        return dataclasses.dataclass(frozen=frozen, slots=slots, eq=eq, **other)


_set = object.__setattr__


def _made(plain: type, eq: bool) -> Any:
    if not plain.__doc__:  # else the library works out the signature of its `__init__`
        plain.__doc__ = f"{plain.__name__}({', '.join(plain.__annotations__)})"
    made: Any = dataclasses.dataclass(init=False, repr=False, eq=False, slots=True)(plain)
    named = dataclasses.fields(made)
    own: dict[str, Any] = {
        "__init__": _init_when_first_called(made, named),
        "__setattr__": _refuse_setting,
        "__delattr__": _refuse_deleting,
        "__getstate__": _state,
        "__setstate__": _set_state,
        "__repr__": _repr_of([item.name for item in named if item.repr]),
    }
    if eq:
        values = _values_of([item.name for item in named if item.compare])
        own |= {"__eq__": _equal_by(values), "__hash__": lambda self: hash(values(self))}
    for name, function in own.items():
        if name not in plain.__dict__:
            setattr(made, name, function)
    return made


def _init_when_first_called(made: type, named: tuple[Field[Any], ...]) -> Callable[..., None]:
    def __init__(self: object, *args: Any, **kwargs: Any) -> None:  # noqa: N807
        made.__init__ = init = _init_of(made, named)  # type: ignore[misc]  # the checker sees methods as fixed
        init(self, *args, **kwargs)

    return __init__


def _init_of(made: type, named: tuple[Field[Any], ...]) -> Callable[..., None]:
    """The `__init__` that sets every field: from its argument, else its default, else what its factory makes."""
    space: dict[str, Any] = {"_set": _set, "_missing": MISSING}
    heads: dict[bool, list[str]] = {False: [], True: []}
    body = []
    for item in named:
        value, default = item.name, ""
        if item.default is not MISSING:
            space[f"_default_{item.name}"] = item.default
            default = f"=_default_{item.name}"
        elif item.default_factory is not MISSING:
            space[f"_make_{item.name}"] = item.default_factory
            default, value = "=_missing", f"_make_{item.name}() if {item.name} is _missing else {item.name}"
        heads[bool(item.kw_only)].append(item.name + default)
        body.append(f"    _set(self, {item.name!r}, {value})\n")
    head = ", ".join(["self", *heads[False], *(["*", *heads[True]] if heads[True] else [])])
    exec(f"def __init__({head}):\n{''.join(body) or '    pass'}", space)  # as the library does
    init: Callable[..., None] = space["__init__"]
    init.__qualname__ = f"{made.__qualname__}.__init__"
    return init


def _values_of(names: list[str]) -> Callable[[Any], tuple[Any, ...]]:
    """A function of a value that gives these of its fields."""
    if len(names) > 1:
        return attrgetter(*names)
    only = [attrgetter(name) for name in names]
    return lambda value: tuple([get(value) for get in only])


def _equal_by(values: Callable[[Any], tuple[Any, ...]]) -> Callable[[Any, object], bool]:
    def __eq__(self: Any, other: object) -> bool:  # noqa: N807
        return values(self) == values(other) if other.__class__ is self.__class__ else NotImplemented

    return __eq__


def _repr_of(names: list[str]) -> Callable[[Any], str]:
    @recursive_repr()
    def __repr__(self: Any) -> str:  # noqa: N807
        return f"{type(self).__qualname__}({', '.join([f'{name}={getattr(self, name)!r}' for name in names])})"

    return __repr__


def _refuse_setting(self: object, name: str, value: object) -> None:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_deleting(self: object, name: str) -> None:
    raise FrozenInstanceError(f"cannot delete field {name!r}")


def _state(self: Any) -> list[Any]:
    return [getattr(self, item.name) for item in dataclasses.fields(self)]


def _set_state(self: Any, state: list[Any]) -> None:
    for item, value in zip(dataclasses.fields(self), state, strict=False):
        _set(self, item.name, value)
