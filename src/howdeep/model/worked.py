"""What would be done at a depth, with its parts and tests, as values."""

from __future__ import annotations

from .frozen import dataclass
from .terms import Rung


@dataclass(frozen=True, slots=True)
class WorkItem:
    """One operation of the recommended work, with the reason for it."""

    operation: str
    hours: float
    because: tuple[str, ...]
    """Causes, findings, operations or rungs that call for it, as 'kind/id'."""
    cautions: tuple[str, ...]
    if_found: bool = False
    """True where it is an allowance only."""
    chance: float = 1.0
    """Chance that it is needed."""


@dataclass(frozen=True, slots=True)
class PartLine:
    """One line of the parts list."""

    part: str
    quantity: int
    size: str
    """Size to order, or empty where the part has none."""
    waits_for: str
    """Observation that must be measured first, or empty."""
    operations: tuple[str, ...]
    measured_from: str = ""


@dataclass(frozen=True, slots=True)
class Work:
    """What would be done at one rung."""

    rung: Rung
    items: tuple[WorkItem, ...]
    parts: tuple[PartLine, ...]
    before: tuple[str, ...]
    """Observations or checks to make before the work."""
    during: tuple[str, ...]
    after: tuple[str, ...]
