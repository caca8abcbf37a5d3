"""The answers, readings and findings of a job as values: each held to its question, every fault at its place."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..errors import Fault, nearest
from ..files.strict_yaml import Document, Path_
from ..knowledge.engine_facts import count_of
from ..model.engine import Engine
from ..model.knowledge import Knowledge
from ..model.values import Value
from .sections import LATER, SECTIONS, UNKNOWN, section_of
from .values import value_of

USUAL_PLACES, MOST_PLACES = 4, 7
"""Cylinders or journals of an engine that is not known, and of any at most."""


def values_in(
    document: Document,
    path: Path_,
    plain: Mapping[str, Any],
    knowledge: Knowledge,
    engine: Engine | None,
    faults: list[Fault],
) -> tuple[dict[str, Value], set[str], set[str]]:
    """(values, "don't know", "not now") of the three sections of `plain`, which stands at `path` of the document."""
    values: dict[str, Value] = {}
    unknown: set[str] = set()
    later: set[str] = set()
    for section in SECTIONS:
        given = plain.get(section)
        for name, item in given.items() if isinstance(given, dict) else ():
            _one(document, (*path, section, name), item, knowledge, engine, values, unknown, later, faults)
    return values, unknown, later


def _count_told(item: Any) -> int:
    """How many places a value is written for, where the engine that has them is not known."""
    if isinstance(item, list):
        return len(item)
    numbers = [key for key in item if isinstance(key, int)] if isinstance(item, dict) else []
    return min(max((USUAL_PLACES, *numbers)), MOST_PLACES)


def _one(
    document: Document,
    path: Path_,
    item: Any,
    knowledge: Knowledge,
    engine: Engine | None,
    values: dict[str, Value],
    unknown: set[str],
    later: set[str],
    faults: list[Fault],
) -> None:
    section, name = path[-2:]
    observation = knowledge.observations.get(name) if isinstance(name, str) else None
    if observation is None or not isinstance(name, str):
        faults.append(
            document.fault(
                path, f"there is no observation '{name}'", nearest(str(name), knowledge.observations), at_key=True
            )
        )
        return
    if section_of(observation) != section:
        faults.append(
            document.fault(
                path,
                f"'{name}' does not belong under '{section}'",
                f"it belongs under '{section_of(observation)}'",
                at_key=True,
            )
        )
        return
    if item == UNKNOWN or item is None:
        unknown.add(name)
    elif item == LATER:
        later.add(name)
    else:
        # of an engine that is not found the faults are told all the same, as far as they do not hang on it
        value = value_of(
            observation,
            item,
            count_of(engine, observation.each) if engine is not None else _count_told(item),
            lambda where, message, hint: faults.append(document.fault((*path, *where), message, hint)),
        )
        if value is not None:
            values[name] = value
        elif not faults:
            unknown.add(name)
