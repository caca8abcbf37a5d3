"""The list of engine sheets, for a terminal and as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..sheets.shelf import Shelved
from .as_json import text_of

_WHERE = {"shipped": "comes with the program", "shop": "the shop's own", "here": "beside the jobs here"}
WIDTH = 80


def shelf_lines(sheets: Sequence[Shelved]) -> Iterator[str]:
    """One sheet a line under a heading for each place; nothing wider than 80 columns."""
    widest = min(24, max((len(item.id) for item in sheets), default=4))
    for owner, title in _WHERE.items():
        own = [item for item in sheets if item.owner == owner]
        if not own:
            continue
        yield f"{title[0].upper()}{title[1:]}:"
        for item in own:
            if item.fault:
                yield f"  {item.id:<{widest}}  cannot be used, {item.fault}"
                continue
            kind = f"{item.kind}"
            rest = f"{item.cylinders} cyl, bore {item.bore or 'not known'}"
            line = f"  {item.id:<{widest}}  {kind:<34} {rest}"
            yield line if len(line) <= WIDTH else f"  {item.id}\n  {'':<{widest}}  {kind:<34} {rest}"[: WIDTH * 2]
    yield "Make one: howdeep engine new NAME    Look at one: howdeep engine show NAME"


def shelf_json(sheets: Sequence[Shelved]) -> str:
    """The same in its documented shape."""
    return text_of(
        {
            "howdeep_engines": 1,
            "engines": [
                {
                    "id": item.id,
                    "name": item.name,
                    "where": item.owner,
                    "file": str(item.path),
                    "kind": item.kind,
                    "cylinders": item.cylinders or None,
                    "bore": item.bore or None,
                    "assumed": item.assumed,
                    "fault": item.fault or None,
                }
                for item in sheets
            ],
        }
    )
