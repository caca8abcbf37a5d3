"""A sheet while it is made: every answer goes into the file at once, and the file is a sound sheet from the first on.

What nobody has said yet is taken as is usual and named under `assumed`; figures that nobody has stay blank.
"""

from __future__ import annotations

import copy
import dataclasses
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from ..errors import Fault, HowdeepError
from ..files.edit_yaml import edited
from ..files.strict_yaml import digest_of, parse, read
from ..files.whole import write_whole
from ..knowledge.engines import check_sheet
from ..knowledge.plausible import plausible_table
from ..knowledge.sheet_form import sheet_form
from ..knowledge.sheet_guard import OTHER_UNIT
from ..model.engine import Engine
from ..model.frozen import dataclass
from ..model.plausible import Plausible
from ..model.sheet_form import SheetField, SheetForm, SheetGroup
from .layout import sheet_text
from .usual import FIRING, usual_words

ORDER = tuple(item.name for item in dataclasses.fields(Engine))
NAME = re.compile(r"[a-z0-9][a-z0-9._-]{0,59}")
CONFIRMED = "as printed; asked about and confirmed when it was typed in"


@dataclass(frozen=True, slots=True)
class Draft:
    """A sheet being made, as it stands on disk."""

    path: Path
    form: SheetForm
    table: Mapping[str, Plausible]
    plain: dict[str, Any]
    """Plain values of the file; of a sheet that does not exist yet its name alone."""
    digest: str = ""
    """Of the file; empty where there is none yet."""
    text: str = ""

    @property
    def id(self) -> str:
        return self.path.stem

    @property
    def assumed(self) -> frozenset[str]:
        """What was filled in as usual."""
        return frozenset(map(str, self.plain.get("assumed") or ()))

    def build(self, *, said: bool = False) -> dict[str, Any]:
        """The words of the build; only those that somebody gave where `said`."""
        words = self.plain.get("build") or {}
        return {name: word for name, word in words.items() if not said or f"build.{name}" not in self.assumed}


def sheet_id(name: str) -> str:
    """The id of a sheet from the name of its engine: 'Old Ferrier No. 3' -> 'old-ferrier-no-3'. Raises HowdeepError."""
    made = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:60].strip("-")
    if not NAME.fullmatch(made):
        raise HowdeepError(
            Fault("", 0, 0, f"'{name[:80]}' makes no name of a sheet", "letters and digits, such as 'ferrier 3'")
        )
    return made


def open_draft(path: Path, name: str, folders: Sequence[Path]) -> Draft:
    """The sheet at a path, to be gone on with, or a new one of that name. Raises HowdeepError with every fault of a
    file that is there and is no sound sheet."""
    form, table = sheet_form(folders), plausible_table(folders)
    if not path.exists():
        return Draft(path, form, table, {"name": name})
    document = read(path)
    check_sheet(document, table)
    return Draft(path, form, table, dict(document.value), document.digest, document.text)


def value_at(plain: Mapping[str, Any], path: str) -> Any:
    """What the sheet holds at a path; None where it holds nothing."""
    here: Any = plain
    for part in path.split("."):
        if not isinstance(here, Mapping):
            return None
        here = here.get(part)
    return None if here in ("", {}, []) else here


def is_asked(field: SheetField, draft: Draft) -> bool:
    """Whether such an engine has the thing at all."""
    build = usual_words(draft.form, draft.build(said=True))
    return all(str(build.get(name, "")) in words for name, words in field.built.items())


def is_known(path: str, draft: Draft) -> bool:
    """Whether somebody has given the figure or the word."""
    return value_at(draft.plain, path) is not None and path not in draft.assumed


def fields_of(group: SheetGroup, draft: Draft) -> dict[str, SheetField]:
    """The fields of a group that are asked of this engine."""
    return {path: field for path, field in group.fields.items() if is_asked(field, draft)}


def with_values(draft: Draft, values: Mapping[str, Any], sure: Mapping[str, str] | None = None) -> dict[str, Any]:
    """The plain sheet with values put in (None takes one out) and everything that nobody said filled in as usual."""
    plain = copy.deepcopy(draft.plain)
    assumed = [path for path in plain.get("assumed") or () if values.get(str(path)) is None]
    for path, value in values.items():
        _put(plain, path.split("."), value)
    for name in list(plain.get("sure") or {}):
        if any(_covers(path, name) for path in values):
            del plain["sure"][name]
    if sure:
        plain["sure"] = {**(plain.get("sure") or {}), **sure}
    said = {name: word for name, word in (plain.get("build") or {}).items() if f"build.{name}" not in assumed}
    build = usual_words(draft.form, said)
    plain["build"] = build
    order, cylinders = plain.get("firing_order"), int(build["cylinders"])
    if not order or "firing_order" in assumed or len(order) != cylinders:
        order, assumed = FIRING[cylinders], [*assumed, "firing_order"]
    plain |= {"firing_order": order, "bore": plain.get("bore") or {}, "stroke": plain.get("stroke") or ""}
    for kind in ("crankpins", "mains"):
        if plain.get(kind):
            plain[kind] = {"size": {}, "clearance": {}, **plain[kind]}
    named = [f"build.{name}" for name in build if name not in said]
    plain["assumed"] = [*named, *(["firing_order"] if "firing_order" in assumed else [])]
    return {
        key: plain[key]
        for key in ORDER
        if key in plain and (plain[key] not in (None, "", {}, []) or key in ("bore", "stroke", "name"))
    }


def _covers(path: str, name: str) -> bool:
    """Whether a word of certainty about `name` is about the figure at `path`."""
    return name == path or name.startswith(f"{path}.")


def _put(plain: dict[str, Any], path: list[str], value: Any) -> None:
    *above, last = path
    for part in above:
        plain[part] = plain.get(part) or {}
        plain = plain[part]
    if value is None:
        plain.pop(last, None)
    else:
        plain[last] = value


@dataclass(frozen=True, slots=True)
class Doubt:
    """What is said against a sheet with a new figure in it."""

    refused: tuple[Fault, ...] = ()
    """What cannot be."""
    questioned: tuple[Fault, ...] = ()
    """What can hardly be."""

    def __bool__(self) -> bool:
        return bool(self.refused or self.questioned)

    @property
    def only_units(self) -> bool:
        """Whether all that is said is that figures side by side have different units."""
        return not self.refused and all(OTHER_UNIT in fault.message for fault in self.questioned)


def doubt_of(draft: Draft, plain: Mapping[str, Any]) -> Doubt:
    """What the guard says of a changed sheet and did not say of the one on disk."""
    refused, questioned = _guarded(draft, plain)
    if not refused and not questioned:
        return Doubt()
    before, asked = _guarded(draft, draft.plain) if draft.digest else ((), ())
    known = {fault.message for fault in (*before, *asked)}
    return Doubt(
        tuple(fault for fault in refused if fault.message not in known),
        tuple(fault for fault in questioned if fault.message not in known),
    )


def _guarded(draft: Draft, plain: Mapping[str, Any]) -> tuple[Sequence[Fault], Sequence[Fault]]:
    try:
        sheet = check_sheet(parse(sheet_text(plain)), draft.table)
    except HowdeepError as error:
        return error.faults, ()
    return (), sheet.questions


def saved(draft: Draft, plain: dict[str, Any]) -> Draft:
    """The draft with `plain` on disk. Comments and layout of a file that was there stay. Raises HowdeepError where it
    cannot be written, StaleFile where somebody else changed it meanwhile."""
    if not draft.digest:
        try:
            draft.path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise HowdeepError(
                Fault(str(draft.path.parent), 0, 0, f"cannot be made: {error.strerror or error}")
            ) from None
    ours = not draft.text or draft.text == sheet_text(draft.plain)
    text = sheet_text(plain) if ours else edited(draft.text, draft.plain, plain, ORDER)
    data = text.encode()
    write_whole(draft.path, data, force=bool(draft.digest), digest=draft.digest)
    return replace(draft, plain=plain, digest=digest_of(data), text=text)
