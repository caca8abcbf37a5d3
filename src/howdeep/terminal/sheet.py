"""An engine sheet made in a terminal: ten questions, then groups that can wait; every answer on disk at once."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence
from pathlib import Path

from rich.console import Console

from ..knowledge.build_words import says_unknown
from ..model.sheet_form import SheetField, SheetForm
from ..sheets.card import shown
from ..sheets.draft import Draft, fields_of, is_known, value_at
from ..sheets.usual import why_usual
from ..sheets.words import tidy, word_of
from .figure import Sitting, blanked, taken
from .prompt import BACK, HELP_WANTED, QUIT, Ask, Leave, asked

HELP = (
    "Type what the manual prints: 65-70 ft-lb, 6.5 to 1, 3 7/16, 3 thou, 0,25 mm, .013-.019 limit .040. "
    "Enter = not known, left as it is; = means that what stands there is right; b = back; x = make it blank; "
    "g = the groups; q = stop, and go on later; help."
)


class _Groups(Exception):
    """The person wants to choose another group."""


def run(draft: Draft, folders: Sequence[Path], console: Console, ask: Ask) -> Draft:
    """Ask for a sheet until the person stops. Every answer is in the file before the next question."""
    sitting = Sitting(draft, folders, console, ask)
    sitting.say(
        f"{'An engine sheet' if not draft.digest else 'Going on with the sheet'}: {draft.plain.get('name')}. "
        f"It stands in {draft.path}, saved after every answer."
    )
    sitting.say(HELP)
    try:
        _ten(sitting)
        _groups(sitting)
    except (Leave, EOFError, KeyboardInterrupt):
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


def _ten(sitting: Sitting) -> None:
    """The questions that come first, those without an answer only."""
    first = next(iter(sitting.draft.form.groups))
    if all(is_known(path, sitting.draft) for path in fields_of(sitting.draft.form.groups[first], sitting.draft)):
        return
    with contextlib.suppress(_Groups):
        _group(sitting, first, only_unknown=True)


def _groups(sitting: Sitting) -> None:
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
        typed = asked(sitting.ask, f"Group ({offer}, 5 all = 5 from its start, q = leave): ").lower()
        if typed in (*QUIT, "leave"):
            raise Leave
        again = typed.endswith(" all")
        typed = typed.removesuffix(" all").strip()
        chosen = coming if not typed else _named(form, typed)
        if chosen is None:
            if not typed:
                raise Leave
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


def _group(sitting: Sitting, name: str, *, only_unknown: bool) -> None:
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


def _one(sitting: Sitting, path: str, form: SheetField, place: str) -> bool:
    """Ask one field until it is answered or left; False to go back to the one before."""
    sitting.console.print("")
    sitting.say(f"{place}  {form.title}")
    like = f" Printed like: {form.like}" if form.like and form.kind != "count" else ""
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
        typed = asked(sitting.ask, "> ")
        command = typed.lower()
        if command == "=" and here is not None:  # the usual word is right
            typed = str(here)
        if word_of(typed, form) is None or form.kind not in ("word", "yes_no"):
            if command in QUIT:
                raise Leave
            if command in ("g", "groups"):
                raise _Groups
            if command in BACK:
                return False
            if command in HELP_WANTED:
                sitting.say(HELP, 2)
                continue
            if command in ("x", "blank"):
                blanked(sitting, path)
                return True
            if command in ("", "-", "n/a", "later") or says_unknown(command):
                return True
        if taken(sitting, path, form, typed):
            return True


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
