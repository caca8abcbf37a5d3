"""The estimate in a terminal: the same words as in print, at 80 columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from ..model.prices import Letterhead
from ..quote.estimate_values import Estimate
from ..quote.jobs import is_only
from .depth import depth_line
from .estimate_words import page_of
from .layout import Whole, heading, indent, item
from .paper_block import Block
from .paper_head import head_lines
from .spoken import Said
from .words import ADVICE_SHORT


def estimate_text(
    estimate: Estimate, shop: Letterhead | None = None, notes: Sequence[str] = ()
) -> Iterator[RenderableType]:
    """The page as lines; `notes` is what is to be said of its prices."""
    page = page_of(estimate, notes)
    yield from head_lines(page.title, page.about, page.who, shop)
    for notice in page.notices:
        yield item(notice, "!")
    if page.told:
        yield heading("What you told us")
        yield indent(Said(page.told))
    yield heading("What we found")
    for row in estimate.found:
        wanted = f" (should be: {row.should_be})" if row.should_be else ""
        yield item(Said(f"{row.title}: {row.read}{wanted}"), "!" if row.past else "-")
    for block in page.blocks:
        if block.name == "found":
            yield from (indent(line) for line in block.lines)
    if page.propose is not None and estimate.proposal is not None:
        yield from _block(page.propose)
        depth = depth_line(estimate.proposal.rung, only=is_only(estimate.proposal.job))
        yield from (indent(line) for line in (depth,) if line)
    if page.price is not None:
        yield from _block(page.price)
    for block in page.blocks:
        if block.name != "found":
            yield from _block(block)
    yield Text("")
    for line in page.signatures:
        yield indent(f"{line}: ____________________  Date: __________")
    yield indent("\n" + " ".join(filter(None, (ADVICE_SHORT, estimate.used))))


def _block(block: Block) -> Iterator[RenderableType]:
    yield heading(block.title)
    if block.rows:
        table = Table.grid(padding=(0, 2), expand=True)
        table.add_column(ratio=1)
        table.add_column(justify="right", no_wrap=True)
        for row in block.rows:
            style = "bold" if row.strong else ""
            table.add_row(indent(Whole(row.label, style=style)), Text(row.text, style=style))
        yield table
    for line in block.lines:
        yield indent(line)
