"""How an engine is built, as facts that rules can read."""

from __future__ import annotations

import dataclasses
import functools
import typing
from typing import Any

from ..model.engine import Build, Engine


def engine_facts(engine: Engine) -> dict[str, Any]:
    """`engine.<field>` -> word (or number for cylinders) for every field of the build."""
    return dict(_facts_of_build(engine.build))


@functools.lru_cache(maxsize=64)
def _facts_of_build(build: Build) -> dict[str, Any]:
    return {f"engine.{item.name}": getattr(build, item.name) for item in dataclasses.fields(Build)}


def engine_fact_words() -> dict[str, tuple[str, ...]]:
    """Every engine fact with the words it can take; an empty tuple for numbers."""
    hints = typing.get_type_hints(Build)
    return {f"engine.{item.name}": typing.get_args(hints[item.name]) for item in dataclasses.fields(Build)}


def count_of(engine: Engine, each: str) -> int:
    """How many values a reading of kind `each` has on this engine (1 where each is empty)."""
    cylinders = engine.build.cylinders
    if each == "main":
        return engine.mains.count if engine.mains and engine.mains.count else cylinders + 1
    if each == "crankpin":
        return engine.crankpins.count if engine.crankpins and engine.crankpins.count else cylinders
    return cylinders if each else 1
