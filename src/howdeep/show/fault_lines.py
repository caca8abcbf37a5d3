"""Faults with their places, for a terminal of 80 columns and as plain values."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Any

from ..errors import Fault

WIDTH = 80


def fault_lines(fault: Fault) -> Iterator[str]:
    """Where it stands and what it is, then what to do, wrapped."""
    where = ":".join(str(part) for part in (fault.file, fault.line, fault.column) if part)
    for text, first in ((f"{where}: {fault.message}", "  "), (fault.hint, "      ")):
        if text:
            yield from textwrap.wrap(
                text,
                WIDTH,
                initial_indent=first,
                subsequent_indent="      ",
                break_long_words=False,
                break_on_hyphens=False,
            )


def fault_shape(fault: Fault) -> dict[str, Any]:
    """A fault as plain values."""
    return {
        "file": fault.file,
        "line": fault.line,
        "column": fault.column,
        "message": fault.message,
        "hint": fault.hint,
    }


def found_lines(faults: Sequence[Fault], questions: Sequence[Fault]) -> Iterator[str]:
    """What must be put right, then what can hardly be, each under its head with how many there are."""
    for head, found in (("To be put right", faults), ("Can hardly be", questions)):
        if found:
            yield f"{head}: {len(found)}"
            for fault in found:
                yield from fault_lines(fault)
