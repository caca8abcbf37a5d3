"""Conditions as values: what a rule asks of the facts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, Union

from .frozen import dataclass

Comparison = Literal["below", "above", "at_least", "at_most"]
COMPARISONS: tuple[str, ...] = ("below", "above", "at_least", "at_most")


@dataclass(frozen=True, slots=True)
class FactTest:
    """A test of one fact: an answer, a measured or reduced reading, or a figure of the engine (`engine.*`)."""

    fact: str
    one_of: tuple[str, ...] = ()
    """The words that make it present; empty where numbers are compared."""
    bounds: tuple[tuple[str, float | str], ...] = ()
    """Comparisons that must all hold, each against a number or the id of a limit."""
    cylinders: str | int = ""
    """For a fact with one value per cylinder (journal, valve): 'any', 'every', 'neighbours' or at least how many."""


@dataclass(frozen=True, slots=True)
class FindingTest:
    """True where a finding is present."""

    finding: str


@dataclass(frozen=True, slots=True)
class AllOf:
    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class AnyOf:
    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Not:
    part: Condition


Condition = Union[FactTest, FindingTest, AllOf, AnyOf, Not]


def walk(condition: Condition) -> Iterator[Condition]:
    """The condition and every condition inside it, depth first."""
    yield condition
    if isinstance(condition, (AllOf, AnyOf)):
        for part in condition.parts:
            yield from walk(part)
    elif isinstance(condition, Not):
        yield from walk(condition.part)


def facts_read(condition: Condition) -> frozenset[str]:
    """Names of the facts that the condition reads."""
    return frozenset(part.fact for part in walk(condition) if isinstance(part, FactTest))


def findings_read(condition: Condition) -> frozenset[str]:
    """Ids of the findings that the condition reads."""
    return frozenset(part.finding for part in walk(condition) if isinstance(part, FindingTest))
