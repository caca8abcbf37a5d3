"""An explanation in a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from ..assessment.explain import Explanation
from ..logic.proof import Branch
from .layout import heading, indent, item


def explanation_text(explanation: Explanation) -> Iterator[RenderableType]:
    """The explanation, part by part."""
    yield Text(f"{explanation.title}   ({explanation.kind} {explanation.id})", style="bold")
    for sentence in explanation.says:
        yield item(sentence) if explanation.kind == "answer" else indent(sentence)
    if explanation.steps:
        yield heading("From base odds to the odds now, in decibans")
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        table.add_column("  Step")
        table.add_column("Adds", justify="right", no_wrap=True)
        table.add_column("Alone", justify="right", no_wrap=True)
        table.add_column("Strength", no_wrap=True)
        for step in explanation.steps:
            label = step.label if step.kind != "absent" else f"not: {step.label}"
            if step.explained_by:
                label += f" (explained by {', '.join(step.explained_by)})"
            table.add_row(f"  {label}", f"{step.decibans:+.1f}", "" if step.alone is None else f"{step.alone:+.1f}",
                          step.words)
        total = sum(step.decibans for step in explanation.steps)
        table.add_row("  = odds now", f"{total:+.1f}", "", "")
        yield table
        yield indent("10 decibans are a factor of ten in the odds; 'alone' is what the sign would have said by itself.")
    if explanation.chains:
        yield heading("Down to the answers")
        for branch in explanation.chains:
            yield from _branch(branch, 2)
    if explanation.open:
        yield heading("Not asked")
        for text in explanation.open[:12]:
            yield item(text)
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
