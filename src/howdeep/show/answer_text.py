"""The answer on one terminal screen: at most 24 lines of 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from ..model.knowledge import Knowledge
from ..model.results import Assessment
from .answer import Answer, answer_of

WIDTH, LINES = 80, 24
MORE = "More: --full, or --causes --ladder --work --parts --tests --checks; howdeep why JOB"
ADVICE = "Advice, not a verdict; the maker's manual governs. Odds are judgement written down."


def answer_lines(knowledge: Knowledge, assessment: Assessment) -> list[str]:
    """The screen, line by line."""
    answer = answer_of(knowledge, assessment)
    job = assessment.job.job
    head = " - ".join(part for part in (job.title, assessment.job.engine.name) if part)
    blocks = [[_cut(head)], *_blocks(answer)]
    ends = [MORE, ADVICE]
    room = LINES - len(ends)
    lines: list[str] = []
    for block in blocks:
        if len(lines) + len(block) > room:
            block = block[: max(0, room - len(lines))]
        lines += block
    return [*lines, *ends]


def _blocks(answer: Answer) -> Iterable[list[str]]:
    yield [answer.heading.upper()]
    if answer.dangers:
        yield _items(answer.dangers[:2], "! ", 2)
        yield ["Once that is cleared:"]
    yield _items([f"{answer.job}. Chance that it is enough: {answer.chance}. {answer.price}."], "  ", 2)
    if answer.because:
        yield _items(answer.because[:1], "  ", 2)
    if answer.next:
        yield ["NEXT", *_items(answer.next, "> ", 3)]
    if answer.reasons:
        yield ["WHY", *_items(answer.reasons, "- ", 2)]
    if answer.unexplained:
        yield _items(answer.unexplained[:1], "? ", 2)
    if answer.stages:
        yield ["THEN, AS IT STANDS", *_items(answer.stages, "- ", 1)]
    if answer.turns_up:
        yield _items([f"May turn up: {', '.join(answer.turns_up)}."], "  ", 2)
    if answer.owner:
        yield _items([answer.owner], "  ", 3)


def _items(texts: Iterable[str], mark: str, most: int) -> list[str]:
    """Texts wrapped under their mark, each at most so many lines."""
    lines = []
    for text in texts:
        wrapped = textwrap.wrap(text, WIDTH - len(mark) - 1) or [""]
        if len(wrapped) > most:
            wrapped = wrapped[:most]
            wrapped[-1] = _cut(wrapped[-1] + " ...", WIDTH - len(mark) - 1)
        lines += [(mark if number == 0 else " " * len(mark)) + part for number, part in enumerate(wrapped)]
    return lines


def _cut(text: str, width: int = WIDTH) -> str:
    return text if len(text) <= width else text[: width - 4].rstrip() + " ..."
