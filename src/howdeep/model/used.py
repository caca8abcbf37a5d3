"""What an answer was made with: rules, engine sheet, prices, the shop's own corrections, and what was left out."""

from __future__ import annotations

from .frozen import dataclass


@dataclass(frozen=True, slots=True)
class LaidOver:
    """A shop's own rules laid over the shipped ones."""

    folder: str
    """As it was given."""
    replaced: int
    """Shipped entries whose place it takes, the settings counted as one."""
    added: int
    """Entries of its own."""
    corrections: int
    """Frequency words (of links, without a cause, and base odds) that differ from the shipped ones."""


@dataclass(frozen=True, slots=True)
class Used:
    """What one answer was made with."""

    rule_base: str
    """Version and content hash, the shop's own folder in it."""
    laid_over: LaidOver | None
    engine: str
    """Id of the engine sheet, or of the kind of engine that stands in for one."""
    has_sheet: bool
    general: int
    """Figures of the engine that general limits stood in for."""
    assumed: int
    """Words of the build that were taken as is usual."""
    prices: str
    """Name of the price list; empty where there was none."""
    prices_file: str
    """Name of its file."""
    prices_date: str
    """Day from which it holds (ISO)."""
    prices_example: bool
    """Whether it is an example as a whole."""
    prices_missing: int
    """What jobs and decision need and it has no price for."""
    questioned: tuple[str, ...]
    """Figures of the shop's rules and prices, and of the engine sheet, that can hardly be: file:line:column and why."""
    left_out: tuple[str, ...]
    """Ids of answers and readings that were given and do not count."""
    left_out_titles: tuple[str, ...] = ()
    """What they are called."""
