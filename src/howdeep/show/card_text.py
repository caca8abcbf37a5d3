"""The spec card of an engine in a terminal: one page at 80 columns, two short figures a line."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from ..sheets.card import USUAL, Card, CardRow
from .as_json import text_of

WIDTH = 80
_GAP = 2


def card_lines(card: Card, width: int = WIDTH) -> Iterator[str]:
    """The card, each line at most `width` wide."""
    known, every = card.filled
    yield _cut(f"{card.name}  ({card.id})", width)
    if card.note:
        yield from textwrap.wrap(card.note, width, max_lines=1, placeholder=" ...")
    for part in card.parts:
        title = f" {part.title} "
        yield f"--{title}{'-' * max(0, width - len(title) - 2)}"
        if part.words:
            yield from _run(part.rows, width)
        else:
            yield from _table(part.rows, width)
    for doubt in card.doubts:
        yield from textwrap.wrap(f"? {doubt}", width, subsequent_indent="  ")
    ending = f"{known} of {every} known; ________ nobody knows."
    if any(row.usual for part in card.parts for row in part.rows):
        ending += f" * {USUAL}."
    if card.sources:
        ending += f" Stands on: {'; '.join(card.sources)}."
    yield from textwrap.wrap(ending, width)


def _run(rows: tuple[CardRow, ...], width: int) -> Iterator[str]:
    """Words one behind the other, none torn from its label."""
    line = ""
    for row in rows:
        text = f"{row.label}: {row.text}{'*' if row.usual else ''}"
        if line and len(line) + 2 + len(text) > width:
            yield line.rstrip()
            line = ""
        line += f"{text}; "
    if line:
        yield line.rstrip("; ")


def _table(rows: tuple[CardRow, ...], width: int) -> Iterator[str]:
    """Two figures a line where both are short, else one. A short one waits for the next short one of its part."""
    half = (width - _GAP) // 2
    waiting = ""
    for row in rows:
        text = f"{row.label}: {row.text}{'*' if row.usual else ''}"
        if len(text) > half:
            yield from textwrap.wrap(text, width, subsequent_indent="    ")
        elif waiting:
            yield f"{waiting:<{half}}{' ' * _GAP}{text}"
            waiting = ""
        else:
            waiting = text
    if waiting:
        yield waiting


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else f"{text[: width - 3]}..."


def card_json(card: Card) -> str:
    """The card in its documented shape."""
    known, every = card.filled
    return text_of(
        {
            "howdeep_card": 1,
            "id": card.id,
            "name": card.name,
            "note": card.note,
            "known": known,
            "of": every,
            "parts": [
                {
                    "title": part.title,
                    "rows": [
                        {"label": row.label, "text": row.text if row.known else None, "usual": row.usual}
                        for row in part.rows
                    ],
                }
                for part in card.parts
            ],
            "questions": list(card.doubts),
            "sources": list(card.sources),
        }
    )
