"""One question as cards that fit a window: the caution first, then how it is done, then what is asked.

What a person has read once in a sitting is named and not read out again; where everything does not fit, the caution and
the procedure come on cards of their own, and the question stands whole on the last one.
"""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from ..interview.session import Desk, plain_answer
from ..job.sections import LATER
from ..knowledge.engine_facts import count_of, engine_facts
from ..knowledge.figure_words import figure_title
from ..logic.applicability import applies
from ..model.engine import Engine, Fit
from ..model.observations import Observation
from ..model.shown_units import in_prose, in_units, unit_in
from ..quote.texts import within
from ..readings.entry import needs_unit
from .answers import summary
from .layout import HELD, TOGETHER
from .words import takes

WIDEST = 100
"""Longer lines than this are hard to read."""
PLACES = {"cylinder": "cylinder", "main": "main journal", "crankpin": "crankpin"}


def wrapped(text: str, width: int, indent: str = "", first: str = "") -> list[str]:
    """A text in lines of a width, further lines set in, each figure with its sign or unit beside it."""
    lines = textwrap.wrap(
        TOGETHER.sub(HELD, text),
        min(width, WIDEST),
        initial_indent=first,
        subsequent_indent=indent or first,
        break_long_words=True,
    )
    return [line.replace(HELD, " ") for line in lines] or [""]


def cautions_of(desk: Desk, name: str) -> tuple[str, ...]:
    """The cautions of a question that belong to this engine."""
    built = engine_facts(desk.job.engine)
    return tuple(
        caution
        for caution in desk.knowledge.observations[name].cautions
        if applies(desk.knowledge.cautions[caution], built)
    )


def cards(
    desk: Desk,
    name: str,
    width: int,
    height: int,
    *,
    read: Collection[str] = (),
    how: bool = True,
    said: str = "",
    apart: bool = False,
) -> list[list[str]]:
    """The cards of one question, each of at most `height` lines of at most `width` columns.

    `read`: cautions that were read in this sitting; `how`: whether the procedure is told; `said`: the answer that the
    customer's own words say, to be confirmed; `apart`: whether the question gets the last card to itself.
    """
    item = desk.knowledge.observations[name]
    units = desk.shop.settings.units
    before = [*_caution_lines(desk, name, width, read), *(_how_lines(item, width, units) if how else ())]
    asked = _asked_lines(desk, name, width, said)
    if len(before) + len(asked) <= height and not apart:
        return [[*before, *asked]]
    return [*_parted(before, height), *_parted(asked, height)]


def _parted(lines: Sequence[str], height: int) -> list[list[str]]:
    return [list(lines[start : start + height]) for start in range(0, len(lines), height)]


def _caution_lines(desk: Desk, name: str, width: int, read: Collection[str]) -> list[str]:
    entries, mine, units = desk.knowledge.cautions, cautions_of(desk, name), desk.shop.settings.units
    lines = []
    for caution in mine:
        if caution not in read:
            text = in_prose(entries[caution].text, units)
            lines += wrapped(f"! CAUTION, {entries[caution].title.lower()}: {text}", width, "  ")
    again = [entries[caution].title.lower() for caution in mine if caution in read]
    return [*lines, *(wrapped(f"! As before: {'; '.join(again)}.", width, "  ") if again else ())]


def _how_lines(item: Observation, width: int, units: str) -> list[str]:
    if item.moment == "talk" or not item.procedure:
        return []
    return wrapped(f"How: {in_prose(item.procedure, units)}", width, "  ")


def _asked_lines(desk: Desk, name: str, width: int, said: str) -> list[str]:
    item, units = desk.asked(name), desk.shop.settings.units
    tools = f"; {', '.join(item.tools)}" if item.tools else ""
    time = f" ({_takes(desk, name)}{tools})" if item.moment != "talk" else ""
    lines = wrapped(in_prose(f"{item.ask}{time}", units), width)
    for index, wording in enumerate(item.answers.values(), 1):
        lines += wrapped(in_prose(wording, units), width, "     ", f"{index:>3}  ")
    lines += [line for text in figure_texts(desk, item) for line in wrapped(text, width, "    ", "  ")]
    lines += wrapped(hint_of(desk, item), width, "  ", "  ") if hint_of(desk, item) else []
    if said:
        told = f"It sounds like: {in_prose(item.answers[said], units)}. Is that so? {confirming(item, said)} = it is"
        lines += wrapped(told, width, "    ", "  ")
    before = plain_answer(desk, name)
    if before is not None and before != LATER:
        lines += wrapped(f"Taken down so far: {summary(item, before)}", width, "    ", "  ")
    return lines


def _takes(desk: Desk, name: str) -> str:
    """The time of a reading; of the first of a check that of the whole check, which lists and plan name."""
    item = desk.knowledge.observations[name]
    whole = next((check for check in desk.answer.checks if check.observations[:1] == (name,)), None)
    if whole is None or whole.minutes == item.minutes:
        return takes(item.minutes, item.days)
    return f"{takes(whole.minutes, whole.days)} for the whole check"


def confirming(item: Observation, said: str) -> str:
    """The key that confirms an offered answer: y, or its number where y would be taken for another answer."""
    return "y" if said == "yes" or "yes" not in item.answers else str(list(item.answers).index(said) + 1)


def figure_texts(desk: Desk, item: Observation) -> list[str]:
    """The figures of the engine sheet that a reading is held against, each in a line; of an engine without one those of
    its kind, as such."""
    told = []
    whose = "Sheet" if desk.job.general is None else "No sheet; of its kind in general"
    for path in item.sheet:
        text = figure_text(desk.job.engine, path, desk.shop.settings.units)
        if text:
            told.append(f"{whose}: {text}")
    return told or (
        [f"The engine sheet gives no {figure_title(item.sheet[0])}: a general limit stands in."] if item.sheet else []
    )


def figure_text(engine: Engine, path: str, units: str) -> str:
    """'ring end gap 0.013 in to 0.019 in, limit 0.040 in'; empty where the sheet gives nothing."""
    here: Any = engine
    for part in path.split("."):
        here = here.get(part) if isinstance(here, Mapping) else getattr(here, part, None)
    if isinstance(here, Fit):
        band = " to ".join(in_units(text, units) for text in (here.low, here.high) if text)
        wear = f"limit {in_units(here.wear, units)}" if here.wear else ""
        here = ", ".join(text for text in (band, wear) if text)
    elif here:
        here = in_units(str(here), units)
    titles = {"crankpins.size": "crankpin", "mains.size": "main journal", "piston_skirt": "piston skirt"}
    return f"{titles.get(path, figure_title(path))} {here}" if here else ""


def hint_of(desk: Desk, item: Observation) -> str:
    """How the answer is typed."""
    count = count_of(desk.job.engine, item.each)
    unit = unit_in(item.unit, desk.shop.settings.units)
    what = PLACES.get(item.each, "valve")
    if item.rows:
        places = ", ".join(f"{row} {column}".strip() for row in item.rows for column in item.columns or ("",))
        return (
            f"A row for each {what}, 1 at the front: {places}. Blanks between, the unit once; ? = not taken. "
            "The next row is asked when one is full."
        )
    if item.each and item.kind == "number":
        return (
            f"{count} figures, {what} 1 at the front, blanks between, the unit once: "
            f"{' '.join(['..'] * count)}{f' {unit}' if unit else ''}; ? = not taken, 3=.. corrects the third."
            if count > 1
            else f"One figure{f', such as 12 {unit}' if unit else ''}."
        )
    if item.each:
        return (
            f"One for each {what}, 1 at the front, {count} in all: {' '.join(['1'] * count)}; "
            "one alone is for all; ? = not looked at."
            if count > 1
            else ""
        )
    if item.kind == "number":
        return (
            f"A figure with its unit, such as 12 {unit}."
            if needs_unit(item.unit, item.bare)
            else f"A figure{f', in {unit}' if unit else ''}."
        )
    return ""


def head_line(desk: Desk, width: int) -> str:
    """Whose job, which engine, which file; where they do not fit, the words of engine and customer are cut."""
    customer, engine, file = desk.job.job.customer.name or "no name given", desk.job.engine.name, desk.path.name
    room = width - len("==  |  |  ==") - len(file)
    customer = within(customer, max(room // 2, room - len(engine), 1))
    return f"== {customer} | {within(engine, max(room - len(customer), 1))} | {file} =="[:width]
