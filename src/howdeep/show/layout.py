"""The few shapes that every text in the terminal is built from."""

from __future__ import annotations

import re
from typing import Any

from rich.console import Console, RenderableType
from rich.containers import Lines
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

TOGETHER = re.compile(r"(?<=\b[A-Z]{3}) (?=\d)|(?<=\d) (?=%|min\b|h\b|more\b)|(?<=\band) (?=\d+ more\b)")
"""The space between a figure and its sign or unit."""
HELD = "\ue000"
"""What stands for it while a text is wrapped: no space to break at."""


class Whole(Text):
    """Text that is broken only between words: a figure keeps its sign, currency or unit beside it."""

    def wrap(self, console: Console, width: int, **how: Any) -> Lines:
        """The lines of a width."""
        held = self.copy()
        held.plain = TOGETHER.sub(HELD, self.plain)
        lines = held.wrap(console, width, **how)
        for line in lines:
            line.plain = line.plain.replace(HELD, " ")
        return lines


def heading(text: str) -> Text:
    """A heading that stands out without colour."""
    return Text(f"\n{text.upper()}", style="bold")


def indent(text: str | RenderableType, by: int = 2) -> Padding:
    """Text set in by some columns and wrapped there."""
    return Padding(Whole(text) if isinstance(text, str) else text, (0, 0, 0, by))


def item(text: str | Text, mark: str = "-", by: int = 2) -> Table:
    """A list item whose further lines hang under its first."""
    table = Table.grid(padding=(0, 1))
    table.add_column(width=by + len(mark) - 1, justify="right", no_wrap=True)
    table.add_column()
    table.add_row(mark, Whole(text) if isinstance(text, str) else text)
    return table


def bar(share: float, width: int = 12) -> str:
    """A bar of plain characters."""
    full = round(max(0.0, min(1.0, share)) * width)
    return "#" * full + "." * (width - full)
