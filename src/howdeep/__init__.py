"""howdeep: how deep must this old engine be opened?

A program names `open_shop`, `read_job`, `assess_job` and `quote_job` from here (docs/api.md); they are loaded when they
are first asked for, so that a command starts without them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .api import (
        Allowance,
        Assessment,
        Belief,
        CheckValue,
        Decision,
        Fault,
        HowdeepError,
        JobLine,
        Kind,
        OpenJob,
        Quote,
        QuoteLine,
        Rung,
        Shop,
        assess_job,
        open_shop,
        quote_job,
        read_job,
    )

__version__ = "0.1.0"
__all__ = [
    "Allowance",
    "Assessment",
    "Belief",
    "CheckValue",
    "Decision",
    "Fault",
    "HowdeepError",
    "JobLine",
    "Kind",
    "OpenJob",
    "Quote",
    "QuoteLine",
    "Rung",
    "Shop",
    "assess_job",
    "open_shop",
    "quote_job",
    "read_job",
]


def __getattr__(name: str) -> object:
    if name in __all__:
        from . import api

        return getattr(api, name)
    raise AttributeError(f"module 'howdeep' has no attribute '{name}'")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
