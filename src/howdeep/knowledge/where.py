"""Where the shipped rule base and cases stand, in a checkout and in an installed package."""

from __future__ import annotations

import os
from pathlib import Path

from ..errors import Fault, HowdeepError

_PACKAGE = Path(__file__).resolve().parents[1]


def _shipped(name: str) -> Path:
    for place in (_PACKAGE / "_shipped" / name, _PACKAGE.parents[1] / name):
        if place.is_dir():
            return place
    raise HowdeepError(Fault("", 0, 0, f"the shipped folder '{name}' is missing from this installation"))


def shipped_rules() -> Path:
    """The rule base that comes with the package."""
    return _shipped("rules")


def shipped_cases() -> Path:
    """The worked cases that come with the package."""
    return _shipped("cases")


HANDBOOKS = "handbooks"
"""Folder beside the worked cases that holds what published works say; no job stands in it."""


def shipped_handbooks() -> Path:
    """What published works say, as it comes with the package."""
    return shipped_cases() / HANDBOOKS


def rule_folders(shop: str | Path | None = None) -> tuple[Path, ...]:
    """The shipped rule base and, laid over it, the shop's own: the option, else HOWDEEP_RULES."""
    shop = shop or os.environ.get("HOWDEEP_RULES") or None
    if shop is None:
        return (shipped_rules(),)
    folder = Path(shop)
    if not folder.is_dir():
        raise HowdeepError(Fault(str(shop), 0, 0, "there is no such rule folder"))
    return (shipped_rules(), folder)
