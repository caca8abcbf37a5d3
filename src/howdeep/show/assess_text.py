"""The whole verdict in a terminal: 80 columns, readable without colour and in a pipe. Words nothing of its own."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from rich.console import RenderableType
from rich.table import Table as Grid
from rich.text import Text

from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment
from .bars import compression_bars
from .layout import Whole, bar, heading, indent, item
from .section import Line, Section, Table, capital
from .spoken import Said, spoken
from .verdict import SECTIONS, verdict_of

WORDS = 300
"""Letters of the customer's own words."""
HEAD = ("general", "dangers", "doubt", "misfits", "remarks")
"""Sections that stand right below the headline, whatever part is asked for."""
ANSWER = ("job", "because", "prices", "leaves", "owner", "waived", "next", "held", "reasons", "unexplained", "stages")
PARTS: dict[str, tuple[str, ...]] = {
    "causes": ("causes", "reasons", "unexplained"),
    "ladder": ("ladder",),
    "checks": ("checks", "plan", "moves"),
    "work": ("work", "turns_up"),
    "parts": ("parts",),
    "tests": ("tests",),
}
"""Name of a part -> the sections that it prints."""
ORDER = (
    *ANSWER,
    "turns_up",
    "ladder",
    "causes",
    "checks",
    "plan",
    "moves",
    "work",
    "parts",
    "tests",
    "look_ups",
    "assumed",
    "stand_ins",
    "not_asked",
    "used",
    "advice",
)
"""Sections behind the headline, in the order of the terminal."""
MARKS = {"next": ">", "held": "[ ]", "causes": "*", "checks": "*", "unexplained": "?"}
"""Section -> the mark of its lines; of all others '-', of a warning '!'."""
PLAIN = ("because", "job", "leaves", "owner", "not_asked", "tests", "advice")
"""Sections whose lines are sentences without a mark."""
BRIEF = ("work",)
"""Sections of which only the short text is printed: the sheets hold the whole."""


def assessment_text(
    knowledge: Knowledge,
    answer: Assessment,
    prices: PriceList | None = None,
    *,
    parts: tuple[str, ...] = (),
    units: str = "",
) -> Iterator[RenderableType]:
    """The whole verdict section by section, or only the named parts; figures in the shop's units."""
    return spoken(_text(knowledge, answer, prices, parts, units), units)


def _text(
    knowledge: Knowledge, answer: Assessment, prices: PriceList | None, parts: tuple[str, ...], units: str
) -> Iterator[RenderableType]:
    named = tuple(name for part in parts for name in PARTS[part])
    verdict = verdict_of(knowledge, answer, prices, (*HEAD, *named) if parts else SECTIONS)
    yield from _head(answer)
    yield heading(verdict.headline)
    if verdict.cleared:
        yield indent(f"Once that is cleared: {verdict.cleared}.")
    for name in HEAD:
        yield from _section(verdict.section(name))
    for name in named or ORDER:
        if name == "checks" and not parts:
            yield from _bars(answer, units)
        section = verdict.section(name)
        if name == "job" and verdict.names_job and section.lines:
            lines = (dataclasses.replace(section.lines[0], lead=""), *section.lines[1:])
            section = dataclasses.replace(section, lines=lines)
        yield from _section(section)


def _head(answer: Assessment) -> Iterator[RenderableType]:
    job = answer.job.job
    yield Text(job.title or "Job", style="bold")
    yield indent(f"Engine: {answer.job.engine.name}")
    if job.customer.words:
        words = " ".join(job.customer.words.split())
        words = words if len(words) <= WORDS else words[: WORDS - 3] + "..."
        yield indent(Said(f'The customer says: "{words}"'))


def _bars(answer: Assessment, units: str) -> Iterator[RenderableType]:
    bars = compression_bars(answer.facts, 76, units)
    if bars:
        yield heading("Compression")
        yield indent(bars)


def _section(section: Section) -> Iterator[RenderableType]:
    if not section.title or not (section.lines or section.table or section.before):
        return
    yield heading(section.title)
    for text in section.before:
        yield indent(text)
    for line in section.lines:
        yield from _line(section.id, line)
    if section.table:
        yield indent(_grid(section.table), 0)
    for text in section.after:
        yield indent(text)


def _line(section: str, line: Line) -> Iterator[RenderableType]:
    text = capital(line.brief if section in BRIEF else line.told)
    if section in BRIEF and line.warns:  # it must stand out in black and white, too
        text = text.replace("Caution", "CAUTION", 1)
    if section in PLAIN:
        yield indent(text)
    else:
        yield item(text, "!" if line.warns else MARKS.get(section, "-"))
    for under in line.under:
        yield indent(under.told, 2 if section in PLAIN else 5)


def _grid(table: Table) -> Grid:
    """A table with the bars of its rows; a long title is wrapped, no figure is cut."""
    grid = Grid(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_edge=False)
    grid.add_column(f"  {table.heads[0]}", ratio=1)
    for head in table.heads[1:]:
        grid.add_column(head, justify="right", no_wrap=True)
    grid.add_column("", no_wrap=True)
    for row in table.rows:
        mark = ">" if row.chosen else " "
        grid.add_row(item(Whole(row.cells[0]), mark, 1), *row.cells[1:], bar(row.share))
    return grid
