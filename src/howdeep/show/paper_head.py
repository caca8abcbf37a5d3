"""The head that every paper carries in a terminal as in print: letterhead, title, number and date, for whom."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rich.console import RenderableType
from rich.text import Text

from ..model.frozen import dataclass
from ..model.prices import Letterhead
from ..model.results import Assessment
from .layout import indent
from .shop_text import letterhead_lines
from .spoken import Said

NOT_NUMBERED = "not yet numbered"


@dataclass(frozen=True, slots=True)
class Row:
    """A label with what stands beside it; a strong one is the sum to look for."""

    label: str
    text: str
    strong: bool = False


def about_rows(number: str | None, date: str) -> tuple[Row, ...]:
    """Number and date of a paper."""
    return (Row("No.", number or NOT_NUMBERED), *((Row("Date", date),) if date else ()))


def who_rows(customer: str, machine: str, engine: str) -> tuple[Row, ...]:
    """For whom a paper is, and for what; what nobody said is left out."""
    rows = (Row("For", customer), Row("Machine", machine), Row("Engine", engine))
    return tuple(row for row in rows if row.text)


def head_lines(
    title: str, about: Iterable[Row], who: Iterable[Row], shop: Letterhead | None
) -> Iterator[RenderableType]:
    """The head as lines; the title is left out where the paper brings its own."""
    yield from letterhead_lines(shop)
    if title:
        yield Text(title, style="bold")
    yield indent(", ".join(f"{row.label} {row.text}" for row in about))
    told = "; ".join(f"{row.label} {row.text}" for row in who)
    if told:
        yield indent(Said(told))


def head_of(answer: Assessment, shop: Letterhead | None, number: str | None, date: str) -> Iterator[RenderableType]:
    """The head of a paper of a job that brings its own title."""
    customer = answer.job.job.customer
    yield from head_lines(
        "", about_rows(number, date), who_rows(customer.name, customer.machine, answer.job.engine.name), shop
    )
    yield Text("")
