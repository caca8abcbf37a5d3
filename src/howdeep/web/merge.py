"""Three states of one observation put together: as the form showed it, as it was sent, and as it stands now.

A field that the sender left as it was shown keeps what stands now; a field that only the sender changed takes what was
sent; a field that both changed differently is a clash, and nothing is decided for anybody.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import field
from typing import Any

from ..job.sections import LATER, UNKNOWN
from ..model.frozen import dataclass
from ..model.observations import Observation
from ..show.answers import summary
from .forms import Cell, cell_text, cells_of, plain_of, sent_text, stored_cell, typed_text

WAS = "was."
"""`was.NAME`: what the form showed of an observation, as JSON."""
THEIRS = "theirs."
"""`theirs.FIELD`: of two values the one that stands in the job is to stay."""


@dataclass(frozen=True, slots=True)
class Clash:
    """One field to which two people gave different values."""

    field: str
    where: str
    """The place, e.g. 'Cylinder 3'; empty for a single value."""
    theirs: str
    """What stands in the job now, in words."""
    mine: str
    """What was sent, in words."""


@dataclass(frozen=True, slots=True)
class Merged:
    """What is to be saved of one observation."""

    changed: bool = False
    """Whether there is anything to save."""
    plain: Any = None
    """The plain value to save; None where every field is empty."""
    typed: dict[str, str] = field(default_factory=dict)
    """Field -> text of what the sender changed, to be shown again where it cannot be saved."""
    clashes: tuple[Clash, ...] = ()


def shown_as(plain: Any) -> str:
    """A plain value as `was.NAME` carries it."""
    return json.dumps(plain, ensure_ascii=True, separators=(",", ":"))


def merge(
    observation: Observation,
    name: str,
    count: int,
    form: Mapping[str, str],
    stored: Any,
    *,
    how: str = "",
    asked: bool = False,
) -> Merged:
    """One observation of a form merged with what stands in the job (`stored`, a plain value or None).

    `how` is 'unknown' or 'later' where one of these was pressed. `asked` says that this observation alone was asked:
    a single answer sent back as it was shown is then meant, and an empty form puts it off.
    """
    base = _shown(form.get(WAS + name, ""))
    if how:
        return _word(observation, name, how, base, stored)
    cells = cells_of(observation, name, count)
    typed, clashes = {}, []
    values: dict[Cell, Any] = {cell: stored_cell(stored, cell) for cell in cells}
    for cell in cells:
        before, now = cell_text(observation, base, cell), cell_text(observation, stored, cell)
        mine = sent_text(observation, form, name, cell) if cell.field in form else before
        meant = mine != before or bool(asked and mine and not observation.each)
        if not meant or mine == now or THEIRS + cell.field in form:
            continue
        typed[cell.field] = typed_text(form, cell.field)
        values[cell] = mine
        answered = stored == UNKNOWN and base != UNKNOWN
        if now != before or answered:
            clashes.append(
                Clash(
                    cell.field,
                    cell.where,
                    "don't know" if answered else _said(observation, now),
                    _said(observation, mine),
                )
            )
    if typed:
        unit = f"{name}.unit"
        plain = plain_of(observation, values)
        return Merged(
            True,
            LATER if plain is None and asked else plain,
            {**typed, **({unit: typed_text(form, unit)} if unit in form else {})},
            tuple(clashes),
        )
    if asked and stored is None and base is None:
        return Merged(True, LATER)
    return Merged()


def _word(observation: Observation, name: str, how: str, base: Any, stored: Any) -> Merged:
    if stored == how:
        return Merged()
    moved = _state(stored) != _state(base)
    if how == LATER and moved:
        return Merged()  # 'not now' says nothing against what somebody else has answered
    clashes: tuple[Clash, ...] = ()
    if moved and _state(stored) is not None:
        clashes = (Clash(name, "", summary(observation, stored), "don't know"),)
    return Merged(True, how, {}, clashes)


def _said(observation: Observation, text: str) -> str:
    return observation.answers.get(text, text) if text else "nothing"


def _state(plain: Any) -> Any:
    """A value for comparing; what was put off is as good as not asked."""
    return None if plain in (None, LATER) else shown_as(plain)


def _shown(text: str) -> Any:
    """What `was.NAME` says; None where it is missing or no JSON. Keys of places are numbers again."""
    try:
        plain = json.loads(text)
    except (ValueError, RecursionError):
        return None
    if isinstance(plain, dict):
        return {
            int(key) if key.isascii() and key.isdigit() and len(key) < 4 else key: value for key, value in plain.items()
        }
    return plain if isinstance(plain, (str, int, float, list)) else None
