"""One figure or word of a sheet taken in a terminal: its unit asked for, doubts put to the person, saved at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from rich.console import Console

from ..errors import HowdeepError, StaleFile
from ..model.quantity import DIMENSION
from ..model.sheet_form import SheetField
from ..sheets.card import shown
from ..sheets.doubts import figures_questioned, said_against
from ..sheets.draft import CONFIRMED, Doubt, Draft, doubt_of, open_draft, saved, value_at, with_values
from ..sheets.printed import Printed, Unreadable, printed
from ..sheets.printed_spans import UnitWanted
from ..sheets.printed_units import OFFERED, PLURAL, unit_named
from ..sheets.slips import Slip, likely_slips
from ..sheets.words import word_of
from ..show.question_card import wrapped
from .prompt import BACK, QUIT, Ask, Leave, asked

UNIT_TYPED = "the unit was typed with the figure"


@dataclass(slots=True)
class Sitting:
    """What one sitting remembers between questions."""

    draft: Draft
    folders: Sequence[Path]
    console: Console
    ask: Ask
    units: dict[str, str] = field(default_factory=dict)
    """Dimension -> unit of bare figures in this group."""
    last_units: dict[str, str] = field(default_factory=dict)
    """The same of the groups before, offered with Enter."""
    visited: set[str] = field(default_factory=set)

    def say(self, text: str, indent: int = 0) -> None:
        width = min(self.console.width, 80)
        for line in wrapped(text, width - indent):
            self.console.print(" " * indent + line)


def taken(sitting: Sitting, path: str, form: SheetField, typed: str) -> bool:
    """Read what was typed and save it; False where it must be typed again."""
    if form.kind == "word" and typed.isdigit() and word_of(typed, form) is None and 1 <= int(typed) <= len(form.words):
        typed = list(form.words)[int(typed) - 1]
    beside = value_at(sitting.draft.plain, path) if form.kind in ("band", "torque") else None
    while True:
        try:
            made = printed(typed, path, form, sitting.units, beside)
            break
        except UnitWanted as wanted:
            if not _ask_unit(sitting, wanted.dimension):
                sitting.say("Nothing is taken down; type the figure again.", 2)
                return False
        except Unreadable as error:
            sitting.say(
                f"{str(error)[:1].upper()}{str(error)[1:]}." + (f" Type it like: {form.like}" if form.like else ""), 2
            )
            return False
    if made.unit:
        sitting.last_units.setdefault(DIMENSION[made.unit], made.unit)
    return _settled(sitting, path, form, made)


def _ask_unit(sitting: Sitting, dimension: str) -> bool:
    """The unit of bare figures, once a group; False for back to the figure. Raises Leave."""
    offered, default = OFFERED[dimension], sitting.last_units.get(dimension, "")
    if len(offered) == 1:
        sitting.units[dimension] = offered[0]
        return True
    while True:
        typed = asked(
            sitting.ask,
            f"  Unit of the {PLURAL[dimension]} in this group ({', '.join(offered)})"
            f"{f' [{default}]' if default else ''}: ",
        )
        if typed.lower() in QUIT:
            raise Leave
        if typed.lower() in BACK:
            return False
        if (typed or default) and unit_named(typed or default, dimension):
            sitting.units[dimension] = typed or default
            return True
        sitting.say(f"One of {', '.join(offered)} is wanted.", 4)


def _settled(sitting: Sitting, path: str, form: SheetField, made: Printed) -> bool:
    """Save a figure that nothing is said against; put what is said to the person, with the likely slip."""
    values = {path: made.value, **made.others}
    plain = with_values(sitting.draft, values)
    doubt = doubt_of(sitting.draft, plain)
    if made.explicit and doubt and doubt.only_units:
        # metric and inch stand side by side in many manuals, and the unit was typed
        plain = with_values(sitting.draft, values, dict.fromkeys(figures_questioned(doubt), UNIT_TYPED))
        doubt = Doubt()
    if not doubt:
        return _save(sitting, plain, values, made.said)
    sitting.say(f"Read as {made.said}.", 2)
    for text in said_against(sitting.draft.form, doubt):
        sitting.say(text, 2)
    slips = likely_slips(sitting.draft, path, made.value, made.others)
    for index, slip in enumerate(slips, 1):
        sitting.say(f"{index}  {shown(slip.value, form)}: {slip.why}", 4)
    keep = not doubt.refused
    offer = [*(["a number"] if slips else []), *(["k = it is right as typed"] if keep else []), "Enter = type it again"]
    while True:
        typed = asked(sitting.ask, f"  Which ({', '.join(offer)}): ").lower()
        if typed in QUIT:
            raise Leave
        if typed == "" or typed in BACK:
            return False
        if typed.isdigit() and 1 <= int(typed) <= len(slips):
            return _slip(sitting, path, form, slips[int(typed) - 1], made)
        if keep and typed in ("k", "keep", "y", "yes"):
            sure = dict.fromkeys(figures_questioned(doubt), CONFIRMED)
            return _save(sitting, with_values(sitting.draft, values, sure), values, made.said)
        sitting.say("That is none of them.", 4)


def _slip(sitting: Sitting, path: str, form: SheetField, slip: Slip, made: Printed) -> bool:
    values = {path: slip.value, **made.others}
    return _save(sitting, with_values(sitting.draft, values), values, shown(slip.value, form))


def blanked(sitting: Sitting, path: str) -> None:
    if value_at(sitting.draft.plain, path) is not None:
        _save(sitting, with_values(sitting.draft, {path: None}), {path: None}, "blank")


def _save(sitting: Sitting, plain: dict[str, Any], values: dict[str, Any], said: str) -> bool:
    """Put it on disk and say how it was read; False where it must be typed again."""
    try:
        sitting.draft = saved(sitting.draft, plain)
    except StaleFile:
        try:
            fresh = open_draft(sitting.draft.path, str(sitting.draft.plain.get("name")), sitting.folders)
            sitting.draft = saved(fresh, with_values(fresh, values))
        except HowdeepError as error:
            sitting.say(f"NOT saved: {error.faults[0]}", 2)
            return False
        sitting.say("The file was changed by someone else meanwhile; this was put into what stands there now.", 2)
    except HowdeepError as error:
        sitting.say(f"NOT saved: {error.faults[0]}", 2)
        return False
    sitting.say(f"= {said}", 2)
    return True
