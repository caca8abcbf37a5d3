"""Every fault of an engine sheet in one round, in a mechanic's words: missing, words, units and ranges together.

What was written as people write it ('ohv', '.013-.019, limit .040', '65-70 ft-lb') is understood; the sheet's own way
of writing it is named, and can be written into the file.
"""

from __future__ import annotations

import copy
import dataclasses
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from ..errors import Fault
from ..files.edit_yaml import edited
from ..files.strict_yaml import Document, parse
from ..files.what_file import another_file
from ..files.whole import write_whole
from ..knowledge.sheet_guard import guard_sheet
from ..knowledge.validate import typed
from ..model.engine import Engine
from ..model.frozen import dataclass
from ..model.sheet_form import SheetForm
from .check_found import Understood, Walk, as_written
from .check_walk import walk_sheet
from .draft import ORDER
from .layout import sheet_text
from .usual import FIRING, usual_words


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check of a sheet found."""

    faults: tuple[Fault, ...]
    """What must be put right."""
    questions: tuple[Fault, ...]
    """What can hardly be, and may be right."""
    understood: tuple[Understood, ...]
    """What can be written the sheet's way by itself."""
    engine: Engine | None = None
    """The sheet where it can be used as it will stand."""
    assumed: tuple[str, ...] = ()
    """What the sheet itself says nobody has looked up."""

    @property
    def clean(self) -> bool:
        return not self.faults and not self.understood


def check_document(
    document: Document, form: SheetForm, table: Mapping[str, Any], operations: Collection[str] = ()
) -> Checked:
    """Check the sheet in a document. `operations`: names of work that hours may be given for, where they are known."""
    if other := another_file(document, "engine sheet"):
        return Checked((other,), (), ())
    if not isinstance(document.value, dict):
        fault = document.fault(
            (),
            "this is no engine sheet: it holds no fields such as name, build, bore",
            "howdeep engine new NAME makes one",
        )
        return Checked((fault,), (), ())
    walk = Walk(document, form, {})
    walk_sheet(walk, operations)
    engine, refused, questions = _guarded(walk, table)
    faults = sorted({*walk.faults, *(_in_words(fault) for fault in refused)})
    understood = tuple(
        sorted(walk.understood, key=lambda item: (item.fault.line, item.fault.column, item.fault.message))
    )
    return Checked(
        tuple(faults),
        tuple(sorted(_in_words(fault) for fault in questions)),
        understood,
        engine if not faults else None,
        tuple(map(str, walk.plain.get("assumed", ()))),
    )


def _guarded(walk: Walk, table: Mapping[str, Any]) -> tuple[Engine | None, list[Fault], list[Fault]]:
    """The sheet with what is sound in it, completed where something is missing, held against every range at once."""
    plain = completed(walk.plain, walk.form)
    made = parse(sheet_text(plain))
    faults: list[Fault] = []
    engine = typed(made, (), made.value, Engine, faults)
    if engine is None:
        return None, [_placed(walk.document, fault, made) for fault in faults], []
    refused, questions = guard_sheet(engine, made, table)
    broken = {fault.message.split(" ")[0].rpartition(".")[0] for fault in refused} - {""}
    questions = [item for item in questions if item.message.split(" ")[0].rpartition(".")[0] not in broken]
    return (
        engine,
        [_placed(walk.document, fault, made) for fault in refused],
        [_placed(walk.document, fault, made) for fault in questions],
    )


def completed(plain: Mapping[str, Any], form: SheetForm) -> dict[str, Any]:
    """Plain values with what a sheet cannot be without, as is usual."""
    build = usual_words(form, plain.get("build", {}))
    order, cylinders = plain.get("firing_order"), int(build["cylinders"])
    if not order or sorted(order) != list(range(1, cylinders + 1)):
        order = FIRING[cylinders]
    whole = {
        **plain,
        "name": str(plain.get("name") or "sheet"),
        "build": build,
        "firing_order": order,
        "bore": plain.get("bore") or {},
        "stroke": plain.get("stroke") or "",
    }
    return {key: whole[key] for key in ORDER if key in whole}


def _placed(document: Document, fault: Fault, made: Document) -> Fault:
    """A fault of the completed sheet at its place in the file that was given."""
    spot = (fault.line, fault.column)
    paths = [path for path, place in (*made.places.items(), *made.keys.items()) if place == spot]
    return document.fault(max(paths, key=len) if paths else (), fault.message, fault.hint)


def _in_words(fault: Fault) -> Fault:
    """A fault without the words of the program that reads sheets."""
    text = fault.message
    if "instance of" in text or "input should" in text or "not a mapping" in text:
        return dataclasses.replace(
            fault, message="this cannot be read here", hint="docs/engines.md shows how it is written"
        )
    return fault


def with_usual(
    document: Document, form: SheetForm, table: Mapping[str, Any], checked: Checked, operations: Collection[str] = ()
) -> Checked:
    """The check with every missing word of the build, and the firing order, understood as is usual and named under
    `assumed`."""
    walk = Walk(document, form, {})
    walk_sheet(walk, operations)
    raw = document.value if isinstance(document.value, dict) else {}
    build = raw.get("build")
    said = build if isinstance(build, dict) else {}
    whole = completed(walk.plain, form)
    more: list[Understood] = []
    for name, word in whole["build"].items():
        if said.get(name) in (None, ""):
            more.append(
                Understood(
                    document.fault(("build",), f"build.{name} is taken as usual: {as_written(word)}"),
                    ("build", name),
                    word,
                )
            )
    if not raw.get("firing_order"):
        more.append(
            Understood(
                document.fault((), f"firing_order is taken as usual: {whole['firing_order']}"),
                ("firing_order",),
                whole["firing_order"],
            )
        )
    for key, blank in (("bore", {}), ("stroke", "")):
        if key not in raw:
            more.append(Understood(document.fault((), f"{key} is left blank"), (key,), blank))
    if more:
        named = [
            *walk.plain.get("assumed", ()),
            *(".".join(map(str, item.path)) for item in more if item.value not in ({}, "")),
        ]
        more.append(Understood(document.fault((), f"assumed names {len(named)} of them"), ("assumed",), named))
    return dataclasses.replace(checked, understood=(*checked.understood, *more))


def written(path: str | Path, document: Document, checked: Checked) -> None:
    """Write what was understood into the file the sheet's way; comments and layout of the rest stay."""
    plain = copy.deepcopy(document.value)
    for item in checked.understood:
        here = plain
        for part in item.path[:-1]:
            if isinstance(here, dict):
                here = here.setdefault(part, {})
            else:
                here = here[part]
        if isinstance(here, dict) or isinstance(item.path[-1], int):
            here[item.path[-1]] = item.value
    text = edited(document.text, document.value, plain, ORDER)
    write_whole(path, text.encode(), digest=document.digest)
