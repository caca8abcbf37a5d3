"""Assembly and proof sheets in a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from ..quote.sheets import BLANK
from ..quote.values import Sheets
from .layout import heading, indent, item
from .words import ADVICE, STAGES


def assembly_text(sheets: Sheets, *, general: str = "") -> Iterator[RenderableType]:
    """The assembly sheet: cautions first, then the steps, with blanks for what is set or measured."""
    yield Text("Assembly sheet", style="bold")
    if general:
        yield item(general, "!")
    if not sheets.parts:
        yield indent("No work of this scope needs assembling.")
    stage = ""
    for part in sheets.parts:
        if part.stage != stage:
            stage = part.stage
            yield heading(STAGES[stage].upper())
        yield heading(part.title)
        for title, text in part.cautions:
            yield item(f"CAUTION, {title.lower()}: {text}", "!")
        if part.renew:
            yield indent(f"Always renew: {', '.join(part.renew)}.")
        for index, step in enumerate(part.steps, 1):
            yield item(step.text + (f"  Set or measured: {BLANK}" if step.blank else ""), f"{index}.", 3)
    yield indent(f"\n{ADVICE}")


def proof_text(sheets: Sheets) -> Iterator[RenderableType]:
    """The proof sheet: run-in, then the same tests as before beside the old readings."""
    yield Text("Proof sheet", style="bold")
    yield heading("Run-in")
    for index, line in enumerate(sheets.run_in, 1):
        yield item(f"{line}  {BLANK}", f"{index}.", 3)
    yield heading("The same tests as before")
    for line in sheets.proof:
        yield item(line.title)
        yield indent(f"before: {line.before or 'not made'}", 4)
        yield indent(f"after:  {'  '.join([BLANK] * line.fields)}", 4)
    yield indent(f"\n{ADVICE}")
