"""The order in which findings can be worked out, and what is worked out once per rule base."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar

from ..errors import Fault, HowdeepError
from ..model.condition import Condition, findings_read

Given = TypeVar("Given")
Result = TypeVar("Result")


class _Same:
    """A value compared by identity, so that one that cannot be hashed can be the key of a cache."""

    __slots__ = ("value",)

    def __init__(self, value: Any):
        self.value = value

    def __hash__(self) -> int:
        return id(self.value)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.value is self.value


def once_per_value(keep: int) -> Callable[[Callable[[Given], Result]], Callable[[Given], Result]]:
    """Remember what a function of one frozen value gave, by the value's identity, for the last `keep` values.

    The cache holds the value itself, so its identity cannot pass to another one meanwhile; the oldest is let go.
    """

    def wrap(function: Callable[[Given], Result]) -> Callable[[Given], Result]:
        @functools.lru_cache(maxsize=keep)
        def remembered(same: _Same) -> Result:
            return function(same.value)

        @functools.wraps(function)
        def call(value: Given) -> Result:
            return remembered(_Same(value))

        call.cache_info = remembered.cache_info  # type: ignore[attr-defined]  # only tests read it
        return call

    return wrap


def in_order(conditions: Mapping[str, Condition]) -> tuple[str, ...]:
    """Ids so that each stands after the findings it reads; where free, in order of id.

    Findings that are read but not in `conditions` are taken as given. Raises HowdeepError where findings lead back to
    themselves.
    """
    reads = {name: sorted(findings_read(conditions[name]) & conditions.keys()) for name in sorted(conditions)}
    done: dict[str, None] = {}
    for start, inner in reads.items():
        trail: dict[str, Iterable[str]] = {}
        if start not in done:
            trail[start] = iter(inner)
        while trail:
            name = next(reversed(trail))
            for other in trail[name]:
                if other in trail:
                    names = list(trail)
                    circle = " -> ".join([*names[names.index(other) :], other])
                    raise HowdeepError(Fault("", 0, 0, f"findings lead round in a circle: {circle}"))
                if other not in done:
                    trail[other] = iter(reads[other])
                    break
            else:
                done[name] = None
                del trail[name]
    return tuple(done)
