"""General limits and the errors of gauges."""

from __future__ import annotations

from dataclasses import field

from .frozen import dataclass
from .sources import Source
from .terms import CONFIG


@dataclass(frozen=True, slots=True)
class Limit:
    """A general limit that stands in where the engine sheet is silent, or a figure beyond which a reading is not
    believed."""

    __pydantic_config__ = CONFIG

    title: str
    """What it limits."""
    value: float
    """The figure."""
    unit: str
    """Its unit."""
    source: tuple[Source, ...]
    """Where it comes from."""
    per: str = ""
    """What it is counted for, e.g. 'inch of bore'."""
    because: str = ""
    """Why, where the title does not say it."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""


@dataclass(frozen=True, slots=True)
class Gauge:
    """What a gauge can be trusted to: how far one reading, taken with care, may stand off the truth."""

    __pydantic_config__ = CONFIG

    title: str
    """What it is and how it is used."""
    error: float
    """How far one reading may stand off the truth."""
    unit: str
    """Unit of the error."""
    source: tuple[Source, ...]
    """Where the figure comes from."""
    excuse: dict[str, str] = field(default_factory=dict)
    """Code of a check of the rule base -> why this entry is right all the same."""
