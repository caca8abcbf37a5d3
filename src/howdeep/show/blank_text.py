"""A sheet to be filled in by hand, in a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from ..quote.sheet_figures import BLANK
from ..quote.sheet_values import BlankRow, BlankSheet
from .layout import heading, indent, item
from .sheet_text import SHORT, cautions_text, parts_text
from .words import ADVICE, minutes


def blank_text(sheet: BlankSheet, *, general: str = "") -> Iterator[RenderableType]:
    """Cautions first, then the conditions, then a place for every figure in the order of the bench."""
    yield Text(f"{sheet.title} ({minutes(sheet.minutes)})", style="bold")
    if general:
        yield item(general, "!")
    yield from cautions_text(sheet.cautions)
    if sheet.strip:
        yield from parts_text(sheet.strip)
    if sheet.conditions:
        yield heading("Conditions")
    for row in sheet.conditions:
        yield from _row(row)
    for title, how in sheet.how:
        yield heading(f"How: {title}")
        yield indent(how)
    yield heading("To fill in")
    for row in sheet.rows:
        yield from _row(row)
    yield indent(f"\n{ADVICE}")


def _row(row: BlankRow) -> Iterator[RenderableType]:
    unit = f", {row.unit}" if row.unit else ""
    yield item(
        f"{row.title}{unit}"
        + (f" ({row.beside})" if row.beside else "")
        + (f" ({'cautions' if len(row.marks) > 1 else 'caution'} {', '.join(row.marks)})" if row.marks else "")
        + f". {row.ask}"
    )
    if row.answers and not row.each:
        yield indent("   ".join(f"[ ] {text}" for text in row.answers), 4)
        return
    if row.answers:
        yield indent("   ".join(f"{number} {text}" for number, text in enumerate(row.answers, 1)), 4)
    for place in row.places:
        blanks = (
            f"{row.each} " + "  ".join(f"{number} {SHORT}" for number in range(1, row.count + 1)) if row.each else BLANK
        )
        yield indent(f"{place + ': ' if place else ''}{blanks}", 4)
