"""The shapes of a verdict: sections of lines and tables, with what each can be asked 'why' of. Surfaces lay it out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from ..model.answer_kinds import Kind
from ..model.frozen import dataclass


@dataclass(frozen=True, slots=True)
class Line:
    """One thing that is said: a sentence, or what it is about with what is said of it."""

    text: str
    lead: str = ""
    """What it is about: a title that stands before the text."""
    short: str = ""
    """The text where there is little room; empty where it is the same."""
    why: str = ""
    """Id or name that can be asked 'why': a cause, finding, operation, job, kind of answer or question."""
    ask: str = ""
    """Observation by which it is settled."""
    hold: str = ""
    """Hold that can be waived instead."""
    warns: bool = False
    """Whether it is a caution or a warning: it stands out, and before what it belongs to."""
    under: tuple[Line, ...] = ()
    """What is said below it where there is room."""

    @property
    def told(self) -> str:
        """Lead and text in one."""
        return joined(self.lead, self.text)

    @property
    def brief(self) -> str:
        """The same where there is little room."""
        return joined(self.lead, self.short or self.text)


def capital(text: str) -> str:
    """The text with a capital letter, as a line of a list begins."""
    return text[:1].upper() + text[1:]


def joined(lead: str, text: str) -> str:
    """'Re-ring (6.5 h): cures piston rings worn'."""
    return f"{lead}: {text}" if lead and text else lead or text


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table."""

    cells: tuple[str, ...]
    why: str = ""
    chosen: bool = False
    """Whether it is what the answer speaks of."""
    share: float = 0.0
    """Length of its bar, 0 to 1: the chance that it is enough."""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under headings, as many cells as headings."""

    heads: tuple[str, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure or name that every paper which speaks of the section must hold, in one of some ways of writing it."""

    of: str
    """What it is: enough, price, low, high, check, suspect ..."""
    ways: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """One part of a verdict."""

    id: str
    title: str
    lines: tuple[Line, ...] = ()
    table: Table | None = None
    before: tuple[str, ...] = ()
    """Sentences that stand before the lines."""
    after: tuple[str, ...] = ()
    """Sentences that stand behind lines and table."""
    figures: tuple[Figure, ...] = ()
    """What a customer's paper, which has its own sentences, must agree with."""

    def texts(self) -> Iterator[str]:
        """Everything that it says where there is room, in order: lead and text of a line apart."""
        yield from self.before
        yield from _texts(self.lines)
        for row in self.table.rows if self.table else ():
            yield from (cell for cell in row.cells if cell)
        yield from self.after


def _texts(lines: tuple[Line, ...]) -> Iterator[str]:
    for line in lines:
        yield from (part for part in (line.lead, line.text) if part)
        yield from _texts(line.under)


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer in words, once: what every surface lays out."""

    kind: Kind
    heading: str
    """The kind of answer."""
    headline: str
    """The heading with the job that it speaks of."""
    job: str
    """That job; empty where none is meant."""
    cleared: str
    """What the answer is once a danger is cleared, as a headline; empty where nothing forbids running."""
    names_job: bool
    """Whether the headline (of a danger: that of `cleared`) names the job of the section 'job'."""
    sections: tuple[Section, ...]
    """Those that say something, in order."""
    settled: Literal["", "promised", "closed", "unasked"] = ""
    """Whether the job is past its answer or before any: then heading and job are those of the promise, or of what was
    done, or none."""

    def section(self, name: str) -> Section:
        """A section by its id; an empty one where it says nothing."""
        return next((section for section in self.sections if section.id == name), Section(name, ""))

    def lines(self, name: str) -> tuple[Line, ...]:
        """The lines of a section."""
        return self.section(name).lines
