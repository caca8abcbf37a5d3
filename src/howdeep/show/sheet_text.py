"""Assembly and proof sheets in a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from ..quote.sheet_figures import BLANK
from ..quote.sheet_values import SheetCaution, SheetPart, Sheets, SheetStep
from .layout import heading, indent, item
from .words import ADVICE, STAGES

TEARDOWN = "How it comes apart and what is measured then stands on 'howdeep sheet blank JOB --for teardown'."
SHORT = "____"


def assembly_text(sheets: Sheets, *, general: str = "") -> Iterator[RenderableType]:
    """The assembly sheet: cautions first, then the steps, with blanks for what is set or measured."""
    yield Text("Assembly sheet", style="bold")
    if general:
        yield item(general, "!")
    if sheets.strip:
        yield indent(TEARDOWN)
    if not sheets.parts:
        yield indent("No work of this scope needs assembling.")
    yield from cautions_text(sheets.cautions)
    yield from sizes_text(sheets)
    yield from parts_text(sheets.parts)
    yield indent(f"\n{ADVICE}")


def cautions_text(cautions: tuple[SheetCaution, ...]) -> Iterator[RenderableType]:
    """The cautions at the head of a sheet, each with the letter by which the steps name it."""
    if cautions:
        yield heading("Cautions; the letters come again where each bites")
    for caution in cautions:
        yield item(f"{caution.mark}. {caution.title.upper()}: {caution.text}", "!")


def sizes_text(sheets: Sheets) -> Iterator[RenderableType]:
    """The sizes chosen, with why not the others and how each is confirmed."""
    if sheets.sizes or sheets.journals:
        yield heading("Sizes chosen by measurement")
    for line in sheets.sizes:
        yield item(f"{line.title}: {line.size}, from {line.measured_from.lower()}")
        for text in line.rejected:
            yield indent(f"not: {text}", 4)
        for told in filter(None, (line.confirmed, line.confirm)):
            yield indent(f"confirmed by: {told}" + (f"  {BLANK}" if told == line.confirm else ""), 4)
    for text in sheets.journals:
        yield item(f"{text}.")


def parts_text(parts: tuple[SheetPart, ...]) -> Iterator[RenderableType]:
    """The work, stage by stage."""
    stage = ""
    for part in parts:
        if part.stage != stage:
            stage = part.stage
            yield heading(STAGES[stage].upper())
        again = [caution.mark for caution in part.cautions if not caution.text]
        yield Text(f"\n{part.title}" + (f"  (cautions {', '.join(again)})" if again else ""), style="bold")
        for caution in part.cautions:
            if caution.text:
                yield item(f"CAUTION {caution.mark}, {caution.title.lower()}: {caution.text}", "!")
        if part.renew:
            yield indent(f"Always renew: {', '.join(part.renew)}.")
        for index, step in enumerate(part.steps, 1):
            yield item(f"{step.text}{blanks_of(step)}", f"{index}.", 3)


def blanks_of(step: SheetStep) -> str:
    """'  Set or measured: ____', numbered where there are several."""
    if not step.blank:
        return ""
    if step.blanks < 2:
        return f"  Set or measured: {BLANK}"
    return "  Set or measured: " + "  ".join(f"{number} {SHORT}" for number in range(1, step.blanks + 1))


def proof_text(sheets: Sheets) -> Iterator[RenderableType]:
    """The proof sheet: run-in, then the same tests as before beside the old readings."""
    yield Text("Proof sheet", style="bold")
    yield heading("Run-in")
    for index, line in enumerate(sheets.run_in, 1):
        yield item(f"{line}  {BLANK}", f"{index}.", 3)
    yield heading("The same tests as before")
    for test in sheets.proof:
        yield item(test.title + (f" (sheet: {test.wanted})" if test.wanted else ""))
        yield indent(f"before: {test.before or 'not made'}", 4)
        yield indent(f"after:  {'  '.join([BLANK] * test.fields)}", 4)
    yield indent(f"\n{ADVICE}")
