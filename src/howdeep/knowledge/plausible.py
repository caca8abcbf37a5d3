"""The table of plausible figures: rules/plausible.yaml, and a shop's own entries laid over it by id."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from pathlib import Path

from ..errors import Fault, HowdeepError
from ..files.strict_yaml import read
from ..model.plausible import Plausible
from .shapes import typed
from .where import shipped_rules

FILE = "plausible.yaml"


def plausible_files(folders: Sequence[Path] = ()) -> tuple[Path, ...]:
    """The files that make the table, the shipped one first."""
    places = dict.fromkeys((shipped_rules(), *(Path(item) for item in folders)))
    return tuple(folder / FILE for folder in places if (folder / FILE).is_file())


def plausible_table(folders: Sequence[Path] = ()) -> Mapping[str, Plausible]:
    """Entries in the order they stand, the shipped ones first. Raises HowdeepError with all faults."""
    found: dict[str, Plausible] = {}
    for path in plausible_files(folders):
        found.update(_entries(path, path.read_bytes()))
    return found


@functools.lru_cache(maxsize=8)
def _entries(path: Path, _content: bytes) -> Mapping[str, Plausible]:
    document = read(path)
    if not isinstance(document.value, dict):
        raise HowdeepError(document.fault((), "a rule file is a mapping from id to entry"))
    faults: list[Fault] = []
    entries = {str(name): typed(document, (name,), plain, Plausible, faults) for name, plain in document.value.items()}
    for name, entry in entries.items():
        if entry is not None and None not in (entry.least, entry.most) and entry.least > entry.most:
            faults.append(document.fault((name, "least"), f"{entry.least:g} is above the most ({entry.most:g})"))
    if faults:
        raise HowdeepError(faults)
    return entries
