"""Every error of the package: a fault names file, line, column, value and the nearest right spelling."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

MOST_FAULTS = 100
"""Of one file so many faults are named; the rest is not looked at, so that a file of rubbish costs no time."""


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One thing that is wrong with what was given, and where it stands."""

    file: str
    """Path as the user gave it; empty where the value did not come from a file."""
    line: int
    """First line is 1; 0 where there is none."""
    column: int
    """First column is 1; 0 where there is none."""
    message: str
    """What is wrong, in one sentence, with the offending value in it."""
    hint: str = ""
    """What to do about it, or the nearest right spelling."""

    def __str__(self) -> str:
        where = ":".join(str(part) for part in (self.file, self.line, self.column) if part)
        text = f"{where}: {self.message}" if where else self.message
        return f"{text} ({self.hint})" if self.hint else text


class HowdeepError(Exception):
    """Bad input or a state that cannot be worked with: carries every fault at once."""

    exit_code = 2

    def __init__(self, faults: Fault | str | Iterable[Fault]):
        if isinstance(faults, str):
            faults = Fault("", 0, 0, faults)
        if isinstance(faults, Fault):
            faults = (faults,)
        self.faults: tuple[Fault, ...] = tuple(sorted(set(faults)))
        super().__init__("\n".join(str(fault) for fault in self.faults))


class StaleFile(HowdeepError):
    """The file on disk is not the one that was read: saving would overwrite somebody's work."""

    exit_code = 3


class Held(HowdeepError):
    """A promise was asked for while checks stand before it."""

    exit_code = 4


def nearest(word: str, known: Iterable[str], limit: int = 3) -> str:
    """'did you mean a, b?' for the known words closest to `word`, or an empty string."""
    close = difflib.get_close_matches(str(word), sorted(set(known)), n=limit, cutoff=0.6)
    return f"did you mean {' or '.join(close)}?" if close else ""


def listed(words: Sequence[str]) -> str:
    """'a, b or c'."""
    words = [str(word) for word in words]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}" if words else ""
