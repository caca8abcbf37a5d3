"""Which of the program's files a plain value is by its keys, so that one handed to the wrong command is told so."""

from __future__ import annotations

from typing import Any, Literal

from ..errors import Fault
from .strict_yaml import Document

What = Literal["job", "price list", "engine sheet", "shop"]
_KEYS: dict[What, tuple[str, ...]] = {
    "job": ("howdeep_job",),
    "shop": ("howdeep_shop",),
    "price list": ("labour_rate",),
    "engine sheet": ("build",),
}
"""What a file is -> keys of which it has one. A job that was begun by hand may lack its own."""
_TOLD: dict[What, tuple[str, str]] = {
    "job": ("a job", "'howdeep assess {file}' answers it"),
    "shop": ("the shop's settings", "'howdeep shop show' shows them"),
    "price list": ("a price list", "'howdeep prices check {file}' looks it over"),
    "engine sheet": ("an engine sheet", "'howdeep engine check {file}' looks it over"),
}


def what_file(plain: Any) -> What | None:
    """What a plain value is; None where it is none of them."""
    if not isinstance(plain, dict):
        return None
    return next((what for what, keys in _KEYS.items() if any(key in plain for key in keys)), None)


def another_file(document: Document, wanted: What) -> Fault | None:
    """The one fault of a file that is something else than what is wanted; None where it may be that."""
    what = what_file(document.value)
    if what is None or what == wanted:
        return None
    told, hint = _TOLD[what]
    return document.fault((), f"this is {told}, not {_TOLD[wanted][0]}", hint.format(file=document.file))


__all__ = ["another_file", "what_file"]
