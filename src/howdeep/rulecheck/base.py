"""What a check is, and what it reports."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from dataclasses import field
from typing import Any, Literal

from ..model.frozen import dataclass
from .subject import Subject

Severity = Literal["error", "warning", "note"]
SEVERITIES: tuple[Severity, ...] = ("error", "warning", "note")
"""error: an answer of the program is or will be wrong. warning: an answer may mislead, or a rule does nothing.
note: worth a look; nothing follows from it by itself."""
HEADINGS = ("Why it matters:", "What to do:", "Bad:", "Good:")


@dataclass(frozen=True, slots=True)
class Complaint:
    """One thing a check found."""

    key: str
    """'kind/id' of the entry it is about."""
    message: str
    """What is wrong, in one sentence, with the offending value."""
    do: str
    """What to do about it."""
    path: tuple[str | int, ...] = ()
    """Where inside the entry."""
    severity: Severity | None = None
    """Where it differs from the check's own."""
    also: tuple[str, ...] = ()
    """Further 'kind/id' that it is about as well; an excuse in any of them counts."""


@dataclass(frozen=True, slots=True, order=True)
class Anomaly:
    """A complaint with its place, in the order in which anomalies are shown."""

    file: str
    line: int
    column: int
    code: str
    severity: Severity
    key: str
    message: str
    do: str
    excused: str = field(default="", compare=False)
    """The reason written in the rule, where it excuses itself."""

    def __str__(self) -> str:
        where = ":".join(str(part) for part in (self.file, self.line, self.column) if part)
        return f"{where}: {self.severity} {self.code}: {self.message}"


class Check:
    """One check. The class's docstring is what `howdeep rules explain CODE` prints."""

    code: str
    """Short and plain, e.g. 'unreachable-cause'."""
    severity: Severity

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        """Complaints about one entry."""
        yield from ()

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        """Complaints about the set."""
        yield from ()

    @classmethod
    def explanation(cls) -> str:
        """Title, why it matters, what to do, a bad and a good example."""
        return inspect.cleandoc(cls.__doc__ or "")

    @classmethod
    def title(cls) -> str:
        """The first line of the explanation."""
        return cls.explanation().split("\n", 1)[0]
