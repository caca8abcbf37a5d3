"""A job's journal as lines that a person reads. Computes nothing of the engine."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ..job.journal import Line, Moved
from ..model.knowledge import Knowledge
from .answers import summary

LONGEST = 160
"""Letters of one value; longer ones are cut."""
_PARTS = {
    "waived": "Waived",
    "promises": "Promise",
    "papers": "Paper",
    "approvals": "A yes",
    "found": "Found",
    "notes": "Note",
    "photos": "Photograph",
    "customer": "Customer",
    "place": "Place",
    "done": "Work done",
}


def moved_words(knowledge: Knowledge, item: Moved) -> str:
    """One changed value in words: 'Smoke when pulling: heavy blue (was none)'."""
    part, _, name = item.where.partition(".")
    known = knowledge.observations.get(name) if part in ("answers", "readings", "teardown") else None

    def said(value: Any) -> str:
        if known is not None:
            return _cut(summary(known, value))
        return _cut(
            ", ".join(str(one) for one in value.values())
            if isinstance(value, dict)
            else ", ".join(map(str, value))
            if isinstance(value, list)
            else str(value)
        )

    title = (
        known.title
        if known is not None
        else " ".join(
            filter(
                None, (_PARTS.get(part, part[:1].upper() + part[1:]), "" if name.isdigit() else name.replace("_", " "))
            )
        )
    )
    if item.now is None:
        return f"{title}: taken back (was {said(item.was)})"
    return f"{title}: {said(item.now)}" + (f" (was {said(item.was)})" if item.was is not None else "")


def line_words(knowledge: Knowledge, line: Line) -> str:
    """What a line did, in words."""
    if line.kind == "begun":
        return "The journal begins here."
    told = "; ".join(moved_words(knowledge, item) for item in line.moved)
    if line.kind == "outside":
        return "Changed outside this program" + (f": {told}" if told else ".")
    if line.kind == "undo":
        return f"Line {line.undoes} taken back: {told}"
    return told or "Only the layout of the file changed."


def history_lines(knowledge: Knowledge, lines: Sequence[Line]) -> Iterator[str]:
    """Number, time, who, and what, the oldest first."""
    for line in lines:
        yield f"{line.number:>4}  {when(line)}  {line.by}: {line_words(knowledge, line)}"


def when(line: Line) -> str:
    """'2026-11-29 15:02'."""
    return line.at[:16].replace("T", " ")


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 3]}..."


__all__ = ["history_lines", "line_words", "moved_words", "when"]
