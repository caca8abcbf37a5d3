"""An explanation in a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from ..assessment.explain import Explanation
from ..logic.proof import Branch
from ..model.knowledge import Knowledge
from ..model.shown_units import in_prose
from .layout import heading, indent, item
from .sentences import lower_first, step_title
from .words import chance_of, times


def explanation_text(explanation: Explanation, knowledge: Knowledge, units: str = "") -> Iterator[RenderableType]:
    """The explanation, part by part, figures in the shop's units."""
    yield Text(f"{explanation.title}   ({explanation.kind} {explanation.id})", style="bold")
    for sentence in explanation.says:
        yield item(sentence) if explanation.kind == "answer" else indent(sentence)
    if explanation.steps:
        yield heading("From base odds to the odds now")
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        table.add_column("  Step")
        table.add_column("Odds", justify="right", no_wrap=True)
        table.add_column("Alone", justify="right", no_wrap=True)
        table.add_column("Strength", no_wrap=True)
        for step in explanation.steps:
            label = in_prose(step_title(knowledge, step.label, step.kind), units)
            if step.explained_by:
                blamed = " or ".join(lower_first(knowledge.causes[cause].title) for cause in step.explained_by)
                label += f" (explained as well by {blamed})"
            if step.kind == "base":
                table.add_row(indent(label), chance_of(step.decibans), "", "")
                continue
            table.add_row(
                indent(label), times(step.decibans), "" if step.alone is None else times(step.alone), step.words
            )
        table.add_row(indent("Now"), chance_of(sum(step.decibans for step in explanation.steps)), "", "")
        yield table
        yield indent(
            "'x 2.0' doubles the odds, '/ 2.0' halves them; even odds are 50 %. 'Alone' is what the sign would"
            " have done by itself."
        )
    if explanation.chains:
        yield heading("Down to the answers")
        for branch in explanation.chains:
            yield from _branch(branch, 2)
    if explanation.open:
        yield heading("Not asked")
        for text in explanation.open[:12]:
            yield item(text.partition(": ")[2])
        if len(explanation.open) > 12:
            yield indent(f"... and {len(explanation.open) - 12} more.")
    if explanation.changes:
        yield heading("What would change the answer")
        for text in explanation.changes:
            yield item(text)
    if explanation.sources:
        yield heading("Sources")
        for text in explanation.sources:
            yield item(text)


def _branch(branch: Branch, depth: int) -> Iterator[RenderableType]:
    yield item(branch.text, "-", depth)
    for part in branch.parts:
        yield from _branch(part, depth + 3)
