"""The answer on one terminal screen: at most 24 lines of 80 columns, nothing cut off in the middle."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..model.results import Assessment
from ..model.shown_units import in_prose
from .fitted import FIRST, LAST, SECOND, THIRD, Part, fitted
from .layout import TOGETHER
from .section import Line, Verdict
from .verdict import verdict_of
from .words import ADVICE_LINE as ADVICE

WIDTH, LINES = 80, 24
MORE = "More: --full, or --causes --ladder --work --parts --tests --checks; howdeep why"
SCREEN = (
    "general",
    "dangers",
    "because",
    "job",
    "doubt",
    "misfits",
    "waived",
    "prices",
    "next",
    "reasons",
    "unexplained",
    "stages",
    "turns_up",
    "owner",
    "used",
)
"""Sections of which something stands on the screen."""
TURNS_UP = 3
"""What may turn up that is named."""


def answer_lines(
    knowledge: Knowledge, assessment: Assessment, prices: PriceList | None = None, units: str = ""
) -> list[str]:
    """The screen, line by line, figures in the shop's units. Of more than fits, the parts that matter least are left
    out whole."""
    parts = list(_parts(assessment, verdict_of(knowledge, assessment, prices, SCREEN), units))
    return [*fitted(parts, LINES - 2), MORE, ADVICE]


def _parts(assessment: Assessment, verdict: Verdict, units: str) -> Iterator[Part]:
    job = assessment.job.job
    yield Part(FIRST, _wrapped(" - ".join(part for part in (job.title, assessment.job.engine.name) if part)))

    def wrapped(text: str, mark: str = "") -> tuple[str, ...]:
        return _wrapped(in_prose(text, units), mark)

    def several(needs: tuple[int, ...], lines: tuple[Line, ...], mark: str, under: str = "") -> Iterator[Part]:
        """The first lines of a section, each as needed as it says."""
        for need, line in zip(needs, lines, strict=False):
            yield Part(need, wrapped(line.brief, mark), under)

    yield Part(FIRST, wrapped(verdict.headline.upper()))
    yield from several((SECOND,), verdict.lines("general"), "? ")
    yield from several((FIRST, SECOND), verdict.lines("dangers"), "! ")
    if verdict.cleared:
        yield Part(FIRST, wrapped(f"Once that is cleared: {verdict.cleared}.", "  "))
    yield from several((SECOND,), verdict.lines("because"), "  ")
    for place, line in enumerate(verdict.lines("job")):
        named = line.text if place == 0 and verdict.names_job else line.told
        yield Part(SECOND if place else FIRST, wrapped(named, "  "))
    for name, more in (("doubt", "in doubt"), ("waived", "waived")):
        lines = verdict.lines(name)
        if lines:
            rest = f" (and {len(lines) - 1} more {more}: --full)" if len(lines) > 1 else ""
            yield Part(FIRST, wrapped(lines[0].brief + rest, "! "))
    missing = FIRST if assessment.decision.missing else LAST
    yield from several((missing,) * len(verdict.lines("prices")), verdict.lines("prices"), "! ")
    steps = verdict.lines("next")
    yield from several((FIRST, SECOND, *(THIRD for _ in steps)), steps, "> ", "NEXT")
    yield from several((FIRST, SECOND, SECOND), verdict.lines("reasons"), "- ", "WHY")
    yield from several((SECOND,), verdict.lines("misfits"), "! ", "WHY")
    yield from several((THIRD, LAST), verdict.lines("unexplained"), "? ", "WHY")
    yield from several((SECOND, THIRD), verdict.lines("stages"), "- ", "THEN")
    turns_up = [line.text for line in verdict.lines("turns_up")[:TURNS_UP]]
    if turns_up:
        yield Part(SECOND, wrapped(f"May turn up: {turns_up[0]}.", "  "), "BESIDES")
    if len(turns_up) > 1:
        yield Part(THIRD, wrapped(f"Or {'; '.join(turns_up[1:])}.", "  "), "BESIDES")
    worth_it = "worth it" in assessment.decision.worth
    yield from several((LAST if worth_it else SECOND,), verdict.lines("owner"), "  ", "BESIDES")
    yield from several((LAST,), verdict.lines("used"), "")


def _wrapped(text: str, mark: str = "") -> tuple[str, ...]:
    """A text wrapped under its mark, broken only between words; a figure keeps its currency or unit beside it."""
    whole = TOGETHER.sub("\xa0", text)
    lines = textwrap.wrap(whole, WIDTH - len(mark), break_long_words=False, break_on_hyphens=False)
    return tuple(
        (mark if number == 0 else " " * len(mark)) + part.replace("\xa0", " ") for number, part in enumerate(lines)
    )
