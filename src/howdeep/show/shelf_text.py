"""The list of engine sheets, for a terminal and as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

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
                yield f"  {item.id:<{widest}}  cannot be used: {item.fault}"
                yield f"  {'':<{widest}}  howdeep engine check {_near(item.path)}"
                continue
            rest = f"{item.cylinders} cyl, bore {item.bore or 'not known'}"
            line = f"  {item.id:<{widest}}  {item.kind:<38} {rest}"
            if len(line) <= WIDTH:
                yield line
            else:
                yield f"  {item.id}"
                yield f"  {'':<6}{item.kind}, {rest}"
    yield "Make one: howdeep engine new NAME    Look at one: howdeep engine show NAME"


def _near(path: Path) -> Path:
    """A path as a person in this folder would write it."""
    return path.relative_to(Path.cwd()) if path.is_relative_to(Path.cwd()) else path


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
