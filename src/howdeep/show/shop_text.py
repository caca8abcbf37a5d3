"""The shop's settings in a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from rich.console import RenderableType
from rich.text import Text

from ..model.knowledge import Knowledge
from ..model.prices import Letterhead
from ..model.shop import ShopSettings
from ..shop.keys import LETTERHEAD, OWN
from .layout import heading, indent
from .words import percent

USED = {
    "letterhead": "on every paper",
    "signs": "under estimates, letters, change sheets and sheets",
    "guarantee": "on every estimate",
    "terms": "on every estimate",
    "altitude": "for every job that gives none",
    "units": "on papers and in the interview",
    "next_number": "the next estimate or change sheet that is printed",
    "number_prefix": "before its number",
    "promise_floor": "before a promise",
    "firm_floor": "before a deep job is promised unseen",
}
NOT_SAID = {
    "guarantee": "none in writing",
    "terms": "none in writing",
    "units": "as the sheet and the readings have them",
    "promise_floor": "what the price list says",
    "firm_floor": "what the price list says",
    "altitude": "sea level",
    "next_number": "papers carry no number",
}


def shown(settings: ShopSettings, key: str) -> str:
    """What stands for a thing that can be set; empty where nothing does."""
    if key in LETTERHEAD:
        return str(getattr(settings.letterhead or Letterhead(name=""), key)).replace("\n", ", ")
    value = getattr(settings, key)
    if value is None or value == "":
        return ""
    return percent(value) if isinstance(value, float) else str(value)


def shop_lines(knowledge: Knowledge, settings: ShopSettings, path: Path | None) -> Iterator[RenderableType]:
    """Everything said, with where it is used."""
    yield Text(f"The shop ({path})" if path else "The shop: nothing is said yet. 'howdeep shop' asks.", style="bold")
    yield heading(f"Letterhead, {USED['letterhead']}")
    for key in LETTERHEAD:
        yield Text(f"  {key + ':':<16}{shown(settings, key) or '-'}")
    yield heading("Used")
    for key in OWN:
        value = shown(settings, key) or f"- (so {NOT_SAID[key]})" if key in NOT_SAID else shown(settings, key) or "-"
        yield indent(f"{key.replace('_', ' ') + ':':<16}{value}; {USED[key]}")
    missing = [tool for name, tool in knowledge.tools.items() if settings.tools.get(name) == "no"]
    yield heading("Tools not owned")
    if not missing:
        yield indent("None is said to be missing: every check is offered.")
    for tool in missing:
        titles = [knowledge.observations[name].title.lower() for name in tool.needed_for]
        yield indent(f"{tool.title}. Not offered: {'; '.join(titles)}.")


def numbered_tools(knowledge: Knowledge, settings: ShopSettings) -> Iterator[str]:
    """The tools to choose from, those not owned marked."""
    for number, (name, tool) in enumerate(knowledge.tools.items(), 1):
        yield f"  {number:>2} {'[not owned] ' if settings.tools.get(name) == 'no' else ''}{tool.title}"


def letterhead_lines(letterhead: Letterhead | None) -> Iterator[RenderableType]:
    """The head of a paper; nothing where the shop says nothing."""
    if letterhead is None:
        return
    yield Text(letterhead.name, style="bold")
    rest = [*letterhead.address.splitlines(), *(part for part in (letterhead.phone, letterhead.email) if part)]
    if rest:
        yield Text(", ".join(rest))
    yield Text("")


def signature_lines(signs: str) -> Iterator[RenderableType]:
    """Where the shop signs; nothing where nobody is named."""
    if signs:
        yield Text(f"\nFor the shop: {signs}  ____________________")
