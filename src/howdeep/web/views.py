"""What the templates show, as plain values; the templates compute nothing."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from secrets import token_hex
from typing import Any

from flask import Flask, request

from ..assessment.session import Shop
from ..decision.askable import askable
from ..interview.flow import CONDITIONS
from ..interview.opened import GROUPS as COMES_APART
from ..interview.session import Desk, plain_answer
from ..job.sections import LATER, UNKNOWN
from ..knowledge.engine_facts import count_of
from ..model.shown_units import in_prose
from ..show.answers import summary
from ..show.section import capital
from ..show.sentences import step_title
from ..show.spoken import kept_together
from ..show.what_next import QUOTED
from ..show.words import ADVICE, chance_of, minutes, money, moved, one_in, percent, times
from .card import PLACES, place_of
from .cautions import read_today
from .forms import Cell, cell_text, cells_of, place_title, units_of
from .merge import shown_as

FAINT = 0.02
"""A job that is less likely to be enough is named, not drawn, where the screen is narrow."""

FEW, NEXT = 3, 10
"""So many prices of a form stand open on a phone; the others are behind lines, at most so many behind each."""

SAID = 8
"""So many sentences of an explanation stand open on a phone."""


def reading_groups(desk: Desk, moment: str = "") -> list[tuple[str, list[str]]]:
    """(group, observations) of everything measured: what makes sense on this engine now, by subject. `moment` keeps to
    the bench ('test') or to the open engine ('teardown')."""
    knowledge, job = desk.knowledge, desk.job
    # nothing counts as made: what was read before the engine was opened may be typed in afterwards
    asked = askable(knowledge, job.engine, desk.answer.facts.values, ())
    groups: dict[str, list[str]] = {}
    for name, item in knowledge.observations.items():
        if item.moment == "talk" or moment not in ("", item.moment) or not asked.applies(name):
            continue
        if name in job.values or asked.stands(name):
            groups.setdefault(
                ("Opened: " if item.moment == "teardown" and not moment else "") + item.group.replace("_", " "), []
            ).append(name)
    if moment == "teardown":  # in the order in which an engine comes apart
        return sorted(
            ((title[:1].upper() + title[1:], names) for title, names in groups.items()),
            key=lambda entry: (
                COMES_APART.index(entry[0].lower().replace(" ", "_"))
                if entry[0].lower().replace(" ", "_") in COMES_APART
                else len(COMES_APART)
            ),
        )
    return sorted(groups.items(), key=lambda entry: (entry[0].startswith("Opened"), entry[0]))


def answered_groups(desk: Desk) -> list[tuple[str, list[tuple[str, str, str]]]]:
    """(group, [(observation, title, answer in words)]) of everything answered or put off."""
    knowledge = desk.knowledge
    groups: dict[str, list[tuple[str, str, str]]] = {}
    for name in sorted({*desk.job.values, *desk.job.unknown, *desk.job.later}):
        item = knowledge.observations[name]
        groups.setdefault(capital(item.group.replace("_", " ")), []).append((name, item.title, answer_text(desk, name)))
    return sorted(groups.items())


def answer_text(desk: Desk, name: str) -> str:
    """An answer as a person reads it."""
    return summary(desk.knowledge.observations[name], plain_answer(desk, name))


def field_value(desk: Desk, cell: Cell, name: str) -> str:
    """What a field of a form shows of the job; empty where nothing stands there."""
    return cell_text(desk.knowledge.observations[name], plain_answer(desk, name), cell)


def was_shown(desk: Desk, name: str) -> str:
    """The state of an observation that a form is filled in from."""
    return shown_as(plain_answer(desk, name))


def save_id() -> str:
    """The number of a form: it makes the address that the form is sent to its own, so that Back leads to the filled-in
    form when the line drops, and what is sent again under it is saved once (sends.py)."""
    return token_hex(8)


def table_of(desk: Desk, name: str) -> list[tuple[str, list[Cell]]]:
    """The fields of an observation in lines: one for each cylinder, journal or valve and place; narrow enough for a
    phone."""
    item = desk.asked(name)
    cells = cells_of(item, name, count_of(desk.job.engine, item.each))
    return [
        (f"{index or ''} {row}".strip(), list(line))
        for (index, row), line in groupby(cells, key=lambda cell: (cell.index, cell.row))
    ]


def in_batches(rows: Sequence[Any]) -> list[tuple[int, int, Sequence[Any]]]:
    """(number of the first, of the last, rows) of the rows of a form: a few, then the others in parts of one length."""
    rest = max(len(rows) - FEW, 0)
    each = -(-rest // max(-(-rest // NEXT), 1)) or 1
    starts = [0, *range(FEW, len(rows), each)]
    return [
        (start + 1, end, rows[start:end]) for start, end in zip(starts, [*starts[1:], len(rows)], strict=True) if rows
    ]


def add_filters(app: Flask, shop: Shop) -> None:
    """Names that every template may use."""
    app.context_processor(lambda: {"place_now": place_of(request.endpoint or "")})
    app.jinja_env.filters["in_units"] = lambda text: in_prose(text, shop.settings.units)
    app.jinja_env.filters["capital"] = capital
    app.jinja_env.filters["together"] = kept_together
    app.jinja_env.globals.update(
        advice=ADVICE,
        minutes=minutes,
        percent=percent,
        one_in=one_in,
        money=money,
        field_value=field_value,
        was_shown=was_shown,
        table_of=table_of,
        place_title=place_title,
        answer_text=answer_text,
        step_title=step_title,
        times=times,
        chance_of=chance_of,
        save_id=save_id,
        read_today=read_today,
        PLACES=PLACES,
        units_of=lambda item: units_of(item, shop.settings.units),
        UNKNOWN=UNKNOWN,
        LATER=LATER,
        QUOTED=QUOTED,
        moved=moved,
        FAINT=FAINT,
        in_batches=in_batches,
        SAID=SAID,
        CONDITIONS=CONDITIONS,
    )
