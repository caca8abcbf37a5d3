"""What a policy is told and what it may do: the one small interface between any rule and the made-up shop."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Protocol

from .works import Works


@dataclass(frozen=True, slots=True)
class Stated:
    """What a rule claims when it advises work."""

    enough: tuple[float, ...] = ()
    """Per depth 0 to 5, the chance that it is enough; empty where the rule states none."""
    causes: Mapping[str, float] = field(default_factory=dict)
    ranked: tuple[str, ...] = ()
    """Causes by what it takes to be behind the trouble, the likeliest first; empty: by `causes`."""
    chosen: float | None = None
    """Chance that the very job advised is enough; None: that of its depth."""
    came_for: float | None = None
    """Chance that what the engine was brought in for goes away by it; None where that is not said apart."""


@dataclass(frozen=True, slots=True)
class Do:
    """Open to this depth and do this."""

    depth: int
    aimed: frozenset[str] = frozenset()
    """Causes whose cure is part of the work from the beginning."""
    whole: bool = True
    """The depth's whole list, or only the cures with the access they need."""
    operations: frozenset[str] = frozenset()
    """The work where the rule lists it itself; empty: the shop works it out from the causes."""
    stated: Stated = Stated()


@dataclass(frozen=True, slots=True)
class Check:
    """Ask or test before anything else."""

    observations: tuple[str, ...]
    minutes: float
    risk: str = "none"
    then: tuple[Check, ...] = ()
    """Checks named with it that come after it, unless it settles the matter."""


@dataclass(frozen=True, slots=True)
class Look:
    """Open to this depth for a price, report, and decide then."""

    depth: int


@dataclass(frozen=True, slots=True)
class Stop:
    """Leave the machine as it stands."""


Action = Do | Check | Look | Stop


@dataclass(frozen=True, slots=True)
class Case:
    """What the shop knows of one job now."""

    works: Works
    given: Mapping[str, Any]
    """Observation -> plain value as a job file has it, of the engine as it stands now."""
    value_running: float
    stopping_costs: float
    """What its owner loses if it stays as it is."""
    found: frozenset[str] = frozenset()
    """Causes seen past their limit on the open engine and not cured yet."""
    done: frozenset[str] = frozenset()
    """Operations done so far."""
    cured: frozenset[str] = frozenset()
    """Causes that the work done cures, whether they were there or not."""
    depth: int = -1
    """How deep it was worked on so far; -1 before any work."""
    looked: int = -1
    """How deep it was opened to look."""
    checks: int = 0
    """Checks made since the last work."""
    asked: frozenset[str] = frozenset()
    """Observations that a check asked for, those included that could not be answered."""
    named: tuple[Check, ...] = ()
    """Checks named with the last one and not made yet."""

    @property
    def stands_open(self) -> bool:
        """Whether it was opened to look and not put together since."""
        return self.looked > self.depth


class Policy(Protocol):
    """A rule under trial. It keeps nothing between calls: all that it may know stands in the case."""

    name: str

    def act(self, case: Case) -> Action:
        """What to do now."""
