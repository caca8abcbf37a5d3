"""What is usual where nobody has looked: the words of a build that complete a sheet, each named as assumed."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from ..knowledge.fill_in import FIRING as _FIRING
from ..model.engine import Build
from ..model.sheet_form import SheetForm, UsualBuild

FIRING = {cylinders: list(order) for cylinders, order in _FIRING.items()}
"""The commoner firing orders of engines in line, as a sheet writes them."""


def usual_words(form: SheetForm, known: Mapping[str, Any]) -> dict[str, Any]:
    """The whole build: what is known, and for every other word what is usual beside it. Words are settled in the order
    of the entries, so that an entry may read those before it."""
    built = {name: word for name, word in known.items() if word not in (None, "")}
    for entry in form.usual.values():
        if _fits(entry, built):
            for name, word in entry.set.items():
                built.setdefault(name, word)
    return {item.name: built[item.name] for item in dataclasses.fields(Build) if item.name in built}


def _fits(entry: UsualBuild, built: Mapping[str, Any]) -> bool:
    return all(str(built.get(name, "")) in words for name, words in entry.built.items())


def why_usual(form: SheetForm, known: Mapping[str, Any], name: str) -> str:
    """Why a word of the build is usual, in one sentence; empty where nothing is said of it."""
    built = {key: word for key, word in known.items() if key != name}
    return next((entry.because for entry in form.usual.values() if name in entry.set and _fits(entry, built)), "")
