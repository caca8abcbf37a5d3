"""What of a table of prices matched, as a picture in a terminal of 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..pricing.asked import title_of
from ..pricing.csv_import import Table
from ..pricing.matching import Match
from .layout import bar, heading

KINDS = (
    ("exact", "=", "Exact"),
    ("near", "~", "Near: written only after a yes"),
    ("none", "x", "Not matched"),
    ("refused", "!", "Matched or not, the price cannot be taken"),
)
SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
WIDTH = 80
MOST = 200
"""Rows of one kind that are shown."""


def import_lines(
    knowledge: Knowledge, table: Table, found: tuple[Match, ...], prices: PriceList
) -> Iterator[RenderableType]:
    """How the table was read, each row by what it matched, and the counts as bars."""
    decimal = {",": "decimal comma", ".": "decimal point"}.get(table.decimal, "whole figures")
    yield Text(
        f"{len(table.rows)} rows; part from '{table.part_column}', price from '{table.price_column}'; "
        f"{SEPARATORS.get(table.separator, table.separator)} between cells, {decimal}, {table.encoding}."
    )
    for kind, mark, title in KINDS:
        rows = [match for match in found if match.kind == kind]
        if rows:
            yield heading(title)
        for match in rows[:MOST]:
            for line in row_lines(knowledge, match, mark):
                yield Text(line)
        if len(rows) > MOST:
            yield Text(f"    ... and {len(rows) - MOST} more rows")
    yield heading("What matched")
    for kind, mark, title in KINDS:
        count = sum(match.kind == kind for match in found)
        if count:
            yield Text(f"  {mark} {bar(count / max(len(found), 1), 24)} {count:>5}  {title.split(':')[0].lower()}")


def row_lines(knowledge: Knowledge, match: Match, mark: str) -> list[str]:
    """'= 12  gskt cyl head   48.00  Head gasket (was 44.00)' in 80 columns; what does not fit on lines below."""
    row = match.row
    price = f"{row.price:,.2f}" if row.price is not None else (row.shown or "-")[:11]
    to = title_of(knowledge, match.places[0]) if match.places else ""
    if len(match.places) > 1 and match.kind == "near":
        to = " or ".join(title_of(knowledge, place) for place in match.places[:2])
    told = {
        "exact": f" (was {match.before})" if match.before and match.before != f"{row.price}" else "",
        "near": f"? {match.why}",
        "none": match.why,
        "refused": f"{': ' if to else ''}{match.why}",
    }[match.kind]
    text = f"  {mark} {row.line:>4}  {_cut(row.part or '(no name)', 26):<26} {price:>11}"
    if len(text) + 2 + len(to + told) <= WIDTH:
        return [f"{text}  {to}{told}".rstrip()]
    return [text, *textwrap.wrap(to + told, WIDTH, initial_indent=" " * 10, subsequent_indent=" " * 10)]


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 3].rstrip() + "..."
