"""Tables of plausible figures: rules/plausible.yaml for engine sheets, rules/plausible/ for prices and rules, and a
shop's own entries laid over them by id."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Literal

from ..errors import Fault, HowdeepError
from ..files.strict_yaml import read
from ..model.plausible import Plausible
from ..model.quantity import DIMENSION, unit_hint
from .sheet_guard import PLAIN, unit_of
from .validate import typed
from .where import shipped_rules

Of = Literal["sheets", "prices", "rules"]
FILES: dict[Of, str] = {"sheets": "plausible.yaml", "prices": "plausible/prices.yaml", "rules": "plausible/rules.yaml"}


def plausible_files(folders: Sequence[Path] = (), of: Of = "sheets") -> tuple[Path, ...]:
    """The files that make a table, the shipped one first."""
    places = dict.fromkeys((shipped_rules(), *(Path(item) for item in folders)))
    return tuple(folder / FILES[of] for folder in places if (folder / FILES[of]).is_file())


def plausible_table(folders: Sequence[Path] = (), of: Of = "sheets") -> Mapping[str, Plausible]:
    """Entries in the order they stand, the shipped ones first. Raises HowdeepError with all faults."""
    found: dict[str, Plausible] = {}
    for path in plausible_files(folders, of):
        found.update(_entries(path, of, path.read_bytes()))
    return found


@functools.lru_cache(maxsize=8)
def _entries(path: Path, of: Of, _content: bytes) -> Mapping[str, Plausible]:
    document = read(path)
    if not isinstance(document.value, dict):
        raise HowdeepError(document.fault((), "a rule file is a mapping from id to entry"))
    faults: list[Fault] = []
    entries = {str(name): typed(document, (name,), plain, Plausible, faults) for name, plain in document.value.items()}
    for name, entry in entries.items():
        if entry is not None and entry.least is not None and entry.most is not None and entry.least > entry.most:
            faults.append(document.fault((name, "least"), f"{entry.least:g} is above the most ({entry.most:g})"))
        if entry is not None and of == "sheets":
            faults += [document.fault((name, "unit"), message, hint) for message, hint in _unit_faults(entry)]
    if faults:
        raise HowdeepError(faults)
    return {name: entry for name, entry in entries.items() if entry is not None}


def _unit_faults(entry: Plausible) -> Iterator[tuple[str, str]]:
    """(message, hint) of a unit that is not known, or is no unit of one of the figures; a ratio has none."""
    if entry.unit not in DIMENSION:
        yield f"'{entry.unit}' is not a unit known here", unit_hint(entry.unit)
    elif entry.unit:
        paths = [
            (base + path if path.startswith(".") else path).split(".")
            for base in entry.each or ("",)
            for path in entry.figures
        ]
        for unit in sorted({"" if path[0] in PLAIN or path[-1] == "count" else unit_of(path[0]) for path in paths}):
            if not unit:
                yield f"'{entry.unit}': a figure it guards is a number without a unit", "leave the unit out"
            elif DIMENSION[unit] != DIMENSION[entry.unit]:
                yield (
                    f"'{entry.unit}' is a {DIMENSION[entry.unit]}, and a figure it guards is a {DIMENSION[unit]}",
                    f"write it in {unit}",
                )
