"""The answer on one terminal screen: at most 24 lines of 80 columns, nothing cut off in the middle."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass

from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment
from ..model.shown_units import in_prose
from .answer import NAMES_JOB, Answer, answer_of, headline, points_to_work
from .layout import TOGETHER
from .reasons import reason_text
from .used_text import used_line

WIDTH, LINES = 80, 24
MORE = "More: --full, or --causes --ladder --work --parts --tests --checks; howdeep why"
ADVICE = "Advice, not a verdict; the maker's manual governs. The odds are judgement."
FIRST, SECOND, THIRD, LAST = range(4)
"""How soon a part has its place on the screen."""


@dataclass(frozen=True, slots=True)
class Part:
    """Lines that are printed whole or not at all."""

    need: int
    lines: tuple[str, ...]
    under: str = ""
    """Heading that stands before the first of its parts."""


def answer_lines(
    knowledge: Knowledge, assessment: Assessment, prices: PriceList | None = None, units: str = ""
) -> list[str]:
    """The screen, line by line, figures in the shop's units. Of more than fits, the parts that matter least are left
    out whole."""
    answer = answer_of(knowledge, assessment, prices)
    parts = list(_parts(knowledge, assessment, answer, units))
    room = LINES - 2
    chosen: set[int] = set()
    opened: set[str] = set()
    for place in sorted(range(len(parts)), key=lambda place: (parts[place].need, place)):
        part = parts[place]
        used = len(part.lines) + (part.under not in opened and part.under != "")
        if used <= room:
            chosen.add(place)
            opened.add(part.under)
            room -= used
    lines: list[str] = []
    under = ""
    for place in sorted(chosen):
        if parts[place].under not in ("", under):
            lines.append(parts[place].under)
        under = parts[place].under or under
        lines += parts[place].lines
    return [*lines, MORE, ADVICE]


def _parts(knowledge: Knowledge, assessment: Assessment, answer: Answer, units: str) -> Iterator[Part]:
    job, then = assessment.job.job, assessment.decision.then
    yield Part(FIRST, _wrapped(" - ".join(part for part in (job.title, assessment.job.engine.name) if part)))

    def wrapped(text: str, mark: str = "") -> tuple[str, ...]:
        return _wrapped(in_prose(text, units), mark)

    yield Part(FIRST, wrapped(answer.headline.upper()))
    if assessment.job.general is not None:
        yield Part(
            SECOND, wrapped("General figures of its kind stand in; --full names them and what to look up.", "? ")
        )
    for place, text in enumerate(answer.dangers[:2]):
        yield Part(SECOND if place else FIRST, wrapped(text, "! "))
    if answer.kind == "do_not_run":
        yield Part(FIRST, wrapped(f"Once that is cleared: {headline(knowledge, assessment, then)}.", "  "))
    for text in answer.because[:1]:
        yield Part(SECOND, wrapped(text, "  "))
    if points_to_work(assessment):
        named = "" if then in NAMES_JOB else f"{answer.job}. "
        end = f"; {answer.range}" if answer.range else ""
        yield Part(FIRST, wrapped(f"{named}Chance that it is enough: {answer.chance}. {answer.price}{end}.", "  "))
        if answer.does:
            yield Part(SECOND, wrapped(f"Work: {answer.does}.", "  "))
    for lines, more in ((answer.overlooked, "in doubt"), (answer.waived, "waived")):
        if lines:
            rest = f" (and {len(lines) - 1} more {more}: --full)" if len(lines) > 1 else ""
            yield Part(FIRST, wrapped(lines[0] + rest, "! "))
    for text in answer.prices:
        yield Part(FIRST if assessment.decision.missing else LAST, wrapped(text, "! "))
    for place, text in enumerate(answer.next):
        yield Part((FIRST, SECOND, THIRD)[min(place, 2)], wrapped(text, "> "), "NEXT")
    for place, reason in enumerate(answer.reasons):
        text = reason_text(knowledge, reason, 2 * (WIDTH - 3) - 8)
        yield Part((FIRST, SECOND, SECOND)[min(place, 2)], wrapped(text, "- "), "WHY")
    for text in answer.misfits[:1]:
        yield Part(SECOND, wrapped(text, "! "), "WHY")
    for place, text in enumerate(answer.unexplained[:2]):
        yield Part(LAST if place else THIRD, wrapped(text, "? "), "WHY")
    for place, text in enumerate(answer.stages):
        yield Part(THIRD if place else SECOND, wrapped(text, "- "), "THEN")
    if answer.turns_up:
        yield Part(SECOND, wrapped(f"May turn up: {answer.turns_up[0]}.", "  "), "BESIDES")
        if len(answer.turns_up) > 1:
            yield Part(THIRD, wrapped(f"Or {'; '.join(answer.turns_up[1:])}.", "  "), "BESIDES")
    if answer.owner:
        yield Part(LAST if "worth it" in assessment.decision.worth else SECOND, wrapped(answer.owner, "  "), "BESIDES")
    used = assessment.used
    if used is not None:
        yield Part(LAST, wrapped(used_line(used)))


def _wrapped(text: str, mark: str = "") -> tuple[str, ...]:
    """A text wrapped under its mark, broken only between words; a figure keeps its currency or unit beside it."""
    whole = TOGETHER.sub("\xa0", text)
    lines = textwrap.wrap(whole, WIDTH - len(mark), break_long_words=False, break_on_hyphens=False)
    return tuple(
        (mark if number == 0 else " " * len(mark)) + part.replace("\xa0", " ") for number, part in enumerate(lines)
    )
