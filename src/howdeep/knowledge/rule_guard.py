"""The figures of the rules themselves held to what they can be: limits, hours, minutes, shifts, ranges and settings.

A shop's own figure is also held beside the one whose place it takes. Refused is what cannot be; what can hardly be is
questioned, and settled by `excuse: {unlikely-figure: why}` of its entry, in the settings by `sure: {figure: why}`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields
from typing import Any

from ..model.knowledge import Settings
from ..model.limits import Limit
from ..model.plausible import Plausible
from ..model.quantity import DIMENSION, Quantity
from .figure_guard import Doubt, Guard, Number, Path_, hold_all, settled, told

CODE = "unlikely-figure"
"""Code of the check of the rule base that tells the questions."""
_OF_SETTINGS = (
    *("include_at", "direct_shown", "direct_mistaken", "seen_open", "slight_share", "cure_fails", "own_line_from"),
    *(
        "joins_from",
        "idle_below",
        "looking_again",
        "set_up_again",
        "hardly_parts",
        "one_round",
        "owner_asked_from",
        "owners_stretch",
        "brings_both",
    ),
)
_SECTIONS = ("deciding", "asking", "telling", "learning")
_TABLES = ("words", "base_words", "misread", "slight_shows", "unlisted")

Entries = Mapping[str, Mapping[str, Any]]
"""Kind -> id -> entry."""


def numbers_of_rules(entries: Entries, settings: Settings | None, limits: Mapping[str, Limit]) -> dict[Path_, Number]:
    """Every guarded figure of the rules by its path. `limits` are those in the unit they are compared in; the entries
    have them as written."""
    found: dict[Path_, Number] = {}
    for path, value in _plain(entries, settings):
        found[path] = Number(float(value), f"{value:g}")
    for name, limit in limits.items():
        written = entries["limits"][name]
        typed = Quantity(written.value, written.unit) if written.unit and written.unit in DIMENSION else None
        found["limits", name, "value"] = Number(limit.value, f"{written.value:g} {written.unit}".rstrip(), typed)
    return found


def _plain(entries: Entries, settings: Settings | None) -> Iterator[tuple[Path_, float]]:
    for name, item in entries.get("operations", {}).items():
        yield ("operations", name, "hours"), item.hours
        for index, step in enumerate(item.hours_by):
            yield ("operations", name, "hours_by", index, "hours"), step.hours
    for kind in ("observations", "checks"):
        for name, item in entries.get(kind, {}).items():
            yield (kind, name, "minutes"), item.minutes
            for index, end in enumerate(getattr(item, "range", None) or ()):
                yield (kind, name, "range", index), end
    for name, item in entries.get("history", {}).items():
        for cause, shift in item.shifts.items():
            yield ("history", name, "shifts", cause), shift
    if settings is not None:
        for name in _OF_SETTINGS:
            yield ("settings", name), getattr(settings, name)
        for section in _SECTIONS:
            part = getattr(settings, section)
            for item in fields(part):
                yield ("settings", section, item.name), getattr(part, item.name)
        for table in _TABLES:
            for name, value in getattr(settings, table).items():
                yield ("settings", table, name), value


def guard_rules(
    table: Iterable[Plausible],
    numbers: Mapping[Path_, Number],
    shipped: Mapping[Path_, Number],
    sure: Mapping[str, str],
) -> tuple[list[Doubt], list[Doubt]]:
    """What is refused and what is questioned. `shipped`: the figures that are laid over, empty where these are they;
    `sure`: what the settings are sure of, figure -> why."""
    by_text = {tuple(str(part) for part in path): path for path in numbers}

    def beside(path: Path_, other: Path_) -> Number | None:
        if other == ("shipped",):
            before = shipped.get(path)
            return None if before is None or before.value == numbers[path].value else before
        return numbers.get(by_text.get(tuple(str(part) for part in other), ()))

    def unlike(path: Path_) -> bool:
        return bool(shipped) and (path not in shipped or shipped[path].value != numbers[path].value)

    def blamed(path: Path_, other: Path_) -> Path_:
        held = by_text.get(tuple(str(part) for part in other), path)
        return held if unlike(held) and not unlike(path) else path

    guard = Guard(numbers, lambda path: "", beside, settle, blamed)
    hold_all(guard, table)
    asked = settled(guard, {f"settings.{name}": why for name, why in sure.items()}, "rule base")
    return guard.refused, asked


def settle(path: Path_) -> str:
    """How a question about a figure of the rules is settled."""
    if path[0] == "settings":
        return f"the settings say so: sure: {{{told(path[1:])}: why}}"
    return f"its entry says so: excuse: {{{CODE}: why}}"
