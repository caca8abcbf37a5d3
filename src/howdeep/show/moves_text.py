"""What a shop's own rules move, for a terminal of 80 columns and as JSON."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any

from ..cases.moves import CaseMoves, Change, Moves
from ..model.knowledge import Knowledge
from .as_json import plain, text_of
from .sentences import led_words, lower_first

WIDTH, SHOWN = 80, 20
_LABEL = {
    "cause": "First causes",
    "answer": "Answer",
    "price": "Price",
    "chance": "Chance that it is enough",
    "fault": "Cannot be read any more",
    "hold": "Hold",
    "caution": "Caution",
    "danger": "Danger",
}


def moves_lines(knowledge: Knowledge, moves: Moves) -> Iterator[str]:
    """What was answered, then what is lost anywhere, then case by case."""
    yield from _wrapped(
        f"{moves.folder}: {moves.replaced} entries replaced, {moves.added} added. {moves.answered} of "
        f"{moves.of} worked cases were answered with and without them"
        + ("" if moves.answered == moves.of else ", those in which they have most to say (--all: every one)")
        + f"; {len(moves.cases)} moved.",
        "",
    )
    lost: dict[str, list[tuple[str, ...]]] = {}
    for case in moves.cases:
        for change in case.changes:
            if change.lost:
                lost.setdefault(f"{_LABEL[change.what]} lost: {change.before}", []).append(change.by)
    if lost:
        yield "Lost:"
        for text, found in sorted(lost.items()):
            by = sorted({key for keys in found for key in keys})
            yield from _wrapped(
                f"{text}; in {len(found)} case{'s' if len(found) > 1 else ''}" + (f" [{', '.join(by)}]" if by else ""),
                "! ",
            )
    for case in moves.cases[:SHOWN]:
        told = [change for change in case.changes if not change.lost]
        if told:
            yield from _wrapped(case.title or case.name, "")
            for change in told:
                yield from _wrapped(f"{_change(knowledge, change)}{_by(case, change)}", "  - ")
    if len(moves.cases) > SHOWN:
        yield f"... and {len(moves.cases) - SHOWN} more cases (--json has them all)."
    if moves.cases and moves.left_out:
        yield from _wrapped(
            "An entry did it where the change is gone once that entry alone is left out; where none is "
            "named, several do it together."
            + (
                f" {moves.not_left_out} entries were not left out: other entries name them, or they are too many."
                if moves.not_left_out
                else ""
            ),
            "",
        )


def _by(case: CaseMoves, change: Change) -> str:
    if change.by:
        return f" [{', '.join(change.by)}]"
    return " [several together]" if case.looked_for and change.what != "fault" else ""


def _change(knowledge: Knowledge, change: Change) -> str:
    label = _LABEL[change.what]
    if change.what == "answer":
        return f"{label}: {led_words(knowledge, change.before)} -> {led_words(knowledge, change.after)}"
    if change.what == "cause":
        was, now = (_cause(knowledge, text) for text in (change.before, change.after))
        return f"{label}: {was} -> {now}"
    if change.what in ("hold", "danger"):
        return f"{label} new: {change.after}"
    return f"{label}: {change.before} -> {change.after}" if change.before else f"{label}: {change.after}"


def _cause(knowledge: Knowledge, text: str) -> str:
    """'worn_rings 83 %, worn_bores 50 %' with titles."""
    told = []
    for part in text.split(", "):
        name, _, share = part.partition(" ")
        told.append(f"{lower_first(knowledge.causes[name].title) if name in knowledge.causes else name} {share}")
    return ", ".join(told)


def _wrapped(text: str, mark: str) -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=mark,
        subsequent_indent=" " * len(mark),
        break_long_words=False,
        break_on_hyphens=False,
    )


def moves_shape(moves: Moves) -> dict[str, Any]:
    """Plain values, documented in docs/json.md."""
    return {"howdeep_moves": 1, **plain(moves)}


def moves_json(moves: Moves) -> str:
    """The same as JSON."""
    return text_of(moves_shape(moves))
