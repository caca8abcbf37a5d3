"""A layered drawing: where boxes in columns stand so that their lines cross little, and the drawing as SVG."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from textwrap import shorten

from ..model.frozen import dataclass

SWEEPS = 8
BOX_WIDTH, ROW, GAP, TOP, MARGIN = 188, 27, 56, 34, 2
LETTERS = 31


@dataclass(frozen=True, slots=True)
class Edge:
    """A line from a box to one in a later column."""

    start: str
    end: str
    weight: int = 1
    """1 to 3: how thick it is drawn."""


def order_columns(columns: Sequence[Sequence[str]], edges: Sequence[Edge]) -> list[list[str]]:
    """The boxes of each column in an order with few crossings: each box moves to the middle of its neighbours.

    The first order is the one given; the best order found in a fixed number of sweeps is returned.
    """
    near: dict[str, list[str]] = {}
    for edge in edges:
        near.setdefault(edge.start, []).append(edge.end)
        near.setdefault(edge.end, []).append(edge.start)
    order = [list(column) for column in columns]
    best, fewest = [list(column) for column in order], crossings(order, edges)
    for sweep in range(SWEEPS):
        ways = range(len(order)) if sweep % 2 == 0 else range(len(order) - 1, -1, -1)
        for index in ways:
            place = {name: row / max(1, len(column)) for column in order for row, name in enumerate(column)}
            others = set(order[index])

            def middle(name: str, place: Mapping[str, float] = place, others: set[str] = others) -> float:
                rows = [place[other] for other in near.get(name, ()) if other in place and other not in others]
                return sum(rows) / len(rows) if rows else place[name]

            order[index].sort(key=lambda name: (middle(name), name))
        count = crossings(order, edges)
        if count < fewest:
            best, fewest = [list(column) for column in order], count
    return best


def crossings(order: Sequence[Sequence[str]], edges: Sequence[Edge]) -> int:
    """How many pairs of lines between the same two columns cross."""
    column = {name: index for index, names in enumerate(order) for name in names}
    row = {name: index for names in order for index, name in enumerate(names)}
    spans: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for edge in edges:
        spans.setdefault((column[edge.start], column[edge.end]), []).append((row[edge.start], row[edge.end]))
    return sum(
        (one[0] - two[0]) * (one[1] - two[1]) < 0
        for pairs in spans.values()
        for index, one in enumerate(pairs)
        for two in pairs[index + 1 :]
    )


def svg(
    columns: Sequence[tuple[str, Sequence[str]]],
    edges: Sequence[Edge],
    titles: Mapping[str, str],
    *,
    name: str,
    title: str,
    description: str,
) -> str:
    """The drawing. `columns` are (heading, box ids), `titles` the text of each box; `name` makes ids unique on a page.

    It takes its colours from the page (currentColor) and says in words what it shows (title, desc).
    """
    order = order_columns([boxes for _, boxes in columns], edges)
    tallest = max((len(column) for column in order), default=0)
    width = MARGIN * 2 + len(columns) * BOX_WIDTH + (len(columns) - 1) * GAP
    height = TOP + tallest * ROW + MARGIN
    place: dict[str, tuple[float, float]] = {}
    for index, column in enumerate(order):
        pitch = (height - TOP - MARGIN) / max(1, len(column))
        for row, box in enumerate(column):
            place[box] = (MARGIN + index * (BOX_WIDTH + GAP), TOP + (row + 0.5) * pitch)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {width} {height}" width="{width}" '
        f'height="{height}" aria-labelledby="{name}-t {name}-d"><title id="{name}-t">{escape(title)}</title>'
        f'<desc id="{name}-d">{escape(description)}</desc>'
    ]
    for edge in edges:
        (x, y), (to_x, to_y) = place[edge.start], place[edge.end]
        x += BOX_WIDTH
        bend = (to_x - x) / 2
        parts.append(
            f'<path class="edge w{edge.weight}" d="M{x:.0f} {y:.1f}C{x + bend:.0f} {y:.1f} '
            f'{to_x - bend:.0f} {to_y:.1f} {to_x:.0f} {to_y:.1f}"/>'
        )
    for (label, _), index in zip(columns, range(len(columns)), strict=True):
        parts.append(f'<text class="head" x="{MARGIN + index * (BOX_WIDTH + GAP)}" y="20">{escape(label)}</text>')
    for box, (x, y) in place.items():
        text = shorten(titles[box], LETTERS, placeholder=" ...")
        parts.append(
            f'<rect class="box" x="{x:.0f}" y="{y - 11:.1f}" width="{BOX_WIDTH}" height="22" rx="3"/>'
            f'<text x="{x + 6:.0f}" y="{y + 4:.1f}">{escape(text)}</text>'
        )
    return "".join([*parts, "</svg>"])
