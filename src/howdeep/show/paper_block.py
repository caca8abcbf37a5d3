"""A block of a paper: a heading with sentences, rows or a table under it."""

from __future__ import annotations

from ..model.frozen import dataclass
from .paper_head import Row


@dataclass(frozen=True, slots=True)
class Block:
    """A heading with sentences, rows or a table under it."""

    name: str
    """What it is: told, found, first, look, turns_up, ways, worth, waiting, watch, checks, terms."""
    title: str
    lines: tuple[str, ...] = ()
    rows: tuple[Row, ...] = ()
