"""What the readings come to and what the rules conclude from them, as values."""

from __future__ import annotations

from .frozen import dataclass
from .truth import Truth
from .values import Value


@dataclass(frozen=True, slots=True)
class Reduction:
    """A fact computed from readings."""

    fact: str
    """Name of the reduced fact."""
    value: Value
    """A word, a number, or a tuple with one per cylinder (None where unknown)."""
    how: str
    """How it was computed, in one sentence with the figures."""
    basis: str
    """What judged it: 'engine sheet', 'general limit <id>', 'compared between cylinders' or 'arithmetic'; more than one
    joined by 'and'."""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something to be said about a reading: not valid, questioned, too close to call."""

    observation: str
    """Id."""
    kind: str
    """'not valid', 'questioned', 'too close to call', 'conditions not recorded', 'too tight', 'refused'."""
    text: str
    """One or two sentences."""
    instead: str = ""
    """Id of the observation or check to make in its place or again."""


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything the rules can read."""

    values: dict[str, Value]
    """Fact -> value; a fact that is not here is unknown."""
    reductions: dict[str, Reduction]
    """Reduced fact -> how it came about."""
    remarks: tuple[Remark, ...]
    """Remarks on readings, in order of observation."""


@dataclass(frozen=True, slots=True)
class Firing:
    """One rule that fired: what it matched and what it asserted."""

    rule: str
    """Id of the finding (or operation) whose rule fired."""
    truth: Truth
    """present or absent."""
    matched: tuple[tuple[str, str], ...]
    """(fact or finding, value as shown) that the rule matched, in order of name."""


@dataclass(frozen=True, slots=True)
class Conclusions:
    """What the rules concluded."""

    findings: dict[str, Truth]
    """Every finding, in order of id."""
    firings: tuple[Firing, ...]
    """Every firing, in order of rule id."""
