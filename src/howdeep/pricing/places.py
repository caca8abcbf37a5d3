"""Places of figures in a price list, such as 'labour_rate', 'parts.piston', 'engine_parts.pell-1.piston'."""

from __future__ import annotations

import re

from ..model.prices import PriceList

_OF_ENGINE = re.compile(r"engine_parts\.(.+)\.([^.]+)")


def keys_of(place: str) -> tuple[str, ...]:
    """'parts.piston' -> ('parts', 'piston'); an engine sheet's name may hold points."""
    match = _OF_ENGINE.fullmatch(place)
    return ("engine_parts", *match.groups()) if match else tuple(place.split(".", 1))


def figure_at(prices: PriceList, place: str) -> str:
    """The figure that stands at a place; empty where there is none."""
    first, *names = keys_of(place)
    here = getattr(prices, first)
    for name in names:
        here = (here or {}).get(name)
    return here or ""
