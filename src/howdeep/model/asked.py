"""What a shop is asked for when it begins a price list, and the words of suppliers' lists."""

from __future__ import annotations

from dataclasses import field

from .frozen import dataclass
from .terms import CONFIG


@dataclass(frozen=True, slots=True)
class AskedFigure:
    """One figure of a price list to ask for."""

    __pydantic_config__ = CONFIG

    of: str
    """Where it stands in the list: 'labour_rate', 'machine.grind_valve'."""
    ask: str = ""
    """The question in one line; without it the title of the part or work."""


@dataclass(frozen=True, slots=True)
class AskedGroup:
    """Figures that are asked for together."""

    __pydantic_config__ = CONFIG

    title: str
    """What they have in common."""
    ask: tuple[AskedFigure, ...]
    """The figures, in the order in which they are asked for."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked for, and by which other names it stands in lists of suppliers."""

    __pydantic_config__ = CONFIG

    groups: tuple[AskedGroup, ...]
    """The first is what matters most; every other part and work follows after the last."""
    words: dict[str, str] = field(default_factory=dict)
    """Word of a supplier's list -> the word, or words, used in the rule base."""
    also: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Part or machine-shop work -> other names of it."""
