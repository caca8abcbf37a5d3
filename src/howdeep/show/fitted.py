"""Parts of a screen that fit into a number of lines: of more than fits, what matters least is left out whole."""

from __future__ import annotations

from collections.abc import Sequence

from ..model.frozen import dataclass

ALWAYS, FIRST, SECOND, THIRD, LAST = range(5)
"""How soon a part has its place."""


@dataclass(frozen=True, slots=True)
class Part:
    """Lines that are printed whole or not at all."""

    need: int
    lines: tuple[str, ...]
    under: str = ""
    """Heading that stands before the first of its parts."""


def fitted(parts: Sequence[Part], room: int) -> list[str]:
    """The lines of the parts that fit into `room` lines, in their order; the most needed take their place first."""
    chosen: set[int] = set()
    opened: set[str] = set()
    for place in sorted(range(len(parts)), key=lambda place: (parts[place].need, place)):
        part = parts[place]
        used = len(part.lines) + (part.under not in opened and part.under != "")
        if used <= room:
            chosen.add(place)
            opened.add(part.under)
            room -= used
    lines: list[str] = []
    under = ""
    for place in sorted(chosen):
        if parts[place].under not in ("", under):
            lines.append(parts[place].under)
        under = parts[place].under or under
        lines += parts[place].lines
    return lines


__all__ = ["ALWAYS", "FIRST", "LAST", "SECOND", "THIRD", "Part", "fitted"]
