"""The engines a job can name: sheets, kinds, and 'unknown', each with what tells it from the others."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ..knowledge.kinds import load_kinds
from ..model.frozen import dataclass
from .shelf import shelf


@dataclass(frozen=True, slots=True)
class Choice:
    """One line of the list."""

    id: str
    """What a job writes under `engine`."""
    name: str
    kind: str
    """Fuel, valves and use in words; empty for a kind, whose name says it."""
    cylinders: str
    bore: str
    """The standard bore; empty where it is not known."""
    general: bool
    """Whether it is a kind, and no sheet."""


def engine_choices(folders: Sequence[Path], beside: Path | None = None) -> tuple[Choice, ...]:
    """Sheets in order of id, then kinds, the commonest first. A sheet that cannot be read is listed by its id."""
    found = [
        Choice(item.id, item.name or item.id, item.kind or item.fault, str(item.cylinders or ""), item.bore, False)
        for item in shelf(folders, beside)
    ]
    kinds = load_kinds(folders)
    for name in sorted(kinds, key=lambda name: (kinds[name].place, name)):
        kind = kinds[name]
        found.append(Choice(name, kind.name, "", str(kind.build.cylinders), "", True))
    return tuple(found)
