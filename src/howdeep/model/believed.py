"""What is believed of the causes, and how it came about, as values."""

from __future__ import annotations

from .frozen import dataclass


@dataclass(frozen=True, slots=True)
class WaterfallStep:
    """One step of the way from base odds to posterior odds."""

    label: str
    """'base', a history rule, or a finding."""
    kind: str
    """'base', 'history', 'present' or 'absent'."""
    decibans: float
    """What it adds, in decibans."""
    alone: float | None
    """What the finding would have added alone; None for base and history."""
    words: str
    """Strength in words (Jeffreys)."""
    explained_by: tuple[str, ...] = ()
    """Causes that take the blame where the step falls short of what it would say alone."""


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed of one cause."""

    cause: str
    prior: float
    """Base probability with history."""
    posterior: float
    steps: tuple[WaterfallStep, ...] = ()
    """Sum exactly to the posterior's decibans."""
    hand: float = 0.0
    """Chance that it has a hand in anything noticed: told, tested, or seen on the open engine."""
    hand_outside: float = 0.0
    """Chance that it has a hand in anything that was told or tested, leaving out what the open engine shows."""
    marked: float = 0.0
    """Probability that it is there and marked, not slight."""


@dataclass(frozen=True, slots=True)
class Unexplained:
    """How likely it is that nothing on the list explains a sign."""

    finding: str
    nothing: float
    """Chance that no listed cause has a hand in it."""
    misread: float
    """Of it: that it was only misread or misreported (0 where not worked out)."""
    unlisted: float
    """Of it: that only a fault which is not on the list is behind it (0 where not worked out)."""


@dataclass(frozen=True, slots=True)
class Misfit:
    """A fault seen on the open engine that the answers given before spoke against."""

    finding: str
    """What was seen, measured or tried: the fault itself."""
    cause: str
    decibans: float
    """What the sound answers together would take from the odds of the cause were it marked (below 0)."""
    answers: tuple[tuple[str, float], ...]
    """(finding that was denied, decibans that it takes), the strongest first."""


@dataclass(frozen=True, slots=True)
class Counted:
    """Which findings count for the beliefs."""

    present: tuple[str, ...]
    absent: tuple[str, ...]
    already: dict[str, str]
    """Finding not counted -> the finding of its line that counts in its place."""
    shown_too: tuple[str, ...] = ()
    """Those of `already` that are present."""
