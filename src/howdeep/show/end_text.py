"""The end of a part of the talk in one window: the answer as it stands, and what the bench can still part."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator

from ..decision.plan import is_worth_making
from ..interview.session import Desk
from ..interview.session import Part as TalkPart
from ..knowledge.questions import told_apart
from ..model.results import CheckValue
from .fitted import ALWAYS, FIRST, LAST, SECOND, THIRD, Part, fitted
from .interview_text import in_units_of
from .leading import leading
from .odds_sections import worth_words
from .section import Verdict
from .sentences import lower_first
from .verdict import verdict_of
from .words import takes

ABOVE = 7
"""Lines of a window that hold what the last answer moved, and the next prompt."""
END = (
    "general",
    "dangers",
    "doubt",
    "misfits",
    "because",
    "job",
    "reasons",
    "unexplained",
    "next",
    "held",
    "waived",
    "stages",
    "turns_up",
    "prices",
    "owner",
    "advice",
)
"""Sections of which something is told."""
BENCH_NAMED = 3
"""Checks named at the end of the customer's part."""
SUSPECTS = 4
"""Of so many of the likeliest the bench may part two."""
OVER = {**dict.fromkeys(("talk", "beside"), "That is the customer's part."), "bench": "That is the bench for now."}


def end_lines(desk: Desk, width: int, *, part: TalkPart, rows: int = 24) -> list[str]:
    """The end of the customer's part, of the bench or of the open engine: the answer as it stands, and what the bench
    could still part in how many minutes, in a window of so many rows. Wants the checks ranked."""
    told = verdict_of(desk.knowledge, desk.answer, desk.shop.prices, END)
    return fitted(list(_parts(desk, told, width, part)), rows - ABOVE)


def _parts(desk: Desk, told: Verdict, width: int, part: TalkPart) -> Iterator[Part]:
    shown = in_units_of(desk)

    def said(need: int, text: str) -> Part:
        return Part(need, tuple(shown(text, width, "    ", "  ")))

    yield Part(FIRST, (OVER.get(part, "That is the open engine for now."),))
    yield said(FIRST, f"The answer now: {told.headline}.")
    for need, name in ((SECOND, "general"), (ALWAYS, "dangers"), (FIRST, "doubt"), (SECOND, "misfits")):
        lines = told.lines(name)
        rest = f" (and {len(lines) - 1} more: howdeep assess)" if len(lines) > 1 else ""
        for line in lines[:1]:
            yield said(need, f"! {line.brief}{rest}")
    if told.cleared:
        yield said(FIRST, f"Once that is cleared: {told.cleared}.")
    for line in told.lines("because")[:1]:
        yield said(SECOND, line.text)
    for line in told.lines("job")[:1]:
        yield said(FIRST, line.text if told.names_job else line.told)
    for need, line in zip((FIRST, SECOND, LAST), told.lines("reasons"), strict=False):
        yield said(need, f"- {line.brief}")
    for line in told.lines("unexplained")[:1]:
        yield said(THIRD, f"? {line.brief}")
    checks = bench_checks(desk)
    listed = checks and desk.answer.decision.then == "check_first"
    for place, line in enumerate(told.lines("next")):
        if line.warns or not listed:  # else the bench's list is what comes next
            yield said(SECOND if place else FIRST, f"> {line.brief}")
    if checks:
        time = takes(sum(check.minutes for check in checks), max(check.days for check in checks))
        head = f"The bench can {_parts_what(desk, checks)} in {time}:"
        named = shown(head, width)
        for check in checks:
            worth = (
                "stands before a promise"
                if check.hold
                else worth_words(check, desk.answer.decision.currency, desk.knowledge.settings.hardly_parts)
            )
            named += shown(f"{check.title} ({takes(check.minutes, check.days)}): {worth}", width, "      ", "  - ")
        yield Part(FIRST, tuple(named))
    for need, line in zip((FIRST, SECOND), told.lines("held"), strict=False):
        yield said(need, f"Before a promise: {line.told}")
    for line in told.lines("waived")[:1]:
        yield said(FIRST, line.text)
    for line in told.lines("stages"):
        yield said(THIRD, f"Then: {line.text}")
    for line in told.lines("turns_up")[:1]:
        yield said(THIRD, f"May turn up: {line.text}.")
    for line in told.lines("owner"):
        yield said(SECOND, line.text)
    missing = FIRST if desk.answer.decision.missing else LAST
    for line in told.lines("prices"):
        yield said(missing, line.text)
    for line in told.lines("advice"):
        yield said(ALWAYS, line.brief)


def bench_checks(desk: Desk) -> list[CheckValue]:
    """The first checks of the bench that are worth making."""
    settings = desk.knowledge.settings
    checks = (check for check in desk.answer.checks if check.moment == "test" and is_worth_making(settings, check))
    return list(checks)[:BENCH_NAMED]


def _parts_what(desk: Desk, checks: Iterable[CheckValue]) -> str:
    """The two likeliest suspects that the checks named do part; none where they part no two of the likeliest."""
    if not desk.answer.counted.present:
        return "say more"
    names = [name for check in checks for name in check.observations]
    near = [belief.cause for belief in leading(desk.answer, SUSPECTS)]
    for one, other in itertools.combinations(near, 2):
        if told_apart(desk.knowledge, names, one, other):
            titles = [lower_first(desk.knowledge.causes[cause].title) for cause in (one, other)]
            return f"part {titles[0]} from {titles[1]}"
    return "say more"
