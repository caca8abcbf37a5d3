"""The few shapes that every text in the terminal is built from."""

from __future__ import annotations

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text


def heading(text: str) -> Text:
    """A heading that stands out without colour."""
    return Text(f"\n{text.upper()}", style="bold")


def indent(text: str | RenderableType, by: int = 2) -> Padding:
    """Text set in by some columns and wrapped there."""
    return Padding(Text(text) if isinstance(text, str) else text, (0, 0, 0, by))


def item(text: str | Text, mark: str = "-", by: int = 2) -> Table:
    """A list item whose further lines hang under its first."""
    table = Table.grid(padding=(0, 1))
    table.add_column(width=by + len(mark) - 1, justify="right", no_wrap=True)
    table.add_column()
    table.add_row(mark, Text(text) if isinstance(text, str) else text)
    return table


def bar(share: float, width: int = 12) -> str:
    """A bar of plain characters."""
    full = round(max(0.0, min(1.0, share)) * width)
    return "#" * full + "." * (width - full)
