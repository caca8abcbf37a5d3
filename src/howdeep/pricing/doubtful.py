"""Figures of a price list that can hardly be, each with the readings that would be right and how it is settled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal, InvalidOperation
from typing import Any

from ..files.strict_yaml import Document
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from .marks import parted
from .places import keys_of
from .read import held_figures

_SHIFTS = (
    ("0.1", "the decimal point one place to the left"),
    ("10", "the decimal point one place to the right"),
    ("0.01", "the decimal point two places to the left"),
    ("100", "the decimal point two places to the right"),
)
MOST = 2
_CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Doubtful:
    """One figure that is questioned."""

    place: str
    """'parts.piston', as `sure` names it."""
    figure: str
    why: str
    """What is questioned, in a sentence without its full stop."""
    slips: tuple[tuple[str, str], ...]
    """(the figure as it may have been meant, which slip that would be), the likeliest first."""


def doubtful(document: Document, plain: Mapping[str, Any], knowledge: Knowledge) -> dict[str, Doubtful]:
    """Place -> figure that is questioned and not settled, of a plain list; `document` only says where faults stand."""
    found = {}
    bare, marks = parted(document, dict(plain), [])
    for doubt in held_figures(bare, marks, knowledge)[1]:
        place = ".".join(str(part) for part in doubt.path)
        text = _at(bare, place)
        found[place] = Doubtful(place, text, doubt.message, _slips(document, plain, knowledge, place, text))
    return found


def with_sure(plain: Mapping[str, Any], figures: Iterable[str], settled: Mapping[str, str]) -> dict[str, Any]:
    """What the list says of questioned figures, without those that are changed and with those that are settled now; as
    a field of the list, or nothing where it stays."""
    told = plain.get("sure")
    now = told if isinstance(told, dict) else {}
    after = {**{place: why for place, why in now.items() if place not in set(figures)}, **settled}
    return {"sure": after} if after != now else {}


def _at(bare: Mapping[str, Any], place: str) -> str:
    here: Any = bare
    for key in keys_of(place):
        here = here.get(key) if isinstance(here, Mapping) else None
    return "" if here is None else str(here)


def _slips(
    document: Document, plain: Mapping[str, Any], knowledge: Knowledge, place: str, text: str
) -> tuple[tuple[str, str], ...]:
    try:
        number = Decimal(text.rsplit(maxsplit=1)[-1])
    except (InvalidOperation, IndexError):
        return ()
    told: list[tuple[str, str]] = []
    for factor, why in _SHIFTS:
        moved = (number * Decimal(factor)).quantize(_CENT)
        meant = f"{moved}" if moved % 1 else f"{moved:.0f}"
        if (
            len(told) < MOST
            and moved == number * Decimal(factor)
            and place not in _questioned(document, _with(plain, place, meant), knowledge)
        ):
            told.append((meant, why))
    return tuple(told)


def _with(plain: Mapping[str, Any], place: str, figure: str) -> dict[str, Any]:
    after = dict(plain)
    here, (*tables, name) = after, keys_of(place)
    for table in tables:
        here[table] = {**here[table]}
        here = here[table]
    here[name] = {**here[name], "figure": figure} if isinstance(here.get(name), dict) else figure
    return after


def _questioned(document: Document, plain: Mapping[str, Any], knowledge: Knowledge) -> set[str]:
    refused, asked = held_figures(*parted(document, dict(plain), []), knowledge)
    return {".".join(str(part) for part in doubt.path) for doubt in (*refused, *asked)}


__all__ = ["Doubtful", "doubtful", "with_sure"]
