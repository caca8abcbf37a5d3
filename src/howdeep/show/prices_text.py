"""How far a price list is the shop's own, in a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from ..model.knowledge import Knowledge
from ..model.prices import TERMS, PriceList
from ..pricing.asked import title_of
from ..pricing.places import figure_at
from ..pricing.standing import age_of, counted
from .layout import bar, heading
from .price_notes import shown_figure

NAMED = 6


def prices_lines(
    knowledge: Knowledge, prices: PriceList, today: str, *, every: bool = False
) -> Iterator[RenderableType]:
    """Counts by section as bars, what is missing and what is old; with `every` each figure with its mark."""
    sections = (
        ("Terms", [name for name in TERMS if figure_at(prices, name)], ()),
        (
            "Machine shop",
            [f"machine.{name}" for name in prices.machine],
            [f"machine.{name}" for name in knowledge.machining if name not in prices.machine],
        ),
        (
            "Parts",
            [f"parts.{name}" for name in prices.parts],
            [f"parts.{name}" for name in knowledge.parts if name not in prices.parts],
        ),
        (
            "For one engine",
            [f"engine_parts.{engine}.{name}" for engine, parts in prices.engine_parts.items() for name in parts],
            (),
        ),
    )
    own_now, every_now = counted(prices)
    yield Text(f"{own_now} of {every_now} prices are yours; {every_now - own_now} are examples.")
    for title, places, missing in sections:
        if not places and not missing:
            continue
        own = [place for place in places if not prices.mark(place).example]
        old = [place for place in own if age_of(prices, place, today) > prices.old_after_days]
        whole = len(places) + len(missing)
        yield heading(title)
        for count, what in (
            (len(own), "your own"),
            (len(places) - len(own), "examples"),
            (len(missing), "missing"),
            (len(old), f"your own, older than {prices.old_after_days} days"),
        ):
            if count:
                yield Text(f"  {bar(count / whole, 20)} {count:>4}  {what}")
        if missing:
            yield Text(f"  Missing: {_some(knowledge, missing)}")
        if old:
            yield Text(f"  Old: {_some(knowledge, old)}")
        for place in places if every else ():
            yield Text(f"    {title_of(knowledge, place)}: {shown_figure(prices, place)}")


def _some(knowledge: Knowledge, places: list[str]) -> str:
    names = [title_of(knowledge, place).lower() for place in places]
    return ", ".join(names[:NAMED]) + (f" and {len(names) - NAMED} more" if len(names) > NAMED else "")
