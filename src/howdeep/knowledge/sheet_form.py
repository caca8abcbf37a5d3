"""The form of an engine sheet: rules/sheet_form.yaml and usual_builds.yaml, a shop's own entries laid over by id."""

from __future__ import annotations

import dataclasses
import functools
import typing
from collections.abc import Sequence
from pathlib import Path
from typing import Any, TypeVar

from ..errors import Fault, HowdeepError, nearest
from ..files.strict_yaml import Document, Path_, read
from ..model.engine import Build, Engine, Fit, Journal, Torque
from ..model.quantity import DIMENSION, unit_hint
from ..model.sheet_form import SheetField, SheetForm, SheetGroup, UsualBuild
from .validate import typed
from .where import shipped_rules

FORM, USUAL = "sheet_form.yaml", "usual_builds.yaml"
T = TypeVar("T")


def sheet_form(folders: Sequence[Path] = ()) -> SheetForm:
    """The form, the shipped one first. Raises HowdeepError with all faults."""
    places = dict.fromkeys((shipped_rules(), *(Path(item) for item in folders)))
    return SheetForm(_laid_over(places, FORM, SheetGroup), _laid_over(places, USUAL, UsualBuild))


def _laid_over(places: Sequence[Path] | dict[Path, None], name: str, shape: type[T]) -> dict[str, T]:
    found: dict[str, T] = {}
    for folder in places:
        if (folder / name).is_file():
            content = (folder / name).read_bytes()
            # a class can be hashed; the checker looks at its values
            own: dict[str, T] = _entries(folder / name, content, shape)  # type: ignore[arg-type]
            # a shop's own usual builds speak first; its own groups stand where they stood
            found = (
                {**own, **{key: item for key, item in found.items() if key not in own}}
                if shape is UsualBuild
                else {**found, **own}
            )
    return found


@functools.lru_cache(maxsize=16)
def _entries(path: Path, _content: bytes, shape: type[T]) -> dict[str, T]:
    document = read(path)
    if not isinstance(document.value, dict):
        raise HowdeepError(document.fault((), "a rule file is a mapping from id to entry"))
    faults: list[Fault] = []
    entries = {str(name): typed(document, (name,), plain, shape, faults) for name, plain in document.value.items()}
    for name, entry in entries.items():
        if isinstance(entry, SheetGroup):
            for at, item in entry.fields.items():
                faults += _field_faults(document, (name, "fields", at), at, item)
        elif isinstance(entry, UsualBuild):
            faults += _when_faults(document, (name, "built"), entry.built)
            for field, word in entry.set.items():
                faults += _when_faults(document, (name, "set"), {field: (str(word),)})
    if faults:
        raise HowdeepError(faults)
    return {name: entry for name, entry in entries.items() if entry is not None}


def build_words() -> dict[str, tuple[str, ...]]:
    """Every word of the build with what it may be; numbers of cylinders as text."""
    hints = typing.get_type_hints(Build)
    return {item.name: typing.get_args(hints[item.name]) or tuple("123456") for item in dataclasses.fields(Build)}


def shape_at(path: str) -> Any:
    """What the sheet holds at a path: Fit, Torque, a type, the words of a choice; None where there is no such field."""
    here: Any = Engine
    for part in path.split("."):
        if dataclasses.is_dataclass(here):
            here = typing.get_type_hints(here).get(part)
        elif typing.get_origin(here) is dict:
            here = typing.get_args(here)[1]
        else:
            return None
        inner = [item for item in typing.get_args(here) if item is not type(None)]
        if type(None) in typing.get_args(here) and len(inner) == 1:
            here = inner[0]
    return here


_TAKES = {
    "band": (Fit,),
    "torque": (Torque,),
    "count": (int,),
    "ratio": (float,),
    "hours": (float,),
    "figure": (str,),
    "money": (str,),
    "text": (str,),
    "order": (tuple[int, ...],),
    "sizes": (tuple[str, ...],),
}


def _field_faults(document: Document, where: Path_, path: str, item: SheetField) -> list[Fault]:
    faults, shape = [], shape_at(path)
    if shape is None or shape in (Build, Journal):
        return [document.fault(where, f"an engine sheet has no field '{path}'", at_key=True)]
    words = [word for word in typing.get_args(shape) if isinstance(word, str) and word]
    if item.kind in ("word", "yes_no"):
        own = list(item.words) or ["yes", "no"]
        if sorted(own) != sorted(words):
            faults.append(
                document.fault((*where, "words"), f"'{path}' takes {', '.join(words)}, and not {', '.join(own)}")
            )
    elif shape not in _TAKES[item.kind]:
        faults.append(document.fault((*where, "kind"), f"'{path}' is no {item.kind}"))
    if item.unit and item.unit not in DIMENSION:
        faults.append(document.fault((*where, "unit"), f"'{item.unit}' is not a unit known here", unit_hint(item.unit)))
    for name in (item.at, item.state):
        if name and shape_at(name) is None:
            faults.append(document.fault(where, f"an engine sheet has no field '{name}'"))
    return faults + _when_faults(document, (*where, "built"), item.built)


def _when_faults(document: Document, where: Path_, when: dict[str, tuple[str, ...]]) -> list[Fault]:
    known, faults = build_words(), []
    for name, words in when.items():
        if name not in known:
            faults.append(document.fault((*where, name), f"'{name}' is no word of a build", nearest(name, known)))
            continue
        faults += [
            document.fault(
                (*where, name), f"'{word}' is not one of {', '.join(known[name])}", nearest(word, known[name])
            )
            for word in words
            if word not in known[name]
        ]
    return faults
