"""Present, absent or unknown: strong Kleene logic. An unanswered question is evidence of nothing."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum


class Truth(StrEnum):
    PRESENT = "present"
    ABSENT = "absent"
    UNKNOWN = "unknown"

    def __invert__(self) -> Truth:
        return _NOT[self]


_NOT = {Truth.PRESENT: Truth.ABSENT, Truth.ABSENT: Truth.PRESENT, Truth.UNKNOWN: Truth.UNKNOWN}


def all_of(truths: Iterable[Truth]) -> Truth:
    """Absent if any is absent, else unknown if any is unknown, else present (also for none at all)."""
    seen = set(truths)
    return Truth.ABSENT if Truth.ABSENT in seen else Truth.UNKNOWN if Truth.UNKNOWN in seen else Truth.PRESENT


def any_of(truths: Iterable[Truth]) -> Truth:
    """Present if any is present, else unknown if any is unknown, else absent (also for none at all)."""
    seen = set(truths)
    return Truth.PRESENT if Truth.PRESENT in seen else Truth.UNKNOWN if Truth.UNKNOWN in seen else Truth.ABSENT
