"""Every fault of a price list in one round: missing, words, units, ranges, and what can hardly be."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from ..errors import Fault
from ..files.strict_yaml import Document, read
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from .marks import is_date
from .read import look_over
from .standing import counted

AHEAD, BEHIND = 31, 3660
"""Days that a list may be dated ahead, and how old it may be, before its date is questioned (judgement)."""
_WANTED = ("comeback_charge", "growth_charge", "reopening", "replacement")


@dataclass(frozen=True, slots=True)
class CheckedPrices:
    """What a check of a price list found."""

    faults: tuple[Fault, ...]
    """What must be put right."""
    questions: tuple[Fault, ...]
    """What can hardly be, and may be right."""
    missing: tuple[str, ...]
    """Places that have no price: quotes say so."""
    examples: int
    """Figures that are still examples."""
    figures: int
    """Figures in all."""

    @property
    def clean(self) -> bool:
        return not self.faults


def check_prices(path: str | Path, knowledge: Knowledge, today: str) -> CheckedPrices:
    """Check a price list by a day (ISO). Raises HowdeepError where it cannot be read or is no list at all."""
    document = read(path)
    checked = look_over(document, knowledge, None)
    plain = document.value
    missing = [name for name in _WANTED if name not in plain]
    for table, known in (("machine", knowledge.machining), ("parts", knowledge.parts)):
        own = plain.get(table)
        missing += [f"{table}.{name}" for name in known if not (isinstance(own, dict) and name in own)]
    figures, examples = _counts(checked.prices)
    return CheckedPrices(
        tuple(checked.faults), (*_dates(document, plain, today), *checked.questions), tuple(missing), examples, figures
    )


def _counts(prices: PriceList | None) -> tuple[int, int]:
    if prices is None:
        return 0, 0
    own, every = counted(prices)
    return every, every - own


def _dates(document: Document, plain: Mapping[str, Any], today: str) -> Iterator[Fault]:
    """A day to come, or one of ten years ago: mostly a year or a month mistyped."""
    now = datetime.date.fromisoformat(today)
    for path, value in _dated(plain):
        if isinstance(value, str) and is_date(value):
            days = (now - datetime.date.fromisoformat(value)).days
            if days < -AHEAD or days > BEHIND:
                yield document.fault(
                    path,
                    f"{'.'.join(path)} is {value}: "
                    + ("that day is to come" if days < 0 else f"that was {days // 365} years ago"),
                    "perhaps the year is mistyped",
                )


def _dated(plain: Mapping[str, Any], path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:
    for name, value in plain.items():
        if isinstance(value, dict):
            yield from _dated(value, (*path, str(name)))
        elif name == "date":
            yield (*path, "date"), value
