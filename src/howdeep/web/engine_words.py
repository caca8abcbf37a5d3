"""What a list of jobs calls an engine: the name of its sheet, or its kind and what is known of it, never an id."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from ..errors import HowdeepError
from ..knowledge.build_words import word_for
from ..knowledge.engines import find, load_sheet
from ..knowledge.figure_words import word_words
from ..knowledge.fill_in import UNKNOWN
from ..knowledge.kinds import load_kinds

TOLD = ("fuel", "layout", "use")
"""Of an engine whose kind nobody named, what it is called by."""


def engine_namer(folders: Sequence[Path], beside: Path) -> Callable[[Any], str]:
    """(what a job says of its engine) -> 'Brockwell 4', 'Farm diesel four, 1958', 'petrol, side valve, 4 cylinders'.
    Sheets and kinds are read once."""
    names: dict[str, str] = {}

    def sheet_name(told: str) -> str:
        if told not in names:
            try:
                names[told] = load_sheet(find(told, folders, beside), folders).engine.name
            except HowdeepError:
                return told
        return names[told]

    def named(told: Any) -> str:
        if not isinstance(told, Mapping):
            return sheet_name(str(told)) if told else ""
        said = {str(key): str(value) for key, value in told.items() if word_for("fuel", str(value)) != UNKNOWN}
        kind = load_kinds(folders).get(said.get("kind", ""))
        words = [kind.name] if kind is not None else [word_words(said[name]) for name in TOLD if name in said]
        if kind is None and said.get("cylinders"):
            words.append(f"{said['cylinders']} cylinder{'' if said['cylinders'] == '1' else 's'}")
        return ", ".join([*words, *([said["year"]] if said.get("year") else [])]) or "Engine not known"

    return named


__all__ = ["engine_namer"]
