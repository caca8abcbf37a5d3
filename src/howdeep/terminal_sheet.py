"""An engine sheet made in a terminal: ten questions, then groups that can wait; every answer on disk at once."""

from __future__ import annotations

import contextlib
import textwrap
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from rich.console import Console

from .errors import HowdeepError, StaleFile
from .job.write import clean_text
from .model.sheet_form import SheetField, SheetForm
from .quantity import DIMENSION
from .sheets.card import shown
from .sheets.doubts import figures_questioned, said_against
from .sheets.draft import (
    CONFIRMED,
    Doubt,
    Draft,
    doubt_of,
    fields_of,
    is_known,
    open_draft,
    saved,
    value_at,
    with_values,
)
from .sheets.printed import Printed, Unreadable, printed
from .sheets.printed_spans import UnitWanted
from .sheets.printed_units import OFFERED, unit_named
from .sheets.slips import Slip, likely_slips
from .sheets.usual import why_usual
from .sheets.words import tidy, word_of

Ask = Callable[[str], str]

HELP = (
    "Type what the manual prints: 65-70 ft-lb, 6.5 to 1, 3 7/16, 3 thou, 0,25 mm, .013-.019 limit .040. "
    "Enter = not known, left as it is; = means that what stands there is right; b = back; x = make it blank; "
    "g = the groups; q = stop, and go on later; help."
)
UNIT_TYPED = "the unit was typed with the figure"
_PLURAL = {"length": "lengths", "pressure": "pressures", "torque": "torques", "force": "loads", "speed": "speeds"}


class _Stop(Exception):
    """The person stops here."""


class _Groups(Exception):
    """The person wants to choose another group."""


@dataclass(slots=True)
class _Sitting:
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
    refused: int = 0
    """Entries that could not be taken, or that were typed again after a question."""

    def say(self, text: str, indent: int = 0) -> None:
        width = min(self.console.width, 80)
        for line in textwrap.wrap(text, width - indent, break_long_words=True) or [""]:
            self.console.print(" " * indent + line)


def run(draft: Draft, folders: Sequence[Path], console: Console, ask: Ask) -> Draft:
    """Ask for a sheet until the person stops. Every answer is in the file before the next question."""
    sitting = _Sitting(draft, folders, console, ask)
    sitting.say(
        f"{'An engine sheet' if not draft.digest else 'Going on with the sheet'}: {draft.plain.get('name')}. "
        f"It stands in {draft.path}, saved after every answer."
    )
    sitting.say(HELP)
    try:
        _ten(sitting)
        _groups(sitting)
    except (_Stop, EOFError, KeyboardInterrupt):
        pass
    for line in ending(sitting.draft):
        sitting.say(line)
    return sitting.draft


def ending(draft: Draft) -> Iterator[str]:
    """Where the sheet is and what can be done with it."""
    if not draft.digest:
        yield f"Stopped before there was an answer: {draft.path} was not written."
        return
    yield f"Everything typed is in {draft.path}; 'howdeep engine new {draft.id}' goes on from here."
    yield f"In a job: 'engine: {draft.id}'. The card: 'howdeep engine show {draft.id}'."
    if draft.assumed:
        yield f"{len(draft.assumed)} words nobody has given are taken as usual; the card marks them."


def _ten(sitting: _Sitting) -> None:
    """The questions that come first, those without an answer only."""
    first = next(iter(sitting.draft.form.groups))
    if all(is_known(path, sitting.draft) for path in fields_of(sitting.draft.form.groups[first], sitting.draft)):
        return
    with contextlib.suppress(_Groups):
        _group(sitting, first, only_unknown=True)


def _groups(sitting: _Sitting) -> None:
    """The groups in their order, or whichever is chosen."""
    form = sitting.draft.form
    names = list(form.groups)
    sitting.visited.add(names[0])
    while True:
        sitting.console.print("")
        sitting.say("The sheet can be used now. What else does the manual print? Any of it can wait.")
        for index, name in enumerate(names, 1):
            fields = fields_of(form.groups[name], sitting.draft)
            known = sum(is_known(path, sitting.draft) for path in fields)
            sitting.console.print(f"  {index:2}  {form.groups[name].title:<22} {known} of {len(fields)} known")
        coming = next(
            (
                name
                for name in names
                if name not in sitting.visited
                and not all(is_known(path, sitting.draft) for path in fields_of(form.groups[name], sitting.draft))
            ),
            None,
        )
        offer = f"Enter = {form.groups[coming].title.lower()}" if coming else "Enter = leave"
        typed = clean_text(sitting.ask(f"Group ({offer}, 5 all = the fifth again from its start, q = leave): "))
        typed = typed.strip().lower()
        if typed in ("q", "quit", "leave"):
            raise _Stop
        again = typed.endswith(" all")
        typed = typed.removesuffix(" all").strip()
        chosen = coming if not typed else _named(form, typed)
        if chosen is None:
            if not typed:
                raise _Stop
            sitting.say(f"That is no group; type a number from 1 to {len(names)}.", 2)
            continue
        sitting.visited.add(chosen)
        every = all(is_known(path, sitting.draft) for path in fields_of(form.groups[chosen], sitting.draft))
        with contextlib.suppress(_Groups):
            _group(sitting, chosen, only_unknown=not (again or every))


def _named(form: SheetForm, typed: str) -> str | None:
    """The group by its number in the list, its id or its title."""
    ways = ((str(index), name, group.title.lower()) for index, (name, group) in enumerate(form.groups.items(), 1))
    return next((said[1] for said in ways if typed in said), None)


def _group(sitting: _Sitting, name: str, *, only_unknown: bool) -> None:
    """One group from its first field to its last; `b` goes back, and what an answer brings in is asked too."""
    group = sitting.draft.form.groups[name]
    sitting.last_units |= sitting.units
    sitting.units = {}
    sitting.console.print("")
    sitting.say(f"{group.title}. {group.about}")
    done: list[str] = []
    while True:
        fields = fields_of(group, sitting.draft)
        waiting = [path for path in fields if path not in done and not (only_unknown and is_known(path, sitting.draft))]
        if not waiting:
            return
        path = waiting[0]
        number = len(fields) - len(waiting) + 1
        if _one(sitting, path, fields[path], f"{number} of {len(fields)}"):
            done.append(path)
        elif done:
            last = done.pop()
            _one(sitting, last, group.fields[last], "back")
            done.append(last)
        else:
            sitting.say("This is the first of the group.", 2)


def _one(sitting: _Sitting, path: str, form: SheetField, place: str) -> bool:
    """Ask one field until it is answered or left; False to go back to the one before."""
    sitting.console.print("")
    sitting.say(f"{place}  {form.title}")
    like = f" Printed like: {form.like}" if form.like and form.kind not in ("count",) else ""
    sitting.say(f"{form.purpose}{like}", 2)
    for line in _choices(form):
        sitting.say(line, 2)
    here = value_at(sitting.draft.plain, path)
    if here is not None:
        usual = path in sitting.draft.assumed
        why = why_usual(sitting.draft.form, sitting.draft.build(), path.removeprefix("build.")) if usual else ""
        sitting.say(
            f"{'Usual' if usual else 'Now'}: {shown(here, form)}" + (f" ({why.rstrip('.').lower()})" if why else ""), 2
        )
    while True:
        typed = clean_text(sitting.ask("> ")).strip()
        command = typed.lower()
        if command == "=" and here is not None:  # the usual word is right
            typed = str(here)
        if word_of(typed, form) is None or form.kind not in ("word", "yes_no"):
            if command in ("q", "quit"):
                raise _Stop
            if command in ("g", "groups"):
                raise _Groups
            if command in ("b", "back"):
                return False
            if command in ("help", "?", "h"):
                sitting.say(HELP, 2)
                continue
            if command in ("x", "blank"):
                _blank(sitting, path)
                return True
            if command in ("", "-", "d", "don't know", "dont know", "unknown", "not known", "n/a", "later"):
                return True
        if _taken(sitting, path, form, typed):
            return True
        sitting.refused += 1


def _choices(form: SheetField) -> Iterator[str]:
    if form.kind == "yes_no":
        yield "y / n"
    for index, (word, also) in enumerate(form.words.items(), 1):
        bare = [tidy(item).replace(" ", "") for item in (word, *also)]
        said = [
            item
            for place, item in enumerate(also, 1)
            if not any(bare[place].startswith(other) or other.startswith(bare[place]) for other in bare[:place])
        ][:3]
        yield f"{index}  {word.replace('_', ' ')}" + (f"  ({', '.join(said)})" if said else "")


def _taken(sitting: _Sitting, path: str, form: SheetField, typed: str) -> bool:
    """Read what was typed and save it; False where it must be typed again."""
    if form.kind == "word" and typed.isdigit() and word_of(typed, form) is None and 1 <= int(typed) <= len(form.words):
        typed = list(form.words)[int(typed) - 1]
    beside = value_at(sitting.draft.plain, path) if form.kind in ("band", "torque") else None
    while True:
        try:
            made = printed(typed, path, form, sitting.units, beside)
            break
        except UnitWanted as wanted:
            _ask_unit(sitting, wanted.dimension)
        except Unreadable as error:
            sitting.say(
                f"{str(error)[:1].upper()}{str(error)[1:]}." + (f" Type it like: {form.like}" if form.like else ""), 2
            )
            return False
    if made.unit:
        sitting.last_units.setdefault(DIMENSION[made.unit], made.unit)
    return _settled(sitting, path, form, made)


def _ask_unit(sitting: _Sitting, dimension: str) -> None:
    """The unit of bare figures, once a group."""
    offered, default = OFFERED[dimension], sitting.last_units.get(dimension, "")
    if len(offered) == 1:
        sitting.units[dimension] = offered[0]
        return
    while True:
        typed = clean_text(
            sitting.ask(
                f"  Unit of the {_PLURAL[dimension]} in this group ({', '.join(offered)})"
                f"{f' [{default}]' if default else ''}: "
            )
        ).strip()
        if typed.lower() in ("q", "quit"):
            raise _Stop
        if (typed or default) and unit_named(typed or default, dimension):
            sitting.units[dimension] = typed or default
            return
        sitting.say(f"One of {', '.join(offered)} is wanted.", 4)


def _settled(sitting: _Sitting, path: str, form: SheetField, made: Printed) -> bool:
    """Save a figure that nothing is said against; put what is said to the person, with the likely slip."""
    values = {path: made.value, **made.others}
    plain = with_values(sitting.draft, values)
    doubt = doubt_of(sitting.draft, plain)
    if made.explicit and doubt and doubt.only_units:
        # metric and inch stand side by side in many manuals, and the unit was typed
        plain = with_values(sitting.draft, values, {name: UNIT_TYPED for name in figures_questioned(doubt)})
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
        typed = clean_text(sitting.ask(f"  Which ({', '.join(offer)}): ")).strip().lower()
        if typed in ("q", "quit"):
            raise _Stop
        if typed == "":
            return False
        if typed.isdigit() and 1 <= int(typed) <= len(slips):
            return _slip(sitting, path, form, slips[int(typed) - 1], made)
        if keep and typed in ("k", "keep", "y", "yes"):
            sure = {name: CONFIRMED for name in figures_questioned(doubt)}
            return _save(sitting, with_values(sitting.draft, values, sure), values, made.said)
        sitting.say("That is none of them.", 4)


def _slip(sitting: _Sitting, path: str, form: SheetField, slip: Slip, made: Printed) -> bool:
    values = {path: slip.value, **made.others}
    return _save(sitting, with_values(sitting.draft, values), values, shown(slip.value, form))


def _blank(sitting: _Sitting, path: str) -> None:
    if value_at(sitting.draft.plain, path) is not None:
        _save(sitting, with_values(sitting.draft, {path: None}), {path: None}, "blank")


def _save(sitting: _Sitting, plain: dict[str, Any], values: dict[str, Any], said: str) -> bool:
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
