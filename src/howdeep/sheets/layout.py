"""A sheet as it stands in its file: one figure a line, in the order of the engine's fields."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from typing import Any

from ..files.plain_yaml import dump, dump_inline

_BLOCKS = ("build", "crankpins", "mains", "torques", "hours", "fluids", "sure")
"""Fields whose parts stand on lines of their own."""
WIDTH = 110


def sheet_text(plain: Mapping[str, Any]) -> str:
    """The text of a sheet. The strict reader gives back the same values."""
    return "".join(_entry(key, value) for key, value in plain.items())


def _entry(key: str, value: Any) -> str:
    if key in _BLOCKS and isinstance(value, Mapping) and value:
        return f"{key}:\n" + "".join(f"  {_line(name, item)}\n" for name, item in value.items())
    if isinstance(value, str):
        return dump({key: value})
    line = _line(key, value)
    if len(line) <= WIDTH or not isinstance(value, (list, tuple)):
        return f"{line}\n"
    rows = textwrap.wrap(dump_inline(list(value)), WIDTH, break_long_words=False, break_on_hyphens=False)
    return f"{key}:\n" + "".join(f"  {row}\n" for row in rows)


def _line(key: str, value: Any) -> str:
    return dump_inline({key: value})[1:-1]
