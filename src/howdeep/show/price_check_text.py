"""What a check of a price list found, for a terminal and as JSON."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator
from pathlib import Path

from ..model.knowledge import Knowledge
from ..pricing.asked import title_of
from ..pricing.check import CheckedPrices
from .as_json import text_of
from .fault_lines import WIDTH, fault_shape, found_lines

NAMED = 12
_BESIDE = re.compile(
    r"\S+ \S+ beside (?P<other>.+) (?P<held>[\d.,]+): .+ is usually .+, here (?P<low>\S+) to "
    r"(?P<high>\S+)"
)


def in_short(message: str) -> str:
    """What is questioned of a price, in a form that shows the price itself: '22 to 352 would be usual; the example has
    88.00'. Another message stays as it is."""
    found = _BESIDE.fullmatch(message)
    if found is None:
        return message
    other = "the example" if found["other"] == "example" else found["other"]
    return f"{found['low']} to {found['high']} would be usual; {other} has {found['held']}"


def price_check_lines(knowledge: Knowledge, file: Path, checked: CheckedPrices) -> Iterator[str]:
    """Faults first, then what is questioned, then what has no price."""
    yield from found_lines(checked.faults, checked.questions)
    if checked.missing:
        yield f"Without a price, which quotes say: {len(checked.missing)}"
        rest = len(checked.missing) - NAMED
        names = "; ".join(title_of(knowledge, place).lower() for place in checked.missing[:NAMED])
        names += f"; and {rest} more" if rest > 0 else ""
        yield from textwrap.wrap(names, WIDTH, initial_indent="  ", subsequent_indent="  ")
    if checked.examples:
        yield f"Still examples: {checked.examples} of {checked.figures} ('howdeep prices show' names them)."
    if checked.clean and not checked.questions:
        yield f"{file}: sound."


def price_check_json(file: Path, checked: CheckedPrices) -> str:
    """The same in its documented shape."""
    return text_of(
        {
            "howdeep_price_check": 1,
            "file": str(file),
            "clean": checked.clean,
            "faults": [fault_shape(item) for item in checked.faults],
            "questions": [fault_shape(item) for item in checked.questions],
            "missing": list(checked.missing),
            "examples": checked.examples,
            "figures": checked.figures,
        }
    )
